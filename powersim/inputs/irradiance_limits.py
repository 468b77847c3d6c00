"""What light, air and wind can be at sea level, for every reader of them."""

from __future__ import annotations

#: Instruments read a little below 0 at night: thermopiles cool to the sky. Common practice, no
#: source. [W/m^2]
NIGHT_NOISE_W_m2 = 10.0
#: The sun gives 1,360 W/m2 above the air; cloud edges add to it for minutes. [W/m^2]
MOST_LIGHT_W_m2 = 1600.0
#: As a departure's years; the first and the last moment of them in UTC. [s]
FIRST_UTC_s, LAST_UTC_s = -631152000.0, 4133980800.0
YEARS = "1950 to 2100"
#: Least and most of what is not light.
RANGES = {"air_C": (-70.0, 60.0), "wind_m_s": (0.0, 100.0)}
