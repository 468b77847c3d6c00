"""Compiling a plain function: the twin gives the same bits, and where there is none a reason."""

import os
import struct
import subprocess
import sys
import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_kernel import ABOVE, BELOW, LANE, PACKAGE, Invented, arguments, same_bits

from powersim.kernel import cache, compiling
from powersim.kernel.machine_code import Argument, MachineCode
from powersim.kernel.twins import fingerprint, parts_of

ROOT = Path(__file__).resolve().parents[2]
pytest.importorskip("numba", reason="numba has no wheels here")


@pytest.fixture(autouse=True)
def nothing_known(monkeypatch, tmp_path):
    """Every test begins as a new process does, with a cache of its own."""
    monkeypatch.setattr(compiling, "_ANSWERS", {})
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(cache, "_SHARED", ())
    monkeypatch.delenv(compiling.VARIABLE, raising=False)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The invented kernel, plain and compiled, and its machine code."""
    above = Invented(tmp_path_factory.mktemp("kernel")).write()
    kinds = tuple(map(Argument.like, arguments()))
    code = compiling._compiled(parts_of(above.carry, PACKAGE), kinds)
    yield above, MachineCode(code, kinds), code
    Invented.forget()


@pytest.fixture
def invented(tmp_path):
    yield Invented(tmp_path)
    Invented.forget()


@pytest.fixture
def compiled_by_hand(monkeypatch, made):
    """Instead of numba, which takes its time; it counts how often it was asked."""
    asked = []

    def instead(parts, kinds):
        asked.append(kinds)
        return made[2]

    monkeypatch.setattr(compiling, "_compiled", instead)
    return asked


def prepared(module, told=None, values=None):
    tell = [].append if told is None else told.append
    return compiling.prepare(module.carry, tuple(values or arguments()), tell=tell, package=PACKAGE)


# Some libraries set the processor to take subnormal numbers for zero, for the whole process; then
# hypothesis draws none by itself, and both ways of computing take them so. As bits they are drawn.
ANY = st.floats(allow_subnormal=False) | st.binary(min_size=8, max_size=8).map(
    lambda bits: struct.unpack("<d", bits)[0]
)
NOTABLE = st.sampled_from([0.0, -0.0, 5e-324, -5e-324, float("inf"), float("-inf"), float("nan")])


@settings(max_examples=150)
@given(
    signals=st.lists(st.tuples(ANY | NOTABLE, ANY | NOTABLE), min_size=1, max_size=6),
    lanes=st.lists(st.tuples(ANY, ANY, ANY | NOTABLE), min_size=1, max_size=3),
    scale=ANY | NOTABLE,
)
def test_compiled_and_plain_give_the_same_bits(made, signals, lanes, scale):
    above, run, _ = made
    constants = np.array([((low, high), total, 0) for low, high, total in lanes], LANE)
    plain, twin = (
        [np.array(signals), constants, np.zeros(len(lanes)), np.full(len(lanes), -1)]
        for _ in range(2)
    )
    with np.errstate(all="ignore"):  # a record's fields are numpy's floats, which warn
        above.carry(*plain, len(signals), scale)
    run(*twin, len(signals), scale)
    assert same_bits(plain, twin)


def test_the_comparison_itself_sees_a_sign_and_a_last_bit():
    assert not same_bits([np.array([0.0])], [np.array([-0.0])])
    assert not same_bits([np.array([1.0])], [np.nextafter([1.0], 2.0)])
    assert same_bits([np.array([np.nan])], [np.array([-np.nan])])


def test_the_plain_functions_stay_plain(made):
    above, _, _ = made
    assert type(above.carry) is type(above.level) is type(arguments)
    assert type(above.carry.__globals__["level"]) is type(arguments)


def test_it_is_compiled_once_and_then_read(invented):
    above, told = invented.write(), []
    first = prepared(above, told)
    assert (first.reason, told) == ("", [compiling.PREPARING])
    assert prepared(above, told) is first
    compiling._ANSWERS.clear()
    second = prepared(above, told)
    assert told == [compiling.PREPARING]
    for one in (first, second):
        plain, twin, piecewise = arguments(), arguments(), arguments()
        above.carry(*plain)
        one.run(*twin)
        own = (0, 2)
        given = [None if place in own else value for place, value in enumerate(piecewise)]
        one.run.again(*given, own=own)(*(piecewise[place] for place in own))
        assert same_bits(plain, twin)
        assert same_bits(plain, piecewise)
        assert not same_bits(plain, arguments())
        with pytest.raises(TypeError, match="argument 1"):
            one.run.again(*given, own=own)("no number", piecewise[2])


#: Asks in a process of its own, tells what was said, whether numba came, and the sums. Before it
#: compiles it waits until another does so too.
SCRIPT = """
import json, os, pathlib, sys, time
sys.path[:0] = sys.argv[1:3]
import invented_kernel
from invented.above import carry
from powersim.kernel import compiling
told, values = [], invented_kernel.arguments()
def tell(text):
    told.append(text)
    here = pathlib.Path(sys.argv[1]) / "at-work"
    (here / str(os.getpid())).touch()
    while len(list(here.iterdir())) < 2:
        time.sleep(0.01)
