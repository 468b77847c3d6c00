"""The charge in many passages as plain SVG: quick, in the page's colours, and without a style.

Numbers and words are those of `figure_fan` and `charge_words`, as in the picture that matplotlib
draws. Behind the answer lies the files' own, as a quiet line, from departure on: at the same hour
she is at the same place, whatever the date.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import TYPE_CHECKING

from powersim.report.charge_words import ChargeWords, fan_words
from powersim.report.date_marks import date_heading, date_marks
from powersim.report.fan_outlines import FINE, chance_up_to, fan_outlines, hours_after, nights
from powersim.report.figure_charge import (
    TOP_PERCENT,
    bottom_percent,
    engine_heading,
    engine_names,
    engine_top_h,
    latitudes,
)
from powersim.report.figure_fan import ENGINE_HEADING, FanFigure, chance_top_percent
from powersim.report.palette import CHARGE, ENGINE, FAILS, FLOOR, INK, NIGHT, SOFT
from powersim.report.svg_frame import LOOKS, Frame, Look, Name, inked, of_kind, text
from powersim.report.text import held

if TYPE_CHECKING:
    from markupsafe import Markup

#: What the quiet line is, beside it.
QUIET = "the files' own"
#: How far the strip of the chance may reach for it, in times of its own height. [-]
_ROOM = 2.0
_FLAT_DASHES, _QUIET_DASHES = (2, 2), (5, 3)
#: Each thing's colours: of its marks, and of words about it.
(_CHARGE, _CHARGE_WORD), (_FLOOR, _FLOOR_WORD) = CHARGE.shades, FLOOR.shades
(_FAILS, _FAILS_WORD), (_ENGINE, _ENGINE_WORD) = FAILS.shades, ENGINE.shades


def fan_svg(figure: FanFigure, *, files: FanFigure | None = None) -> Markup:
    """The picture for a broad screen and for a narrow one, and what it says moment by moment.

    Parameters
    ----------
    figure : FanFigure
        What is answered.
    files : FanFigure, optional
        The files' own answer, where that is another.

    Returns
    -------
    Markup
        Two `svg` elements, of which a style sheet shows one, and a hidden list. An item of it is a
        moment: `data-hour` its hours after departure. No element has a style of its own.
    """
    from markupsafe import Markup

    words, outlines = fan_words(figure), fan_outlines(figure, files)
    pictures = [_picture(figure, files, outlines, words, look) for look in LOOKS]
    return Markup("\n".join([*pictures, _moments(figure, words)]))


def _picture(figure, files, outlines, words: ChargeWords, look: Look) -> str:
    charge, hours = figure.charge, len(figure.charge.times_utc) - 1
    shown = [figure] if files is None else [figure, files]
    lowest = min(*(min(each.edge_percent) for each in shown), charge.flat_percent)
    main = look.frame(0, hours=hours, low=bottom_percent(lowest), top=TOP_PERCENT)
    risk = look.frame(1, hours=hours, low=0.0, top=_chance_top_percent(figure, files))
    frames = [main, risk]
    parts = [*_charge(figure, files, outlines, main), *_chance(figure, files, outlines, risk)]
    if charge.has_engine:
        frames.append(look.frame(2, hours=hours, low=0.0, top=engine_top_h(charge.days)))
        parts += _engine(figure, outlines, frames[-1])
    parts += _dates(figure, frames)
    name = f"{look.name}-fan"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="fan {look.name}-look" '
        f'viewBox="0 0 {look.width} {look.high(strips=len(frames) - 1)}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc" font-size="{look.font}" '
        f'data-left="{main.left}" data-across="{main.width}" data-hours="{hours}">'
        f'<title id="{name}-title">{escape(held(words.title))}</title>'
        f'<desc id="{name}-desc">{escape(held(words.description + _quiet_told(files)))}</desc>'
        f"{''.join(parts)}"
        # Where a moment is read: the page shows it and moves it.
        f'<path class="cursor k-{INK.name}" d="M{main.left} {main.over}V{frames[-1].bottom}" '
        f'stroke="{INK.light}" stroke-width="1.5" visibility="hidden"/></svg>'
    )


def _quiet_told(files: FanFigure | None) -> str:
    if files is None:
        return ""
    return (
        f" A quiet line behind is {QUIET} answer: its median and what {files.stay_above} stay "
        f"above; of its {files.members} passages {files.failed or 'none'} "
        f"{'fails' if files.failed == 1 else 'fail'} ({files.fails_told})."
    )


def _charge(figure: FanFigure, files, outlines, frame: Frame) -> Iterator[str]:
    """The fan, its edge, floor and flat; nights behind them, names beside them."""
    charge = figure.charge
    dark = nights(figure, low_percent=frame.low)
    yield frame.outline(dark, "nights", fine=FINE, look=inked(fill=NIGHT))
    tens = range(int(frame.low), 101, 10 if frame.look.name == "broad" else 20)
    yield from frame.levels(tens, " %")
    yield from _latitudes_along(figure, frame)
    band = inked(fill=_CHARGE, opacity=0.28)
    yield frame.outline(outlines["band"], "band", fine=FINE, look=band)
    if outlines["below"]:
        below = inked(fill=_FLOOR, opacity=0.7)
        yield frame.outline(outlines["below"], "below", fine=FINE, look=below)
    names = []
    if files is not None:
        for kind, wide in (("quiet-median", 1.4), ("quiet-edge", 0.9)):
            look = inked(stroke=SOFT, wide=wide, dashes=_QUIET_DASHES)
            yield frame.outline(outlines[kind], kind, fine=FINE, look=look)
        at = min(frame.hours, len(files.edge_percent) - 1)
        names.append(Name(y=files.edge_percent[at], words=QUIET, shade=SOFT))
    for kind, wide in (("edge", 1.2), ("median", 2.2)):
        look = inked(stroke=_CHARGE, wide=wide)
        yield frame.outline(outlines[kind], kind, fine=FINE, look=look)
    floor = inked(stroke=_FLOOR, wide=1.8, dashes=FLOOR.dashes)
    yield frame.outline(outlines["floor"], "floor", fine=FINE, look=floor)
    flat = f"M0 {round(FINE * charge.flat_percent)}H{frame.hours}"
    look = inked(stroke=INK, wide=1.2, dashes=_FLAT_DASHES)
    yield frame.outline(flat, "flat", fine=FINE, look=look)
    names += [
        Name(
            y=charge.floor_percent, words=f"floor {charge.floor_percent:.0f} %", shade=_FLOOR_WORD
        ),
        Name(y=charge.flat_percent, words=f"flat {charge.flat_percent:.0f} %"),
        Name(
            y=figure.edge_percent[-1], words=f"{figure.stay_above} stay above", shade=_CHARGE_WORD
        ),
        Name(y=figure.median_percent[-1], words="median", shade=_CHARGE_WORD, bold=True),
        Name(y=figure.high_percent[-1], words="8 in 10 between", shade=_CHARGE_WORD),
    ]
    yield from frame.names(names)


def _latitudes_along(figure: FanFigure, frame: Frame) -> Iterator[str]:
    """What the frame shows, and latitudes along its top."""
    yield text("state of charge, by latitude", frame.left, frame.over - 25, frame.look)
    marks = latitudes(figure.charge, most=frame.look.most_latitudes)
    for hour, words in marks:
        anchor = "start" if hour == marks[0][0] else "middle"
        yield text(words, frame.x(hour), frame.over - 6, frame.look, anchor=anchor, shade=SOFT)


def _chance_top_percent(figure: FanFigure, files: FanFigure | None) -> float:
    """Scaled to the limit and to what is answered; for the files' own there is so much room. [%]"""
    top = chance_top_percent(figure)
    return top if files is None else max(top, min(chance_top_percent(files), _ROOM * top))


