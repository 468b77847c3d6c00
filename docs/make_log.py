"""Works the demo's log.csv out anew: ten days of a boat that draws more than her files say.

    python docs/make_log.py

A weather is drawn at random. In it the demo is simulated by her own charging rule, with loads that
draw 12 % more and panels that give 5 % less than her files say, and the bank of the files. What a
skipper would read off that passage at 06:00 and 18:00 of ship's time, as roughly as it is read at
sea, is the log; the engine is run by the same readings. So it has to be made anew when the demo's
boat, loads or route change, and `tests/unit/test_shipped_passages.py` holds that the log keeps her
rule, and that `powersim underway` finds in it what it was made with.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np

import powersim
from powersim.logbook.hindcast import Hindcast, simulated
from powersim.logbook.observations import COUNTER_SD_FRAC
from powersim.physics.tank import depth_m
from powersim.simulation.allowed import reading_steps
from powersim.simulation.ensemble import blocks
from powersim.simulation.ensemble_forcing import draw_ensemble
from powersim.simulation.factors import Factors
from powersim.simulation.member_banks import BankDraws
from powersim.simulation.prepare import prepare
from powersim.simulation.reading import SOCS, as_read, misreading_of

FOLDER = Path(__file__).resolve().parents[1] / "loads" / "iceland-to-cabo-verde"
READ_AT_h = (6.0, 18.0)
TRUTH = Factors(*np.array([[1.12], [0.95], [1.0], [1.0], [1.0]]))
#: Of a weather and a counter of which the notes below are true, and whose whole per cent keep the
#: rule as it was kept.
SEED, DAYS, STEP_H = 17, 10, 0.25
HOUR_METER_h, SOLAR_COUNTER_Ah = 812.3, 1118.0
#: How far another reading is off, once in three times or more: common practice, no source.
STICK_SD_cm, FIX_SD_deg = 0.4, 0.05
HEAD = """\
# The log of the first ten days of the demo passage. Invented, as all else here: nobody read it off.
# It was worked out in a weather drawn at random, with loads that draw 12 % more and panels that
# give 5 % less than the files say, and every reading was made as rough as it is at sea. What is
# found of that:
#   powersim underway loads/iceland-to-cabo-verde --now "2026-09-15 09:00"
ship_time,position,soc,monitor_Ah,engine_h,gear_h,dip,cans_left,solar_Ah,note
"""
NOTES = {
    0: "let go",
    1: "three hours under engine, then sail",
    4: "engine until eight last night",
    5: "grey and wet; charged this morning",
    11: "rolling, the stick is a guess",
    17: "following sea, the pilot works hard",
}


def log_text() -> str:
    """The whole file."""
    passage = powersim.load(FOLDER)
    history, prepared, forcing = _what_happened(passage)
    rng = np.random.default_rng(SEED)
    track, fuel = prepared.track, passage.boat.fuel
    at_h = _when_read(track)

    def true(name):
        return history.at(name, at_h)[:, 0]

    n = len(at_h)
    counted_soc = _as_counted(true("soc"), at_h, forcing)
    soc = counted_soc + _look_soc(at_h, forcing)
    # Its ampere-hours are the same count, over the bank of the files, to which it is set.
    monitor_Ah = np.minimum((counted_soc - 1.0) * passage.boat.battery.real_capacity_Ah, 0.0)
    left_L = fuel.aboard_L - true("charging_L") - true("other_L") - fuel.jerrycans_L
    stick_cm = np.array([100.0 * depth_m(fuel.shape, litres) for litres in left_L])
    stick_cm += STICK_SD_cm * rng.normal(size=n)
    sun_Ah = true("solar_Ah") * (1.0 + COUNTER_SD_FRAC * rng.normal())
    clock_h = track.ship_offset_h[np.round(at_h / STEP_H).astype(int)]
    rows = []
    for k, hours in enumerate(at_h):
        cells = [
            f"{passage.depart_utc + timedelta(hours=float(hours + clock_h[k])):%Y-%m-%d %H:%M}",
            _fix(track, hours, rng) if k else "",
            f"{100.0 * min(max(soc[k], 0.0), 1.0):.0f} %",
            f"{monitor_Ah[k] + 0.0:.1f}",
            f"{HOUR_METER_h + true('engine_h')[k]:.1f}",
            f"{true('gear_h')[k]:.1f}",
            f"{stick_cm[k]:.1f} cm",
            "5",
            f"{SOLAR_COUNTER_Ah + sun_Ah[k]:.0f}",
            f'"{NOTES[k]}"' if "," in NOTES.get(k, "") else NOTES.get(k, ""),
        ]
        rows.append(",".join(cells))
    return HEAD + "\n".join(rows) + "\n"


def _what_happened(passage):
    """The past in one member's weather, the passage as it was prepared, and that member."""
    prepared = prepare(passage, step_h=STEP_H)
    forcing = draw_ensemble(passage, prepared, members=1, seed=SEED)
    misread, _ = misreading_of(prepared, _the_files_bank(passage), members=1, seed=SEED)
    rule = as_read(prepared.plant.rule, passage.boat.battery, misread=misread)
    forcing = replace(
        forcing,
        factors=np.ones_like(forcing.factors),
        misread=misread,
        plant=replace(prepared.plant, rule=rule),
    )
    steps = blocks(prepared.track.n_steps, step_h=STEP_H, first=0)
    hindcast = Hindcast(
        n_steps=prepared.track.n_steps,
        step_h=STEP_H,
        signals=lambda: (forcing.signals(some) for some in steps),
        plant=forcing.plant,
        soc_start=passage.boat.battery.soc_at_departure,
    )
    return simulated(hindcast, TRUTH), prepared, forcing


