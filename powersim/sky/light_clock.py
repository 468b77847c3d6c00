"""Whether measured light goes by the sun over the boat: its middle against that of a clear sky.

Cloud makes single days lopsided, by a third to a half of an hour as often as not. Over some days
that evens out, and what is left is the clock of the file, or how far to the east or west it was
measured.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from powersim.records.arrays import Array
    from powersim.voyage.track import Track

#: Fewer whole days say too little. Of 60 synthetic members at 10 to 60 N, January, June and
#: September, the middle of four days was 0.8 h off at most; at a mooring at 12 N, 0.45 h.
LEAST_DAYS = 4
#: In longer steps the middle of a day cannot be told. [s]
_LONGEST_STEP_s = 3 * 3600.0
#: Of a day's hours, for it to count as whole. [-]
_WHOLE_FRAC = 0.85
#: Of the clear sky, for a day to have a middle: less is polar twilight [W/m^2], or a sun that goes
#: round the sky [-].
_LEAST_CLEAR_W_m2, _LEAST_LENGTH = 20.0, 0.2
_DAY_s = 86400.0


def hours_off(
    track: Track, *, mid_utc_s: Array, step_s: float, light_W_m2: Array, clear_W_m2: Array
) -> tuple[float | None, int]:
    """How much later than the sun the light of a file comes, over all its whole days.

    Parameters
    ----------
    track : Track
        For the boat's longitude.
    mid_utc_s : ndarray, shape (n,)
        Middle of each interval, as Unix times. [s]
    step_s : float
        Their length. [s]
    light_W_m2, clear_W_m2 : ndarray, shape (n,)
        Mean of each interval in the file, nan where it has a gap, and by a clear sky over the
        boat. [W/m^2]

    Returns
    -------
    offset_h : float or None
        Below 0 where it comes early, from -12 to 12. None where fewer than LEAST_DAYS whole days
        tell it. [h]
    days : int
        That were whole. [-]

    Notes
    -----
    Each interval is a hand on a clock of 24 hours that goes by the boat's longitude, as long as
    its light. All hands of a day, laid end to end, point to its middle; so does the clear sky's
    day, and the angle between both is the offset. Days are summed as such sums, so that a bright
    one counts for more. Turned by any number of hours, the light of whole days gives just that.

    References
    ----------
    .. [1] Mean direction: K. V. Mardia, P. E. Jupp, Directional Statistics, Wiley, 2000, section
       2.2 (from memory).
    """
    if step_s > _LONGEST_STEP_s:
        return None, 0
    lon_deg = np.interp(mid_utc_s, track.edge_utc_s, np.unwrap(track.edge_lon_deg, period=360.0))
    sun_s = mid_utc_s + _DAY_s * lon_deg / 360.0
    hand = np.exp(2j * np.pi * sun_s / _DAY_s)
    total, days, known = 0.0, 0, ~np.isnan(light_W_m2)
    day = np.floor(sun_s / _DAY_s)
    for one in np.unique(day):
        here = (day == one) & known
        if here.sum() * step_s < _WHOLE_FRAC * _DAY_s:
            continue
        clear = (clear_W_m2[here] * hand[here]).sum()
        long_enough = abs(clear) > _LEAST_LENGTH * clear_W_m2[here].sum()
        if clear_W_m2[here].mean() > _LEAST_CLEAR_W_m2 and long_enough:
            total += (light_W_m2[here] * hand[here]).sum() * np.conj(clear) / abs(clear)
            days += 1
    if days < LEAST_DAYS:
        return None, days
    return float(np.angle(total) * 12.0 / np.pi), days
