"""Forecast files in GRIB, WMO FM 92, editions 1 and 2."""

from __future__ import annotations

import importlib.util
import os
import pickle
import subprocess
from os import PathLike
from pathlib import Path

from powersim.errors import InputError, refused
from powersim.inputs.text import ordinary_size, refused_if_unreadable
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
        raise refused(
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
        raise refused(file, "takes too long to decode", "a smaller file, or a whole one") from None
    if ended.returncode != 0:
        raise refused(file, _why(ended), "a whole file; ask for it again")
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
    with refused_if_unreadable(file):
        size_bytes = ordinary_size(path, file)
        with path.open("rb"):
            pass
    if size_bytes == 0:
        raise refused(file, "is empty", "a GRIB file, edition 1 or 2")
    if size_bytes > LARGEST_FILE_BYTES:
        text = f"holds {size_bytes / 1e6:.0f} MB"
        expected = (
            f"at most {LARGEST_FILE_BYTES / 1e6:.0f} MB: cut out for the waters of the passage"
        )
        raise refused(file, text, expected)
