"""What was compiled, as it lies on the disk: read only whole and from our own, written whole."""

import hashlib
import os
import pickle
import stat
import sys
import time
from pathlib import Path

import pytest

from powersim.kernel import cache

KEY, OTHER = (hashlib.sha256(text).digest() for text in (b"one", b"another"))
PAYLOAD = bytes(range(250, 256)) * 20
on_posix = pytest.mark.skipif(os.name != "posix", reason="owners and modes are POSIX's")


@pytest.fixture(autouse=True)
def chosen(monkeypatch, tmp_path):
    """All of it below the test's own folder: the user's, and that for temporary files."""
    for name in ("home", "temporary", "passage"):
        (tmp_path / name).mkdir()
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("TMPDIR", str(tmp_path / "temporary"))
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setattr(cache, "_SHARED", ())
    monkeypatch.chdir(tmp_path / "passage")
    yield
    assert list((tmp_path / "passage").iterdir()) == []  # whatever happens, nothing lies there


def written(key=KEY, payload=PAYLOAD):
    return Path(cache.write("carry", key, payload))


def mode(path):
    return stat.S_IMODE(path.stat().st_mode)


def test_what_is_written_is_read():
    assert cache.read("carry", KEY) is None
    path = written()
    assert cache.read("carry", KEY) == PAYLOAD
    assert cache.read("carry", OTHER) is None
    assert cache.read("other", KEY) is None
    assert [one.name for one in path.parent.iterdir()] == [f"carry-{KEY.hex()}.compiled"]


@pytest.mark.skipif(sys.platform in ("darwin", "win32"), reason="other folders there")
def test_it_lies_in_the_users_own_folder_which_nobody_else_can_enter(tmp_path):
    path = written()
    assert path.parent == tmp_path / "home/.cache/powersim"
    assert [mode(one) for one in (path.parent.parent, path.parent, path)] == [0o700, 0o700, 0o600]


@on_posix
def test_a_loose_umask_opens_nothing():
    before = os.umask(0)
    try:
        path = written()
    finally:
        os.umask(before)
    assert (mode(path.parent), mode(path)) == (0o700, 0o600)
    assert cache.read("carry", KEY) == PAYLOAD


def test_every_cut_and_every_changed_byte_is_seen():
    path = written()
    whole = path.read_bytes()
    for length in range(len(whole)):
        path.write_bytes(whole[:length])
        assert cache.read("carry", KEY) is None, length
    for place in range(0, len(whole), 5):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        assert cache.read("carry", KEY) is None, place
    path.write_bytes(whole + b"\0")
    assert cache.read("carry", KEY) is None
    path.write_bytes(whole)
    assert cache.read("carry", KEY) == PAYLOAD


def test_a_file_of_another_key_or_format_is_not_read():
    mine, other = written(), written(OTHER)
    mine.write_bytes(other.read_bytes())
    assert cache.read("carry", KEY) is None
    mine.write_bytes(other.read_bytes().replace(b"machine code 1", b"machine code 2"))
    assert cache.read("carry", KEY) is None
    mine.unlink()
    mine.mkdir()
    assert cache.read("carry", KEY) is None


class Marks:
    """Unpickled, it leaves a mark."""

    def __init__(self, mark):
        self.mark = mark

    def __reduce__(self):
        return (os.mkdir, (self.mark,))


def test_a_pickle_in_its_place_is_never_loaded(tmp_path):
    mark = str(tmp_path / "mark")
    pickled = pickle.dumps(Marks(mark))
    path = written()
    for content in (pickled, path.read_bytes()[:96] + pickled):
        path.write_bytes(content)
        assert cache.read("carry", KEY) is None
    assert not os.path.exists(mark)
    pickle.loads(pickled)  # it would have left one
    assert os.path.exists(mark)


@on_posix
@pytest.mark.parametrize("bits", [0o770, 0o707, 0o777])
def test_a_folder_that_others_can_write_to_is_not_read(tmp_path, bits):
    path = written()
    path.parent.chmod(bits)
    assert cache.read("carry", KEY) is None
    # What is compiled anew is kept in a safe place, and found there.
    safe = written(payload=b"anew")
    assert safe.is_relative_to(tmp_path / "temporary")
    assert cache.read("carry", KEY) == b"anew"
    path.parent.chmod(0o755)
    assert cache.read("carry", KEY) == PAYLOAD