answer = compiling.prepare(carry, tuple(values), tell=tell, package="invented")
if answer.run:
    answer.run(*values)
print(json.dumps([told, answer.reason, "numba" in sys.modules, values[2].tolist()]))
"""


def process(folder, cwd=None, script=SCRIPT):
    return subprocess.Popen(
        [sys.executable, "-W", "error", "-c", script, str(folder), str(ROOT / "tests")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=cwd,
        env=os.environ | {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
    )


def ended(running):
    out, err = running.communicate(timeout=60)
    assert (err, running.returncode) == ("", 0)
    return out


@pytest.mark.slow
def test_two_processes_at_once_and_a_third_that_needs_no_numba(invented, tmp_path):
    """Nor do numba's settings from the folder in which they were started change anything."""
    above = invented.write()
    hostile = tmp_path / "passage"
    hostile.mkdir()
    (tmp_path / "at-work").mkdir()
    (hostile / ".numba_config.yaml").write_text("disable_jit: 1\ndump_bytecode: 1\n")
    both = [process(tmp_path, cwd=hostile) for _ in range(2)]
    answers = [ended(one) for one in both]
    plain = arguments()
    above.carry(*plain)
    expected = f'[["{compiling.PREPARING}"], "", true, {plain[2].tolist()}]\n'
    assert answers == [expected, expected]
    (kept,) = (tmp_path / "cache/powersim").iterdir()
    assert ended(process(tmp_path)) == f'[[], "", false, {plain[2].tolist()}]\n'
    assert kept.name.startswith("carry-")
    written = {one.name for one in (tmp_path / PACKAGE).iterdir()}
    assert written == {"__init__.py", "above.py", "below.py"}  # nothing beside the sources


#: The same as a command does it; Ctrl-C comes as numba begins with the fourth function.
INTERRUPTED = """
import os, sys
from powersim.cli import interrupts
interrupts.take_over()
import signal
from powersim.cli.exits import exit_code_of
sys.path[:0] = sys.argv[1:3]
import invented_kernel
from invented.above import carry
from powersim.kernel import compiling
from numba.core import event
class Press(event.Listener):
    begun = 0
    def on_start(self, what):
        self.begun += 1
        if self.begun == 4:
            os.kill(os.getpid(), signal.SIGINT)
    def on_end(self, what):
        pass
event.register("numba:compile", Press())
def call():
    values = tuple(invented_kernel.arguments())
    print(compiling.prepare(carry, values, package="invented"))
os._exit(exit_code_of(call, traceback_asked=True))
"""


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="a signal is sent")
def test_ctrl_c_while_numba_is_at_work_ends_as_elsewhere(invented, tmp_path):
    invented.write()
    running = process(tmp_path, script=INTERRUPTED)
    assert (*running.communicate(timeout=60), running.returncode) == (
        *("", "powersim: stopped\n"),
        130,
    )
    assert list((tmp_path / "cache/powersim").iterdir()) == []


