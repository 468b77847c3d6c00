"""Tables of cells that become CSV files: loads, waypoints, entries of a log."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass


@dataclass
class Table:
    """Heads and rows of cells, and how they are separated."""

    heads: list[str]
    rows: list[list[str]]
    separator: str = ","

    def text(self) -> str:
        """The file, quoted where it must be."""
        out = io.StringIO()
        writer = csv.writer(out, delimiter=self.separator, lineterminator="\n")
        writer.writerows([self.heads, *self.rows])
        return out.getvalue()

    def without_empty_columns(self) -> Table:
        """The same with the columns that hold nothing left out."""
        kept = [at for at in range(len(self.heads)) if any(row[at] for row in self.rows) or at < 2]
        return Table(
            [self.heads[at] for at in kept], [[row[at] for at in kept] for row in self.rows]
        )