@on_posix
@pytest.mark.parametrize("bits", [0o620, 0o602])
def test_a_file_that_others_can_write_to_is_not_read(bits):
    path = written()
    path.chmod(bits)
    assert cache.read("carry", KEY) is None
    assert written() == path  # replaced, as one that is safe
    assert cache.read("carry", KEY) == PAYLOAD


@on_posix
def test_what_belongs_to_somebody_else_is_not_read(tmp_path, monkeypatch):
    """As with sudo: root finds the user's file, and the user's home is no place for root's own."""
    path = written()
    somebody = os.geteuid() + 1
    monkeypatch.setattr(os, "geteuid", lambda: somebody)
    assert cache.read("carry", KEY) is None
    assert cache.write("carry", KEY, PAYLOAD) is None  # nor is any other folder here somebody's
    path.unlink()
    path.parent.rmdir()
    cache.write("carry", KEY, PAYLOAD)
    assert not path.parent.exists()


@on_posix
def test_a_link_in_the_place_of_the_file_is_not_followed(tmp_path):
    path = written()
    path.rename(tmp_path / "elsewhere")
    path.symlink_to(tmp_path / "elsewhere")
    assert cache.read("carry", KEY) is None
    before = (tmp_path / "elsewhere").read_bytes()
    written(payload=b"anew")
    assert (tmp_path / "elsewhere").read_bytes() == before
    assert cache.read("carry", KEY) == b"anew"


@on_posix
def test_a_pipe_in_its_place_keeps_nobody_waiting():
    path = written()
    path.unlink()
    os.mkfifo(path)
    assert cache.read("carry", KEY) is None


@on_posix
def test_among_temporary_files_no_link_is_followed(tmp_path, monkeypatch):
    """There anybody may have made one, to a folder of ours too."""
    monkeypatch.setenv("HOME", str(tmp_path / "missing"))
    ours = tmp_path / "temporary" / f"powersim-{os.geteuid()}"
    (tmp_path / "mine").mkdir(mode=0o700)
    ours.symlink_to(tmp_path / "mine")
    assert cache.write("carry", KEY, PAYLOAD) is None
    assert list((tmp_path / "mine").iterdir()) == []


@on_posix
@pytest.mark.parametrize("home", ["file", "missing", "relative", "unwritable"])
def test_with_a_home_that_will_not_do_it_is_kept_among_temporary_files(tmp_path, monkeypatch, home):
    bad = tmp_path / "bad"
    if home == "file":
        bad.write_text("no folder")
    elif home == "unwritable":
        bad.mkdir()
        # As /proc is even to root, for whom no mode is unwritable.
        monkeypatch.setattr(os, "mkdir", refusing(os.mkdir, bad))
    monkeypatch.setenv("HOME", "passage" if home == "relative" else str(bad))
    path = written()
    assert path.parent == tmp_path / "temporary" / f"powersim-{os.geteuid()}"
    assert mode(path.parent) == 0o700
    assert cache.read("carry", KEY) == PAYLOAD
    assert not (bad / ".cache").exists()


def refusing(step, below):
    def instead(path, *arguments, **more):
        if str(path).startswith(str(below)):
            raise PermissionError(13, "Permission denied", str(path))
        return step(path, *arguments, **more)

    return instead


@on_posix
def test_a_temporary_folder_that_others_made_is_passed_over(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path / "missing"))
    ours = tmp_path / "temporary" / f"powersim-{os.geteuid()}"
    ours.mkdir()
    ours.chmod(0o777)
    assert not cache.is_there_a_place()
    assert cache.write("carry", KEY, PAYLOAD) is None
    assert list(ours.iterdir()) == []
    ours.chmod(0o700)
    assert cache.is_there_a_place()


@pytest.mark.skipif(sys.platform in ("darwin", "win32"), reason="other folders there")
def test_where_home_is_not_set_the_list_of_users_knows_it(tmp_path, monkeypatch):
    import pwd

    for value in (None, ""):
        if value is None:
            monkeypatch.delenv("HOME")
        else:
            monkeypatch.setenv("HOME", value)
        with monkeypatch.context() as within:
            within.setattr(
                pwd, "getpwuid", lambda _: pwd.struct_passwd(("a", "x", 1, 1, "", "/home/a", ""))
            )
            assert next(cache.places()).folder == "/home/a/.cache/powersim"
        with monkeypatch.context() as within:
            within.setattr(pwd, "getpwuid", lambda _: {}["no entry"])
            assert next(cache.places()).above == str(tmp_path / "temporary")


