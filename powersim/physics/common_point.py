"""Modules that share one tracking controller: the point at which it holds them all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.physics.diode import Curve, cells_in_series, curve_of, diode_model_of
from powersim.records import Panel

if TYPE_CHECKING:
    from powersim.records.arrays import Array, Bools, FloatsT

#: A bypass diode that carries the string's current takes so much. Common practice, no source. [V]
BYPASS_V = 0.5
#: Cells that share one: two in a module of 36 cells. Common practice, no source. [-]
CELLS_A_BYPASS = 18
# A step shorter than this share of the range ends a search; the power, flat at its best point, then
# errs by less than a ten-thousandth. [-]
NEAR_FRAC = 1e-3
MOST_STEPS = 40  # twice what halving would need
# A junction's voltage is known once a step is shorter than this share of its slope: the next error
# is the square of it. [-]
NEAR_JUNCTION_FRAC = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Modules:
    """The modules of one panel in their own light.

    Attributes
    ----------
    curve : Curve
        Of one module.
    count : int
        How many there are, at least 1.
    cells : int
        Of one module, in series.
    """

    curve: Curve
    count: int
    cells: int

    @property
    def bypass_V(self) -> float:
        """What all of them take when the current goes round them. [V]"""
        return self.count * BYPASS_V * max(1, round(self.cells / CELLS_A_BYPASS))


def modules_of(panel: Panel, *, light_W_m2: FloatsT, cell_C: FloatsT) -> Modules:
    """The modules of a panel in some light, as a common point takes them.

    Parameters
    ----------
    panel : Panel
        Its sticker and count.
    light_W_m2 : float or ndarray
        Effective light, salt taken off, above zero. [W/m^2]
    cell_C : float or ndarray
        Cells. [degC]

    Returns
    -------
    Modules
        Of that panel.
    """
    return Modules(
        curve=curve_of(diode_model_of(panel), light_W_m2=light_W_m2, cell_C=cell_C),
        count=panel.count,
        cells=cells_in_series(panel),
    )


def shared_frac(panels: Sequence[Modules], *, wired: str) -> Array:
    """What panels give at one common point, as a share of what each gives at its own.

    Parameters
    ----------
    panels : sequence of Modules
        Two or more, in light of one shape, and some of it on each.
    wired : str
        "parallel": one voltage for all; "series": one current through all, or round those that
        cannot carry it.

    Returns
    -------
    ndarray
        1 where all are at their best at the same point. [-]

    Notes
    -----
    In parallel nothing keeps a module from drawing what the others push into it. The sum of the
    currents is concave in the voltage, so there is one best point. In series there may be several:
    the best of all strings is taken, those that the weakest panels are left out of among them. A
    tracker that stays at the first point it comes to gives less than this.

    References
    ----------
    .. [1] J. W. Bishop, Computer simulation of the effects of electrical mismatches in photovoltaic
       cell interconnection circuits, Solar Cells 25 (1988) 73-89.
    """
    shape = np.broadcast_shapes(*(np.shape(part) for one in panels for part in one.curve))
    panels = [replace(one, curve=_flat(one.curve, shape)) for one in panels]
    own = [_own_best(one.curve) for one in panels]
    alone_W = sum(one.count * best.power_W for one, best in zip(panels, own, strict=True))
    best_W = _in_parallel_W if wired == "parallel" else _in_series_W
    # Both are searched for: where all agree the quotient errs by a hundred-thousandth either way.
    return np.minimum(best_W(panels, own) / alone_W, 1.0).reshape(shape)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Point:
    """A point of a module's curve; slope and bend are of the current against the voltage.

    `share` is what of a change of the module's voltage comes to its junction.
    """

    junction_V: Array
    volts: Array
    amps: Array
    slope: Array
    bend: Array
    share: Array

    @property
    def power_W(self) -> Array:
        return self.volts * self.amps

    @property
    def rise(self) -> tuple[Array, Array]:
        """How the power grows with the voltage, and how that does."""
        return self.amps + self.volts * self.slope, 2.0 * self.slope + self.volts * self.bend


def _point(curve: Curve, junction_V: Array) -> _Point:
    grown_A = curve.saturation_A * np.exp(junction_V / curve.slope_V)
    amps = curve.photo_A - grown_A + curve.saturation_A - junction_V / curve.shunt_ohm
    passes = grown_A / curve.slope_V + 1.0 / curve.shunt_ohm  # of the junction [A/V]
    share = 1.0 / (1.0 + curve.series_ohm * passes)
    return _Point(
        junction_V=junction_V,
        volts=junction_V - amps * curve.series_ohm,
        amps=amps,
        slope=-passes * share,
        bend=-grown_A / (curve.slope_V * curve.slope_V) * (share * share * share),
        share=share,
    )


def _flat(curve: Curve, shape: tuple[int, ...]) -> Curve:
    return Curve(*(np.broadcast_to(part, shape).ravel() for part in curve))


def _some(curve: Curve, rows: Bools | slice) -> Curve:
    return Curve(*(part[rows] for part in curve))


def _open_V(curve: Curve) -> Array:
    """Where the diode alone takes all the current: a whisker above the open voltage."""
    return curve.slope_V * np.log1p(curve.photo_A / curve.saturation_A)


def _best(
    rise_at: Callable[[Array, Bools | slice], tuple[Array, Array]], start: Array, most: Array
) -> Array:
    """Where a power that has one best point between 0 and `most` has it: Newton, kept within.

    `rise_at` is asked for some of the rows at a time, with where they are.
    """
    at, low, high, near = start.copy(), np.zeros_like(most), most.copy(), NEAR_FRAC * most
    last = most.copy()  # the step before
    rows: Bools | slice = slice(None)
    for _ in range(MOST_STEPS):
        before = np.array(at[rows])
        rise, bend = rise_at(before, rows)
        low[rows] = np.where(rise > 0.0, before, low[rows])
        high[rows] = np.where(rise > 0.0, high[rows], before)
        newton = np.clip(before - rise / bend, low[rows], high[rows])
        # Where Newton's steps do not shrink they go to and fro, and halving takes over.
        shrinks = np.abs(newton - before) <= 0.5 * last[rows]
        at[rows] = np.where(shrinks, newton, 0.5 * (low[rows] + high[rows]))
        last[rows] = np.abs(at[rows] - before)
        far = last[rows] > near[rows]
        if not far.any():
            break
        if isinstance(rows, slice):
            rows = np.zeros(at.shape, dtype=bool)
            rows[...] = far
        else:
            rows[rows] = far
    return at


def _own_best(curve: Curve) -> _Point:
    """A module at its own best."""
    open_V = _open_V(curve)

    def rise_at(junction_V: Array, rows: Bools | slice) -> tuple[Array, Array]:
        at = _point(_some(curve, rows), junction_V)
        rise, bend = at.rise
        return rise, bend / at.share

    start_V = open_V - curve.slope_V * np.log1p(open_V / curve.slope_V)
    return _point(curve, _best(rise_at, start_V, open_V))


def _settled(curve: Curve, junction_V: Array, step_V: Callable[[_Point], Array]) -> _Point:
    """The point that Newton's steps lead to; from above, where a curve is steep, they are few."""
    for _ in range(MOST_STEPS):
        at = _point(curve, junction_V)
        step = step_V(at)
        if (np.abs(step) < NEAR_JUNCTION_FRAC * curve.slope_V).all():
            break
        junction_V = junction_V + step
    return at


