"""What a question raises that a newer one has overtaken."""

from __future__ import annotations


class Superseded(Exception):  # noqa: N818 - it is no error
    """A newer question came while this one was at work: nobody waits for its answer."""
