"""What comes of a ladder, in the one or two sentences that answer the question."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from powersim.planning.failures import WORKING
from powersim.planning.heard_by import heard_by
from powersim.records import STATES
from powersim.report.endurance_view import band_of
from powersim.report.kinds import (
    COUNT,
    DAYS,
    MOMENT,
    SHARE,
    SHORT_DATE,
    Text,
    Words,
    count_of,
    joined,
    say,
)
from powersim.simulation.bands import quantiles

if TYPE_CHECKING:
    from powersim.planning.ladder import Ladder

_IN_PORT = frozenset(state.name for state in STATES.values() if not state.under_way)


def answer(found: Ladder, *, when: str = "") -> Words:
    """The answer in one or two sentences.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    when : str
        What it opens with; what is lost and when, if left out.
    """
    opening = say("{} with {} in the bank:", when or _when(found), SHARE(band_of(found.soc)))
    if found.needless:
        on = ~found.on_rung[0].below_floor
        return say(
            "{} nothing need be given up. With all loads on, {} to landfall, {} on, above the "
            "floor of {} in {}.",
            *(opening, stays_on(found), DAYS(found.to_landfall_days)),
            *(SHARE(found.passage.boat.battery.floor_soc), _of(found, on.mean())),
        )
    if not found.holds:
        even = "even with all of this given up" if found.steps.worth else "with nothing to give up"
        return say(
            "{} NOT {} to landfall, {} on, {}: {} of {} simulated passages go dark. {}",
            *(opening, stays_on(found), DAYS(found.to_landfall_days), even),
            *(count_of(found.members)(float(found.by_ladder.dark.mean())), COUNT(found.members)),
            _until(found),
        )
    return joined(
        (
            say(
                "{} {} to landfall, {} on, in {}{}{}{}.",
                *(opening, stays_on(found), DAYS(found.to_landfall_days)),
                *(_of(found, 1.0 - found.by_ladder.dark.mean()), _only_by_it(found)),
                *(_with_comms(found), _but_below(found)),
            ),
            _given(found),
        )
    )


def _until(found: Ladder) -> Words:
    """Until when it is enough in 9 of 10 passages, where it is not to landfall."""
    until_days = float(quantiles(found.by_ladder.flat_days, (0.1,))[0])
    if until_days < 0.5 / 24.0:
        return say("1 in 10 is dark at once.")
    if math.isinf(until_days):
        first_days = float(found.by_ladder.flat_days.min())
        return say("9 in 10 do not; the first is dark after {}.", DAYS(first_days))
    return say(
        "In 9 of 10 she is {} for {}, until {}.",
        *(stays_on(found), DAYS(until_days), SHORT_DATE(moment_after(found, until_days))),
    )


def _when(found: Ladder) -> Words:
    at = moment_after(found, 0.0)
    day = (at[0].date() - found.passage.depart_utc.date()).days + 1
    loss = "Everything working" if found.loss == WORKING else found.loss
    return say("{} on day {}, {},", loss[:1].upper() + loss[1:], COUNT(day), MOMENT(at))


def moment_after(found: Ladder, after_days: float) -> tuple[datetime, float]:
    """A moment after the loss, and the ship's time then.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    after_days : float
        How long after. [days]
    """
    track = found.prepared.track
    hours = min(found.from_h + 24.0 * after_days, track.arrival_h)
    step = min(round(hours / track.step_h), track.n_steps - 1)
    when = datetime.fromtimestamp(track.start_utc_s, UTC) + timedelta(hours=hours)
    return when, float(track.ship_offset_h[step])


def stays_on(found: Ladder) -> str:
    """What stays on as long as not all is dark, by what is aboard.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.
    """
    left = heard_by(found.passage)
    words = [word for word, has in (("seen", left.lights), ("heard", left.vhf)) if has]
    return " and ".join(words) or "kept from the dark"


def _of(found: Ladder, frac: float) -> Words:
    count = count_of(found.members)(float(frac))
    return say("{} of {} simulated passages", count, COUNT(found.members))


def _only_by_it(found: Ladder) -> Text:
    """That it takes the steps: whoever reads no further must not keep all on."""
    if found.never_asked:
        return ""
    alight = 1.0 - float(found.on_rung[0].dark.mean())
    return say(", if what is told below is given up (else in {})", count_of(found.members)(alight))


def _with_comms(found: Ladder) -> Text:
    """In how many passages the boat speaks with the shore on every evening."""
    steps = [step for step in found.steps.worth if step.load.role == "comms" and not step.halved]
    spoken = [
        load.name
        for load in found.passage.loads
        if load.count and load.role == "comms" and not load.states <= _IN_PORT
    ]
    if not spoken:
        return ""
    every = ~found.by_ladder.dark
    for step in steps:
        every &= found.evenings(step) == 0
    names = " and ".join(f"the {name}" for name in dict.fromkeys(spoken))
    return say(", with {} every day in {}", names, count_of(found.members)(float(every.mean())))


def _but_below(found: Ladder) -> Text:
    """In how many passages the bank falls below its floor, where these are too many."""
    if not found.below_floor_too_often:
        return ""
    below = count_of(found.members)(float(found.by_ladder.below_floor.mean()))
    floor = SHARE(found.passage.boat.battery.floor_soc)
    return say(", but with the bank below its floor of {} in {}", floor, below)


def _given(found: Ladder) -> Words:
    """What is given up on how many evenings, where 1 in 10 passages asks for it."""
    parts: list[Text] = []
    for step in found.steps.worth:
        middle, most = (float(one) for one in quantiles(found.evenings(step), (0.5, 0.9)))
        if round(most):
            parts.append(say("{} {} ({})", step.load.name, COUNT(middle), COUNT(most)))
    if not parts:
        return say("Given up: hardly ever anything.")
    return say(
        "Given up on so many of {} evenings, in the median (and in 1 of 10): {}.",
        *(COUNT(len(found.by_ladder.rung)), joined(parts, "; ")),
    )
