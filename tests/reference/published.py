"""Reads the published values that the checks of this folder stand on."""

import csv
from datetime import UTC, datetime
from pathlib import Path

DATA = Path(__file__).parent / "data"


def read_published(name):
    """Rows of data/name as dictionaries of text; lines that start with # tell the source."""
    with (DATA / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def column(rows, name):
    """One column as a list of numbers."""
    return [float(row[name]) for row in rows]


def unix_s(text):
    """Unix time of an ISO date, or date and time; UTC unless it says otherwise."""
    moment = datetime.fromisoformat(text)
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
