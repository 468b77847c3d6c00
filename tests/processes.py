"""What processes take, for the benchmarks."""

import os
import subprocess
import sys
import time
from typing import NamedTuple


class Used(NamedTuple):
    cpu_s: float
    clock_s: float
    peak_MiB: float

    def above(self, floor):
        return Used(*(mine - theirs for mine, theirs in zip(self, floor, strict=True)))


def used_by(arguments):
    """What a process of Python's takes, by the kernel's own account of it."""
    # Byte code is kept, as it is after an installation; the first, uncounted pair writes it.
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    begun_s = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, *arguments],
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    # A demo that fails in some weathers, or a rule that does: 1 is an answer too.
    assert process.returncode in (0, 1)
    unit = 1024.0**2 if sys.platform == "darwin" else 1024.0
    clock_s = time.perf_counter() - begun_s
    return Used(usage.ru_utime + usage.ru_stime, clock_s, usage.ru_maxrss / unit)
