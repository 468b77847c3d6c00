"""What several tests of the documentation use."""

from pathlib import Path

import pytest
from markupsafe import Markup

from powersim.report import figures, page_figures


@pytest.fixture
def undrawn(monkeypatch):
    """Pictures are composed and not drawn, where a page's commands are typed along: half the time.

    Drawn they are in the tests of figures, page and commands, and looked at in a browser.
    """

    def kept(figure, where, **_):
        Path(where).write_text(f"{type(figure).__name__}, not drawn", encoding="utf-8")

    monkeypatch.setattr(figures, "save", kept)
    monkeypatch.setattr(page_figures, "inline_svg", lambda axes, **_: Markup())
