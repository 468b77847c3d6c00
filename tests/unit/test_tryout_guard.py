"""Which heads are let in, one by one; `test_tryout_server.py` sends them to a server."""

from email.message import Message

import pytest

from powersim.tryout import key as keys
from powersim.tryout.guard import LARGEST_BODY_BYTES, Ask, Asset, Refusal, let_in
from powersim.tryout.key import is_same, new_key

KEY, PORT = new_key(), 8123
OURS = {
    "Host": f"127.0.0.1:{PORT}",
    "Origin": f"http://127.0.0.1:{PORT}",
    "Content-Type": "application/json",
    "Content-Length": "2",
    "Powersim-Key": KEY,
}


def asked(method="POST", target="/ask/answer", **others):
    """What comes of our page's head with some headers in place of its own; None takes one out."""
    headers = Message()
    for name, text in (OURS | {name.replace("_", "-"): t for name, t in others.items()}).items():
        if text is not None:
            headers[name] = text
    return let_in(
        method, target, headers, port=PORT, key=KEY, assets={"/"}, questions={"answer", "alive"}
    )


def test_our_own_page_is_let_in():
    assert asked() == Ask("answer", 2)
    assert asked(Content_Length=str(LARGEST_BODY_BYTES)) == Ask("answer", LARGEST_BODY_BYTES)
    assert asked(Content_Type="Application/JSON; charset=UTF-8") == Ask("answer", 2)
    assert asked("GET", "/", Content_Length=None, Powersim_Key=None, Origin=None) == Asset("/")


@pytest.mark.parametrize("name", ["attacker.example:8123", "127.0.0.1:80", "127.0.0.1", "", None])
@pytest.mark.parametrize("target", ["/", "/ask/answer", "/none"])
def test_no_other_name_leads_here(name, target):
    """As of a site that has its own name lead to 127.0.0.1 once its page is loaded."""
    origin = f"http://{name}"
    refusal = asked("GET" if target == "/" else "POST", target, Host=name, Origin=origin)
    assert isinstance(refusal, Refusal)
    assert refusal.status == 403


@pytest.mark.parametrize(
    "origin",
    ["http://attacker.example", "null", "http://127.0.0.1:3000", "https://127.0.0.1:8123", None],
)
def test_no_other_site_asks(origin):
    assert asked(Origin=origin).status == 403


@pytest.mark.parametrize("origin", ["http://attacker.example", "null", "http://127.0.0.1:3000"])
def test_no_other_site_takes_in_what_the_page_is_made_of(origin):
    """As a script that it loads with its own name told; without it the browser keeps it apart."""
    assert asked("GET", "/", Origin=origin, Content_Length=None).status == 403


# Names of their own: a key is drawn anew in each process, and both workers must name the same.
@pytest.mark.parametrize(
    "given",
    [None, "", KEY[:-1], f"{KEY}x", KEY.swapcase(), "é", "\udcff"],
    ids=["none", "empty", "short", "long", "other case", "not ASCII", "not UTF-8"],
)
def test_no_other_key_fits(given):
    assert asked(Powersim_Key=given).status == 403


def test_who_has_no_key_is_not_told_what_can_be_asked():
    assert asked(target="/ask/nothing", Powersim_Key="x") == asked(Powersim_Key="x")
    assert asked(target="/ask/nothing").status == 404


def test_a_key_has_the_chance_of_256_bits_and_letters_that_an_address_takes():
    """32 bytes in base64: ceil(32 * 8 / 6) = 43 letters."""
    made = {new_key() for _ in range(100)}
    assert len(made) == 100
    assert {len(one) for one in made} == {43}
    assert set("".join(made)) <= set(
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    )


def test_keys_are_compared_in_a_time_that_tells_nothing(monkeypatch):
    compared = []
    monkeypatch.setattr(
        keys.hmac, "compare_digest", lambda one, other: compared.append((one, other)) or False
    )
    assert not is_same("gïven", "key")
    assert compared == [("gïven".encode(), b"key")]
