"""One command line run in this process, as `main` runs it, with all that it said and did."""

from __future__ import annotations

import contextlib
import hashlib
import io
import signal
import time
import traceback
import warnings
from dataclasses import dataclass, field
from pathlib import Path

#: CPU seconds after which a command counts as hung.
LONGEST_S = 120.0
#: What a process must not change: folder -> all its files.
Snapshot = dict[str, str]


class Hung(BaseException):
    """A command took far longer than any should."""


@dataclass
class Outcome:
    """How a command ended; `card` is what was drawn on the card, None without one."""

    arguments: list[str]
    code: int
    out: str
    err: str
    trouble: str = ""
    took_s: float = 0.0  # of CPU
    card: object = None
    before: Snapshot = field(default_factory=dict)
    after: Snapshot = field(default_factory=dict)

    @property
    def command(self) -> str:
        """Its name."""
        return self.arguments[0]

    @property
    def ran(self) -> bool:
        """Whether it came to an answer."""
        return self.code in (0, 1)


class _Binary(io.TextIOWrapper):
    """Standard output in memory, as strict as a file of UTF-8."""

    def __init__(self):
        super().__init__(io.BytesIO(), encoding="utf-8", newline="")

    def text(self) -> str:
        self.flush()
        return self.buffer.getvalue().decode("utf-8")


def called(arguments: list[str], *, folder: Path) -> Outcome:
    """Run a command; a fault of the program's own comes back with its traceback in `trouble`."""
    from powersim.cli import exits
    from powersim.cli.main import run

    before = snapshot(folder)
    out, err, cards = _Binary(), _Binary(), []
    trouble, begun = "", time.process_time()
    try:
        with (
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
            warnings.catch_warnings(),
            _card_seen(cards),
            limited(),
        ):
            warnings.simplefilter("error")
            code = run(["--traceback", *arguments])
    except Hung:
        code, trouble = -1, f"still at work after {LONGEST_S:.0f} s of CPU"
    except BaseException:  # noqa: BLE001 - whatever gets out of `run` is a failure to be told
        code, trouble = -1, traceback.format_exc()
    if code == exits.OWN_FAULT:
        trouble = err.text()
    if code == exits.INTERRUPTED:  # whoever runs the fuzz wants to stop it
        raise KeyboardInterrupt
    took_s, card = time.process_time() - begun, cards[-1] if cards else None
    said, after = (out.text(), err.text()), snapshot(folder)
    return Outcome(arguments, code, *said, trouble, took_s, card, before, after)


def snapshot(folder: Path) -> Snapshot:
    """Digest of each file in a folder, by its path from there."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.is_symlink()
    }


@contextlib.contextmanager
def _card_seen(cards: list):
    """Note what is drawn on a card: in the PDF its letters are only shapes."""
    from powersim.report import card as module

    draw = module.draw_card

    def seen(card):
        cards.append(card)
        return draw(card)

    module.draw_card = seen
    try:
        yield
    finally:
        module.draw_card = draw


@contextlib.contextmanager
def limited():
    """Raise Hung after LONGEST_S of CPU."""
    if not hasattr(signal, "setitimer"):  # not on Windows: there a hang has to be seen by eye
        yield
        return

    def hung(_number, _frame):
        raise Hung

    before = signal.signal(signal.SIGPROF, hung)
    signal.setitimer(signal.ITIMER_PROF, LONGEST_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)
