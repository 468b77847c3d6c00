"""Which places lie in the open sea, by positions that pilot books give (from memory)."""

import pytest

from powersim.inputs.off_land import is_off_land

#: Anchorages of lone sailors, small islands and atolls first. [deg]
ANCHORAGES = {
    "Direction Island, Cocos": (-12.09, 96.88),
    "Port Mathurin, Rodrigues": (-19.67, 63.42),
    "Raivavae": (-23.87, -147.68),
    "Tristan da Cunha": (-37.06, -12.31),
    "Pitcairn": (-25.07, -130.10),
    "Palmerston": (-18.04, -163.19),
    "Minerva Reef, north": (-23.62, -178.95),
    "Suwarrow": (-13.25, -163.11),
    "Penrhyn": (-9.0, -158.05),
    "Georgetown, Ascension": (-7.92, -14.42),
    "Jamestown, Saint Helena": (-15.92, -5.72),
    "Horta": (38.53, -28.63),
    "Port Arthur": (-43.15, 147.86),
    "Great Bahama Bank": (24.5, -78.0),
    "Manaus": (-3.14, -60.02),
    "Lake Superior": (47.5, -88.0),
    "Taveuni, on the date line": (-16.8, 180.0),
    "McMurdo": (-77.85, 166.6),
}
#: The middles of oceans, with the date line and the equator among them. [deg]
OPEN_SEA = {
    "North Atlantic": (45.0, -30.0),
    "mid-ocean of the demo": (52.0, -27.5),
    "South Atlantic": (-30.0, -20.0),
    "Indian Ocean": (-25.0, 80.0),
    "North Pacific, on the date line": (40.0, 180.0),
    "South Pacific": (-48.9, -123.4),
    "Southern Ocean": (-58.0, -150.0),
    "Tasman Sea": (-36.0, 160.0),
    "Bay of Biscay": (45.5, -6.5),
    "middle of the Norwegian Sea": (68.0, 2.0),
}


@pytest.mark.parametrize(("lat_deg", "lon_deg"), ANCHORAGES.values(), ids=ANCHORAGES)
def test_an_anchorage_is_near_land(lat_deg, lon_deg):
    assert not is_off_land(lat_deg=lat_deg, lon_deg=lon_deg)


@pytest.mark.parametrize(("lat_deg", "lon_deg"), OPEN_SEA.values(), ids=OPEN_SEA)
def test_the_open_sea_is_not(lat_deg, lon_deg):
    assert is_off_land(lat_deg=lat_deg, lon_deg=lon_deg)


@pytest.mark.parametrize("lon_deg", [0.0, 180.0, -180.0, 360.0, 540.0])
def test_every_place_on_earth_has_an_answer(lon_deg):
    assert is_off_land(lat_deg=90.0, lon_deg=lon_deg)  # the ice of the pole lies on the sea
    assert not is_off_land(lat_deg=-90.0, lon_deg=lon_deg)


def test_east_and_west_count_alike():
    for lat_deg in range(-60, 61, 7):
        for lon_deg in range(-180, 180, 11):
            here = is_off_land(lat_deg=lat_deg, lon_deg=lon_deg)
            assert here is is_off_land(lat_deg=lat_deg, lon_deg=lon_deg + 360.0)