def _the_files_bank(passage) -> BankDraws:
    """A member's bank that is the one of the files."""
    one, exponent = np.ones(1), passage.boat.battery.peukert_exponent
    return BankDraws(
        offset_V=0.0 * one, slope=one, resistance=one, exponent=exponent * one, capacity=one
    )


def _as_counted(soc, at_h, forcing) -> np.ndarray:
    """The charge as the counter has it. [-]"""
    seems_soc = np.interp(soc, SOCS, forcing.misread.seems_soc[:, 0])
    # She leaves with a full bank, and it is not full again while the log lasts.
    return seems_soc + forcing.misread.drift_per_h[0] * at_h


def _look_soc(at_h, forcing) -> np.ndarray:
    """What is read of it and not so, anew each time: with this, it is what the rule goes by. [-]"""
    step = np.minimum(np.round(at_h / STEP_H).astype(int), forcing.prepared.track.n_steps - 1)
    mean_soc, sd_soc = forcing.anew_soc
    return mean_soc[step] + sd_soc[step] * forcing.read_anew[forcing.hour[step], 0]


def _when_read(track) -> np.ndarray:
    """Departure, then 06:00 and 18:00 of ship's time. [h]"""
    steps = np.flatnonzero(reading_steps(READ_AT_h, track, 1))
    at_h = STEP_H * np.concatenate([[0], steps])
    return at_h[at_h <= 24.0 * DAYS]


def _fix(track, hours, rng) -> str:
    """Where she is found to be, as it is written down."""
    step = round(float(hours) / STEP_H)
    lat_deg = track.edge_lat_deg[step] + FIX_SD_deg * rng.normal()
    lon_deg = track.edge_lon_deg[step] + FIX_SD_deg * rng.normal()
    return f"{_in_minutes(lat_deg, 2)} N {_in_minutes(-lon_deg, 3)} W"


def _in_minutes(angle_deg: float, digits: int) -> str:
    tenths = round(600.0 * angle_deg)
    return f"{tenths // 600:0{digits}d} {tenths % 600 / 10.0:04.1f}"


if __name__ == "__main__":
    (FOLDER / "log.csv").write_text(log_text(), encoding="utf-8", newline="\n")
