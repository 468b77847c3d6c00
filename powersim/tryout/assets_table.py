"""What the page is made of: a fixed table, read once. No path from a browser reaches the disk."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from powersim.report.palette import style_sheet
from powersim.report.svg_frame import shade_rules

_FOLDER = Path(__file__).with_name("assets")
_HTML, _CSS, _SCRIPT, _SVG = (
    "text/html; charset=utf-8",
    "text/css; charset=utf-8",
    "text/javascript; charset=utf-8",
    "image/svg+xml",
)
#: Path in the address -> file in our own folder, and what it is.
TABLE = {
    "/": ("page.html", _HTML),
    "/page.css": ("page.css", _CSS),
    "/icon.svg": ("icon.svg", _SVG),
    "/print.css": ("print.css", _CSS),
    **{
        f"/{name}.js": (f"{name}.js", _SCRIPT)
        for name in (
            *("adding", "alive", "answer", "asks", "boat", "card", "changed", "changes"),
            *("fields", "key", "made", "notices", "pace", "page", "question", "readout"),
            *("rows", "said", "slow", "stepping", "tables"),
        )
    },
}
#: The palette's colours, which stand nowhere else.
COLOURS = "/colours.css"


class AssetFile(NamedTuple):
    """A file as it is sent."""

    content: bytes
    kind: str


def read_assets() -> dict[str, AssetFile]:
    """All of them, by their path in the address."""
    found = {
        path: AssetFile((_FOLDER / name).read_bytes(), kind) for path, (name, kind) in TABLE.items()
    }
    colours = style_sheet() + shade_rules()
    return {**found, COLOURS: AssetFile(colours.encode("utf-8"), _CSS)}