@on_posix
def test_the_folder_that_a_standard_names(tmp_path, monkeypatch):
    """XDG Base Directory Specification 0.8: $XDG_CACHE_HOME; one that is relative is ignored."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "new/caches"))
    assert written().parent == tmp_path / "new/caches/powersim"
    assert mode(tmp_path / "new/caches") == 0o700
    for relative in ("caches", ".", ""):
        monkeypatch.setenv("XDG_CACHE_HOME", relative)
        assert Path(next(cache.places()).folder).is_relative_to(tmp_path / "home")


@pytest.mark.parametrize(
    ("platform", "environment", "folder"),
    [
        ("linux", {"HOME": "/home/a"}, "/home/a/.cache/powersim"),
        ("darwin", {"HOME": "/Users/a"}, "/Users/a/Library/Caches/powersim"),
        ("darwin", {"HOME": "/Users/a", "XDG_CACHE_HOME": "/c"}, "/c/powersim"),
        ("win32", {"LOCALAPPDATA": "/local"}, os.path.join("/local", "powersim", "Cache")),
    ],
)
@on_posix
def test_each_systems_own_folder(monkeypatch, platform, environment, folder):
    monkeypatch.setattr(sys, "platform", platform)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert next(cache.places()).folder == folder


@on_posix
def test_the_last_resort_needs_no_variable(monkeypatch):
    monkeypatch.undo()
    monkeypatch.setenv("TMPDIR", "relative")
    assert [one.folder for one in cache.places()][-2:] == [
        f"{folder}/powersim-{os.geteuid()}" for folder in ("/tmp", "/var/tmp")
    ]


def test_windows_without_such_a_folder(monkeypatch):
    monkeypatch.setattr(sys, "platform", "win32")
    for value in ("", "relative"):
        monkeypatch.setenv("LOCALAPPDATA", value)
        assert list(cache.places()) == []


def test_three_are_kept_the_newest(tmp_path):
    keys = [bytes([number]) * 32 for number in range(6)]
    for age, key in zip((50, 40, 60, 30, 20), keys, strict=False):
        path = written(key)
        os.utime(path, (time.time() - age, time.time() - age))
    other = Path(cache.write("another", KEY, PAYLOAD))
    stranger = path.parent / "notes.txt"
    stranger.write_text("not ours")
    newest = written(keys[5])
    assert {one.name for one in path.parent.iterdir()} == {
        *(f"carry-{keys[number].hex()}.compiled" for number in (3, 4, 5)),
        other.name,
        stranger.name,
    }
    assert newest.exists()


def test_a_file_that_cannot_be_removed_is_left_quietly(monkeypatch):
    for number in range(3):
        written(bytes([number]) * 32)
    monkeypatch.setattr(os, "unlink", refusing(os.unlink, "/"))
    assert written() is not None
    assert cache.read("carry", KEY) == PAYLOAD


@pytest.mark.parametrize("step", ["write", "replace"])
def test_ctrl_c_while_writing_leaves_what_was_there(monkeypatch, step):
    before = written(payload=b"before")

    def interrupted(*_):
        raise KeyboardInterrupt

    with monkeypatch.context() as within:
        if step == "replace":
            within.setattr(os, "replace", interrupted)
        else:
            within.setattr(cache, "open", opening(interrupted), raising=False)
        with pytest.raises(KeyboardInterrupt):
            written()
    assert [one.name for one in before.parent.iterdir()] == [before.name]
    assert cache.read("carry", KEY) == b"before"


def opening(interrupted):
    """Opens a file that takes some bytes before Ctrl-C comes."""

    def instead(descriptor, how):
        file = open(descriptor, how)  # noqa: SIM115 - closed by the caller

        class Half:
            def __enter__(self):
                return self

            def __exit__(self, *_):
                file.close()

            def write(self, content):
                file.write(content[:100])
                interrupted()

        return Half()

    return instead


def test_a_full_disk_is_no_error(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    assert cache.write("carry", KEY, PAYLOAD) is None
    assert [one for one in tmp_path.rglob("*") if one.is_file()] == []


def test_what_a_killed_writer_left_goes_after_an_hour():
    folder = written().parent
    left = [folder / f".carry-{KEY.hex()}.compiled.7-{number}.part" for number in range(2)]
    for path, age_s in zip(left, (60.0, 7200.0), strict=True):
        path.write_bytes(b"half")
        os.utime(path, (time.time() - age_s, time.time() - age_s))
    written()
    assert [path.exists() for path in left] == [True, False]
