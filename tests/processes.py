"""What processes take, for the benchmarks."""

import os
import subprocess
import sys
from typing import NamedTuple


class Used(NamedTuple):
    cpu_s: float
    clock_s: float
    peak_MiB: float

    def above(self, floor):
        return Used(*(mine - theirs for mine, theirs in zip(self, floor, strict=True)))


#: Starts a process and says what it took. A process of its own, since a process's peak is at least
#: that of the one which started it, and the tests' own is large.
_LAUNCHER = """
import os, subprocess, sys, time
begun_s = time.perf_counter()
process = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
_, status, usage = os.wait4(process.pid, 0)
clock_s = time.perf_counter() - begun_s
print(os.waitstatus_to_exitcode(status), clock_s, usage.ru_utime + usage.ru_stime, usage.ru_maxrss)
"""


def used_by(arguments):
    """What a process of Python's takes, by the kernel's own account of it."""
    # Byte code is kept, as it is after an installation; the first, uncounted pair writes it.
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    launcher = [sys.executable, "-I", "-S", "-c", _LAUNCHER, sys.executable, *arguments]
    said = subprocess.run(launcher, env=environment, check=True, capture_output=True, text=True)
    code, clock_s, cpu_s, peak = said.stdout.split()
    # A demo that fails in some members, or a rule that does: 1 is an answer too.
    assert int(code) in (0, 1)
    unit = 1024.0**2 if sys.platform == "darwin" else 1024.0
    return Used(float(cpu_s), float(clock_s), int(peak) / unit)
