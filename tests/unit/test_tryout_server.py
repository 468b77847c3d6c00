"""The server of the page: what it answers, and what neither stops it nor makes it say more."""

import json
import re
import socket
import threading
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from page_client import Asking, Page, all_of, connected, head, many

from powersim.errors import BalanceError, InputError, OutputError, Problem, refused
from powersim.tryout import patient_input
from powersim.tryout.assets_table import AssetFile
from powersim.tryout.connections import MOST
from powersim.tryout.guard import LARGEST_BODY_BYTES
from powersim.tryout.server import Server
from powersim.tryout.superseded import Superseded

ASSETS = {"/": AssetFile(b"<!doctype html>", "text/html; charset=utf-8")}
#: Longer than any client of these tests waits: what waits for so long never comes.
NEVER_s = 600.0


def raises(error):
    def question(asked):
        raise error

    return question


class Gate:
    """A question that takes as long as the test wants."""

    def __init__(self):
        self.begun, self.go_on = threading.Event(), threading.Event()

    def __call__(self, asked):
        self.begun.set()
        assert self.go_on.wait(NEVER_s)
        return {"slow": True}


@pytest.fixture
def gate():
    gate = Gate()
    yield gate
    gate.go_on.set()


@pytest.fixture
def faults():
    return []


@pytest.fixture
def server(gate, faults):
    questions = {
        "echo": lambda asked: asked,
        "slow": gate,
        "zero": lambda asked: {"share": 1 / 0},
        "nan": lambda asked: {"share": float("nan")},
        "bytes": lambda asked: {"page": b""},
        "balance": raises(BalanceError("1 Wh\nis missing")),
        "overtaken": raises(Superseded()),
        "mistaken": raises(
            InputError([Problem(file="boat.toml", line=3, text="no such", expected="220 Ah")])
        ),
        "in the way": raises(OutputError("boat.toml has changed on disk")),
    }
    with Server(
        questions | {"in-the-way": questions.pop("in the way")},
        assets=ASSETS,
        on_fault=lambda where, error: faults.append((where, repr(error))),
    ) as server:
        yield server


@pytest.fixture
def page(server):
    with Page(server.port, server.key) as page:
        yield page


def test_a_question_is_answered_in_json(page):
    asked = {"changes": [{"place": "battery.capacity", "value": "300 Ah"}], "sign": "°"}
    reply = page.ask("echo", asked)
    assert (reply.status, reply.answer) == (200, asked)
    assert reply.headers["Content-Type"] == "application/json; charset=utf-8"