def test_a_change_in_the_second_module_makes_a_new_key(invented, compiled_by_hand):
    told = []
    for below, new in (
        (BELOW, True),
        (BELOW.replace("LIMIT = 40.0", "# A remark.\nLIMIT = 40.0"), False),
        (BELOW.replace("LIMIT = 40.0", "LIMIT = 41.0"), True),
        (BELOW.replace("part / total", "part * total"), True),
        (BELOW.replace("value > high", "value >= high"), True),
    ):
        compiling._ANSWERS.clear()
        before = len(compiled_by_hand)
        prepared(invented.write(below=below), told)
        assert len(compiled_by_hand) - before == new, below


@pytest.mark.parametrize(
    "changed",
    [
        (compiling, "__version__", "0.0.9"),
        (np, "__version__", "1.0"),
        (sys, "version", "3.9.0 of another build"),
        (compiling, "host", lambda: ("x86_64", "another", "+sse2")),
        (compiling, "OPTIONS", compiling.OPTIONS | {"fastmath": True}),
        (compiling, "_OURS", compiling._OURS[:-1]),
    ],
    ids=lambda changed: changed[1],
)
def test_another_version_or_computer_is_another_key(made, monkeypatch, changed):
    parts, kinds = parts_of(made[0].carry, PACKAGE), tuple(map(Argument.like, arguments()))
    before = compiling._key(parts, kinds)
    assert compiling._key(parts, kinds) == before
    monkeypatch.setattr(*changed)
    assert compiling._key(parts, kinds) != before


def test_other_arguments_and_settings_of_numba_are_other_keys(made, monkeypatch):
    parts, kinds = parts_of(made[0].carry, PACKAGE), tuple(map(Argument.like, arguments()))
    keys = {compiling._key(parts, kinds), compiling._key(parts, kinds[:-1])}
    padded = np.dtype({"names": ["total"], "formats": [float], "offsets": [8], "itemsize": 24})
    for dtype in (np.dtype([("total", float)]), padded):
        keys.add(compiling._key(parts, (Argument(dtype, 1),)))
    monkeypatch.setenv("NUMBA_CPU_NAME", "generic")
    keys.add(compiling._key(parts, kinds))
    assert len(keys) == 5
    # Which joblib sets in each of its processes: they would all compile anew.
    monkeypatch.setenv("NUMBA_NUM_THREADS", "1")
    assert compiling._key(parts, kinds) in keys


def test_what_is_kept_and_damaged_is_compiled_anew(invented, compiled_by_hand, tmp_path):
    above, told = invented.write(), []
    prepared(above, told)
    (kept,) = (tmp_path / "cache/powersim").iterdir()
    whole = kept.read_bytes()
    for content in (whole[:-1], b"", whole[:200] + b"x" + whole[201:], b"\x80\x04N."):
        kept.write_bytes(content)
        compiling._ANSWERS.clear()
        before = len(compiled_by_hand)
        assert prepared(above, told).run is not None
        assert len(compiled_by_hand) == before + 1
        assert kept.read_bytes() == whole
    compiling._ANSWERS.clear()
    assert prepared(above, told).run is not None
    assert len(told) == len(compiled_by_hand) == 5


def test_whole_and_no_machine_code_is_compiled_anew(invented, compiled_by_hand):
    """As from a version of LLVM that writes other files."""
    above = invented.write()
    kinds = tuple(map(Argument.like, arguments()))
    cache.write("carry", compiling._key(parts_of(above.carry, PACKAGE), kinds), b"no machine code")
    assert prepared(above).run is not None
    assert len(compiled_by_hand) == 1


def test_where_no_code_may_be_run_from_memory_there_is_a_reason(
    invented, compiled_by_hand, monkeypatch
):
    """As under some settings of SELinux; numba asks the same before it compiles."""
    import llvmlite.binding

    def refused():
        raise OSError(13, "cannot allocate executable memory")

    prepared(invented.write())
    compiling._ANSWERS.clear()
    monkeypatch.setattr(llvmlite.binding, "check_jit_execution", refused)
    answer = prepared(invented.write())
    assert answer.run is None
    assert "cannot allocate executable memory" in answer.reason


