"""Text, JSON, page and card of one passage say one thing."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from pathlib import Path

from fuzz.oracles import NO_NUMBER
from fuzz.running import Outcome

_WORD = {True: "HOLDS", False: "FAILS"}


def of_simulate(text: Outcome, answer: dict) -> Iterator[str]:
    """The text of `simulate` and its JSON."""
    yield from _code(text, answer)
    said = " ".join(text.out.split())
    if not re.search(rf"\b{_WORD[answer['holds']]} ", said):
        yield f"the text does not say {_WORD[answer['holds']]}"
    if re.search(rf"\b{_WORD[not answer['holds']]} ", said):
        yield f"the text says {_WORD[not answer['holds']]}"
    for words in _first_figures(answer, litres=" gal" not in said):
        if words not in said:
            yield f"the text does not say {words!r}"


def _code(outcome, answer) -> Iterator[str]:
    if outcome.code != int(not answer["holds"]):
        yield f"{outcome.command} ends with {outcome.code} where holds is {answer['holds']}"


def _first_figures(answer, *, litres: bool) -> Iterator[str]:
    """What is looked for first, as it has to be written; of litres where those are aboard."""
    if "ensemble" in answer:
        yield f"of {answer['verdict']['members']} simulated passages, "
        yield f"lowest median {100 * answer['ensemble']['lowest_soc']['p50']:.0f} %"
    else:
        yield "in average weather alone (no grey week, no calm): "
    if not answer["holds"]:
        yield " next "
    if "ensemble" in answer and not answer["verdict"]["sure"]:
        yield f"too close to call with {answer['verdict']['members']}: "
    charge, fuel, engine = (answer["average"][name] for name in ("charge", "fuel", "engine"))
    shown = {f"{100 * charge[key]:.0f}" for key in ("lowest_soc", "floor_soc")}
    if len(shown) == 2 or charge["lowest_soc"] == charge["floor_soc"]:
        yield f"{100 * charge['lowest_soc']:.0f} % on "
    if "ensemble" not in answer and litres:
        if engine["charging_runs"]:
            yield f"engine {_few(engine['charging_h'])} h and {_few(engine['charging_L'])} L for"
        if fuel["aboard_L"]:
            yield f"diesel {_few(fuel['left_L'])} L left at landfall"


def _few(value: float) -> str:
    """One decimal below a hundred, as hours and litres are rounded; no zero has a minus sign."""
    return f"{value:z.1f}" if abs(round(value, 1)) < 100 else f"{value:.0f}"


def of_page(report: Outcome, page: Path, answer: dict) -> Iterator[str]:
    """What `report` prints and writes, and the JSON of the same passage."""
    yield from _code(report, answer)
    first, _, rest = report.out.partition("\n\n")
    if bool(answer["changed"]) != first.startswith("What if, not as the files say: "):
        yield f"report begins with {first[:80]!r}, changed is {answer['changed']}"
    said = (rest if answer["changed"] else report.out).split()
    if _WORD[answer["holds"]] != next(word for word in said if word in _WORD.values()):
        yield f"report prints {' '.join(said[:8])!r} where holds is {answer['holds']}"
    text = page.read_text("utf-8")
    (verdict,) = re.findall(r'<p class="verdict[^"]*"><strong>(\w+)</strong>', text)
    if verdict != _WORD[answer["holds"]]:
        yield f"the page says {verdict} where holds is {answer['holds']}"
    for value, key in re.findall(r'<data value="([^"]*)" data-key="([^"]*)">', text):
        found = looked_up(answer, key)
        if json.loads(html.unescape(value)) != found:
            yield f"the page has {key} {value}, the JSON {found}"
    told = re.sub(r"<(style|svg)\b.*?</\1>|<[^>]+>", " ", text, flags=re.DOTALL)
    if NO_NUMBER.search(told):
        yield "nan, inf or None on the page"


def of_card(card, page: Path, answer: dict) -> Iterator[str]:
    """What is drawn on the card, the rule of the page, and the JSON of the same passage."""
    text = page.read_text("utf-8")
    block = re.search(r'<div class="rule">(.*?)</div>', text, re.DOTALL)[1]
    rule = [_plain(one) for one in re.findall(r"<strong>(.*?)</strong>", block, re.DOTALL)]
    verdict = card.verdict
    largest = [" ".join(str(line).split()) for line in verdict.largest]
    if verdict.holds is not answer["holds"]:
        yield f"the card holds: {verdict.holds}, the JSON: {answer['holds']}"
    if any("FAILS" in line for line in largest) is answer["holds"]:
        yield f"the card says {largest} where holds is {answer['holds']}"
    if answer["holds"] and not set(rule) & set(largest):
        yield f"the card has the rule {largest}, the page {rule}"
    if answer["holds"]:
        return
    if not set(largest) <= set(rule):
        yield f"the card says {largest} of what fails, the page {rule}"
    tried = re.search(r"What was tried, and fails: (.*?)</p>", text, re.DOTALL)
    if _plain(tried[1]) in " ".join((*largest, *rule)):
        yield f"a rule that fails stands in the place of the rule: {largest}, {rule}"
    if len(answer["parts"]) != len(card.weeks.rows):
        yield f"the card has {len(card.weeks.rows)} weeks, the JSON {len(answer['parts'])}"
    said = (*verdict.chance, *largest, *verdict.lines, *card.limits)
    words = " ".join(map(str, [card.title, card.passage, card.first_week or "", *said]))
    told = card.endurance
    rows = [*card.weeks.rows, *told.off.rows, (told.opening, told.little, told.never)]
    rows += [row for table, stood in told.lasts for row in (*table.rows, (stood,))]
    words += " ".join(str(cell) for row in rows for cell in row)
    if NO_NUMBER.search(words):
        yield f"nan, inf or None on the card: {words}"


def _plain(fragment: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", "", fragment)).split())


def looked_up(answer, key: str):
    """A value of the JSON by its place, such as parts.0.lowest_soc."""
    for part in key.split("."):
        answer = answer[int(part)] if isinstance(answer, list) else answer[part]
    return answer
