"""What `ladder --json` prints: everything that was found, as strict JSON."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from powersim.planning.failures import WORKING
from powersim.planning.heard_by import heard_by
from powersim.planning.ladder_rungs import READ_AT_h
from powersim.planning.ladder_table import ROOM_SOC
from powersim.report.changed_told import changed_dicts
from powersim.report.ladder_words import what_it_costs
from powersim.report.plain import plain

if TYPE_CHECKING:
    from powersim.planning.ladder import Ladder
    from powersim.planning.ladder_kept import Kept


def ladder_dict(found: Ladder) -> dict[str, Any]:
    """The ladder for a program.

    Parameters
    ----------
    found : Ladder
        Of planning.ladder.

    Returns
    -------
    dict
        A charge of null is none that a bank can read: see `given`.
    """
    table = found.table
    from_utc = found.passage.depart_utc + timedelta(hours=found.from_h)
    return {
        "passage": found.passage.name,
        "changed": changed_dicts(found.passage),
        "lost": None if found.loss == WORKING else found.loss,
        "notes": list(found.notes),
        "from_utc": from_utc.isoformat(),
        "days_to_landfall": found.to_landfall_days,
        "soc": plain(found.soc),
        "floor_soc": found.passage.boat.battery.floor_soc,
        "members": found.members,
        "seed": found.seed,
        "risk_frac": found.risk_frac,
        "holds": found.holds,
        "needless": found.needless,
        "read_at_h": READ_AT_h,
        "room_soc": ROOM_SOC,
        "steps": [
            {
                "load": step.load.name,
                "group": step.group,
                "halved": step.halved,
                "kept_for": list(step.kept_for),
                "costs": what_it_costs(step),
                "charge_Ah_per_day": step.charge_Ah_per_day,
                "alone_days": plain(found.alone_days[number]),
                "evenings": plain(found.evenings(step)),
                "passages": int((found.evenings(step) > 0).sum()),
                "if_no_more": _fares(found.on_rung[number]),
            }
            for number, step in enumerate(found.steps.worth, start=1)
        ],
        "not_worth_it": [step.load.name for step in found.steps.little],
        "rows": [
            {
                "days_to_go_above": row * table.row_days,
                "days_to_go": min((row + 1.0) * table.row_days, found.to_landfall_days),
                "least_soc": [plain(float(soc)) for soc in table.least_soc[row]],
                "given": [_given(float(soc)) for soc in table.least_soc[row]],
            }
            for row in reversed(range(len(table.least_soc)))
        ],
        "nothing_given_up": _fares(found.on_rung[0]),
        "by_ladder": _fares(found.by_ladder),
        "all_given_up": _fares(found.on_rung[-1]),
        "left_to_be_heard_by": plain(heard_by(found.bare)),
    }


def _given(soc: float) -> str:
    """When a step is given up."""
    if soc == float("inf"):
        return "always"
    return "never" if soc == -float("inf") else "below"


def _fares(one: Kept) -> dict[str, Any]:
    return {
        "below_floor": int(one.below_floor.sum()),
        "dark": int(one.dark.sum()),
        "flat_days": plain(one.flat_days),
        "lowest_soc": plain(one.lowest_soc),
    }