def test_with_nowhere_to_keep_it_it_says_so_and_runs(invented, compiled_by_hand, monkeypatch):
    monkeypatch.setattr(cache, "places", lambda: iter(()))
    told = []
    answer = prepared(invented.write(), told)
    assert (answer.reason, told) == ("", [compiling.PREPARING_EACH_TIME])
    answer.run(*arguments())


def test_a_numba_that_somebody_has_barred_is_none(invented, monkeypatch):
    monkeypatch.setitem(sys.modules, "numba", None)
    assert prepared(invented.write()) == compiling.CompiledEntry(None, "numba is not installed")
    monkeypatch.setitem(sys.modules, "numba", type(sys)("numba"))  # a stand-in, not the library
    compiling._ANSWERS.clear()
    assert prepared(invented.write()) == compiling.CompiledEntry(None, "numba is not installed")


@pytest.mark.parametrize("name", ["numba", "llvmlite"])
def test_without_numba_there_is_a_reason(invented, compiled_by_hand, monkeypatch, name):
    from importlib import util

    there = util.find_spec
    monkeypatch.setattr(util, "find_spec", lambda one: None if one == name else there(one))
    told = []
    answer = prepared(invented.write(), told)
    assert answer == compiling.CompiledEntry(None, f"{name} is not installed")
    assert told == compiled_by_hand == []


def test_switched_off(invented, compiled_by_hand, monkeypatch):
    above = invented.write()
    monkeypatch.setenv("POWERSIM_COMPILE", "No ")
    assert prepared(above) == compiling.CompiledEntry(None, "POWERSIM_COMPILE=no")
    assert compiled_by_hand == []
    monkeypatch.setenv("POWERSIM_COMPILE", "yes")
    assert prepared(above).run is not None


@pytest.mark.parametrize(
    ("failing", "reason"),
    [
        (ImportError("numba needs NumPy 2.5 or less"),
         "numba cannot compile here (ImportError: numba needs NumPy 2.5 or less)"),
        (RuntimeError("\n\n  first line\nsecond"),
         "numba cannot compile here (RuntimeError: first line)"),
        (OSError(), "numba cannot compile here (OSError: it does not say why)"),
    ],
)  # fmt: skip
def test_where_numba_fails_there_is_a_reason(invented, monkeypatch, tmp_path, failing, reason):
    def fails(parts, kinds):
        raise failing

    monkeypatch.setattr(compiling, "_compiled", fails)
    above, told = invented.write(), []
    assert prepared(above, told) == compiling.CompiledEntry(None, reason)
    assert prepared(above, told).reason == reason
    assert told == [compiling.PREPARING]  # not tried twice in a process
    assert list((tmp_path / "cache/powersim").iterdir()) == []


def test_where_llvm_cannot_be_loaded_there_is_a_reason(invented, monkeypatch):
    def fails():
        raise OSError("Could not find/load shared object file")

    monkeypatch.setattr(compiling, "host", fails)
    told = []
    reason = "numba cannot compile here (OSError: Could not find/load shared object file)"
    assert prepared(invented.write(), told) == compiling.CompiledEntry(None, reason)
    assert told == []


def test_where_numba_cannot_be_imported_nothing_is_promised(
    invented, compiled_by_hand, monkeypatch
):
    """As where it is older or newer than numpy would have it."""

    def fails():
        raise ImportError("Numba needs NumPy 2.5 or less. Got NumPy 2.6.")

    monkeypatch.setattr(compiling, "_import_numba", fails)
    told = []
    reason = (
        "numba cannot compile here (ImportError: Numba needs NumPy 2.5 or less. Got NumPy 2.6.)"
    )
    assert prepared(invented.write(), told) == compiling.CompiledEntry(None, reason)
    assert told == compiled_by_hand == []


def test_numba_switched_off_by_its_own_variable(invented, compiled_by_hand, monkeypatch):
    import numba

    monkeypatch.setattr(numba.config, "DISABLE_JIT", 1)
    reason = "numba cannot compile here (ImportError: NUMBA_DISABLE_JIT is set)"
    assert prepared(invented.write()) == compiling.CompiledEntry(None, reason)


