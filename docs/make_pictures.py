"""Draws the pictures of README, of the tutorial and of a how-to anew, into docs/figures.

    python docs/make_pictures.py            all of them; a few seconds, and wants chromium
    python docs/make_pictures.py demo       those whose names begin so

Beside them pictures.json keeps what each of them shows: the words on it, and the charge day by day.
`tests/docs/test_pictures.py` works that out again, and fails where a picture shows something else.
The dots themselves are not compared, since letters are not drawn alike on every machine; so after a
change of colours or of the layout this has to be thought of.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
import shutil
import subprocess
import sys
import tempfile
from base64 import b64decode
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial
from html import unescape
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from textwrap import wrap

DOCS = Path(__file__).resolve().parent
FIGURES = DOCS / "figures"
MANIFEST = FIGURES / "pictures.json"
STYLE = DOCS.parent / "powersim" / "report" / "templates" / "style.css"
TUTORIAL = DOCS / "tutorial.md"
DEMO = DOCS.parent / "loads" / "iceland-to-cabo-verde"
WEEKS = DOCS / "how-to" / "which-week-to-leave.md"
_BLOCK = re.compile(r"^```(\w+)([^\n]*)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
#: Words on a plain picture.
_LABELS = re.compile(r"<text[^>]*>([^<]*)</text>")
_TABLES = {"load,": "loads.csv", "waypoint,": "route.csv"}
#: Tables of boat.toml that the tutorial changes later on.
_ANEW = ("[charging]", "[[panel]]")
#: What is seen of the page, which is far longer: width and height. [px]
_WINDOW_PX = (900, 1070)
#: Of the page of `powersim try`, on a laptop's screen. [px]
_TRIED_PX = (1280, 1000)
#: As `powersim demo` names its folder.
_DEMO_NAME = "powersim-demo"
#: Enough for letters with soft edges, few enough for a small file.
_COLOURS = 200
#: Of a picture of the card. [1/inch]
_CARD_DPI = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture, and what it shows.

    Attributes
    ----------
    words : tuple of str
        All that can be read on it, in the order in which it is drawn.
    percents : tuple of float
        State of charge at the end of each day, of a curve. [%]
    png : callable
        Draws it: bytes of a PNG.
    """

    words: tuple[str, ...]
    percents: tuple[float, ...] = ()
    png: Callable[[], bytes]

    def shown(self) -> dict:
        """What it shows, as the manifest keeps it."""
        return {"words": wrap(" | ".join(self.words), 110), "percents": list(self.percents)}


def pictures(folder: Path) -> dict[str, Picture]:
    """Every picture by its file's name, not yet drawn.

    Parameters
    ----------
    folder : Path
        An empty one, for the tutorial's passage; the demo is put beside it.
    """
    import powersim

    demo = powersim.load(DEMO)
    pages = list(blocks_in_order())
    files = [block for block in pages if block[0] in ("toml", "csv")]
    for language, _, text in files[:3]:
        write_down(folder, language, text)
    first = powersim.load(folder)
    for language, _, text in files[3:]:
        write_down(folder, language, text)
    return {
        "try-page.png": _tried(folder.parent, {"place": "loads.navigation laptop", "value": None}),
        "demo-charge.png": _curve(powersim.simulate(demo)),
        **_page_and_card("demo", powersim.simulate(demo)),
        "demo-weeks.png": _weeks(demo),
        "tutorial-charge.png": _curve(powersim.simulate(first)),
        **_page_and_card("tutorial", powersim.simulate(powersim.load(folder))),
    }


def blocks_in_order() -> list[tuple[str, str, str]]:
    """(language, remark, text) of each block of the tutorial."""
    return _BLOCK.findall(TUTORIAL.read_text(encoding="utf-8"))


def write_down(folder: Path, language: str, text: str) -> None:
    """Write a file of the tutorial, or one table of boat.toml anew."""
    if language == "csv":
        (name,) = (name for start, name in _TABLES.items() if text.startswith(start))
    else:
        name = "boat.toml"
    path = folder / name
    head, _, _ = text.partition("\n")
    if head in _ANEW:
        before, _, after = path.read_text(encoding="utf-8").partition(f"{head}\n")
        _, gap, rest = after.partition("\n\n")
        text = before + text + gap[1:] + rest
    path.write_text(text, encoding="utf-8")