def test_each_page_goes_out_with_the_same_guards(page):
    for reply in (page.get("/"), page.ask("echo"), page.get("/none")):
        headers = reply.headers
        assert headers["Content-Security-Policy"] == (
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
            "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "no-referrer"
        assert headers["Cache-Control"] == "no-store"
        assert headers["Set-Cookie"] is None
        assert headers["Server"] is None
        assert headers["Access-Control-Allow-Origin"] is None


def test_the_page_is_served_without_a_key_and_holds_nothing(page):
    reply = page.get("/")
    assert (reply.status, reply.answer) == (200, b"<!doctype html>")
    head_alone = page.get("/", method="HEAD")
    assert (head_alone.status, head_alone.answer) == (200, b"")
    assert head_alone.headers["Content-Length"] == "15"


@pytest.mark.parametrize("path", ["/../boat.toml", "/assets/page.js", "/%2e%2e/x", "/?a"])
def test_no_path_reaches_the_disk(page, path):
    assert page.get(path).status == 404


def test_it_listens_on_this_computer_alone(server):
    assert server._listener.socket.getsockname()[0] == "127.0.0.1"
    assert server.address == f"http://127.0.0.1:{server.port}/#{server.key}"


@pytest.mark.parametrize(
    ("question", "status", "answer"),
    [
        ("overtaken", 409, {"superseded": True}),
        ("in-the-way", 409, {"refused": "boat.toml has changed on disk"}),
        (
            "mistaken",
            422,
            {
                "problems": [
                    {
                        "place": None,
                        "file": "boat.toml",
                        "line": 3,
                        "text": "no such",
                        "expected": "220 Ah",
                        "said": "boat.toml:3: no such\n  expected  220 Ah",
                    }
                ]
            },
        ),
    ],
)
def test_what_a_question_raises_on_purpose_is_an_answer(page, faults, question, status, answer):
    reply = page.ask(question)
    assert (reply.status, reply.answer) == (status, answer)
    assert faults == []


@pytest.mark.parametrize(
    ("question", "said", "error"),
    [
        ("zero", "ZeroDivisionError: division by zero", "ZeroDivisionError('division by zero')"),
        ("balance", "BalanceError: 1 Wh is missing", r"BalanceError('1 Wh\nis missing')"),
        ("nan", None, None),
        ("bytes", None, None),
    ],
)
def test_a_fault_of_our_own_is_a_sentence_and_the_server_goes_on(
    page, faults, capsys, question, said, error
):
    reply = page.ask(question)
    assert reply.status == 500
    assert "\n" not in reply.answer["fault"]
    assert "Traceback" not in reply.answer["fault"]
    ((where, told),) = faults
    assert where == f"the question {question!r}"
    if said is not None:
        assert said in reply.answer["fault"]
        assert told == error
    assert page.ask("echo", {"on": 1}).answer == {"on": 1}
    assert capsys.readouterr() == ("", "")


# Who may ask.


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Powersim_Key": "another"}, 403),
        ({"Powersim_Key": "schlüssel"}, 403),
        ({"without": ("Powersim-Key",)}, 403),
        ({"Host": "evil.example:{port}"}, 403),
        ({"Host": "127.0.0.1"}, 403),
        ({"Host": "127.0.0.1:1"}, 403),
        ({"Host": "127.0.0.1.evil.example:{port}"}, 403),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "https://127.0.0.1:{port}"}, 403),
        ({"Origin": "http://127.0.0.1:1"}, 403),
        ({"Origin": "http://localhost:{port}"}, 403),  # while Host has 127.0.0.1
        ({"Origin": "null"}, 403),
        ({"without": ("Origin",)}, 403),
        ({"Sec_Fetch_Site": "cross-site"}, 403),
        ({"Sec_Fetch_Site": "same-site"}, 403),
        ({"Content_Type": "text/plain"}, 415),
        ({"Content_Type": "application/json; charset=latin-1"}, 415),
        ({"without": ("Content-Type",)}, 415),
        ({"method": "GET"}, 405),
        ({"method": "PUT"}, 405),
        ({"method": "DELETE"}, 405),
        ({"method": "OPTIONS"}, 405),
        ({"Content_Length": "-1"}, 400),
        ({"Content_Length": "1e3"}, 400),
        ({"Content_Length": str(LARGEST_BODY_BYTES + 1)}, 413),
        ({"Content_Length": "9" * 5000}, 413),
        ({"Transfer_Encoding": "chunked"}, 411),
        ({"Expect": "100-continue"}, 417),
    ],
    ids=str,
)
def test_who_is_not_let_in(server, page, headers, status):
    """Whatever would be let in if only that were different."""
    filled = {
        name: text.format(port=server.port) if isinstance(text, str) else text
        for name, text in headers.items()
    }
    if "schlüssel" in filled.values():
        filled["Powersim_Key"] = "schlüssel".encode()
    reply = page.ask("echo", {"a": 1}, **filled)
    assert reply.status == status
    assert set(reply.answer) == {"refused"}
    assert reply.headers["Connection"] == "close"
    assert page.ask("echo", {"a": 1}).answer == {"a": 1}


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost", "LOCALHOST", "[::1]"])
def test_each_name_of_this_computer_is_let_in(server, page, name):
    host = f"{name}:{server.port}"
    assert page.ask("echo", Host=host, Origin=f"http://{host.lower()}").status == 200


@pytest.mark.parametrize("name", ["Host", "Origin", "Content-Length", "Powersim-Key"])
def test_a_header_that_comes_twice_is_refused(server, page, name):
    whole = head(page, length=2)
    line = next(line for line in whole.split(b"\r\n") if line.startswith(name.encode()))
    with connected(server.port) as channel:
        channel.sendall(whole[:-2] + line + b"\r\n\r\n{}")
        assert b" 400 Bad Request\r\n" in all_of(channel)


