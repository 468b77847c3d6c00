"""What the page asks to be changed, as values by place."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from powersim.errors import refused
from powersim.inputs.places import LOADS, parts_of
from powersim.inputs.text import ReadingError
from powersim.inputs.toml_keys import FLAG, Key
from powersim.tryout.boat_fields import key_at

#: More than any boat has fields, and longer than any of them.
MOST_CHANGES, LONGEST_TEXT = 1_000, 2_000
#: What stands for the page where a message names a file.
PAGE = "this page"
#: A number without a unit, as TOML writes it.
_BARE = re.compile(r"-?(0|[1-9][0-9]{0,8})(\.[0-9]{1,9})?")
_EXPECTED = 'changes such as [{"place": "battery.capacity", "value": "300 Ah"}]'


def values_of(changes: Any) -> dict[str, Any]:
    """Values by place, as `load_folder` takes them; of two for one place the later counts.

    Parameters
    ----------
    changes : object
        As the page sends them: a list of {"place", "value"}, where None takes something out, and
        an object stands for a whole table.

    Raises
    ------
    InputError
        If they have another form.
    """
    if not isinstance(changes, list) or len(changes) > MOST_CHANGES:
        raise refused(PAGE, "asked for no list of changes", _EXPECTED)
    found: dict[str, Any] = {}
    for one in changes:
        place = one.get("place") if isinstance(one, dict) else None
        if not isinstance(place, str) or len(place) > LONGEST_TEXT or "value" not in one:
            raise refused(PAGE, "asked for a change without a place", _EXPECTED)
        found.pop(place, None)
        found[place] = _value_of(place, one["value"])
    return found


def _value_of(place: str, value: Any) -> Any:
    try:
        parts = parts_of(place)
    except ReadingError:  # told when it is put into the files
        parts = (place,)
    if isinstance(value, dict):
        if not all(isinstance(key, str) and _is_plain(held) for key, held in value.items()):
            raise refused(PAGE, "asked for a table of something else than values", _EXPECTED)
        return {key: typed(held, _key((*parts, key))) for key, held in value.items()}
    if not _is_plain(value):
        raise refused(PAGE, "asked for what is no value", _EXPECTED)
    return typed(value, _key(parts))


def _is_plain(value: Any) -> bool:
    if isinstance(value, str):
        return len(value) <= LONGEST_TEXT
    return value is None or isinstance(value, bool | int | float)


def _key(parts: tuple[str, ...]) -> Key | None:
    return None if parts[0] == LOADS else key_at(parts)


def typed(value: Any, key: Key | None) -> Any:
    """What is typed in a field as its file holds it: true or false, a bare number, a list of texts.

    Examples
    --------
    >>> from powersim.inputs.boat_charging import CHARGING_KEYS
    >>> by_name = {key.name: key for key in CHARGING_KEYS}
    >>> typed("True", by_name["by_engine"]), typed("06:00, 18:00", by_name["read_at"])
    (True, ['06:00', '18:00'])
    >>> from powersim.inputs.boat_solar import PANEL_KEYS
    >>> typed("2", next(key for key in PANEL_KEYS if key.name == "count"))
    2
    """
    if key is None or not isinstance(value, str):
        return value
    word = value.strip().casefold()
    if key.kind is FLAG and word in ("true", "false"):
        return word == "true"
    if key.kind.listed:
        nothing = word in ("", key.kind.write(()).casefold())
        return [] if nothing else [part.strip() for part in value.split(",")]
    if key.bounds is not None and key.unit is None and _BARE.fullmatch(word):
        return float(word) if "." in word else int(word)
    return value


def key_of_values(values: Mapping[str, Any]) -> str:
    """The same for the same changes, made in the same order: of two for one thing the later counts.

    Examples
    --------
    >>> key_of_values({"loads.music": None})
    '[["loads.music", null]]'
    """
    return json.dumps(list(values.items()))
