"""The page of `powersim try` for the tests of a file: one browser, one short passage."""

import driven
import pytest
import tried


@pytest.fixture(scope="module")
def page():
    with driven.Page() as page:
        yield page


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """A short passage."""
    folder = tried.folder_in(tmp_path_factory.mktemp("tried") / "four days")
    with driven.served(tried.session_of(folder)) as server:
        yield server
