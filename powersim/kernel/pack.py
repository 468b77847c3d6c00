"""Devices with batteries of their own that are charged before the bank is full: one pack of them.

Those that take only what the bank has no room for are no matter of the kernel: they change nothing
that the bank does (simulation/devices.py).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """Their batteries as one; none by default.

    Attributes
    ----------
    charge_W : float
        What they take from the bus while charged. [W]
    above_soc : float
        Charge of the bank from which on they are charged. [-]
    full_Wh : float
        What they hold. [Wh]
    use_W : float
        What they give, on the mean. [W]
    efficiency_frac : float
        Share of what they take that they give again. [-]
    """

    charge_W: float = 0.0
    above_soc: float = 0.0
    full_Wh: float = 0.0
    use_W: float = 0.0
    efficiency_frac: float = 1.0


def pack_draw_W(pack: Pack, *, pack_Wh: float, soc: float, step_h: float) -> float:
    """What the pack asks for in a step.

    Parameters
    ----------
    pack : Pack
        Or the record of one.
    pack_Wh : float
        What it holds as the step begins. [Wh]
    soc : float
        Charge of the bank. [-]
    step_h : float
        Length of the step. [h]

    Returns
    -------
    float
        No more than fills it by the end of the step. [W]
    """
    if not pack.charge_W > 0.0 or soc < pack.above_soc:
        return 0.0
    room_Wh = pack.full_Wh - pack_Wh + pack.use_W * step_h
    fills_W = room_Wh / (pack.efficiency_frac * step_h)
    if fills_W < pack.charge_W:
        return fills_W if fills_W > 0.0 else 0.0
    return pack.charge_W


def pack_after_Wh(pack: Pack, *, pack_Wh: float, taken_W: float, step_h: float) -> float:
    """What the pack holds as a step ends.

    Parameters
    ----------
    pack : Pack
        Or the record of one.
    pack_Wh : float
        What it holds as the step begins. [Wh]
    taken_W : float
        What it was given. [W]
    step_h : float
        Length of the step. [h]

    Returns
    -------
    float
        An empty one gives no more than it takes, and one that is full holds what it holds. [Wh]
    """
    after_Wh = pack_Wh + (pack.efficiency_frac * taken_W - pack.use_W) * step_h
    if after_Wh < 0.0:
        return 0.0
    return after_Wh if after_Wh < pack.full_Wh else pack.full_Wh
