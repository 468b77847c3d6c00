"""Which requests are let in: decided by their head alone, before anything of them is used.

A browser lets any site that somebody has open send requests to this computer. So each must come
from our own page (`Origin`), under a name of this computer (`Host`, against a site that makes its
own name lead here), and with the key, which no other site can read.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from email.message import Message
from typing import NamedTuple

from powersim.tryout.key import HEADER, is_same

ASK = "/ask/"
JSON_TYPE = "application/json"
#: A page asks in some kB, with a whole boat in its changes. [byte]
LARGEST_BODY_BYTES = 256 * 1024
#: Under which names this computer is reached from itself.
HOST_NAMES = ("127.0.0.1", "localhost", "[::1]")
_DIGITS = re.compile(r"[0-9]{1,12}")
#: What browsers let a page of ours name it, and no page of another's.
_ONCE = ("Host", "Origin", "Content-Length", "Content-Type", "Sec-Fetch-Site", HEADER)


class Refusal(NamedTuple):
    """Why a request is not let in."""

    status: int
    sentence: str
    allow: str | None = None


class Asset(NamedTuple):
    """A request for a file that holds nothing of the boat's."""

    path: str


class Ask(NamedTuple):
    """A request for an answer."""

    question: str
    length_bytes: int


def let_in(
    method: str,
    target: str,
    headers: Message,
    *,
    port: int,
    key: str,
    assets: Collection[str],
    questions: Collection[str],
) -> Asset | Ask | Refusal:
    """What a request asks for, or why it is refused.

    Parameters
    ----------
    method, target : str
        As the first line of the request has them.
    headers : email.message.Message
        The rest of its head.
    port : int
        Of this server.
    key : str
        What a question must bring.
    assets : collection of str
        Paths that are served to anybody on this computer.
    questions : collection of str
        Names that can be asked.
    """
    origins = {f"http://{name}:{port}" for name in HOST_NAMES}
    twice = [name for name in _ONCE if len(headers.get_all(name, [])) > 1]
    if twice:
        return Refusal(400, f"The request has more than one header {twice[0]}.")
    host = str(headers.get("Host", "")).lower()
    if f"http://{host}" not in origins:
        return Refusal(403, f"The page is served as 127.0.0.1:{port}, under no other name.")
    origin = headers.get("Origin")
    if origin is not None and origin != f"http://{host}":
        return Refusal(403, "The request comes from another site.")
    if target.startswith(ASK):
        return _ask(method, target, headers, key=key, questions=questions)
    if target not in assets:
        return Refusal(404, "There is no such page.")
    if method not in ("GET", "HEAD"):
        return Refusal(405, "A page is asked for with GET.", allow="GET, HEAD")
    if "Content-Length" in headers or "Transfer-Encoding" in headers:
        return Refusal(400, "A page is asked for without a body.")
    return Asset(target)


def _ask(
    method: str, target: str, headers: Message, *, key: str, questions: Collection[str]
) -> Ask | Refusal:
    if method != "POST":
        return Refusal(405, "A question is asked with POST.", allow="POST")
    if headers.get("Origin") is None:
        return Refusal(403, "The request does not say that it comes from this page.")
    if headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
        return Refusal(403, "The request comes from another site.")
    if not is_same(str(headers.get(HEADER, "")), key):
        return Refusal(
            403, "The key is missing, or another's: open the address that the terminal shows."
        )
    question = target.removeprefix(ASK)
    if question not in questions:
        return Refusal(404, "There is no such question.")
    kind = str(headers.get("Content-Type", "")).replace(" ", "").lower()
    if kind not in (JSON_TYPE, f"{JSON_TYPE};charset=utf-8"):
        return Refusal(415, f"A question is asked as {JSON_TYPE}.")
    if "Transfer-Encoding" in headers:
        return Refusal(411, "A question says how long it is, in Content-Length.")
    length = headers.get("Content-Length")
    if length is None:
        return Refusal(411, "A question says how long it is, in Content-Length.")
    if not _DIGITS.fullmatch(length) and not length.isdigit():
        return Refusal(400, "The length of the question is no number.")
    if not _DIGITS.fullmatch(length) or int(length) > LARGEST_BODY_BYTES:
        return Refusal(413, f"A question has at most {LARGEST_BODY_BYTES:,} bytes.")
    return Ask(question, int(length))
