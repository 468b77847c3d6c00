"""`powersim try` as the sailor starts it: what the terminal says, what is opened, how it ends.

Most of it with a made-up session, whose questions are of the test's making; the last part with the
demo's passage.
"""

import os
import signal
import stat
import sys
import time
from pathlib import Path

import pytest
import stop_at_random
from page_client import Asking, Served, connected, head, many

pytestmark = pytest.mark.skipif(
    sys.platform == "win32", reason="Ctrl-C is sent as a POSIX system does"
)
ROOT = Path(__file__).resolve().parents[2]
PASSAGE = ROOT / "loads" / "iceland-to-cabo-verde"
#: Started as from the shell, with questions of the test's own.
MADE_UP = """\
import gc, sys, time, types
import powersim.cli.start
from powersim.tryout import server
module = types.ModuleType('powersim.tryout.session')
class Session:
    def __init__(self, folder, **given):
        self.questions = {
            'echo': lambda asked: asked,
            'zero': lambda asked: 1 / 0,
            'slow': self.slow,
            'save': self.save,
            'rings': lambda asked: {'cleared': gc.isenabled()},
        }
    def get_ready(self):
        pass
    def slow(self, asked):
        print('begun', file=sys.stderr, flush=True)
        begin_s = time.monotonic()
        while time.monotonic() - begin_s < 60.0:
            sum(range(1000))
    def save(self, asked):
        print('begun', file=sys.stderr, flush=True)
        time.sleep(0.4)
        print('saved', file=sys.stderr, flush=True)
        return {'told': 'saved'}
module.Session = Session
sys.modules['powersim.tryout.session'] = module
IDLE_s = float(sys.argv.pop())
server.Server.__init__.__kwdefaults__['idle_s'] = IDLE_s
powersim.cli.start.main()
"""
SEEN_FROM_HERE = ("SSH_CONNECTION", "SSH_CLIENT", "SSH_TTY", "DISPLAY", "WAYLAND_DISPLAY")


@pytest.fixture
def served(environment, tmp_path):
    """Start `powersim try` with the made-up session, in a folder with a name of no meaning."""
    begun = []
    here = {name: text for name, text in environment.items() if name not in SEEN_FROM_HERE}
    here |= {"TMPDIR": str(tmp_path), "HOME": str(tmp_path)}
    (tmp_path / "my passage").mkdir()

    def start(*options, idle_s=60.0, first=(), **more):
        command = [*first, "try", str(tmp_path / "my passage"), *options, str(idle_s)]
        one = Served([sys.executable, "-c", MADE_UP, *command], here | more)
        begun.append(one)
        return one

    yield start
    for one in begun:
        one.kill()


def test_the_terminal_says_where_the_page_is_and_how_it_ends(served):
    one = served("--no-browser", DISPLAY=":0")
    assert one.stopped() == (130, "powersim: stopped\n")
    assert one.said == (
        f"The page is served on this computer alone:\n\n  {one.address}\n\n"
        "Copy the address into a browser of this computer, all of it.\n"
        "Ctrl-C here ends it; so does a quarter of an hour without an open page.\n"
    )


def test_over_ssh_it_says_how_to_reach_the_page_from_there(served, tmp_path):
    one = served(
        DISPLAY="localhost:10.0",
        SSH_CONNECTION="192.168.1.7 50122 192.168.1.20 2222",
        USER="skipper",
        BROWSER=str(recorder(tmp_path)),
    )
    with one.page() as page:
        assert page.ask("echo").status == 200
    assert one.stopped() == (130, "powersim: stopped\n")
    assert f"  ssh -p 2222 -L {one.port}:127.0.0.1:{one.port} skipper@192.168.1.20\n" in one.said
    assert "No browser is opened over ssh." in one.said
    assert not (tmp_path / "record").exists()
    assert max(map(len, one.said.splitlines())) <= 80


def test_without_a_display_none_is_opened(served, tmp_path):
    one = served(BROWSER=str(recorder(tmp_path)), USER="$(reboot)", SSH_CONNECTION="")
    assert one.stopped()[0] == 130
    assert f"  ssh -L {one.port}:127.0.0.1:{one.port} THIS-COMPUTER\n" in one.said
    assert not (tmp_path / "record").exists()


