"""Builds the documentation as a site in build/site, and looks at what came of it.

    python docs/make_site.py

Wants the extra `docs`. Any warning of the builder is an error, such as a link to a heading that is
not there. Then every built page is read: what it loads must lie beside it, and what it links to
must be there.
"""

from __future__ import annotations

import runpy
import shutil
import subprocess
import sys
from pathlib import Path

DOCS = Path(__file__).resolve().parent
ROOT = DOCS.parent
SITE = ROOT / "build" / "site"


def build() -> int:
    """Run the builder from nothing; its exit code."""
    shutil.rmtree(SITE, ignore_errors=True)
    settings = ["-c", str(DOCS / "site"), "-d", str(ROOT / "build" / "doctrees")]
    strict = ["--fresh-env", "--fail-on-warning", "--quiet"]
    command = [sys.executable, "-m", "sphinx", *strict, *settings, str(ROOT), str(SITE)]
    return subprocess.run(command, check=False).returncode


def main() -> None:
    """Build and check."""
    code = build()
    if code:
        sys.exit(code)
    # The first page under the name that browsers and servers look for.
    shutil.copyfile(SITE / "README.html", SITE / "index.html")
    check = runpy.run_path(str(DOCS / "site" / "check.py"))
    faults = check["faults_of"](SITE)
    if faults:
        sys.exit("\n".join(faults))
    print(f"wrote {SITE / 'index.html'}")


if __name__ == "__main__":
    main()
