"""A short passage and its log, invented, for the tests of `powersim underway`."""

from powersim.inputs.starter import demo_files

#: Six days southwards, of which the log has three.
ROUTE = "waypoint,position,speed\nStart,52 00.0 N 020 00.0 W,5 kn\nEnd,40 00.0 N 020 00.0 W,\n"
LOG = """\
time,position,voltage,resting_h,engine_h,dip,cans_left,solar_Ah,note
2026-09-05 10:00,,12.70 V,,812.3,84 L,60 L,100,let go
2026-09-06 06:00,50 15 N 20 W,12.50 V,3 h,812.3,,,118,
2026-09-06 18:00,49 15 N 20 W,12.52 V,,813.9,82.5 L,60 L,140,
2026-09-07 06:00,48 15 N 20 W,12.36 V,3 h,813.9,,,140,
2026-09-07 18:00,47 15 N 20 W,12.41 V,,815.4,81 L,60 L,166,
2026-09-08 06:00,46 15 N 20 W,12.31 V,3 h,815.4,,,166,
"""
NOW = "2026-09-08 08:00"


def write_logged(folder):
    """The demo's boat and loads on that passage, with that log; the folder is made.

    Parameters
    ----------
    folder : Path

    Returns
    -------
    Path
        The folder.
    """
    folder.mkdir()
    for name, text in (demo_files() | {"route.csv": ROUTE, "log.csv": LOG}).items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    return folder