def recorder(folder):
    """A browser that notes what it was started with and what it was handed, and stays open."""
    script = folder / "a-browser"
    script.write_text(
        f"#!{sys.executable}\n"
        "import os, pathlib, sys, time, urllib.parse\n"
        "path = urllib.parse.urlsplit(sys.argv[1]).path\n"
        "text = pathlib.Path(path).read_text()\n"
        "rights = f'{os.stat(path).st_mode:o}'\n"
        f"record = pathlib.Path({str(folder / 'record')!r})\n"
        "pathlib.Path(f'{record}.part').write_text('\\n'.join([*sys.argv, rights, text]))\n"
        "os.rename(f'{record}.part', record)\n"
        "time.sleep(20)\n",
        encoding="utf-8",
    )
    script.chmod(0o700)
    return script


def waited_for(condition, *, most_s=60.0):
    begin_s = time.monotonic()
    while not condition():
        assert time.monotonic() - begin_s < most_s
        time.sleep(0.02)


@pytest.mark.skipif(not Path("/proc/self/cmdline").exists(), reason="/proc is Linux's")
def test_the_browser_is_opened_and_nobody_reads_the_key_in_the_list_of_processes(served, tmp_path):
    record = tmp_path / "record"
    one = served(DISPLAY=":0", BROWSER=str(recorder(tmp_path)))
    waited_for(record.exists)
    key = one.key.encode()
    seen = [
        path.read_bytes()
        for name in ("cmdline", "environ")
        for path in Path("/proc").glob(f"[0-9]*/{name}")
        if is_ours(path)
    ]
    assert any(b"a-browser" in text for text in seen)
    assert not any(key in text for text in seen)
    script, url, rights, *text = record.read_text(encoding="utf-8").split("\n")
    assert f"url={one.address}" in "\n".join(text)
    assert rights == "100600"
    assert one.key not in url
    file = Path(url.removeprefix("file://"))
    assert stat.S_IMODE(file.parent.stat().st_mode) == 0o700
    with one.page() as page:  # the page has come, so the file has done its work
        page.ask("echo")
        assert one.stopped() == (130, "powersim: stopped\n")
    # The browser was not ended with it: Ctrl-C does not reach it.
    os.kill(browser_of(script), signal.SIGKILL)


def is_ours(path):
    try:
        return path.stat().st_uid == os.getuid() and path.read_bytes() is not None
    except OSError:
        return False


def browser_of(script):
    found = [
        int(path.parent.name)
        for path in Path("/proc").glob("[0-9]*/cmdline")
        if is_ours(path) and script.encode() in path.read_bytes().split(b"\0")
    ]
    assert len(found) == 1
    return found[0]


def test_the_private_file_goes_with_ctrl_c_too(served, tmp_path):
    one = served(DISPLAY=":0", BROWSER=str(recorder(tmp_path)))
    waited_for((tmp_path / "record").exists)
    assert len(list(tmp_path.glob("powersim-page-*"))) == 1
    assert one.stopped() == (130, "powersim: stopped\n")
    assert list(tmp_path.glob("powersim-page-*")) == []
    os.kill(browser_of(str(tmp_path / "a-browser")), signal.SIGKILL)


def test_where_no_browser_is_found_that_is_said(served, tmp_path):
    one = served(DISPLAY=":0", BROWSER="", PATH=str(tmp_path))
    assert one.process.stderr.readline() == (
        "powersim: no browser could be opened (none was found); copy the address into yours\n"
    )
    with one.page() as page:
        assert page.ask("echo").status == 200
    # What says so deletes the file next, which a busy computer may be slow to do.
    waited_for(lambda: list(tmp_path.glob("powersim-page-*")) == [])
    assert one.stopped() == (130, "powersim: stopped\n")


def test_a_port_of_ones_own_and_one_that_is_taken(served, call, tmp_path):
    one = served("--no-browser")
    outcome = call("try", PASSAGE, "--no-browser", "--port", one.port)
    assert outcome.code == 2
    assert outcome.err.startswith(f"--port: {one.port} is taken: another program listens there\n")
    port = one.port
    one.stopped()
    again = served("--no-browser", "--port", str(port))
    assert again.port == port
    assert again.key != one.key


@pytest.mark.parametrize("port", ["80", "65536", "x", "0"])
def test_a_port_that_is_none(call, port):
    outcome = call("try", PASSAGE, "--port", port)
    assert outcome.code == 2
    assert f"'{port}' is not a whole number from 1024 to 65,535, such as 8123" in outcome.err


def test_ctrl_c_ends_it_with_a_question_at_work_and_connections_open(served):
    one = served("--no-browser")
    with many(one.port, 100) as half_open, one.page() as page:
        for channel in half_open[::2]:
            channel.sendall(b"POST /ask/slow HT")
        asking = Asking(one, "slow")
        assert one.process.stderr.readline() == "begun\n"
        assert page.ask("echo").status == 200
        assert one.stopped() == (130, "powersim: stopped\n")  # within 20 s; the question takes 60
        assert isinstance(asking.ended(), Exception)


