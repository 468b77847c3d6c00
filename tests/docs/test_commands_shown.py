"""Every command line that README and docs/how-to show does what it should; their files load."""

import ast
import json
import re
import shlex
import tomllib

import grib_made
import pytest
from pages import HOW_TO, ROOT, blocks, name_of
from pages import PAGES as PAGES_ALL

from powersim.cli.main import run
from powersim.inputs.boat import collect_boat
from powersim.inputs.loads import read_loads
from powersim.inputs.route import read_route
from powersim.inputs.starter import demo_files
from powersim.inputs.trial import read_trial
from powersim.planning.plan import plan
from powersim.report.writing import write_all
from powersim.tryout.server import Server

README = ROOT / "README.md"
INSTALLS = "pip install"
#: How README's two installs begin: left to .ci/run, as they need a network.
FIRST = ("python3 -m venv ", ".venv/bin/", ".venv-test/bin/")
PAGES = (README, *HOW_TO)
#: The passage on which README goes from FAILS over `plan` to HOLDS.
WALKED = "canada-to-hawaii"


def command_lines(page):
    """Lines of the page's sh blocks, those continued by a backslash as one, remarks left out."""
    text = "\n".join(blocks(page, "sh")).replace("\\\n", " ")
    lines = (re.sub(r"\s#.*", "", line).strip() for line in text.splitlines())
    return [line for line in lines if line and not line.startswith("#")]


def arguments(line):
    return shlex.split(line)


FORECAST = "tuesday.grib2"


#: Members enough to see that a command runs, and commands that have any or run in steps.
FEW = "30"
STEPPED = ("compare", "endurance", "plan", "report", "simulate", "size", "try", "underway")


def quickly(line):
    """The same command in few members and at long steps."""
    quick = {"--step": "60 min", "--members": FEW} if line[0] in STEPPED else {}
    if line[0] in ("compare", "size"):
        quick["--jobs"] = "1"  # other processes take longer to start than so little to do
        line = [re.sub(r":\d+d$", ":60d", part) for part in line]
    kept = [part for name, value in quick.items() if name not in line for part in (name, value)]
    places = [place + 1 for place, part in enumerate(line) if part == "--members"]
    many = [place for place in places if line[place] != "1"]  # 1 is average weather alone
    return [FEW if place in many else part for place, part in enumerate(line)] + kept


def write_forecast(path):
    """Five days of cloud over the first days of the demo, every six hours; invented."""
    numbers = grib_made.CLOUD | {"dataDate": 20260905}
    path.write_bytes(
        b"".join(
            grib_made.message(
                [[70.0 - hour / 6.0] * 5] * 4,
                numbers=numbers,
                area=(70.0, -40.0, 40.0, 0.0),
                window_h=hour,
            )
            for hour in range(0, 121, 6)
        )
    )


@pytest.fixture
def among_passages(tmp_path, monkeypatch):
    """A folder that holds the demo, by its own name and as `my-passage`, for the reader's own."""
    for name in ("my-passage", "powersim-demo"):
        write_all(tmp_path / name, demo_files())  # as `demo` does, which may be asked for again
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    "page", [pytest.param(page, marks=pytest.mark.slow) for page in (README, *HOW_TO)], ids=name_of
)
@pytest.mark.usefixtures("among_passages", "undrawn")
def test_command_lines_run(page, capsys, tmp_path, monkeypatch):
    """In their order, with exit code 0: the demo holds, on other dates too."""
    monkeypatch.setitem(Server.__init__.__kwdefaults__, "idle_s", 0.0)  # it ends at once
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    if page != README:  # whose own boat holds by a hair, which so few members cannot tell
        monkeypatch.setitem(plan.__kwdefaults__, "judges", 200)
    if any(FORECAST in line for line in command_lines(page)):
        pytest.importorskip("eccodes", reason="forecast files need the extra 'forecast'")
        write_forecast(tmp_path / FORECAST)
    for text in blocks(page, ""):
        if text.startswith("time,position,"):  # the log that the page shows
            (tmp_path / "my-passage" / "log.csv").write_text(text, encoding="utf-8")
    for text in blocks(page, "text"):
        if re.match(r"\d+[A-Z]{3} \d{4}Z ", text):  # the messages that the page shows
            (tmp_path / "lines.txt").write_text(text, encoding="utf-8")
    for text in blocks(page, "csv"):
        if text.startswith("load,idle,"):  # the trial that the page shows
            (tmp_path / "my-passage" / "trial.csv").write_text(text, encoding="utf-8")
    for text in blocks(page, "toml"):
        if "\nneedle = " in text:  # the marks that the page shows
            boat = tmp_path / "my-passage" / "boat.toml"
            boat.write_text(boat.read_text("utf-8").replace("[fuel]\n", text), encoding="utf-8")
    for line in command_lines(page):
        if page == README and (line.startswith(FIRST) or WALKED in line):
            continue
        program, *rest = arguments(line)
        assert program == "powersim", line
        code = run(quickly(rest))
        told = capsys.readouterr()
        assert code == 0, f"{line}\n{told.out}{told.err}"


def test_every_day_runs_all_but_what_is_slow_and_readme_runs_all():
    """The same command otherwise, so that .ci/run, which takes README's, leaves nothing out."""
    (whole,) = [line for line in command_lines(README) if " -m pytest" in line]
    quick, whole_too, *_ = [
        line for line in command_lines(ROOT / "DEVELOPERS.md") if " -m pytest" in line
    ]
    everything = whole.replace(".venv-test", ".venv")
    assert (quick, whole_too) == (f'{everything} -m "not slow"', everything)


def test_readme_installs_by_two_commands():
    assert sum(INSTALLS in line for line in command_lines(README)) == 2