def _at_volts(curve: Curve, volts: Array) -> _Point:
    """Begun from above: all the light's current through the resistance, or all the volts' back."""
    with np.errstate(divide="ignore"):  # no resistance
        most_A = curve.photo_A + volts / curve.series_ohm
    junction_V = np.minimum(
        volts + curve.series_ohm * curve.photo_A,
        curve.slope_V * np.log1p(most_A / curve.saturation_A),
    )
    return _settled(curve, junction_V, lambda at: at.share * (volts - at.volts))


def _at_amps(curve: Curve, amps: Array) -> _Point:
    """Below its light-generated current; begun where no current goes through the shunt."""
    junction_V = curve.slope_V * np.log1p((curve.photo_A - amps) / curve.saturation_A)
    return _settled(curve, junction_V, lambda at: (amps - at.amps) * at.share / at.slope)


def _in_parallel_W(panels: Sequence[Modules], own: Sequence[_Point]) -> Array:
    """Most power at one voltage for all, begun between their own best ones by their bends."""
    weights = [-one.count * best.rise[1] for one, best in zip(panels, own, strict=True)]
    start_V = np.average([best.volts for best in own], axis=0, weights=weights)

    def points(volts: Array, rows: Bools | slice) -> list[_Point]:
        return [_at_volts(_some(one.curve, rows), volts) for one in panels]

    def rise_at(volts: Array, rows: Bools | slice) -> tuple[Array, Array]:
        rise = bend = np.zeros_like(volts)
        for one, at in zip(panels, points(volts, rows), strict=True):
            rise, bend = rise + one.count * at.rise[0], bend + one.count * at.rise[1]
        return rise, bend

    volts = _best(rise_at, start_V, np.max([_open_V(one.curve) for one in panels], axis=0))
    power_W = np.zeros_like(volts)
    for one, at in zip(panels, points(volts, slice(None)), strict=True):
        power_W += one.count * at.power_W
    return power_W


def _in_series_W(panels: Sequence[Modules], own: Sequence[_Point]) -> Array:
    """Most power at one current through the strongest, round the others, for any number of them."""
    photo_A = np.stack([one.curve.photo_A for one in panels])
    rank = photo_A.argsort(axis=0).argsort(axis=0)  # 0 for the weakest
    strings_W = [
        _string_W(panels, own, rank >= weakest, most_A)
        for weakest, most_A in enumerate(np.sort(photo_A, axis=0))
    ]
    return np.max(strings_W, axis=0)


def _string_W(
    panels: Sequence[Modules], own: Sequence[_Point], carries: Bools, most_A: Array
) -> Array:
    """Most power of a string in which some carry the current, and it goes round the others.

    Begun where the weakest that carries it is at its own best.
    """
    own_A = [np.where(carried, at.amps, np.inf) for at, carried in zip(own, carries, strict=True)]

    def volts_at(amps: Array, rows: Bools | slice) -> tuple[Array, Array, Array]:
        """Of the string, with how they grow with the current, and how that does."""
        volts = slope = bend = np.zeros_like(amps)
        for one, carrying in zip(panels, carries, strict=True):
            carried = carrying[rows]
            at = _at_amps(_some(one.curve, rows), np.where(carried, amps, 0.0))
            volts = volts + np.where(carried, one.count * at.volts, -one.bypass_V)
            slope = slope + np.where(carried, one.count / at.slope, 0.0)
            bend = bend - np.where(
                carried, one.count * at.bend / (at.slope * at.slope * at.slope), 0.0
            )
        return volts, slope, bend

    def rise_at(amps: Array, rows: Bools | slice) -> tuple[Array, Array]:
        volts, slope, bend = volts_at(amps, rows)
        return volts + amps * slope, 2.0 * slope + amps * bend

    amps = _best(rise_at, np.min(own_A, axis=0), most_A)
    return amps * volts_at(amps, slice(None))[0]
