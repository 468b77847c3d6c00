"""Which command lines a drawn passage is sent through."""

from __future__ import annotations

from datetime import datetime, timedelta

from fuzz.changes import alternatives, as_options, drawn_changes

FOLDER = "p"
STEP = ("--step", "60 min")
ALL = ("check", "budget", "simulate", "endurance", "ladder", "plan", "paper", "compare", "size",
       "try", "sounding", "underway", "report", "sheet", "demo", "new")  # fmt: skip
#: How often each is drawn, by what it costs and what it can show.
_WEIGHTS = {"check": 2, "budget": 2, "simulate": 8, "endurance": 3, "ladder": 2, "plan": 3,
            "paper": 1, "compare": 3, "size": 2, "try": 5, "sounding": 3, "underway": 5,
            "report": 2, "sheet": 0.5, "demo": 0.05, "new": 0.2}  # fmt: skip


def drawn_commands(chance, passage, *, only=ALL) -> list[list[str]]:
    """`check` first, then two or three others; each as a list of arguments."""
    names = [name for name in ALL if name in only]
    weights = [_WEIGHTS[name] for name in names]
    count = min(len(names), chance.randint(2, 3))
    chosen = sorted(set(chance.choices(names, weights, k=count)), key=ALL.index)
    lines = [] if chosen[:1] == ["check"] else [["check", FOLDER]]
    for name in chosen:
        lines += _LINES[name](chance, passage)
    return lines


def _weather(chance, passage) -> list[str]:
    given = []
    if passage.light and chance.often(0.7):
        given += ["--irradiance", f"{FOLDER}/{passage.light}"]
    if passage.grib and chance.often(0.8):
        given += ["--forecast", f"{FOLDER}/{passage.grib}"]
    return [*given, "--or-climatology"] if given and chance.often(0.5) else given


def _step(chance) -> tuple[str, str]:
    return STEP if chance.often(0.85) else ("--step", chance.choice(("15 min", "30 min", "5 min")))


def _members(chance) -> list[str]:
    """Few mostly, for speed; average weather alone now and then, and what is meant without."""
    if chance.often(0.02):
        return []
    return ["--members", "1" if chance.often(0.3) else str(chance.randint(2, 20))]


def _changed(chance, passage, share=0.3) -> list[str]:
    """Now and then some values in place of what the files say."""
    return as_options(drawn_changes(chance, passage)) if chance.often(share) else []


def _check(chance, passage):
    return [["check", FOLDER, *chance.choice(([], ["--json"], ["--quiet"]))]]


def _budget(chance, passage):
    lines = [["budget", FOLDER]]
    return [*lines, ["budget", FOLDER, "--json"]]


def _simulate(chance, passage):
    """As text and as JSON, and now and then as page and card too, all of one passage."""
    given = [FOLDER, *_step(chance), *_weather(chance, passage), *_members(chance)]
    if "--members" in given and chance.often(0.4):
        given += ["--risk", chance.choice(("0 %", "20 %", "100 %"))]
    plain, changed = given[1:], _changed(chance, passage)
    given += changed
    figures = [] if chance.often(0.04) else ["--no-figures"]
    lines = [
        ["simulate", *given, *figures, "--out", "r/simulate"],
        ["simulate", *given, "--no-figures", "--json", "--out", "r/simulate", "--force"],
    ]
    if chance.often(0.15):
        card = ["--card"] if chance.often(0.5) else []
        lines.append(["report", *given, *card, "--out", "r/report"])
    elif changed and not {"--forecast", "--irradiance"} & set(given):
        lines.append(["edit", FOLDER, *changed])
        lines.append(["simulate", "r/p", *plain, "--no-figures", "--json", "--out", "r/after"])
    return lines


def _endurance(chance, passage):
    beyond = chance.often(0.15)  # sixty days more
    given = [FOLDER, *(STEP if beyond else _step(chance)), *_weather(chance, passage)]
    if chance.often(0.3):
        given += ["--from", chance.choice(("worst", f"{passage.depart:%Y-%m-%d} 23:30"))]
    given += ["--without", "charging"] if chance.often(0.2) else []
    given += ["--beyond"] if beyond else ["--members", "4"] if chance.often(0.15) else []
    given += _changed(chance, passage)
    return [["endurance", *given], ["endurance", *given, "--json"]]


def _ladder(chance, passage):
    given = [FOLDER, *STEP, "--members", "20", *_weather(chance, passage)]
    if chance.often(0.5):
        given += ["--from", chance.choice(("worst", "day 2", f"{passage.depart:%Y-%m-%d} 23:30"))]
    given += ["--without", chance.choice(("charging", "nothing"))] if chance.often(0.3) else []
    given += _changed(chance, passage)
    return [["ladder", *given], ["ladder", *given, "--json"]]


def _paper(chance, passage):
    given = [FOLDER, *STEP, "--members", "20", "--out", "r/paper", *_changed(chance, passage)]
    return [["paper", *given], ["paper", *given, "--json", "--force"]]


def _plan(chance, passage):
    given = [FOLDER, *STEP, "--members", "20", "--out", "r/plan"]
    given += ["--risk", chance.choice(("1 %", "30 %"))] if chance.often(0.3) else []
    given += _changed(chance, passage)
    lines = [["plan", *given], ["plan", *given, "--json", "--force"]]
    follow = ["--engine-plan", "r/plan/plan.csv", "--no-figures", "--out", "r/planned"]
    follow += ["--members", "5"]
    return [*lines, ["simulate", FOLDER, *STEP, *follow, "--json"]]


