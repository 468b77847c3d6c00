"""A level MPPT panel at a fixed point against pvlib's own ModelChain with the same inputs."""

import pandas as pd
import pvlib
import pytest
from solar_cases import boat_in_one_place

from powersim.physics.solar import controller_yield
from powersim.records import Controller, Waypoint, panel_of
from powersim.sky.sky import sky_of
from powersim.voyage.track import track_of

# pvlib 0.16 asks pandas for a name that pandas 3 deprecates; ours is not the code that asks.
pytestmark = pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear is deprecated")

POWER_W, SALT_PERCENT, EFFICIENCY = 200.0, 4.0, 0.95


def sky_share_of_a_level_plane():
    """The sky's share, which pvlib names from 0.16 on and gives first of a pair before."""
    diffuse = pvlib.iam.martin_ruiz_diffuse(0.0)
    return float(diffuse["sky"] if isinstance(diffuse, dict) else diffuse[0])


def model_chain_Wh(sky, times, *, lat_deg, lon_deg, step_h):
    """The day's energy; losses other than salt are set to nothing on both sides.

    ModelChain takes the glass's share of diffuse light as one constant, FD: that of Martin and
    Ruiz under an even sky. Our ring around the sun comes in at the sun's angle instead.
    """
    array = pvlib.pvsystem.Array(
        pvlib.pvsystem.FixedMount(surface_tilt=0.0, surface_azimuth=180.0),
        albedo=0.06,
        module_parameters={
            "pdc0": POWER_W,
            "gamma_pdc": -0.004,
            "a_r": 0.16,
            "FD": sky_share_of_a_level_plane(),
        },
        temperature_model_parameters={"u0": 25.0, "u1": 6.84},
    )
    other = ("shading", "snow", "mismatch", "wiring", "connections", "lid", "nameplate_rating")
    system = pvlib.pvsystem.PVSystem(
        arrays=[array],
        losses_parameters={"soiling": SALT_PERCENT, "age": 0, "availability": 0}
        | dict.fromkeys(other, 0),
    )

    def controller(chain):
        chain.results.ac = chain.results.dc * EFFICIENCY

    chain = pvlib.modelchain.ModelChain(
        system,
        pvlib.location.Location(lat_deg, lon_deg),
        transposition_model="haydavies",
        aoi_model="martin_ruiz",
        spectral_model="no_loss",
        temperature_model="faiman",
        dc_model="pvwatts",
        losses_model="pvwatts",
        ac_model=controller,
    )
    weather = pd.DataFrame(
        {
            "ghi": sky.ghi_W_m2,
            "dni": sky.dni_W_m2,
            "dhi": sky.dhi_W_m2,
            "temp_air": sky.air_C,
            "wind_speed": sky.wind_m_s,
        },
        index=times,
    )
    return chain.run_model(weather).results.ac.fillna(0.0).sum() * step_h


@pytest.mark.parametrize("clearness", [None, 0.6, 0.35])
@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "day"),
    [
        (64.0, -22.0, "2027-09-05"),
        (38.5, -28.6, "2027-10-01"),
        (17.0, -25.0, "2027-10-15"),
        (-34.0, 18.0, "2027-06-21"),
    ],
)
def test_a_days_energy_is_that_of_model_chain(lat_deg, lon_deg, day, clearness):
    """Within 0.5 %: the ring around the sun is all that differs, 0.47 % at most."""
    track, sky = boat_in_one_place(
        lat_deg=lat_deg, lon_deg=lon_deg, day=day, clearness=clearness, air_C=15.0, wind_m_s=6.0
    )
    theirs_Wh = model_chain_Wh(
        sky, sky.times, lat_deg=lat_deg, lon_deg=lon_deg, step_h=track.step_h
    )
    assert theirs_Wh > 100.0
    assert level_panel_Wh(track, sky) == pytest.approx(theirs_Wh, rel=0.005)


def test_three_days_at_anchor_under_our_own_sky_are_those_of_model_chain():
    """Horta in October: our sun, our clear sky, our cloud, pvlib's panel."""
    lat_deg, lon_deg = 38.53, -28.62
    horta = Waypoint(name="Horta", lat_deg=lat_deg, lon_deg=lon_deg, speed_kn=5.0, stop_h=72.0)
    away = Waypoint(name="off Horta", lat_deg=lat_deg - 0.01, lon_deg=lon_deg)
    depart = pd.Timestamp("2027-10-01", tz="UTC")
    track = track_of([horta, away], depart_utc_s=depart.timestamp(), step_h=0.25)
    sky = sky_of(track)
    times = pd.to_datetime(track.mid_utc_s, unit="s", utc=True)
    theirs_Wh = model_chain_Wh(sky, times, lat_deg=lat_deg, lon_deg=lon_deg, step_h=track.step_h)
    assert theirs_Wh > 1000.0
    assert level_panel_Wh(track, sky) == pytest.approx(theirs_Wh, rel=0.005)


def level_panel_Wh(track, sky):
    panel = panel_of("flat", power_W=100.0, count=2, mount="clear", wiring_frac=0.0)
    offered = controller_yield(
        Controller(efficiency_frac=EFFICIENCY), [panel], track=track, sky=sky, nominal_V=12.0
    )
    return offered.power_W.sum() * track.step_h
