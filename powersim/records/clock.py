"""The ship's clock in a rule: a time of the day as it is written, and how long a span of it is."""

from __future__ import annotations


def clock(time_h: float) -> str:
    """A time of the day, to the minute.

    Examples
    --------
    >>> clock(8.25)
    '08:15'
    """
    whole_h, rest_min = divmod(round(60.0 * time_h), 60)
    return f"{whole_h:02}:{rest_min:02}"


def span_h(hours_h: tuple[float, float]) -> float:
    """How long a span of the day is, over midnight too; the whole day where both ends are one. [h]

    Examples
    --------
    >>> span_h((22.0, 6.0)), span_h((0.0, 24.0))
    (8.0, 24.0)
    """
    start_h, end_h = hours_h
    return (end_h - start_h) % 24.0 or 24.0


def fits(at_h: float, run_h: float, *, within_h: tuple[float, float]) -> bool:
    """Whether a run that begins at a time of the day ends within a span of it.

    Examples
    --------
    >>> fits(18.0, 2.0, within_h=(8.0, 20.0)), fits(19.0, 2.0, within_h=(8.0, 20.0))
    (True, False)
    """
    open_h = span_h(within_h)
    return open_h == 24.0 or (at_h - within_h[0]) % 24.0 + run_h <= open_h + 1e-9