#: Pages for a shell of one kind, or for those who work on powersim.
OF_ONE_SHELL = ("docs/how-to/complete-commands-in-the-shell.md", "DEVELOPERS.md")


@pytest.mark.parametrize(
    "page", [page for page in PAGES_ALL if name_of(page) not in OF_ONE_SHELL], ids=name_of
)
def test_commands_shown_are_the_same_in_powershell_and_cmd(page):
    for language in ("sh", "console"):
        for line in "\n".join(blocks(page, language)).splitlines():
            assert why_not_everywhere(line) is None, line


def why_not_everywhere(line):
    """What PowerShell 5 or cmd.exe do not take as a POSIX shell does; None if nothing. From memory:
    the first has no `&&` and splits words at commas, the second has no single quotes and no
    remarks, and neither goes on after a backslash.
    """
    outside = re.sub(r'"[^"]*"', "", line)
    return next(
        (sign for sign in ("&&", "'", "#", "\\", ",", "$", "`", ";") if sign in outside), None
    )


def test_commands_that_are_printed_hold_no_single_quotes():
    """In help and messages: values of options, packages to install, examples of command lines."""
    asked = re.compile(
        r"""--[a-z-]+ \'|pip install \'|^ *powersim .*\'|`powersim [^`]*`[^`]*$|--[a-z-]+ \w+,\w"""
    )
    told = {
        (path.name, text)
        for path in sorted((ROOT / "powersim").rglob("*.py"))
        for text in strings_of(path)
        if any(asked.search(line) for line in text.splitlines())
    }
    assert told == set()


def strings_of(path):
    """Texts in a module, but for its docstrings, which a command's help is made of."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    described = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef))
        and node.body
        and isinstance(node.body[0], ast.Expr)
        and (path.parent.name != "cli" or isinstance(node, ast.Module))
    }
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        if id(node) not in described
    ]


def test_every_page_of_how_to_shows_a_command():
    for page in HOW_TO:
        assert command_lines(page), name_of(page)
        assert len(page.read_text(encoding="utf-8").splitlines()) <= 60


@pytest.mark.parametrize("page", HOW_TO, ids=name_of)
def test_tables_shown_are_read(page, tmp_path):
    path = tmp_path / "shown.csv"
    for text in blocks(page, "csv"):
        path.write_text(text, encoding="utf-8")
        if text.startswith("load,idle,"):
            assert read_trial(path).set_aside == ()
        else:
            assert read_loads(path) if text.startswith("load,") else read_route(path)
        assert "nvented" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize("page", HOW_TO, ids=name_of)
def test_settings_shown_are_read(page, tmp_path):
    """Set into a boat that has what they leave out."""
    for text in blocks(page, "toml"):
        tables = tomllib.loads(demo_files()["boat.toml"])
        for name, keys in tomllib.loads(text).items():
            tables[name] = tables.get(name, {}) | keys
        path = tmp_path / "boat.toml"
        path.write_text(as_toml(tables), encoding="utf-8")
        assert [str(problem) for problem in collect_boat(path).problems] == []


def as_toml(tables):
    """TOML of tables that hold texts, lists of them, and tables of texts."""
    lines = []
    for name, found in tables.items():
        for table in found if isinstance(found, list) else [found]:
            lines.append(f"[[{name}]]" if isinstance(found, list) else f"[{name}]")
            plain = {key: value for key, value in table.items() if not isinstance(value, dict)}
            lines += [f"{key} = {json.dumps(value)}" for key, value in plain.items()]
            for key in table.keys() - plain.keys():
                lines.append(f"[{name}.{key}]")
                lines += [f'{inner} = "{value}"' for inner, value in table[key].items()]
    return "\n".join(lines)


def test_readme_shows_what_the_demo_says_today(among_passages, undrawn, capsys):
    """In parts, where a line of three dots stands for what is left out."""
    assert run(["demo", "--force"]) == 0
    said = capsys.readouterr().out
    shown = next(text for text in blocks(README, "text") if text.startswith("Wrote boat.toml"))
    for part in parts_of(shown):
        assert part in said


@pytest.mark.slow
def test_readme_shows_what_compare_says_today(among_passages, capsys):
    (line,) = [line for line in command_lines(README) if line.startswith("powersim compare ")]
    assert run([*arguments(line)[1:], "--no-figures"]) == 0
    said = capsys.readouterr().out
    shown = next(text for text in blocks(README, "text") if " choices, each " in text)
    for part in parts_of(shown):
        assert part in said


def parts_of(shown):
    """What stands between lines of three dots."""
    return re.split(r"^\s*\.\.\.\n", shown, flags=re.MULTILINE)


@pytest.mark.slow
def test_readme_goes_from_fails_over_plan_to_holds(among_passages, undrawn, tmp_path, capsys):
    """Typed along as a reader does: commands, answers, and the rule put into boat.toml."""
    text = README.read_text(encoding="utf-8")
    walk = re.findall(r"^```(\w+)([^\n]*)\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)
    first = next(k for k, (_, _, shown) in enumerate(walk) if WALKED in shown)
    said, verdicts = "", []
    for language, remark, shown in walk[first : first + 7]:
        if language == "sh":
            code = run(arguments(shown.strip())[1:])
            said = capsys.readouterr().out
            assert code == (1 if remark.strip() == "fails" else 0), said
        elif language == "toml":
            path = tmp_path / WALKED / "boat.toml"
            before, rule = path.read_text(encoding="utf-8").split("[charging]\n")
            path.write_text(
                f"{before}{shown}\n{rule[rule.index('[[supply]]') :]}", encoding="utf-8"
            )
            assert shown in said
        else:
            for part in parts_of(shown):
                assert part in said
            verdicts.append(shown.split()[0])
    assert verdicts == ["FAILS", "HOLDS", "HOLDS"]
