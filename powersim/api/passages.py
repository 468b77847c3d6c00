"""A passage of a folder, for a notebook."""

from __future__ import annotations

import warnings
from datetime import datetime
from os import PathLike
from pathlib import Path

from powersim.inputs.folder import load_folder
from powersim.records import Passage as Passage
from powersim.report.mending import mend


def load(
    folder: str | PathLike[str],
    *,
    depart: str | datetime | None = None,
    forecast: str | PathLike[str] | None = None,
    irradiance: str | PathLike[str] | None = None,
    or_climatology: bool = False,
    engine_plan: str | PathLike[str] | None = None,
) -> Passage:
    """Read a passage folder, and the weather files that go with it.

    What a command that died there while it wrote has left is put right first; a warning says so.

    Parameters
    ----------
    folder : str or path
        With boat.toml, loads.csv and route.csv or route.gpx.
    depart : str or datetime, optional
        Leave then and not as boat.toml says, for example "2026-09-05 09:00 UTC".
    forecast : str or path, optional
        A GRIB file, which goes before the month's mean for the days that it covers.
    irradiance : str or path, optional
        A file of measured light, the same.
    or_climatology : bool
        Do without a weather file that cannot be read or does not cover the boat; the summary then
        tells why.
    engine_plan : str or path, optional
        A file of charging runs that take the place of boat.toml's rule.

    Returns
    -------
    Passage

    Raises
    ------
    InputError
        With everything that is wrong with the files.
    """
    for sentence in mend(Path(folder)):
        warnings.warn(sentence, stacklevel=2)
    return load_folder(
        folder,
        depart=depart,
        forecast=forecast,
        irradiance=irradiance,
        or_climatology=or_climatology,
        engine_plan=engine_plan,
    )
