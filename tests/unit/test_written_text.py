"""What a write-back says it has done."""

import json

from powersim.records import Change, Written
from powersim.report.written_text import written_dict, written_text

LONG = Change(
    file="loads.csv",
    place=f"standby ({'x' * 60})",
    old="0.000000000000000001 W",
    new="0.00000000000000000117 W",
)
ADDED = Change(file="boat.toml", place="battery.health", old="85 %", new="76.5 %", added=True)


def written(**given):
    return Written(
        **{"folder": "old", "into": "new", "changes": (ADDED, LONG), "backups": (), "left": ()}
        | given
    )


def test_however_long_a_name_or_a_number_the_page_is_kept():
    text = written_text(written(left=("what the bank holds: the log says little about it",)))
    assert max(map(len, text.splitlines())) <= 80
    assert text.startswith(
        "Written into the files\n----------------------\n\n"
        "Into new, a new copy of old, which is as it was.\n"
    )
    assert "85 % (default)" in text
    assert "Not written:\n\n- what the bank holds: the log says little about it" in text
    assert "Go on with old for underway, and with new for all else" in text


def test_where_the_old_files_are_is_said():
    text = written_text(written(into="old", backups=("boat.toml.2026-09-15-1200",)))
    assert "As they were, its files are kept there as boat.toml.2026-09-15-1200." in " ".join(
        text.split()
    )
    assert "Held against these files, the same log would count twice." in " ".join(text.split())


def test_json_is_plain():
    answer = json.loads(json.dumps(written_dict(written())))
    assert answer["written"][0] == {
        "file": "boat.toml",
        "place": "battery.health",
        "old": "85 %",
        "new": "76.5 %",
        "added": True,
    }
    assert (answer["written_into"], answer["backups"], answer["not_written"]) == ("new", [], [])
    assert written_dict(None) == {"written": None}
