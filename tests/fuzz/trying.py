"""What no command line does by itself: values put into the files, and a page's questions by calls.

Each is told as the outcome of a line such as `edit p --set battery.capacity=300 Ah`, which stands
among the commands of a case and is known by the same seed and number.
"""

from __future__ import annotations

import itertools
import json
import time
import traceback
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fuzz.running import Outcome, limited, snapshot

#: Not commands of powersim.
EDIT, TRY = "edit", "try"
#: Where edited files go.
EDITED = Path("r/p")
#: What may keep `edited` from doing what a simulation does, without anything being wrong.
_FORM = "written in a form that cannot be changed without touching the rest of it"

#: What a summary says of its files, and not of the passage.
_OF_FILES = ("changed", "warnings")


def asked_of(arguments: list[str]) -> list[dict[str, Any]]:
    """`--set` and `--without` of a line as a page asks for them, in the order of a command."""
    from powersim.inputs.places import parse_set

    changes: dict[str, Any] = {}
    # A command sets all that is set before it takes anything out.
    asked = sorted(itertools.pairwise(arguments), key=lambda pair: pair[0] == "--without")
    for option, words in asked:
        if option == "--set":
            place, value = parse_set(words)
        elif option == "--without":
            place, value = words, None
        else:
            continue
        changes.pop(place, None)
        changes[place] = value
    return [{"place": place, "value": value} for place, value in changes.items()]


def done(arguments: list[str], *, folder: Path) -> Outcome:
    """Run such a line, as `running.called` runs a command."""
    from powersim.errors import InputError, OutputError
    from powersim.inputs.text import ReadingError

    before, begun = snapshot(folder), time.process_time()
    said, err, code, trouble = "", "", 0, ""
    try:
        with warnings.catch_warnings(), limited():
            warnings.simplefilter("error")
            said = json.dumps({EDIT: _edited, TRY: _tried}[arguments[0]](arguments))
    except InputError as error:
        code, err = 2, str(error)
    except (OutputError, ReadingError) as error:
        code, err = 2, f"powersim: {error}"
    except KeyboardInterrupt:
        raise
    except BaseException:  # noqa: BLE001 - whatever else gets out is a failure to be told
        code, trouble = -1, traceback.format_exc()
    took_s = time.process_time() - begun
    return Outcome(arguments, code, said, err, trouble, took_s, None, before, snapshot(folder))


def _edited(arguments) -> dict[str, Any]:
    """The folder with the values in its own text, all else beside it as it is."""
    from powersim.inputs.edits import edited
    from powersim.inputs.folder import load_folder

    folder = Path(arguments[1])
    load_folder(folder)  # only what can be read is edited
    held = {
        name: (folder / name).read_bytes().decode("utf-8") for name in ("boat.toml", "loads.csv")
    }
    values = {one["place"]: one["value"] for one in asked_of(arguments)}
    found = edited(held, values, folder=f"{folder}/")
    EDITED.mkdir(parents=True)
    for path in folder.iterdir():
        (EDITED / path.name).write_bytes(path.read_bytes())
    for name, text in found.texts.items():
        (EDITED / name).write_bytes(text.encode("utf-8"))
    return {"changed": [one.told for one in found.changed]}


def _tried(arguments) -> dict[str, Any]:
    """A page as somebody moves one value after the other, saves, and goes back to the files."""
    from powersim.errors import InputError, OutputError
    from powersim.tryout.session import Session

    given = dict(itertools.pairwise(arguments))
    folder = Path(arguments[1])
    how = {"members": int(given["--members"]), "step_h": 1.0}
    session = Session(folder, **how)
    ask = session.questions
    wrong = ask["boat"]({})["problems"]
    breaches = list(_strict("boat", ask["boat"]({})))
    number, last, own = 0, None, None
    changes = [one | {"value": _as_in_a_field(one["value"])} for one in asked_of(arguments)]
    for count in range(len(changes) + 1):
        number += 1
        asked = {"changes": changes[:count], "number": number}
        try:
            answer = ask["answer"](asked)
        except InputError as error:
            last = {"problems": [str(one) for one in error.problems]}
            if count == 0 and not wrong:
                breaches.append("the files are refused, and the boat had no problem")
            continue
        last = answer
        breaches += _strict("answer", answer)
        if count == 0:
            own = answer
            if wrong:
                breaches.append(f"an answer to files with problems: {wrong}")
    at_last = {"changes": changes, "number": number}
    if last is not None and "verdict" in last:
        breaches += _strict("days", ask["days"](at_last))
        breaches += _cost(ask, at_last, folder)
        if "--card" in arguments:
            breaches += [] if ask["card"](at_last)["pages"] else ["a card without a page"]
    if own is not None:
        again = ask["answer"]({"changes": [], "number": number + 1})
        if again | {"number": 1} != own:
            breaches.append("back at the files, the answer is another one")
    saved: dict[str, Any] | None = None
    if last is not None and changes:
        try:
            saved = ask["save"]({"changes": changes, "into": "new"})
        except InputError as error:
            refusal = str(error)
            if "verdict" in last and _FORM not in refusal:
                breaches.append(f"an answer, and yet not saved: {refusal}")
        except OutputError as error:
            if "Nothing differs" not in str(error) or last.get("changed"):
                breaches.append(f"not saved: {error}")
    if saved is not None:
        breaches += _saved_is_answered(saved, last, how)
    return {"answer": last, "saved": saved, "breaches": breaches}


