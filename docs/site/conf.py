"""The documentation as a site: settings for Sphinx, which `docs/make_site.py` runs.

The pages are the Markdown files as they lie, README.md the first of them. They are read as plain
files too, so what only a site has is added here: the tree of pages, and docstrings.
"""

from __future__ import annotations

import pkgutil
import re
from importlib import import_module
from inspect import isclass
from pathlib import Path

from docutils.nodes import SkipNode
from docutils.utils.math.latex2mathml import tex2mathml
from pygments.lexers.special import TextLexer

from powersim import __version__

ROOT = Path(__file__).parents[2]
#: Heads of the list of pages, and what stands below each; a star stands for all of a folder.
TREE = {
    "For the sailor": ["docs/README", "docs/tutorial", "loads/README"],
    "A page for each task": ["docs/how-to/*"],
    "To look up": ["docs/reference/*", "docs/changelog"],
    "How it is worked out": ["docs/model", "docs/model/*", "docs/validation", "docs/performance"],
    "For those who work on it": ["DEVELOPERS"],
}

project = "powersim"
version = release = __version__
author = project_copyright = "the powersim authors"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon", "sphinx.ext.viewcode"]

root_doc = "README"
include_patterns = ["README.md", "DEVELOPERS.md", "loads/README.md", "docs/**.md"]
# Folders that hold no pages are not even looked through.
exclude_patterns = [
    path.name for path in ROOT.iterdir() if path.is_dir() and path.name not in ("docs", "loads")
]

# Headings can be linked to by their words, as where the files themselves are read.
myst_heading_anchors = 4
myst_enable_extensions = ["dollarmath"]
html_math_renderer = "mathml"

viewcode_follow_imported_members = False
add_module_names = False
autodoc_member_order = "bysource"
napoleon_google_docstring = False
napoleon_use_ivar = True
napoleon_use_rtype = False
python_maximum_signature_line_length = 80

# A docstring's `Passage` may be the record or the notebook's class, and leads to either.
suppress_warnings = ["ref.python"]

html_theme = "furo"
html_title = f"powersim {release}"
html_static_path = ["style.css"]
html_css_files = ["style.css"]
html_copy_source = False
html_show_sphinx = False
html_use_index = html_domain_indices = False

_DOCSTRINGS = re.compile(r"^<!-- docstrings: ([\w.]+)(\.\*)? -->$", re.MULTILINE)
_SOURCE = re.compile(r"^\.\. (\[\d+\] )")


def add_what_only_a_site_has(app, docname, source):
    """Give the first page the tree of pages, and others the docstrings that they ask for."""
    if docname == root_doc:
        source[0] += "".join(map(_toctree, TREE, TREE.values()))
    source[0] = _DOCSTRINGS.sub(
        lambda mark: (_of_modules if mark[2] else _of_names)(mark[1]), source[0]
    )


def _toctree(caption, entries):
    lines = [":hidden:", ":titlesonly:", ":glob:", f":caption: {caption}", *entries]
    return "\n```{toctree}\n" + "\n".join(lines) + "\n```\n"


def _of_modules(package):
    """A section for each module of a package, in the order of their names."""
    path = import_module(package).__path__
    names = sorted(found.name for found in pkgutil.walk_packages(path, f"{package}."))
    return "\n".join(_section(name, "automodule") for name in names)


def _of_names(package):
    """A section for each public name of a package, which may look it up only when asked."""
    module = import_module(package)
    return "\n".join(
        _section(
            f"{package}.{name}", "autoclass" if isclass(getattr(module, name)) else "autofunction"
        )
        for name in module.__all__
        if callable(getattr(module, name))
    )


def _section(name, directive):
    members = "" if directive == "autofunction" else "   :members:\n   :inherited-members:\n"
    return f"## {name}\n\n```{{eval-rst}}\n.. {directive}:: {name}\n{members}```\n"


def list_sources(app, what, name, obj, options, lines):
    """Make a list of a docstring's numbered sources.

    Their numbers begin anew in each docstring, and a page holds many: as links of one page they
    would lead to each other's.
    """
    within = False
    for number, line in enumerate(lines):
        found = _SOURCE.match(line)
        within = bool(found) or (within and line.strip() != "")
        if found:
            line = f"- \\{line[3:]}"
        elif within:
            line = f"  {line.strip()}"
        lines[number] = re.sub(r"(\[\d+\])_", r"\\\1", line)


def _mathml(writer, node):
    """Write a formula as browsers know them by themselves: no script, nothing fetched."""
    writer.body.append(tex2mathml(node.astext(), as_block=node.tagname == "math_block"))
    raise SkipNode


def setup(app):
    """Connect the above; Sphinx calls it."""
    app.add_html_math_renderer("mathml", (_mathml, None), (_mathml, None))
    app.add_lexer("csv", TextLexer)
    app.connect("source-read", add_what_only_a_site_has)
    # After napoleon, which has read the headings by then.
    app.connect("autodoc-process-docstring", list_sources, priority=900)
