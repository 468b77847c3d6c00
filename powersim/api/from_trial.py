"""What a meter showed before leaving, as loads were switched on and off."""

from __future__ import annotations

from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from powersim.api.asked import passage_of

if TYPE_CHECKING:
    from powersim.logbook.trial import SeaTrial
    from powersim.records import Passage
    from powersim.simulation.prepared_passage import PreparedPassage
    from powersim.simulation.result import SimulationResult


def sea_trial(
    passage: Passage | PreparedPassage[Any] | SimulationResult,
    *,
    trial: str | PathLike[str] | None = None,
) -> SeaTrial:
    """What each load draws, from a sheet of readings taken as loads were switched on and off.

    Parameters
    ----------
    passage : Passage, PreparedPassage or Result
        Whose loads were switched.
    trial : str or path, optional
        The sheet; trial.csv in the passage's folder if left out. It is never written to.

    Returns
    -------
    SeaTrial
        A draw for each load that was switched, with its doubt.

    Raises
    ------
    InputError
        If no reading of it can be used.
    ValueError
        If no sheet is named and the passage was not read from a folder.
    """
    from powersim.inputs.trial import TRIAL_FILE, read_trial
    from powersim.logbook.trial import sea_trial as found_by

    asked = passage_of(passage)
    if trial is None and asked.folder is None:
        raise ValueError("the passage was not read from a folder; name its trial")
    sheet = Path(asked.folder or "") / TRIAL_FILE if trial is None else trial
    return found_by(read_trial(sheet), asked)