def _as_in_a_field(value):
    """A list as it is typed on a page."""
    return ", ".join(value) if isinstance(value, list) else value


def _cost(ask, asked, folder) -> Iterator[str]:
    from powersim.errors import InputError
    from powersim.inputs.folder import load_folder

    for load in load_folder(folder).loads[:2]:
        try:
            yield from _strict("cost", ask["cost"](asked | {"load": load.name}))
        except InputError as error:
            yield f"what {load.name!r} costs: {error}"


def _saved_is_answered(saved, last, how) -> Iterator[str]:
    """What was written says of itself what the page said of it."""
    from powersim.tryout.session import Session

    if "verdict" not in last:
        yield f"no answer, and yet saved: {last}"
        return
    fresh = Session(Path(saved["folder"]), **how).questions["answer"]({"changes": [], "number": 1})
    for part in ("word", "holds", "sentence"):
        if fresh["verdict"][part] != last["verdict"][part]:
            yield f"the page says {last['verdict'][part]!r}, the files {fresh['verdict'][part]!r}"
    told, now = ({one["id"]: one["told"] for one in answer["measures"]} for answer in (last, fresh))
    if told != now:
        yield f"the page says {told}, the files {now}"


def _strict(what: str, answer) -> Iterator[str]:
    """It can be sent, and no figure in it is none."""
    try:
        text = json.dumps(answer, allow_nan=False)
    except ValueError as error:
        yield f"{what} cannot be sent: {error}"
        return
    for word in ('"nan', " nan", "Infinity", "None "):
        if word in text:
            yield f"{word!r} in {what}"


def of_edit(before: Outcome | None, last: Outcome) -> Iterator[str]:
    """`--set` and the edited files take the same, and refuse the same."""
    if before is None or before.command != "simulate":
        return
    if before.ran and last.code == 2 and _FORM not in last.err:
        yield f"simulate takes what cannot be put into the files: {last.err}"


def of_edited(before: Outcome, last: Outcome) -> Iterator[str]:
    """Files with the values in them give the numbers that `--set` gives."""
    if before.ran != last.ran:
        yield (
            f"--set ends with {before.code}, the files with {last.code}: {before.err or last.err}"
        )
        return
    if not last.ran:
        return
    one, other = (_numbers(json.loads(each.out)) for each in (before, last))
    for key in one.keys() | other.keys():
        if one.get(key) != other.get(key):
            yield f"{key}: {_short(one.get(key))} by --set, {_short(other.get(key))} by the files"


def _numbers(summary) -> dict[str, Any]:
    """What a passage comes to, without where it was read and what was set."""
    return {key: value for key, value in summary.items() if key not in _OF_FILES}


def _short(value) -> str:
    return repr(value)[:200]


def of_try(done_before: list[Outcome], last: Outcome) -> Iterator[str]:
    """What the page found, and that it agrees with the command on the same passage."""
    if not last.out:  # asked in no form that a page would send
        return
    found = json.loads(last.out)
    yield from found["breaches"]
    simulated = next(
        (one for one in done_before if one.command == "simulate" and _same(one, last)), None
    )
    if simulated is None:
        return
    answer = found["answer"]
    if ("verdict" in answer) != simulated.ran:
        yield f"the page answers {answer}, simulate ends with {simulated.code}: {simulated.err}"
    elif simulated.ran:
        sentence = " ".join(answer["verdict"]["sentence"].split())
        if f"{answer['verdict']['word']} {sentence}" not in " ".join(simulated.out.split()):
            yield f"the page says {sentence!r}, and simulate does not"


def _same(one: Outcome, other: Outcome) -> bool:
    """Whether two lines ask for the same passage in the same way."""
    given = [argument for argument in other.arguments[1:] if argument != "--card"]
    return "--json" not in one.arguments and one.arguments[1 : len(given) + 1] == given
