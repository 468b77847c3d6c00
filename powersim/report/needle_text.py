"""What `sounding` prints of the needle of the tank's gauge, beside the stick and below it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from powersim.physics.needle import needle_sounding
from powersim.records.needle import mark_told
from powersim.report import rounding
from powersim.report.card_limits import stick_m
from powersim.report.sounding_text import reading_rows, sounding_text, strip_dict, strip_text
from powersim.report.text import join, key_values, paragraph, table, title

if TYPE_CHECKING:
    from powersim.planning.sounding import Sounded
    from powersim.records import Boat, Fuel

#: A needle is read to an eighth of its dial at best; from F down.
_PLACES = tuple(place / 8 for place in range(8, -1, -1))
_POOR = (
    "A needle is not to be trusted: its float sticks, its dial is even where the tank is not, and "
    "it swings as she rolls. On a heel it shows where the fuel has run to: do not read it then. "
    "{stick}"
)
_STICK_IS_RIGHT = "Where the stick says otherwise, the stick is right."
_DIP_BESIDE = "With the tank's shape in [fuel.tank] the stick tells more."


def needle_text(found: Sounded, boat: Boat, *, beside: str = "") -> str:
    """The needle for a reader.

    Parameters
    ----------
    found : Sounded
        What the needle says.
    boat : Boat
        With litres at the needle's marks.
    beside : str
        How it agrees with the stick.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    assert found.needle_frac is not None
    return join(
        paragraph(f"The needle of {boat.name} stands at {mark_told(found.needle_frac)}"),
        key_values(reading_rows(found)),
        paragraph(beside),
        paragraph(_poor(boat)),
    )


def both_text(stick: Sounded, needle: Sounded, boat: Boat) -> str:
    """Stick and needle, read at the same time.

    Parameters
    ----------
    stick, needle : Sounded
        What each says.
    boat : Boat
        With the tank's shape, and litres at the needle's marks.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    beside = _beside(needle, stick)
    return join(sounding_text(stick, boat), needle_text(needle, boat, beside=beside))


def tables_text(boat: Boat) -> str:
    """The strip of the stick, and below it the dial of the needle by eighths: what there is.

    Parameters
    ----------
    boat : Boat
        With fuel; its tank's shape is known, or litres at the needle's marks.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    fuel = boat.fuel
    assert fuel is not None, "whoever asks has looked"
    strip = strip_text(boat) if fuel.shape is not None else ""
    return join(strip, _needle_table(boat, fuel) if fuel.needle else "")


def tables_dict(boat: Boat) -> dict:
    """The same for a program: at the needle's places also the least there is at rest and at sea.

    Parameters
    ----------
    boat : Boat
        With fuel; its tank's shape is known, or litres at the needle's marks.
    """
    fuel = boat.fuel
    assert fuel is not None, "whoever asks has looked"
    strip = strip_dict(boat) if fuel.shape is not None else {}
    return strip | (
        {"needle": [_row_dict(fuel, place) for place in _PLACES]} if fuel.needle else {}
    )


def _needle_table(boat: Boat, fuel: Fuel) -> str:
    heads = ("needle", "in the tank", "at rest", "at sea")
    shaped = fuel.shape is not None
    return join(
        title("The needle of its gauge"),
        table(
            [_row(fuel, place) for place in _PLACES],
            aligns="r" * (len(heads) + shaped),
            header=(*heads, *(("stick then",) if shaped else ())),
            overs=(("", 2), ("to count on", 2), *((("", 1),) if shaped else ())),
        ),
        paragraph(
            "To count on: above the pick-up, with the needle off by two deviations of "
            f"{rounding.soc(fuel.needle_doubt_frac)} of its dial at rest, of twice that at sea. "
            f"{_poor(boat)}"
        ),
    )


def _row_dict(fuel: Fuel, place: float) -> dict:
    at_sea, at_rest = (needle_sounding(fuel, place, at_sea=rolls) for rolls in (True, False))
    return {
        "needle_frac": place,
        "litres": at_sea.litres,
        "least_at_rest_L": at_rest.least_L,
        "least_at_sea_L": at_sea.least_L,
    }


def _row(fuel: Fuel, place: float) -> tuple[str, ...]:
    at_sea, at_rest = (needle_sounding(fuel, place, at_sea=rolls) for rolls in (True, False))
    below_L = fuel.tank_L * fuel.unusable_frac
    cells = [
        mark_told(place),
        rounding.litres(at_sea.litres),
        *(rounding.litres(max(one.least_L - below_L, 0.0)) for one in (at_rest, at_sea)),
    ]
    if fuel.shape is not None:
        cells.append(rounding.depth(stick_m(fuel.shape, min(at_sea.litres, fuel.shape.full_L))))
    return tuple(cells)


def _poor(boat: Boat) -> str:
    shaped = boat.fuel is not None and boat.fuel.shape is not None
    return _POOR.format(stick=_STICK_IS_RIGHT if shaped else _DIP_BESIDE)


def _beside(needle: Sounded, stick: Sounded) -> str:
    """How stick and needle agree; where they do not, whom to believe."""
    apart_L = needle.tank_L - stick.tank_L
    way = "more" if apart_L > 0.0 else "less"
    differ = f"The needle says {rounding.litres(abs(apart_L))} {way} than the stick"
    if needle.least_L <= stick.tank_L <= needle.most_L:
        return f"{differ}, which is within its doubt: go by the stick."
    return (
        f"{differ}, beyond its doubt: go by the stick, and look at float, sender and the marks in "
        "boat.toml."
    )
