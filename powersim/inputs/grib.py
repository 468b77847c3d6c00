"""Forecast files in GRIB, WMO FM 92, editions 1 and 2."""

from __future__ import annotations

import errno
import importlib.util
import os
import pickle
import stat
import subprocess
from os import PathLike
from pathlib import Path

from powersim.errors import InputError, Problem
from powersim.processes import SAFE_FOLDER, command
from powersim.records import Forecast

#: One received at sea is some 100 kB; all fields of a whole world are hundreds of MB. [byte]
LARGEST_FILE_BYTES = 200_000_000
#: A file of that size is decoded in seconds. [s]
LONGEST_S = 120.0


def read_forecast(path: str | PathLike[str]) -> Forecast:
    """Light, cloud, wind and air from a GRIB file.

    Parameters
    ----------
    path : str or Path
        The file.

    Raises
    ------
    InputError
        If ecCodes is not installed; if the file is missing, empty or too large; and as
        `grib_decode.decode` says.

    Notes
    -----
    ecCodes decodes in a process of its own, which costs about half a second: damage in a file can
    end that process without a word, and ecCodes writes remarks of its own to standard error.
    """
    file = str(path)
    _check_file(Path(path), file)
    if importlib.util.find_spec("eccodes") is None:
        raise _refused(
            file,
            "needs ecCodes to be read, which is not installed",
            'python -m pip install "powersim[forecast]"',
        )
    decoder = command("powersim.inputs.grib_decode", os.path.abspath(path), file, str(os.getpid()))
    try:
        ended = subprocess.run(
            decoder, capture_output=True, cwd=SAFE_FOLDER, timeout=LONGEST_S, check=False
        )
    except subprocess.TimeoutExpired:
        raise _refused(file, "takes too long to decode", "a smaller file, or a whole one") from None
    if ended.returncode != 0:
        raise _refused(file, _why(ended), "a whole file; ask for it again")
    answer = pickle.loads(ended.stdout)
    if not isinstance(answer, Forecast):
        raise InputError(answer)
    return answer


def _why(ended: subprocess.CompletedProcess) -> str:
    """What ended the decoder: a signal, or an error that Python names in its last line."""
    last = ended.stderr.decode(errors="replace").strip().rpartition("\n")[2]
    if ended.returncode < 0 or not last:
        return "is damaged: decoding it ended without an answer"
    return f"cannot be decoded ({last[:200]})"


def _check_file(path: Path, file: str) -> None:
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise _refused(file, "is a folder, not a file")
        if not stat.S_ISREG(status.st_mode):
            raise _refused(file, "is not an ordinary file")
        with path.open("rb"):
            pass
    except FileNotFoundError:
        raise _refused(file, "no such file") from None
    except PermissionError:
        raise _refused(file, "may not be read (permission denied)") from None
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte in it
        if getattr(error, "errno", None) == errno.ENAMETOOLONG:
            raise  # told where the command ends, shortened
        reason = getattr(error, "strerror", None) or str(error)
        raise _refused(file, f"cannot be read ({reason})") from None
    if status.st_size == 0:
        raise _refused(file, "is empty", "a GRIB file, edition 1 or 2")
    if status.st_size > LARGEST_FILE_BYTES:
        text = f"holds {status.st_size / 1e6:.0f} MB"
        expected = (
            f"at most {LARGEST_FILE_BYTES / 1e6:.0f} MB: cut out for the waters of the passage"
        )
        raise _refused(file, text, expected)


def _refused(file: str, text: str, expected: str | None = None) -> InputError:
    return InputError([Problem(file=file, text=text, expected=expected)])
