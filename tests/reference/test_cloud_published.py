"""Cloud to light, against the published formulas."""

import numpy as np
import pytest
from published import column, read_published

from powersim.sky import cloud
from powersim.sky.cloud import kasten_czeplak_frac, reed_frac

COEFFICIENTS = {
    (row["model"], row["coefficient_name"]): float(row["coefficient_value"])
    for row in read_published("cloud_to_irradiance_models.csv")
}


def test_coefficients_are_the_published_ones():
    """Kasten and Czeplak 1980; Reed 1977. Exact."""
    assert COEFFICIENTS["Kasten and Czeplak", "a"] == cloud.KASTEN_FACTOR
    assert COEFFICIENTS["Kasten and Czeplak", "b"] == cloud.KASTEN_POWER
    assert COEFFICIENTS["Reed", "a"] == cloud.REED_FACTOR
    assert COEFFICIENTS["Reed", "b_per_deg"] == cloud.REED_PER_DEG


def test_light_under_cloud_matches_kasten_and_czeplak_by_okta():
    """Kasten and Czeplak, Solar Energy 24 (1980) 177-189, evaluated for 0 to 8 oktas."""
    rows = read_published("kasten_czeplak_by_okta.csv")
    found = kasten_czeplak_frac(np.array(column(rows, "okta")))
    # Printed to four places.
    assert found == pytest.approx(column(rows, "global_over_clear_sky"), abs=1e-4)


# Worked by hand from Q/Q0 = 1 - 0.62 C + 0.0019 beta, not above 1:
# C 0.5, beta 60: 1 - 0.31 + 0.114 = 0.804; C 1, beta 30: 1 - 0.62 + 0.057 = 0.437;
# C 0.125, beta 80: 1 - 0.0775 + 0.152 = 1.0745, capped; noon below the horizon counts as 0.
REED = [(4, 60, 0.804), (8, 30, 0.437), (1, 80, 1.0), (8, -5, 0.38)]


@pytest.mark.parametrize(("oktas", "noon_deg", "share"), REED)
def test_light_under_cloud_matches_reed(oktas, noon_deg, share):
    """Reed, J. Physical Oceanography 7 (1977) 482-485."""
    found = reed_frac(np.array([oktas]), noon_elevation_deg=np.array([noon_deg]))
    assert found[0] == pytest.approx(share, abs=1e-12)


def test_tabata_and_kasten_agree_with_reed_as_well_as_such_models_do():
    """Tabata 1964 (from memory): the models differ by 10 to 20 percent among themselves."""
    oktas = np.arange(3, 9)
    for noon_deg in (30.0, 50.0, 70.0):
        tabata = (
            1.0
            - COEFFICIENTS["Tabata", "a"] * oktas / 8
            + COEFFICIENTS["Tabata", "b_per_deg"] * noon_deg
        )
        found = reed_frac(oktas, noon_elevation_deg=noon_deg)
        assert np.abs(found - tabata).max() < 0.1
