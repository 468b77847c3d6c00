"""The endurance table as rows for report and card: what planning found, in words."""

from __future__ import annotations

from dataclasses import dataclass

from powersim.report.endurance_text import time_left


@dataclass(frozen=True, slots=True, kw_only=True)
class EnduranceRow:
    """One line of the table.

    Attributes
    ----------
    loss, loads : str
        What is lost, and which loads are kept.
    to_floor, to_flat : str
        How long the bank lasts.
    """

    loss: str
    loads: str
    to_floor: str
    to_flat: str


def endurance_rows(result) -> list[EnduranceRow]:
    """How long the bank lasts from departure if something fails, in the mean sky.

    Parameters
    ----------
    result : Result
        Of the simulation.

    Returns
    -------
    list of EnduranceRow
        Losses in order, within each the sets of loads.
    """
    from powersim.planning.endurance import endurance

    found = endurance(result)
    landfall_days = found.days_to_landfall
    return [
        EnduranceRow(
            loss=line.loss,
            loads=line.loads,
            to_floor=time_left(line.days_to_floor, landfall_days),
            to_flat=time_left(line.days_to_flat, landfall_days),
        )
        for line in found.lines
    ]