def _chance(figure: FanFigure, files, outlines, frame: Frame) -> Iterator[str]:
    """The chance of having failed by then, against its limit, with its last figure at its end."""
    limit, last = 100.0 * figure.risk_frac, 100.0 * figure.fails_frac[-1]
    yield frame.head(f"{figure.causes}, by then")
    yield from frame.levels(_two_steps(frame.top), " %")
    area = inked(fill=_FAILS, opacity=0.25)
    yield frame.outline(outlines["chance-area"], "chance-area", fine=FINE, look=area)
    names = []
    if files is not None:
        quiet = inked(stroke=SOFT, wide=1.2, dashes=_QUIET_DASHES)
        line = chance_up_to(files, frame.hours + 1, top_percent=frame.top)
        yield frame.outline(line, "quiet-chance", fine=FINE, look=quiet)
        if frame.look.name == "broad":
            at = min(100.0 * files.fails_frac[-1], frame.top)
            names.append(Name(y=at, words=f"the files: {files.fails_told}", shade=SOFT))
    line = inked(stroke=_FAILS, wide=1.8)
    yield frame.outline(outlines["chance"], "chance", fine=FINE, look=line)
    dashed = inked(stroke=_FAILS, wide=1.3, dashes=FAILS.dashes)
    across = f"M0 {round(FINE * limit)}H{frame.hours}"
    yield frame.outline(across, "limit", fine=FINE, look=dashed)
    names += [
        Name(y=last, words=figure.last_told, shade=_FAILS_WORD, bold=True),
        Name(y=limit, words=figure.limit_told, shade=_FAILS_WORD),
    ]
    yield from frame.names(names)