@pytest.mark.parametrize(
    ("first_line", "status"),
    [
        (b"GET / HTTP/1.0", b"505"),
        (b"GET /", b"505"),
        (b"GET / HTTP/2.0", b"505"),
        (b"PRI * HTTP/2.0", b"505"),
        (b"nonsense", b"400"),
        (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", b"400"),  # as https:// begins
        (b"GET " + b"/" * 100_000 + b" HTTP/1.1", b"431"),
    ],
)
def test_what_is_no_http_1_1_is_refused(server, page, first_line, status):
    with connected(server.port) as channel:
        channel.sendall(first_line + b"\r\n\r\n")
        reply = all_of(channel)
    assert reply.startswith(b"HTTP/1.1 " + status)
    assert b"Error" not in reply
    assert page.get("/").status == 200


def test_too_many_headers_and_too_long_ones_are_refused(server):
    for more in (b"A: b\r\n" * 200, b"A: " + b"b" * 100_000 + b"\r\n", (b"A: " + b"b" * 999) * 99):
        with connected(server.port) as channel:
            channel.sendall(b"GET / HTTP/1.1\r\n" + more + b"\r\n\r\n")
            assert all_of(channel).startswith(b"HTTP/1.1 431 ")


# What neither stops it nor makes it slow.


def test_ten_thousand_broken_bodies_and_the_page_is_still_answered(server, page, capfd, faults):
    """Over one connection, a hundred at a time: it reads each whole, and goes on with the next."""
    broken = [
        b"",
        b"{",
        b"[]",
        b"null",
        b'{"a":NaN}',
        b'{"a":-Infinity}',
        b'{"a":1,"a":2}',
        b'{"a":"\\ud800"}',
        b"\xff\xfe{\x00}\x00",
        b'{"a":' + b"9" * 5000 + b"}",
        b"[" * 60,
    ]
    with connected(server.port) as channel:
        stream = channel.makefile("rb")
        for first in range(0, 10_000, 100):
            bodies = [broken[number % len(broken)] for number in range(first, first + 100)]
            channel.sendall(b"".join(head(page, length=len(body)) + body for body in bodies))
            for _ in bodies:
                assert stream.readline() == b"HTTP/1.1 400 Bad Request\r\n"
                told = dict(line.split(b": ", 1) for line in iter(stream.readline, b"\r\n"))
                assert set(json.loads(stream.read(int(told[b"Content-Length"])))) == {"refused"}
        stream.close()
    assert page.ask("echo", {"on": 1}).answer == {"on": 1}
    assert faults == []
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    "body",
    [
        b"[" * 60_000,
        b"[" * 60_000 + b"]" * 60_000,
        b'{"a":' + b"[" * 60_000 + b"]" * 60_000 + b"}",
        b'{"":' * 60_000,
        b'{"":' * 50_000 + b"1" + b"}" * 50_000,
    ],
    ids=lambda body: body[:6].decode(),
)
def test_json_nested_sixty_thousand_deep_is_refused(page, faults, body):
    reply = page.ask("echo", body=body)
    assert (reply.status, reply.answer) == (400, {"refused": "The question is nested too deep."})
    assert page.ask("echo", {"on": 1}).answer == {"on": 1}
    assert faults == []


def test_two_hundred_half_open_connections_keep_no_page_out(server, page, monkeypatch):
    """Some say nothing, some begin a head, some a body; the page that was there stays there."""
    # None of them ends of itself while the page waits.
    monkeypatch.setattr("powersim.tryout.listening.REQUEST_s", NEVER_s)
    monkeypatch.setattr(
        patient_input.PatientInput.begin_request, "__kwdefaults__", {"whole_s": NEVER_s}
    )
    page.ask("echo")
    channel = page.connection.sock
    with many(server.port, 200) as half_open:
        for number, each in enumerate(half_open):
            # The server has ended those that came first: they gave way.
            try:
                each.sendall((b"", b"POST /ask/echo HT", head(page, length=9) + b"{")[number % 3])
            except OSError:
                assert number < 200 - MOST
        assert page.ask("echo", {"on": 1}).answer == {"on": 1}
        newcomer = Page(server.port, server.key)
        assert newcomer.get("/").status == 200
        assert newcomer.ask("echo", {"on": 2}).answer == {"on": 2}
        newcomer.close()
        assert len(server.connections) <= MOST
        at_work = [thread for thread in threading.enumerate() if thread.name == "browser"]
        assert len(at_work) <= MOST + 1
    assert page.connection.sock is channel


def test_who_takes_too_long_over_a_request_is_cut_off(server, page, monkeypatch):
    """However busily: one byte now and then is no request."""
    monkeypatch.setattr("powersim.tryout.listening.REQUEST_s", 0.3)
    monkeypatch.setattr(
        patient_input.PatientInput.begin_request, "__kwdefaults__", {"whole_s": 0.3}
    )
    # Whichever of them meets the end; half a minute is far more than it has.
    with connected(server.port) as channel, pytest.raises(OSError):  # noqa: PT012
        for _ in range(1500):
            channel.sendall(b"G")
            time.sleep(0.02)
    with connected(server.port) as channel:
        channel.sendall(head(page, length=100) + b'{"a"')
        assert all_of(channel) == b""


def test_a_body_cut_short_is_no_question(server, page):
    with connected(server.port) as channel:
        channel.sendall(head(page, length=100) + b'{"a":1}')
        channel.shutdown(socket.SHUT_WR)
        assert all_of(channel) == b""