def test_what_stops_the_telling_is_not_numbas_fault(invented, compiled_by_hand):
    """As when whoever read standard error has had enough."""

    def closed(text):
        raise BrokenPipeError

    with pytest.raises(BrokenPipeError):
        compiling.prepare(invented.write().carry, tuple(arguments()), tell=closed, package=PACKAGE)
    assert compiled_by_hand == []


def test_what_numba_does_not_know_is_a_reason(invented):
    """It is asked for real: text of a number is nothing that it compiles."""
    above = ABOVE.replace("sums[lane] = total", "sums[lane] = total.as_integer_ratio()[0]")
    answer = prepared(invented.write(above=above))
    assert answer.reason.startswith("numba cannot compile here (TypingError: ")
    assert len(answer.reason) <= 200
    assert "as_integer_ratio" in str(answer.error)


def test_what_would_call_outside_is_not_kept(invented):
    """Where LLVM finds no such function it ends the process, so only a few are let pass."""
    above = ABOVE.replace("math.sqrt(square + 1.0)", "math.hypot(value, 1.0)")
    answer = prepared(invented.write(above=above))
    assert answer.run is None
    assert answer.reason.startswith("numba cannot compile here (NotOurKindError: it uses ")


def test_ctrl_c_while_compiling_ends_it_and_leaves_nothing(invented, monkeypatch, tmp_path):
    def interrupted(parts, kinds):
        raise KeyboardInterrupt

    above = invented.write()
    with monkeypatch.context() as within:
        within.setattr(compiling, "_compiled", interrupted)
        with pytest.raises(KeyboardInterrupt):
            prepared(above)
    assert list((tmp_path / "cache/powersim").iterdir()) == []
    assert compiling._ANSWERS == {}


def test_warnings_of_libraries_are_not_the_sailors(invented, compiled_by_hand, monkeypatch):
    def warns(*_):
        warnings.warn("deprecated", DeprecationWarning, stacklevel=1)
        return fingerprint_before(*_)

    fingerprint_before = compiling.fingerprint
    monkeypatch.setattr(compiling, "fingerprint", warns)
    assert prepared(invented.write()).run is not None


@pytest.mark.parametrize(
    ("below", "above", "says"),
    [
        (BELOW, ABOVE.replace("from invented.below import LIMIT, bounded, share",
                              "from invented import below\nfrom invented.below import LIMIT, share"
                              ).replace("bounded(value", "below.bounded(value"),
         "invented.above.level ({above}:15) uses the module invented.below as 'below'; import the "
         "functions that it needs by their names: from invented.below import ..."),
        (BELOW.replace("LIMIT = 40.0", "LIMIT = [40.0]"), ABOVE,
         "invented.above.level ({above}:14) uses 'LIMIT', list; expected a function of invented's, "
         "a number, a text, a tuple of these, or a library's module such as math"),
        (BELOW, ABOVE + "\n\ndef maker(scale):\n    def inner(*_):\n        return scale\n"
         "    return inner\n\n\ncarry = maker(2.0)\n",
         "invented.above.maker.<locals>.inner ({above}:32) takes 'scale' from the function that it "
         "is written in; hand it over as an argument"),
        (BELOW.replace("return part / total", "return sum(one for one in (part, total))"), ABOVE,
         "invented.below.share ({below}:15) has a function or a comprehension in it; write it as a "
         "function of its own, or as a loop"),
        (BELOW, ABOVE.replace("math.sqrt(square + 1.0)", "level(value, 1, 1)"),
         "invented.above.level ({above}:14) calls itself by way of invented.above.root_of_square "
         "({above}:9)"),
    ],
    ids=["module", "list", "closure", "comprehension", "recursion"],
)  # fmt: skip
def test_what_cannot_be_compiled_is_refused_with_its_place(invented, tmp_path, below, above, says):
    module = invented.write(below=below, above=above)
    with pytest.raises(TypeError) as caught:
        prepared(module)
    places = {name: tmp_path / PACKAGE / f"{name}.py" for name in ("below", "above")}
    assert str(caught.value) == says.format(**places)


