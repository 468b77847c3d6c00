"""What a write-back did, for a reader and for a program."""

from __future__ import annotations

from powersim.records import Change, Written
from powersim.records.units_aboard import aboard
from powersim.report.text import bullets, join, paragraph, shortened, table, title

_LONGEST = 14  # characters of a value; a number of many digits must not burst the table
_STAYS = (
    "Charge and {litres} at departure, the departure itself and log.csv are as they were: the "
    "files tell the same passage from its beginning, with the boat as she is."
)


def _stays() -> str:
    return _STAYS.format(litres=aboard().volume.name)


def written_text(written: Written) -> str:
    """Every value that was written, where to, and what was not.

    Parameters
    ----------
    written : Written
        What became of each value.

    Returns
    -------
    str
        At most 80 columns wide.
    """
    rows = [
        (
            one.file,
            one.place,
            _old(one),
            shortened(one.new, _LONGEST),
        )
        for one in written.changes
    ]
    return join(
        title("Written into the files"),
        paragraph(_where(written)),
        table(rows, header=("file", "what", "was", "is now"), aligns="llrr"),
        *(paragraph(one) for one in written.notes),
        *_left(written),
        paragraph(f"{_stays()} {_way_on(written)}") if rows else "",
    )


def _old(change: Change) -> str:
    if change.added and change.old == "-":
        return "-"
    return shortened(change.old, _LONGEST) + (" (default)" if change.added else "")


def _where(written: Written) -> str:
    if written.into is None:
        return "Nothing: the log shows nothing that the files do not say already."
    if written.backups:
        return (
            f"Into {written.into} itself. As they were, its files are kept there as "
            f"{' and '.join(written.backups)}."
        )
    return f"Into {written.into}, a new copy of {written.folder}, which is as it was."


def _way_on(written: Written) -> str:
    if written.backups:
        return "Held against these files, the same log would count twice."
    return (
        f"Go on with {written.folder} for underway, and with {written.into} for all else: held "
        "against that, the same log would count twice."
    )


def _left(written: Written):
    if not written.left:
        return ()
    return (paragraph("Not written:"), bullets(written.left))


def written_dict(written: Written | None) -> dict:
    """The same, as a part of the answer for a program.

    Parameters
    ----------
    written : Written or None
        None where nothing was asked.

    Returns
    -------
    dict
        Of lists; "written" is null where nothing was asked.
    """
    if written is None:
        return {"written": None}
    return {
        "written": [
            {"file": one.file, "place": one.place, "old": one.old, "new": one.new}
            | {"added": one.added}
            for one in written.changes
        ],
        "written_into": written.into,
        "backups": list(written.backups),
        "not_written": list(written.left),
        "written_notes": list(written.notes),
    }
