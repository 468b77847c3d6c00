"""What files knew of the sky, in plain numbers."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from powersim.sky.weather_files import span_of


def sky_summary(result) -> dict:
    """The weather files of a passage, and those that were left out.

    Parameters
    ----------
    result : Result or Forecast
        Of which the `prepared` is looked at.

    Returns
    -------
    dict
    """
    prepared = result.prepared
    return {
        "files": [_file(one, prepared.sun_track, prepared.sun_sky) for one in prepared.files],
        "left_out": [f"{one.file}: {one.text}" for one in prepared.left_out],
    }


def _file(one, track, sky) -> dict:
    counts = np.where(np.isfinite(one.known.clear_frac), one.known.weight, 0.0)
    clear_W_m2 = sky.clear_ghi_W_m2
    span = span_of(one.known, track) or (None, None)
    return {
        "file": one.file,
        "kind": one.kind,
        "from_utc": _iso(span[0]),
        "until_utc": _iso(span[1]),
        "clock_untried": one.known.clock_untried,
        "light_frac": float((clear_W_m2 * counts).sum() / max(clear_W_m2.sum(), 1.0)),
    }


def _iso(utc_s):
    return None if utc_s is None else datetime.fromtimestamp(utc_s, UTC).isoformat()
