"""What `--without` names where things may be lost at sea: what fails, and places in the files."""

from __future__ import annotations

from collections.abc import Sequence


def parted(without: Sequence[str]) -> tuple[list[str], list[str]]:
    """Names of what is lost, and places of what is taken out of the files.

    Parameters
    ----------
    without : sequence of str
        As typed.
    """
    from powersim.inputs.boat import TABLES
    from powersim.inputs.places import LOADS, parts_of
    from powersim.inputs.text import ReadingError
    from powersim.planning.failures import FAILURES

    lost: list[str] = []
    places: list[str] = []
    failures = {failure.key for failure in FAILURES}
    for typed in without:
        try:
            first, *rest = parts_of(typed)
        except ReadingError:
            first, rest = typed, []
        whole_table = first in TABLES and first not in failures
        is_place = first in (*TABLES, LOADS) if rest else whole_table
        (places if is_place else lost).append(typed)
    return lost, places