def test_a_slow_question_keeps_nobody_else_waiting(server, page, gate):
    asking = Asking(server, "slow")
    assert gate.begun.wait(60.0)
    assert page.ask("echo", {"alive": 1}).status == 200
    assert asking.reply is None
    gate.go_on.set()
    assert asking.ended().answer == {"slow": True}


def test_answers_under_way_are_not_mixed(server):
    """Eight pages at once, each with its own numbers, one behind the other in one connection."""
    wrong = []

    def ask_many(page_number):
        page = Page(server.port, server.key)
        for number in range(40):
            asked = {"page": page_number, "number": number, "much": "x" * (37 * number)}
            if page.ask("echo", asked).answer != asked:
                wrong.append(asked)
        page.close()

    threads = [threading.Thread(target=ask_many, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20.0)
    assert wrong == []


def test_head_and_body_go_out_together(server, page):
    """Apart, the second waits some 40 ms for the other side to say that it has the first."""
    with connected(server.port) as channel:
        channel.sendall(head(page, length=7) + b'{"a":1}')
        assert channel.recv(65536).endswith(b'\r\n\r\n{"a": 1}')


@given(st.binary(max_size=400), st.sampled_from(["alone", "in a head", "as a body"]))
def test_no_bytes_whatever_are_a_fault(shared, junk, where):
    server, page, faults = shared
    sent = {
        "alone": junk,
        "in a head": b"GET / HTTP/1.1\r\nHost: " + junk + b"\r\n\r\n",
        "as a body": head(page, length=len(junk)) + junk,
    }[where]
    with connected(server.port) as channel:
        channel.sendall(sent)
        channel.shutdown(socket.SHUT_WR)
        reply = all_of(channel)
    assert re.match(rb"HTTP/1.1 [245]\d\d |\Z", reply)
    assert not reply.startswith(b"HTTP/1.1 500")
    assert faults == []


@pytest.fixture(scope="module")
def shared():
    faults = []
    with (
        Server(
            {"echo": lambda asked: asked},
            assets=ASSETS,
            on_fault=lambda where, error: faults.append((where, error)),
        ) as server,
        Page(server.port, server.key) as page,
    ):
        yield server, page, faults


# How it begins and ends.


def test_a_port_that_is_taken_is_told(server):
    with pytest.raises(InputError) as caught:
        Server({}, assets=ASSETS, port=server.port)
    assert str(caught.value) == (
        f"--port: {server.port} is taken: another program listens there\n"
        "  expected  another port, or none, and a free one is taken; if it is an earlier "
        "'powersim try', end that with Ctrl-C"
    )


def test_its_port_is_free_again_at_once(server):
    port = server.port
    assert Asking(server, "echo").ended().status == 200
    server.close()
    with Server({"echo": lambda asked: asked}, assets=ASSETS, port=port) as again:
        assert again.key != server.key
        assert Asking(again, "echo").ended().status == 200


def test_without_a_word_from_a_page_it_ends():
    begin_s = time.monotonic()
    with Server({"echo": lambda asked: asked}, assets=ASSETS, idle_s=0.2) as server:
        assert Asking(server, "echo").ended().status == 200
        server.lifetime.wait()
    assert time.monotonic() - begin_s >= 0.2
    assert isinstance(Asking(server, "echo").ended(), OSError)


def test_what_writes_is_not_left_half_done_and_nothing_new_begins(gate):
    done = []

    def save(asked):
        gate(asked)
        done.append("whole")
        return {"told": "saved"}

    server = Server({"save": save}, assets=ASSETS, to_finish=("save",))
    server.start()
    asking = Asking(server, "save")
    assert gate.begun.wait(60.0)
    threading.Timer(0.2, gate.go_on.set).start()
    server.close()
    assert done == ["whole"]
    assert asking.ended().answer == {"told": "saved"}
    assert isinstance(Asking(server, "save").ended(), OSError)


def test_what_breaks_because_it_ends_is_no_fault(gate, faults):
    def breaks(asked):
        gate(asked)
        raise RuntimeError("cannot schedule new futures after shutdown")

    server = Server({"breaks": breaks}, assets=ASSETS, on_fault=lambda *told: faults.append(told))
    server.start()
    asking = Asking(server, "breaks")
    assert gate.begun.wait(60.0)
    server.close()
    gate.go_on.set()
    asking.ended()
    assert faults == []


def test_mistakes_come_one_by_one(server, page):
    """`refused` makes a problem without a place of its own."""
    server.questions = {"one": raises(refused("--port", "no"))}
    assert page.ask("one").answer["problems"][0]["said"] == "--port: no"