def _engine(figure: FanFigure, outlines, frame: Frame) -> Iterator[str]:
    """The engine's hours day by day: charging below, and motoring, hatched, on top of it."""
    days = figure.charge.days
    yield frame.head(engine_heading(ENGINE_HEADING, days))
    yield from frame.levels(_two_steps(frame.top), "")
    name = f"{frame.look.name}-fan-hatch"
    yield (
        f'<pattern id="{name}" width="5" height="5" patternUnits="userSpaceOnUse">'
        f'<path d="M0 0L5 5M-1 4L1 6M4 -1L6 1" {inked(stroke=_ENGINE, wide=1)}/></pattern>'
    )
    full = inked(fill=_ENGINE, stroke=_ENGINE_WORD, wide=0.6)
    yield frame.outline(outlines["charging"], "charging", fine=FINE, look=full)
    bars = "".join(
        f"M{frame.x(left):.1f} {frame.y(low / FINE):.1f}H{frame.x(right):.1f}"
        f"V{frame.y(high / FINE):.1f}H{frame.x(left):.1f}z"
        for left, right, low, high in outlines["motoring"]
        if high > low
    )
    hatched = inked(fill=f"url(#{name})", stroke=_ENGINE_WORD, wide=0.6)
    yield f'<path d="{bars}" {of_kind("motoring", hatched)}/>'
    places = [days[-1].charging_h / 2.0, days[-1].charging_h + days[-1].motoring_h / 2.0]
    yield from frame.names(
        [
            Name(y=at, words=words, shade=_ENGINE_WORD)
            for at, words in zip(places, engine_names(days), strict=False)
        ]
    )


def _two_steps(top: float) -> list[float]:
    """Nothing, and one or two round values up to the top.

    Examples
    --------
    >>> _two_steps(8.0), _two_steps(36.0), _two_steps(4.1)
    ([0.0, 4.0, 8.0], [0.0, 20.0], [0.0, 2.0, 4.0])
    """
    scale = 1.0
    while scale * 10.0 < top / 2.0:
        scale *= 10.0
    while scale > top / 2.0:
        scale /= 10.0
    step = next(
        scale * each for each in (1.0, 2.0, 4.0, 5.0, 10.0, 20.0) if top < 3.0 * scale * each
    )
    return [step * count for count in range(3) if step * count <= top]


def _dates(figure: FanFigure, frames) -> Iterator[str]:
    """Dates below the lowest frame, and where they are on each."""
    lowest = frames[-1]
    marks = date_marks(figure.charge, most=lowest.look.most_dates)
    ticks = "".join(
        f"M{frame.x(hour):.1f} {frame.bottom}v4" for frame in frames for hour, _ in marks
    )
    yield f'<path d="{ticks}" {inked(stroke=INK)} stroke-width="1"/>'
    for hour, words in marks:
        yield text(words, lowest.x(hour), lowest.bottom + 17, lowest.look, anchor="middle")
    middle = (lowest.left + lowest.right) / 2.0
    yield text(
        date_heading(figure.charge), middle, lowest.bottom + 33, lowest.look, anchor="middle",
        shade=SOFT,
    )  # fmt: skip


def _moments(figure: FanFigure, words: ChargeWords) -> str:
    """What is told where the picture is read, the moment of the lowest charge marked."""
    told = "".join(
        f'<li data-hour="{hours_after(figure, moment.when_utc)}"'
        f"{' data-worst' if place == words.worst else ''}>{escape(moment.words)}</li>"
        for place, moment in enumerate(words.moments)
    )
    return f'<ol class="moments" hidden>{told}</ol>'
