"""The line of every key, and plain words for what a TOML parser stumbles on."""

import pytest

from powersim.inputs.toml_lines import line_at, parse_toml

EXAMPLE = """\
# a comment
[battery]
capacity = "220 Ah"   # a [comment] with = signs
note = \"\"\"
[not a table]
power = "1 W"
\"\"\"
after = '''
x'''

[[panel]]
name = "port"
shade = [
  { from = "0 deg", to = "90 deg" },  # the mast
  { from = "90 deg", to = "180 deg" },
]
[[panel]]
"power" = "100 W"
[[panel.shade]]
from = "1 deg"
[panel.more]
x.y = 1
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("battery",), 2),
        (("battery", "capacity"), 3),
        (("battery", "note"), 4),
        (("battery", "after"), 8),
        (("battery", "unknown"), 2),
        (("panel",), 11),
        (("panel", 0), 11),
        (("panel", 0, "shade", 1, "from"), 13),
        (("panel", 1), 17),
        (("panel", 1, "power"), 18),
        (("panel", 1, "shade", 0, "from"), 20),
        (("panel", 1, "more", "x", "y"), 22),
        (("nowhere",), None),
    ],
)
def test_every_key_knows_its_line(path, line):
    document, lines, problems = parse_toml(EXAMPLE, file="boat.toml")
    assert not problems
    assert document["battery"]["capacity"] == "220 Ah"
    assert line_at(lines, path) == line


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[battery]\ncapacity = 220 Ah\n",
            "boat.toml:2: 'capacity = 220 Ah' needs quotes around its value\n"
            '  expected  a line such as capacity = "220 Ah"',
        ),
        (
            "[battery]\ncapacity = Ah\n",
            "boat.toml:2: 'capacity = Ah' needs quotes around its value\n"
            '  expected  a line such as capacity = "220 Ah"',
        ),
        (
            '[battery]\ncapacity = "220 Ah\nhealth = "85 %"\n',
            "boat.toml:2: 'capacity = \"220 Ah' has quotes that are not closed\n"
            '  expected  a line such as capacity = "220 Ah"',
        ),
        (
            "[battery]\ncapacity =\n",
            "boat.toml:2: 'capacity =' has no value after its '='\n"
            '  expected  a line such as capacity = "220 Ah"',
        ),
        (
            "capacity\n",
            "boat.toml:1: 'capacity' has no '=' after its key\n"
            '  expected  a line such as capacity = "220 Ah"',
        ),
        (
            "peukert = 1,2\n",
            "boat.toml:1: 'peukert = 1,2' has a decimal comma\n"
            "  expected  a decimal point: peukert = 1.2",
        ),
        (
            "by_engine = True\n",
            "boat.toml:1: 'by_engine = True' holds neither true nor false\n"
            "  expected  true or false in small letters, without quotes",
        ),
        (
            '[battery]\nhealth = "85 %"\nhealth = "90 %"\n',
            "boat.toml:3: 'health = \"90 %\"' is given twice\n"
            "  expected  each key once in its table",
        ),
        (
            "[battery]\n[battery]\n",
            "boat.toml:2: '[battery]' is given twice\n"
            "  expected  each [table] once; [[panel]] may be repeated",
        ),
        (
            "[battery\n",
            "boat.toml:1: '[battery' has square brackets that are not closed\n"
            "  expected  a table's name as in [battery] or [[panel]]",
        ),
        (
            "x = " + "[" * 5000,
            "boat.toml: brackets are nested too deeply",
        ),
        ("count = " + "9" * 5000, "boat.toml: a number has thousands of digits"),
    ],
)
def test_a_slip_of_the_pen_is_named_with_its_line(text, message):
    document, lines, problems = parse_toml(text, file="boat.toml")
    assert (document, lines) == ({}, {})
    assert "\n".join(str(problem) for problem in problems) == message