def test_an_attribute_by_the_name_of_a_module_is_no_use_of_it(invented):
    above = ABOVE.replace("import math\n", "import math\nfrom invented import below as shape\n")
    parts = parts_of(invented.write(above=above).carry, PACKAGE)
    assert [part.function.__name__ for part in parts][-1] == "carry"
    assert {part.function.__name__ for part in parts} == {
        *("bounded", "share", "root_of_square", "level", "carry")
    }


def test_functions_of_others_are_refused(invented):
    above = ABOVE.replace("import math\n", "import math\nfrom statistics import fmean\n").replace(
        "total = 0.0", "total = fmean(sums)"
    )
    with pytest.raises(
        TypeError, match="uses 'fmean', function; expected a function of invented's"
    ):
        prepared(invented.write(above=above))


def test_an_entry_that_returns_something_is_refused(invented):
    above = invented.write(above=ABOVE + "    return 1.0\n")
    with pytest.raises(TypeError, match="carry returns float64, not nothing"):
        prepared(above)


def test_constants_that_differ_only_by_kind_have_other_fingerprints(invented):
    seen = set()
    for limit in ("0", "0.0", "-0.0", "False", "'0'", "None", "(0,)", "(0.0,)"):
        module = invented.write(below=BELOW.replace("LIMIT = 40.0", f"LIMIT = {limit}"))
        seen.add(fingerprint(parts_of(module.carry, PACKAGE)))
    assert len(seen) == 8


READ_ONLY = arguments()[0]
READ_ONLY.flags.writeable = False


@pytest.mark.parametrize(
    ("place", "value", "says"),
    [
        (0, arguments()[0].astype(np.float32), "argument 1: dtype('float64')[2] in one piece is "
         "expected, got dtype('float32')[2]"),
        (0, arguments()[0][:, :1], "argument 1: dtype('float64')[2] in one piece is expected, got "
         "dtype('float64')[2]"),
        (0, READ_ONLY, "argument 1: dtype('float64')[2] in one piece is expected, got readonly "
         "dtype('float64')[2]"),
        (2, [0.0, 0.0, 0.0], "argument 3: dtype('float64')[1] in one piece is expected, got "
         "[0.0, 0.0, 0.0]"),
        (2, np.zeros((3, 1)), "argument 3: dtype('float64')[1] in one piece is expected, got "
         "dtype('float64')[2]"),
        (4, 5.0, "argument 5: int is expected, got 5.0"),
        (4, 2**63, "argument 5: int of 64 bits is expected, got 9223372036854775808"),
        (4, True, "argument 5: an array, an int or a float is expected, got True"),
        (5, 2, "argument 6: float is expected, got 2"),
        (5, "2", "argument 6: an array, an int or a float is expected, got '2'"),
    ],
)  # fmt: skip
def test_a_value_of_another_kind_is_refused_before_anything_runs(made, place, value, says):
    values = arguments()
    values[place] = value
    with pytest.raises(TypeError) as caught:
        made[1](*values)
    assert str(caught.value) == says
    assert not np.any(arguments()[2])


def test_numbers_of_numpy_are_taken(made):
    plain, twin = arguments(), arguments()
    made[0].carry(*plain)
    made[1](*twin[:4], np.int64(twin[4]), np.float64(twin[5]))
    assert same_bits(plain, twin)


def test_too_few_values_are_refused(made):
    with pytest.raises(TypeError, match="6 arguments are expected, got 5"):
        made[1](*arguments()[:-1])


def test_a_function_that_raises_is_an_error_and_no_silence(invented):
    above = ABOVE.replace("total = 0.0", "total = 0.0\n        if steps > 5:\n"
                          "            raise ValueError('too many')")  # fmt: skip
    run = prepared(invented.write(above=above)).run
    run(*arguments(steps=5))
    with pytest.raises(RuntimeError, match="raised an error"):
        run(*arguments(steps=6))


def test_numba_is_imported_only_to_compile():
    script = (
        "import sys, powersim.kernel.compiling\nprint({'numba', 'llvmlite'} & set(sys.modules))"
    )
    ended = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        check=True,
    )
    assert ended.stdout == "set()\n"