def _compare(chance, passage):
    """The boat beside herself changed and on other dates, and then her own row by itself."""
    given = [*STEP, "--members", "20", "--jobs", "1", "--out", "r/compare"]
    asked = [FOLDER, FOLDER] if chance.often(0.1) else [FOLDER]
    if chance.often(0.6):
        first = passage.depart + timedelta(days=chance.choice((-7, 0, 3)))
        last = first + timedelta(days=chance.choice((0, 6, 14)))
        dates = (f"{first:%Y-%m-%d}", f"{first:%Y-%m-%d}:{last:%Y-%m-%d}:{chance.choice((4, 7))}d")
        dates = ("2026-02-30",) if chance.often(0.05) else (*dates, "2026-01-10 06:00 UTC")
        asked += ["--depart", chance.choice(dates)]
    if len(asked) == 1 or chance.often(0.5):
        asked += alternatives(chance, passage)
    figures = [] if chance.often(0.05) else ["--no-figures"]
    return [
        ["simulate", FOLDER, *given[:4], "--no-figures", "--json", "--out", "r/compared"],
        ["compare", *asked, *given, *figures],
        ["compare", *asked, *given, "--no-figures", "--json", "--force"],
    ]


def _try(chance, passage):
    """As text by the command, and as the page's session answers, saves and answers again."""
    changed = as_options(drawn_changes(chance, passage))
    given = [FOLDER, *STEP, "--members", str(chance.randint(2, 12)), *changed]
    card = ["--card"] if chance.often(0.05) else []
    return [["simulate", *given, "--no-figures", "--out", "r/simulated"], ["try", *given, *card]]


def _size(chance, passage):
    ranges = {
        "--battery": chance.choice(("100Ah,300Ah", "80:240:80Ah", "5 Ah")),
        "--solar": chance.choice(("50W,200W", "0W,100W", "60:180:60W")),
        "--alternator": chance.choice(("20A,60A", "45A")),
        "--chemistry": chance.choice(("flooded,lifepo4", "agm", "gel,agm")),
    }
    given = [FOLDER, *STEP, "--members", "20", "--jobs", "1", "--no-figures", "--out", "r/size"]
    for name in chance.sample(sorted(ranges), chance.randint(1, 2)):
        given += [name, ranges[name]]
    return [["size", *given], ["size", *given, "--json", "--force"]]


def _sounding(chance, passage):
    depths = ("0cm", "10cm", "12.5 cm", "200 mm", "9 1/4 in", "40cm", "1 m", "-1cm", "10", "x cm")
    given = [FOLDER, *chance.choice((["--table"], [chance.choice(depths)]))]
    if "--table" not in given and chance.often(0.3):
        given += ["--cans", chance.choice(("2 x 20 L", "15 L", "0 L"))]
    return [["sounding", *given], ["sounding", *given, "--json"]]


def _line(chance, passage) -> str:
    """A day's readings as one line, some of them torn or told twice."""
    when = datetime.fromisoformat(passage.now)
    time = f"{when:%d%b%y %H%M}Z".upper()
    pieces = (
        "12.45V", "12,4 v", "72%", "105%", "REST3H", "OUT3.2A", "3.2A", "ENG1234.5H", "GEAR 4 H",
        "DIP23.5CM", "DIP 41 L", "NEEDLE 1/2", "CANS2", "ABS4A", "ADD20L", "SUN182AH", "MON-35AH",
        "MON35", "CLOUD6/8", "52-10.5N 027-31.0W", "52.17N 27W", "CK50", "FOO", "é€", "NOTE reefed",
    )  # fmt: skip
    drawn = [time] * chance.often(0.9) + chance.sample(pieces, chance.randint(0, 8))
    return " ".join(drawn)[: chance.choice((40, 160, 200))]


def _underway(chance, passage):
    """As text and as JSON; now and then written back into a copy, and into that itself."""
    given = [*STEP, "--members", "20", "--now", passage.now]
    given += ["--no-plan"] if chance.often(0.6) else []
    lines = [["underway", FOLDER, *given], ["underway", FOLDER, *given, "--json"]]
    if chance.often(0.4):  # the answer in one line is wider than a screen, so it is asked as JSON
        drawn = [_line(chance, passage) for _ in range(chance.randint(1, 3))]
        told = [part for line in drawn for part in ("--line", line)]
        lines.append(["underway", FOLDER, *given, *told, "--json"])
    if chance.often(0.5):
        lines.append(["underway", FOLDER, *given, "--write-back", "r/told"])
        lines.append(["check", "r/told", "--quiet"])
        lines.append(["underway", "r/told", *given, "--write-back", "r/told", "--json"])
        quick = [*STEP, "--members", "5", "--no-figures", "--quiet"]
        lines.append(["simulate", "r/told", *quick, "--out", "r/after"])
    return lines


def _report(chance, passage):
    """The page, and the JSON that it is held against."""
    given = [FOLDER, *STEP, *_members(chance)]
    kind = ["--format", chance.choice(("svg", "png"))] if chance.often(0.03) else []
    card = ["--card"] if chance.often(0.5) else []
    return [
        ["simulate", *given, "--no-figures", "--json", "--out", "r/paged"],
        ["report", *given, *card, *kind, "--out", "r/report2"],
    ]


def _sheet(chance, passage):
    return [["sheet", FOLDER, "--days", chance.choice(("1", "2", "14", "0")), "--out", "r/sheet"]]


def _demo(chance, passage):
    return [["demo", "r/demo", "--no-figures"], ["check", "r/demo"]]


def _new(chance, passage):
    return [["new", "r/new"], ["check", "r/new"]]


_LINES = {"check": _check, "budget": _budget, "simulate": _simulate, "endurance": _endurance,
          "ladder": _ladder, "plan": _plan, "paper": _paper, "compare": _compare, "size": _size,
          "try": _try, "sounding": _sounding, "underway": _underway, "report": _report,
          "sheet": _sheet, "demo": _demo, "new": _new}  # fmt: skip
