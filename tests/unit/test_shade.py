"""Sectors, the beam behind them and the sky that is left."""

import numpy as np
import pytest

from powersim.physics.shade import MOUNT_SHADES, direct_kept_frac, isotropic_kept_frac, sectors_of
from powersim.records import MOUNTS, ShadeSector, panel_of


def sector(from_deg, to_deg, below_deg, **rest):
    return ShadeSector(from_deg=from_deg, to_deg=to_deg, below_deg=below_deg, **rest)


def beam(sectors, bearing_deg, elevation_deg=10.0, tack=1):
    return float(
        direct_kept_frac(sectors, bearing_deg=bearing_deg, elevation_deg=elevation_deg, tack=tack)
    )


@pytest.mark.parametrize(
    ("bearing_deg", "kept"),
    [(340.0, 0.0), (350.0, 0.0), (-5.0, 0.0), (0.0, 0.0), (370.0, 0.0), (20.1, 1.0), (339.9, 1.0)],
)
def test_a_sector_may_span_the_bow(bearing_deg, kept):
    assert beam([sector(340.0, 20.0, 30.0)], bearing_deg) == kept
    assert beam([sector(-20.0, 20.0, 30.0)], bearing_deg) == kept


def test_a_sun_above_the_sector_is_free():
    rig = [sector(-20.0, 20.0, 30.0)]
    assert (beam(rig, 0.0, 29.9), beam(rig, 0.0, 30.0)) == (0.0, 1.0)


def test_several_sectors_take_their_share_in_turn():
    rig = [sector(0, 90, 50, loss_frac=0.5), sector(45, 120, 50, loss_frac=0.2)]
    assert [beam(rig, bearing) for bearing in (20, 60, 100, 130)] == pytest.approx(
        [0.5, 0.4, 0.8, 1.0]
    )


def test_a_lee_sector_is_mirrored_on_the_port_tack_and_a_fixed_one_is_not():
    """Starboard tack: sails to port, so bearings 270 to 330; port tack: 30 to 90."""
    sail, wheelhouse = sector(270, 330, 50, side="lee"), sector(270, 330, 50)
    assert (beam([sail], 300, tack=1), beam([sail], 300, tack=-1)) == (0.0, 1.0)
    assert (beam([sail], 60, tack=1), beam([sail], 60, tack=-1)) == (1.0, 0.0)
    assert (beam([wheelhouse], 300, tack=1), beam([wheelhouse], 300, tack=-1)) == (0.0, 0.0)


def test_a_whole_round_and_none():
    assert beam([sector(0, 360, 20)], 123.0) == 0.0
    assert beam([sector(-180, 180, 20)], 123.0) == 0.0
    assert beam([sector(40, 40, 20)], 123.0) == 1.0


def test_beam_along_time_and_along_tacks():
    kept = direct_kept_frac(
        [sector(270, 330, 50, side="lee")],
        bearing_deg=np.array([300.0, 300.0, 60.0, 300.0]),
        elevation_deg=np.array([10.0, 10.0, 10.0, 60.0]),
        tack=np.array([1, -1, -1, 1]),
    )
    assert kept.tolist() == [0.0, 1.0, 0.0, 1.0]


@pytest.mark.parametrize(
    ("sectors", "kept"),
    [
        ([], 1.0),
        # width / 360 * sin^2(height) * loss, by hand
        ([sector(0, 90, 30)], 1 - 0.25 * 0.25),
        ([sector(0, 90, 30, loss_frac=0.4)], 1 - 0.25 * 0.25 * 0.4),
        ([sector(300, 30, 45)], 1 - 0.25 * 0.5),
        ([sector(0, 360, 90)], 0.0),
        # apart: losses add; one inside another: nothing is lost twice
        ([sector(0, 90, 30), sector(180, 270, 30)], 1 - 2 * 0.25 * 0.25),
        ([sector(0, 90, 30), sector(20, 40, 20)], 1 - 0.25 * 0.25),
        # half of the light, then half of what is left, where they overlap
        ([sector(0, 90, 90, loss_frac=0.5), sector(0, 90, 90, loss_frac=0.5)], 1 - 0.25 * 0.75),
    ],
)
def test_the_sky_that_is_left(sectors, kept):
    assert isotropic_kept_frac(sectors, tack=1) == pytest.approx(kept, abs=1e-12)


def test_the_sky_that_is_left_agrees_with_summing_the_sky_patch_by_patch():
    rig = [
        sector(280, 20, 55, loss_frac=0.7),
        sector(330, 60, 30),
        sector(100, 140, 80, side="lee"),
    ]
    bearing, height = np.meshgrid(np.arange(0.25, 360, 0.5), np.arange(0.25, 90, 0.5))
    weight = np.sin(np.radians(height)) * np.cos(np.radians(height))
    for tack in (1, -1):
        kept = direct_kept_frac(rig, bearing_deg=bearing, elevation_deg=height, tack=tack)
        by_patches = (kept * weight).sum() / weight.sum()
        assert isotropic_kept_frac(rig, tack=tack) == pytest.approx(by_patches, abs=1e-4)


def test_both_tacks_lose_the_same_sky_to_the_sail():
    sail = [sector(270, 330, 50, side="lee")]
    assert isotropic_kept_frac(sail, tack=1) == pytest.approx(isotropic_kept_frac(sail, tack=-1))


def test_every_mount_has_its_sectors_and_the_sailors_own_come_first():
    assert set(MOUNT_SHADES) == set(MOUNTS)
    assert sectors_of(panel_of("a", power_W=100.0, mount="arch")) == MOUNT_SHADES["arch"]
    assert sectors_of(panel_of("a", power_W=100.0, mount="arch", shades=())) == ()
    own = (sector(0, 90, 30),)
    assert sectors_of(panel_of("a", power_W=100.0, mount="clear", shades=own)) == own
