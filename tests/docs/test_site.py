"""What is wrong with a built site is seen; CI builds the site itself and has it looked at."""

import runpy

import pytest
from pages import ROOT

faults_of = runpy.run_path(str(ROOT / "docs" / "site" / "check.py"))["faults_of"]
SOUND = {
    "index.html": """
        <link rel="stylesheet" href="_static/style.css"><a href="docs/a.html#one">a</a>
        <a href="https://example.org/far">another host is led to, not loaded</a>
        <a href="#here" id="here">here</a><img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">
        <script>const kind = "http://www.w3.org/2000/svg"; // https://example.org/why</script>
    """,
    "docs/a.html": '<h2 id="one">One</h2><a href="../index.html?q=1">back</a>',
    "_static/style.css": "/* https://example.org */ p { background: url(data:image/gif) }",
    "_static/script.js": "// see https://example.org\nfetch(`${root}/index.json`);",
}


def site(folder, **changed):
    for name, text in (SOUND | changed).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def test_a_sound_site_has_no_faults(tmp_path):
    assert faults_of(site(tmp_path)) == []


def test_no_site_is_a_fault(tmp_path):
    assert faults_of(tmp_path) == [f"{tmp_path}: no pages"]


@pytest.mark.parametrize(
    ("name", "text", "fault"),
    [
        ("index.html", '<script src="https://c.org/a.js"></script>', "fetches https://c.org/a.js"),
        ("index.html", '<script src="//c.org/a.js"></script>', "fetches //c.org/a.js"),
        ("index.html", '<link rel="preconnect" href="https://c.org">', "fetches https://c.org"),
        ("index.html", '<img srcset="//c.org/a.png 2x">', "fetches //c.org/a.png"),
        ("index.html", '<p style="background: url(//c.org/a)">', "fetches //c.org/a"),
        ("index.html", "<style>@import 'https://c.org/a'</style>", "fetches https://c.org/a"),
        ("index.html", '<script>fetch("https://c.org/a")</script>', "fetches https://c.org/a"),
        (
            "index.html",
            '<meta http-equiv="refresh" content="0; url=https://c.org">',
            "fetches https://c.org",
        ),
        ("index.html", '<img src="no.png">', "loads no.png, which is not there"),
        ("index.html", '<a href="no.html">', "links to no.html, which is not there"),
        (
            "index.html",
            '<a href="docs/a.html#two">',
            "links to docs/a.html#two, which is not there",
        ),
        ("_static/style.css", "@font-face{src:url('//c.org/f.woff2')}", "fetches //c.org/f.woff2"),
        ("_static/script.js", "import('https://c.org/a.js')", "fetches https://c.org/a.js"),
    ],
)
def test_a_fault_is_seen(tmp_path, name, text, fault):
    assert faults_of(site(tmp_path, **{name: text})) == [f"{name}: {fault}"]
