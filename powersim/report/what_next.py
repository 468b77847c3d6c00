"""What to do about a passage that fails: by which limit breaks, in a command that can be typed."""

from __future__ import annotations

from powersim.report.kinds import Words, joined, say
from powersim.simulation.verdict import too_often

#: Stands in a command where the passage's folder is not known.
FOLDER = "FOLDER"


def what_next(summary: dict, *, folder: str = FOLDER) -> Words | None:
    """What to do next.

    Parameters
    ----------
    summary : dict
        Of the simulation.
    folder : str
        The passage's, as it is typed in a command.

    Returns
    -------
    Words or None
        Of the limits that break too often by themselves, or of all that break where none does;
        None where the passage holds.
    """
    if summary["holds"]:
        return None
    told, average = summary["verdict"], summary["average"]
    charge, reserve = (
        max(told[name]["frac"] for name in names) for names in (("floor", "dark"), ("reserve",))
    )
    alone = [too_often(frac, told["risk_frac"]) for frac in (charge, reserve)]
    low, spent = alone if any(alone) else (charge > 0.0, reserve > 0.0)
    steps = []
    same = " with the same changes" if summary["changed"] else ""
    if low and average["engine"]["charges"]:
        steps.append(f"'powersim plan {folder}'{same} looks for a charging rule that holds")
    elif low:
        steps.append(
            f"switch off more, or carry more panel: 'powersim endurance {folder}'{same} says what "
            "each load gains"
        )
    if spent:
        fuel = average["fuel"]["kind"]
        steps.append(f"carry more {fuel}, or motor less in calms")
    return say("{}", joined(steps, "; "))