def test_ctrl_c_waits_for_what_is_being_written(served):
    one = served("--no-browser")
    asking = Asking(one, "save")
    assert one.process.stderr.readline() == "begun\n"
    assert one.stopped() == (130, "saved\npowersim: stopped\n")
    assert asking.ended().answer == {"told": "saved"}


def test_idle_it_ends_and_says_why(served, tmp_path):
    one = served("--no-browser", idle_s=0.6)
    assert one.ended() == (
        0,
        "powersim: no page has been open for 0.01 min, so it has ended; "
        f"'powersim try \"{tmp_path / 'my passage'}\"' serves it again\n",
    )


def test_a_fault_is_a_line_and_the_page_goes_on(served):
    one = served("--no-browser")
    with one.page() as page:
        reply = page.ask("zero")
        assert (reply.status, set(reply.answer)) == (500, {"fault"})
        assert page.ask("echo", {"on": 1}).answer == {"on": 1}
    assert one.stopped() == (
        130,
        "powersim: a fault of its own in the question 'zero' (ZeroDivisionError: division by zero);"
        " the page goes on\npowersim: stopped\n",
    )


def test_its_details_are_there_for_who_asks(served):
    one = served("--no-browser", first=("--traceback",))
    with one.page() as page:
        assert "Traceback" not in page.ask("zero").answer["fault"]
    code, err = one.stopped()
    assert code == 130
    assert "Traceback (most recent call last):" in err


def test_what_may_be_up_for_a_day_leaves_nothing_lying_about(served):
    """Commands that live for seconds clear away no rings."""
    one = served("--no-browser")
    with one.page() as page:
        waited_for(lambda: page.ask("rings").answer == {"cleared": True})


def test_nothing_that_is_asked_is_logged_nor_the_key(served):
    one = served("--no-browser")
    with one.page() as page:
        page.get("/none")
        page.ask("echo", {"secret": 1})
        page.ask("echo", Powersim_Key="wrong")
    with connected(one.port) as channel:
        channel.sendall(b"junk\r\n\r\n")
        channel.recv(100)
    assert one.stopped() == (130, "powersim: stopped\n")
    assert one.said.count(one.key) == 1


def test_a_standard_error_that_is_gone_stops_nothing(served):
    one = served("--no-browser")
    one.process.stderr.close()
    with one.page() as page:
        assert page.ask("zero").status == 500
        assert page.ask("echo").status == 200
    os.killpg(one.process.pid, signal.SIGINT)
    assert one.process.wait(10.0) == 130


# What no page mends.


def test_a_folder_that_is_not_there_is_told_as_by_check(call, tmp_path):
    there = tmp_path / "none"
    assert call("try", there, "--no-browser") == call("check", there)
    assert call("try", PASSAGE / "boat.toml").code == 2


def test_weather_files_and_dates_of_the_command_line_are_told_at_once(call, tmp_path):
    outcome = call(
        *("try", PASSAGE, "--no-browser", "--depart", "rubbish"),
        *("--irradiance", tmp_path / "none.csv"),
    )
    assert outcome.code == 2
    assert "depart: cannot read 'rubbish' as a date" in outcome.err
    assert f"{tmp_path / 'none.csv'}: no such file" in outcome.err
    assert outcome.out == ""


# The demo's passage.


@pytest.mark.slow
def test_the_demo_is_answered_and_ctrl_c_ends_it_in_the_midst_of_an_answer(environment, tmp_path):
    command = [
        *(*stop_at_random.powersim(), "try", str(PASSAGE), "--no-browser"),
        *("--members", "20", "--step", "60 min"),
    ]
    one = Served(command, environment)
    try:
        with one.page() as page:
            assert page.ask("boat").answer["name"] == "Iceland to Cabo Verde"
            answer = page.ask("answer", {"changes": [], "number": 1}).answer
            assert answer["verdict"]["word"] in ("HOLDS", "FAILS")
            # Asked, and not waited for.
            body = b'{"changes": [{"place": "battery.capacity", "value": "300 Ah"}], "number": 2}'
            with connected(one.port) as channel:
                channel.sendall(head(page, "answer", length=len(body)) + body)
                time.sleep(0.05)
                assert one.stopped() == (130, "powersim: stopped\n")
    finally:
        one.kill()