def _curve(result) -> Picture:
    from powersim.report.figures import charge_figure, fan_figure, plot_soc

    figure = plot_soc(result).figure
    if result.ensemble is None:
        percents = charge_figure(result).soc_percent[24::24]
    else:
        fan = fan_figure(result)
        percents = (*fan.median_percent[24::24], *fan.edge_percent[24::24])
    return Picture(
        words=_words_of(figure),
        percents=tuple(round(each, 1) for each in percents),
        png=partial(_png_of, figure),
    )


def _weeks(passage) -> Picture:
    """Departures side by side, as docs/how-to/which-week-to-leave.md asks for them."""
    import powersim

    (asked,) = re.findall(
        r"^powersim compare my-passage --depart (\S+)$", WEEKS.read_text("utf-8"), re.M
    )
    found = powersim.compare(passage, departs=[asked], jobs=1)
    figure = found.plot().figure
    return Picture(
        words=_words_of(figure),
        percents=tuple(100.0 * one.verdict.fails.frac for one in found.outcomes),
        png=partial(_png_of, figure),
    )


def _page_and_card(name, result) -> dict[str, Picture]:
    from powersim import __version__
    from powersim.inputs.cautions import cautions_of
    from powersim.inputs.standing_cautions import standing_cautions
    from powersim.planning.endurance import endurance_as_simulated
    from powersim.planning.ladder import ladder_as_simulated
    from powersim.report.card import card_of
    from powersim.report.card_pages import draw_card
    from powersim.report.endurance_view import endurance_view
    from powersim.report.page import report_html

    endurance = endurance_as_simulated(result)
    page = report_html(
        result,
        endurance=endurance_view(endurance, result),
        cautions=cautions_of(result.passage),
        standing=standing_cautions(result.passage),
        version=__version__,
    )
    # Of all its pages those before the rows to fill in; made on one day for ever.
    card = draw_card(
        card_of(
            result,
            endurance=endurance,
            ladder=ladder_as_simulated(result),
            made=date(2026, 4, 18),
        )
    )[:3]
    return {
        f"{name}-page.png": Picture(words=_words_in(page), png=partial(_seen, page)),
        f"{name}-card.png": Picture(
            words=tuple(words for page in card for words in _words_of(page)),
            png=partial(_side_by_side, card),
        ),
    }


def _words_of(figure) -> tuple[str, ...]:
    from matplotlib.text import Text

    figure.draw_without_rendering()
    found = (text.get_text().strip() for text in figure.findobj(Text) if text.get_visible())
    return tuple(words for words in found if words)


def _tried(parent: Path, change: dict) -> Picture:
    """The page of `powersim try` on the demo with one load left off, as typed beside its folder."""
    from powersim.tryout.assets_table import read_assets
    from powersim.tryout.session import Session

    if not (parent / _DEMO_NAME).exists():
        shutil.copytree(DEMO, parent / _DEMO_NAME)
    with contextlib.chdir(parent):
        session = Session(Path(_DEMO_NAME))
        found = session.answer({"changes": [change], "number": 1})
    verdict, assets = found["verdict"], read_assets()
    look = hashlib.sha256(assets["/"].content + assets["/page.css"].content)
    figures = (words for one in found["measures"] for words in one.values())
    return Picture(
        words=(
            verdict["word"],
            verdict["sentence"],
            *map(unescape, _LABELS.findall(found["picture"].partition("</svg>")[0])),
            *figures,
            *(one["told"] for one in found["changed"]),
            f"page.html and page.css {look.hexdigest()[:16]}",
        ),
        png=partial(_seen_tried, parent, session, change),
    )


def _seen_tried(parent, session, change) -> bytes:
    """The page in a browser, after the load has been ticked off on it."""
    sys.path.insert(0, str(DOCS.parent / "tests" / "browser"))
    from chromium import Chromium, found, missing

    from powersim.tryout.assets_table import read_assets
    from powersim.tryout.server import Server

    if (why := missing()) is not None:
        sys.exit(why)
    with contextlib.chdir(parent), Server(session.questions, assets=read_assets()) as server:
        browser = Chromium(found())
        try:
            browser.wide(_TRIED_PX[0], height=_TRIED_PX[1])
            browser.driver.get(server.address)
            browser.until("document.querySelector('#picture svg')")
            browser.value(
                f"document.querySelector('input[data-place=\"{change['place']}\"]').click()"
            )
            browser.until("document.querySelector('.difference')")
            return b64decode(browser.ask("Page.captureScreenshot", format="png")["data"])
        finally:
            browser.close()


