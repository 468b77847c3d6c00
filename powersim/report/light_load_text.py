"""What a diesel that charges under light load suffers, in words: for a passage and for a plan."""

from __future__ import annotations

from powersim.report import rounding
from powersim.simulation.light_load import LONG_h


def light_load_told(result):
    """What the sailor should know of runs that load the engine lightly for long.

    Parameters
    ----------
    result : Result

    Yields
    ------
    tuple of str
        What was found, and what to do about it; nothing where a spell of harder work comes often
        enough.
    """
    told = result.summary["engine"]
    if told["longest_light_h"] < LONG_h:
        return
    run = result.engine.iloc[told["longest_light_until"]]
    when = rounding.short_date(
        run.start_utc.to_pydatetime(),
        ship_offset_h=(run.ship_time - run.start_utc.tz_localize(None)).total_seconds() / 3600.0,
    )
    yield (
        f"by {when} the engine has charged for {rounding.hours(told['longest_light_h'])} at about "
        f"{rounding.soc(told['charging_load_frac'])} of its power with no harder work between: "
        "light load glazes a diesel and soots it up",
        "charge in fewer and longer runs, and every ten hours put it in gear at cruising revs for "
        "half an hour, until it is hot through",
    )


def light_load_notes(result) -> list[str]:
    """The same in one sentence each.

    Parameters
    ----------
    result : Result

    Returns
    -------
    list of str
        Capital first, full stop last.
    """
    told = (f"{text}; {advice}." for text, advice in light_load_told(result))
    return [sentence[:1].upper() + sentence[1:] for sentence in told]
