"""Pictures look as they do whatever lies in the current folder."""

from __future__ import annotations

import os

from powersim.processes import SAFE_FOLDER


def pass_over_settings_here() -> None:
    """Import matplotlib with another folder for the current one.

    It reads its settings once, as it is imported, first of all from a matplotlibrc of the current
    folder.
    """
    here = os.getcwd()
    os.chdir(SAFE_FOLDER)
    try:
        import matplotlib  # noqa: F401
    finally:
        os.chdir(here)