class _Words(HTMLParser):
    """The words of a page up to the end of its first section, which is what the picture has."""

    def __init__(self, page):
        super().__init__()
        self.found, self._hidden = [], ""
        self.feed(page.partition("</section>")[0])

    def handle_starttag(self, tag, attrs):
        """Leave out what is not read."""
        self._hidden = tag if tag in ("style", "script", "title", "desc") else ""

    def handle_endtag(self, tag):
        """Read on."""
        self._hidden = ""

    def handle_data(self, data):
        """Keep the words between two marks."""
        words = " ".join(data.split())
        if words and not self._hidden:
            self.found.append(words)


def _words_in(page) -> tuple[str, ...]:
    style = hashlib.sha256(STYLE.read_bytes()).hexdigest()[:16]
    return (*_Words(page).found, f"style.css {style}")


def _png_of(figure) -> bytes:
    from powersim.report.figures import save

    drawn = BytesIO()
    save(figure, drawn, kind="png")
    return drawn.getvalue()


def _side_by_side(pages) -> bytes:
    """Figures as high as each other, in one picture with a grey line between."""
    from PIL import Image

    drawn = [_evenly(page) for page in pages]
    line_px = 2
    wide_px = sum(one.width + line_px for one in drawn) - line_px
    sheet, at_px, found = Image.new("L", (wide_px, drawn[0].height), 160), 0, BytesIO()
    for one in drawn:
        sheet.paste(one, (at_px, 0))
        at_px += one.width + line_px
    sheet.quantize(8).save(found, format="png", optimize=True)
    return found.getvalue()


def _evenly(page):
    """A figure drawn large and made smaller, so that letters are as wide as they are printed."""
    from PIL import Image

    found = BytesIO()
    page.savefig(found, format="png", dpi=4 * _CARD_DPI)
    large = Image.open(found).convert("L")
    return large.resize((large.width // 4, large.height // 4), Image.Resampling.LANCZOS)


def _seen(page) -> bytes:
    """The top of the page, as a browser shows it."""
    browser = shutil.which("chromium") or shutil.which("google-chrome")
    if browser is None:
        sys.exit("no chromium to look at the page with")
    with tempfile.TemporaryDirectory() as folder:
        file, shot = Path(folder, "page.html"), Path(folder, "page.png")
        file.write_text(page, encoding="utf-8")
        flags = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
        size = ",".join(map(str, _WINDOW_PX))
        command = [browser, *flags, f"--user-data-dir={folder}/profile", f"--window-size={size}"]
        command += [f"--screenshot={shot}", file.as_uri()]
        subprocess.run(command, check=True, capture_output=True, timeout=60)
        return shot.read_bytes()


def _small(png) -> bytes:
    """The same picture in few colours: those of most dots as they are, the rest as the nearest.

    A palette of means, which is what Pillow makes, tints greys and dulls a thin line.
    """
    import numpy as np
    from PIL import Image

    with Image.open(BytesIO(png)) as image:
        dots = np.asarray(image.convert("RGB"), dtype=int)
    colours, which, many = np.unique(
        dots.reshape(-1, 3), axis=0, return_inverse=True, return_counts=True
    )
    kept = colours[np.argsort(-many, kind="stable")[:_COLOURS]]
    apart = ((colours[:, None] - kept) ** 2).sum(axis=-1)
    few = Image.fromarray(apart.argmin(axis=1)[which].reshape(dots.shape[:2]).astype(np.uint8))
    few.putpalette(kept.astype(np.uint8).tobytes())
    small = BytesIO()
    few.save(small, format="PNG", optimize=True)
    return small.getvalue()


def main(start: str = "") -> None:
    """Draw the pictures whose names begin like that, and keep what they show."""
    kept = json.loads(MANIFEST.read_text(encoding="utf-8")) if MANIFEST.exists() else {}
    with tempfile.TemporaryDirectory() as folder:
        mine = Path(folder, "my-passage")
        mine.mkdir()
        found = pictures(mine)
        for name, picture in found.items():
            if name.startswith(start):
                png = _small(picture.png())
                (FIGURES / name).write_bytes(png)
                kept[name] = picture.shown() | {"sha256": hashlib.sha256(png).hexdigest()}
                print(f"wrote {FIGURES / name}, {len(png) / 1000:.0f} kB")
    kept = {name: kept[name] for name in found if name in kept}
    text = json.dumps(kept, ensure_ascii=False, indent=1)
    # Numbers stand side by side, words line by line.
    text = re.sub(r"\[[-\d.,\s]+\]", lambda found: f"[{' '.join(found[0][1:-1].split())}]", text)
    MANIFEST.write_text(f"{text}\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
