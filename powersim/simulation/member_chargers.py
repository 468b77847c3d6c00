"""What other chargers give in many weathers: wind that blows for each member, calms that differ."""

from __future__ import annotations

from dataclasses import replace

from powersim.physics.water_generator import water_generator_W
from powersim.physics.wind_generator import wind_generator_W


def member_chargers(chargers, signals, *, wind_m_s, speed_kn, under_way, motoring) -> tuple:
    """The signals of other chargers, with what they offer in the members' weathers.

    Parameters
    ----------
    chargers : list of WindGenerator, WaterGenerator or ShorePower
    signals : tuple of ControllerSignal
        One for each of them, in the mean weather.
    wind_m_s : ndarray, shape (steps, members), or None
        True wind at 10 m; only a wind generator asks for it. [m/s]
    speed_kn : ndarray, shape (steps, 1)
        The boat's. [kn]
    under_way : ndarray, shape (steps, 1)
        Share of each step under sail or under engine. [-]
    motoring : ndarray, shape (steps, members or 1)
        Share of each step with the engine in gear. [-]

    Returns
    -------
    tuple of ControllerSignal
    """

    def in_weathers(charger, signal):
        if charger.source == "wind":
            power_W = wind_generator_W(charger, wind_m_s=wind_m_s, speed_kn=speed_kn)
        elif charger.source == "water":
            power_W = water_generator_W(
                charger, speed_kn=speed_kn, sailing=under_way - motoring, motoring=motoring
            )
        else:  # A berth has power in any weather.
            return signal
        return replace(signal, power_W=power_W)

    return tuple(in_weathers(*pair) for pair in zip(chargers, signals, strict=True))


def ask_for_wind(chargers) -> bool:
    """Whether any of them lives on the wind.

    Parameters
    ----------
    chargers : list of WindGenerator, WaterGenerator or ShorePower

    Returns
    -------
    bool
    """
    return any(charger.source == "wind" for charger in chargers)
