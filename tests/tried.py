"""A small passage to be tried: four days, few members, hours for steps; all of it invented."""

from powersim.tryout.session import Session

MEMBERS, STEP_h = 12, 1.0

BOAT = """\
# An invented boat.
[passage]
name = "Four days south"
depart = "2026-09-05 09:00"   # UTC

[battery]
chemistry = "flooded"
capacity = "90 Ah"            # as on the label

[[panel]]
name = "arch"
power = "50 W"                # the label

[[panel]]
name = "rail no. 2"
power = "40 W"
mount = "rail"

[alternator]
charging = "45 A"

[engine]
rated = "14 kW"

[fuel]
tank = "60 L"

[charging]
start = "75 %"
run = "1.5 h"
read_at = ["06:00", "18:00"]

[[supply]]
name = "laptop supply"
efficiency = "88 %"
"""

LOADS = """\
load,draw,on,when,spread,supply,note
# what is always on
tiller pilot,2 A,40 %,,20 %,,"lee helm, mostly"
laptop,32 W,3 h/day,,20 %,laptop supply,
ais,3 W,,sailing;motoring,,dc,
cabin lights,6 W,4 h/day,,10 %,dc,LED
"""

ROUTE = """\
waypoint,position,speed,motoring
Horta,38 32.0 N 28 37.5 W,4.5 kn,2 h at start; 20 % of calms
mid,35 00.0 N 27 30.0 W,4.5 kn,20 % of calms
the edge,32 00.0 N 26 30.0 W,,
"""


def folder_in(path):
    """The passage folder, made in one that is empty or not there yet."""
    path.mkdir(exist_ok=True)
    for name, text in (("boat.toml", BOAT), ("loads.csv", LOADS), ("route.csv", ROUTE)):
        (path / name).write_text(text, encoding="utf-8")
    return path


def session_of(folder, **more):
    """The page's session on a folder."""
    return Session(folder, **({"members": MEMBERS, "step_h": STEP_h} | more))


class Page:
    """What a page asks, with numbers that grow."""

    def __init__(self, session):
        self.session, self.number = session, 0

    def ask(self, question, changes=(), **more):
        """The answer to a question about changes, a mapping of value by place."""
        self.number += 1
        return self.session.questions[question](
            {"changes": listed(changes), "number": self.number} | more
        )

    def fields(self):
        """Every field of the boat by its place."""
        groups = self.session.questions["boat"]({})["groups"]
        rows = [row for group in groups for row in group["rows"]]
        return {field["place"]: field for row in rows for field in (*row["fields"], *row["more"])}


def listed(changes):
    """Changes as the page sends them."""
    return [{"place": place, "value": value} for place, value in dict(changes).items()]
