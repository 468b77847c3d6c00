"""Payne's albedo of the sea by zenith angle, against the constant that panels use.

R. E. Payne, Albedo of the sea surface, J. Atmos. Sci. 29 (1972) 959-970.
"""

import numpy as np
import pytest
from solar_cases import boat_in_one_place, read_rows

from powersim.physics.irradiance import SEA_ALBEDO_FRAC, light_on_plane

TABLE = sorted(
    (float(row["solar_zenith_deg"]), float(row["albedo"]))
    for row in read_rows("sea_albedo_by_zenith.csv")
)


def test_the_constant_is_the_tables_at_54_degrees():
    """The table is good to 0.02 as physics."""
    assert dict(TABLE)[54.0] == pytest.approx(SEA_ALBEDO_FRAC, abs=0.002)


@pytest.mark.parametrize(("lat_deg", "day"), [(17.0, "2027-10-15"), (60.0, "2027-09-10")])
@pytest.mark.parametrize("azimuth_deg", [0.0, 90.0, 180.0])
def test_the_whole_table_changes_a_days_light_on_a_steep_panel_by_under_one_per_cent(
    lat_deg, day, azimuth_deg
):
    _, sky = boat_in_one_place(lat_deg=lat_deg, day=day, clearness=0.5)
    zenith_deg = 90.0 - sky.elevation_deg
    by_table = np.interp(zenith_deg, *zip(*TABLE, strict=True))
    day_light = [
        light_on_plane(
            tilt_deg=30.0,
            azimuth_deg=azimuth_deg,
            sun_elevation_deg=sky.elevation_deg,
            sun_azimuth_deg=sky.azimuth_deg,
            dni_W_m2=sky.dni_W_m2,
            ghi_W_m2=sky.ghi_W_m2,
            dhi_W_m2=sky.dhi_W_m2,
            extra_dni_W_m2=sky.extra_dni_W_m2,
            albedo_frac=albedo_frac,
        ).total_W_m2.sum()
        for albedo_frac in (SEA_ALBEDO_FRAC, by_table)
    ]
    assert day_light[1] != day_light[0]
    assert day_light[1] == pytest.approx(day_light[0], rel=0.01)
