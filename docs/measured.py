"""Where a page keeps a table that a script measures: between two marks."""

from __future__ import annotations

import re


def put(page, name, rows):
    """Put the lines of a measured table into its page, in place of those before.

    Parameters
    ----------
    page : Path
    name : str
        As the page's mark has it.
    rows : iterable of str
    """
    table = "\n".join(rows)
    text, places = re.subn(
        rf"<!-- measured: {name} -->.*?<!-- end -->",
        lambda _: f"<!-- measured: {name} -->\n\n{table}\n\n<!-- end -->",
        page.read_text(encoding="utf-8"),
        flags=re.DOTALL,
    )
    if places != 1:
        raise ValueError(f"{page} has {places} places for the table {name!r}, and not one")
    page.write_text(text, encoding="utf-8")
