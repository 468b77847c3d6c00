"""A passage of a folder, for a notebook."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from datetime import datetime
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, overload

from powersim.inputs.folder import load_folder
from powersim.records import Passage as PassageRecord
from powersim.report.mending import mend

if TYPE_CHECKING:
    from powersim.inputs.places import Given


class Passage(PassageRecord):
    """A passage of which single values can be changed (`powersim.records.Passage` has the rest)."""

    __slots__ = ()

    @overload
    def with_(self, place: Mapping[str, Given], /) -> Passage: ...

    @overload
    def with_(self, place: str, value: Given, /) -> Passage: ...

    def with_(self, place: Mapping[str, Given] | str, *value: Given) -> Passage:
        """The same with values changed as the files would say them.

        Parameters
        ----------
        place : str or mapping of str to value
            A key of boat.toml, "battery.capacity" or "panel.arch.power", or a column of a load,
            "loads.vhf radio.draw"; a whole load, panel or table, "loads.music"; or several places
            at once, each with its value.
        *value : str, float, bool, date, mapping or None
            As it would stand there, such as "300 Ah"; a mapping for all of a load, panel or table;
            None to take out what is there. A load is left off: it stays, and its count is 0.

        Returns
        -------
        Passage
            This one stays as it is; `changed` of the new one says what differs from the files, and
            so does every answer. Weather files, and what was changed by other means, stay.

        Raises
        ------
        InputError
            If the value would be refused in the files, or there is no such place in them.
        TypeError
            If a place comes without its value.
        ValueError
            If the passage was not read from a folder, or what the value changes is not as its files
            say.
        """
        from powersim.inputs.passage_with import passage_with

        if isinstance(place, str):
            if len(value) != 1:
                raise TypeError("with_ takes a place and its value, or a mapping of them")
            place = {place: value[0]}
        return passage_with(self, place)


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
        With every value read, checked and in one unit.

    Raises
    ------
    InputError
        With everything that is wrong with the files.
    """
    for sentence in mend(Path(folder)):
        warnings.warn(sentence, stacklevel=2)
    passage = load_folder(
        folder,
        depart=depart,
        forecast=forecast,
        irradiance=irradiance,
        or_climatology=or_climatology,
        engine_plan=engine_plan,
        kind=Passage,
    )
    assert isinstance(passage, Passage)
    return passage
