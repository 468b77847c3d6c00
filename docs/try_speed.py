"""How long the page of `powersim try` takes from a key or a click until its picture is drawn.

    python docs/try_speed.py                             # all kinds of changes, 100 of each
    python docs/try_speed.py --kind panel --times 20 --rest 1.5

On the demo with 200 simulated passages, in a real browser and against the command itself as a
process of its own. The browser measures: from the event's own time to the second frame after the
picture has changed, and how much of that went into asking, into the answer and into drawing it.
With `--rest` the hand rests after every picture, so that the next change breaks off what is slow
and still being worked out. Wants chromium, chromium-driver, selenium and a quiet machine. Exit code
1 if a limit is missed.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from functools import partial
from itertools import count
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "browser")]

import chromium  # noqa: E402
import driven  # noqa: E402
from page_client import Served  # noqa: E402

from powersim.inputs.starter import demo_files  # noqa: E402

#: 95 of 100 changes of a kind are answered within. [s]
LIMITS_s = {"load": 0.2, "bank": 0.2, "rule": 0.2, "panel": 0.35, "departure": 0.5}
UP = "\ue013"  # the arrow key, as WebDriver names it
#: Notes when each event came in, when its answer did, and when the picture of it was drawn.
WATCH = """
window.timed = {event: 0, asked: 0, answered: 0, drawn: 0};
for (const kind of ["keydown", "click"])
  document.addEventListener(kind, (event) => {
    Object.assign(timed, {event: event.timeStamp, drawn: 0});
  }, true);
{
  const plain = window.fetch;
  window.fetch = async (...given) => {
    if (given[0] !== "/ask/answer") return plain(...given);
    timed.asked = performance.now();
    const response = await plain(...given);
    timed.answered = performance.now();
    return response;
  };
}
new MutationObserver(() => requestAnimationFrame(() => requestAnimationFrame(() => {
  timed.drawn = performance.now();
}))).observe(document.getElementById("picture"), {childList: true});
"""


def main() -> int:
    """Start from the shell."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=100, help="changes of each kind")
    parser.add_argument("--kind", action="append", choices=LIMITS_s, help="this kind alone")
    parser.add_argument("--rest", type=float, default=0.0, help="seconds after every picture")
    given = parser.parse_args()
    if (why := chromium.missing()) is not None:
        sys.exit(why)
    print(f"load of the machine before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print("            event to picture           of that, in the median")
    print("kind         median    95th   limit     asked  answered     drawn  [s]")
    with tempfile.TemporaryDirectory() as folder:
        for name, text in demo_files().items():
            Path(folder, name).write_text(text, encoding="utf-8")
        with _served(folder) as address, driven.Page() as page:
            missed = [
                kind
                for kind in given.kind or LIMITS_s
                if not _holds(kind, page, address, given.times, given.rest)
            ]
    print(f"missed: {', '.join(missed)}" if missed else "all within their limits")
    return 1 if missed else 0


class _served:  # noqa: N801 - used as a function
    """The command at work on a folder; its address."""

    def __init__(self, folder):
        command = [sys.executable, "-m", "powersim", "try", folder, "--no-browser"]
        self.program = Served(command, None, cwd=folder)
        self.program.timer.cancel()  # it may take longer than a test

    def __enter__(self):
        return self.program.address

    def __exit__(self, *_):
        self.program.stopped()


def _holds(kind, page, address, times, rest_s) -> bool:
    page.afresh(address)
    page.driver.execute_script(WATCH)
    found = []
    changes = _changes(kind, page)
    for _ in range(times):
        next(changes)()
        found.append(page.until("return timed.drawn > timed.answered ? {...timed} : null"))
        time.sleep(rest_s)
    took_s = sorted((one["drawn"] - one["event"]) / 1000.0 for one in found)
    late_s = took_s[-(-95 * len(took_s) // 100) - 1]
    parts = [
        statistics.median((one[end] - one[begin]) / 1000.0 for one in found)
        for begin, end in (("event", "asked"), ("asked", "answered"), ("answered", "drawn"))
    ]
    holds = late_s <= LIMITS_s[kind]
    told = f"{kind:11}{statistics.median(took_s):8.3f}{late_s:8.3f}{LIMITS_s[kind]:8.2f}"
    told += "".join(f"{each:10.3f}" for each in parts)
    print(told if holds else f"{told}  missed", flush=True)
    return holds


def _changes(kind, page) -> Iterator[Callable[[], None]]:
    """Changes of a kind one after the other, no two of which come to the same boat."""
    if kind == "load":
        yield from _ticks_and_draws(page)
    for turn in count():
        place, text = {
            "bank": ("battery.capacity", f"{140 + 2 * turn} Ah"),
            "rule": ("charging.start", f"{60 + 0.2 * (turn % 150):.1f} %"),
            "panel": ("panel.arch.power", f"{50 + 2 * turn} W"),
            "departure": ("passage.depart", f"{date(2026, 8, 1) + timedelta(days=turn)} 09:00"),
        }[kind]
        yield _stepped(page, place, text)


def _ticks_and_draws(page):
    """Every other one a load ticked off or on, else a load's draw."""
    places = page.value(
        "[...document.querySelectorAll('#group-loads input[type=checkbox]')]"
        ".map(each => each.dataset.place)"
    )
    for turn in count(1):
        # As binary counting by Gray turns them, no set of loads comes twice.
        bit = (turn & -turn).bit_length() - 1
        yield partial(page.tick, places[bit])
        yield _stepped(page, f"{places[-1]}.draw", f"{4 + 0.1 * turn:.1f} W")


def _stepped(page, place, text):
    """The arrow key pressed once, from a text that stands in the field by then."""

    def press():
        field = page.field(place)
        page.driver.execute_script("arguments[0].value = arguments[1]", field, text)
        field.send_keys(UP)

    return press


if __name__ == "__main__":
    sys.exit(main())
