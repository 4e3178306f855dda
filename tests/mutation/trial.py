"""Whether the tests notice a change: each is tried in a forked process of its own.

Runs inside a throwaway copy of the tree, so that commands which tests start see the
change too. The heavy libraries are imported once, before the first fork.
"""

import contextlib
import hashlib
import importlib
import multiprocessing
import os
import pickle
import resource
import signal
import sys
import tempfile
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import accumulate
from pathlib import Path
from typing import cast

import pytest
from coverage import Coverage
from hypothesis import Phase, settings

from tests.mutation.changes import Change, changed

# A test may work for these seconds, and so many times as long as it did: what it is
# first to set up may have been set up before by another. For one that only waits, the
# clock runs besides.
SPARE_S, TIMES, WAITING_S = 30.0, 5.0, 600.0
MEMORY_BYTES = 8 * 1024**3
LIVES, TIME_UP, UNREACHED = "lives", "time up", "no test reaches it"
MINE = Path("tests/mutation")  # whose tables no other test reads
_NO_TESTS = pytest.ExitCode.NO_TESTS_COLLECTED
_FORK = multiprocessing.get_context("fork")
_OPTIONS = (
    *("-o", "addopts=", "--import-mode=importlib", "--doctest-modules", "-q"),
    *("-p", "no:cacheprovider", "-p", "no:xdist", "-m", "not slow"),
    *("-W", "ignore::pytest.PytestAssertRewriteWarning"),  # imported before the fork
)


@dataclass(frozen=True, slots=True)
class _Part:
    """What one file or folder of tests reaches, the files and modules it imports."""

    tests: dict[str, dict[int, frozenset[str]]]
    seconds: dict[str, float]
    failed: list[str]
    imported: list[str]
    modules: list[str]


@dataclass(frozen=True, slots=True)
class Reach:
    """Which tests run through which line of which file, and how long each works."""

    tests: dict[str, dict[int, frozenset[str]]]
    seconds: dict[str, float]

    def of(self, change: Change, patience_s: float) -> list[str]:
        """Return the tests that run through a change, the quickest first.

        A line that runs while its module is imported concerns all of them, one that
        runs while a test is set up all of its file: what is made there, others look at
        too. Those that would take more than `patience_s` with the quicker ones are left
        out.
        """
        lines = self.tests.get(change.path, {})
        spots = {change.head_line, *range(change.line, change.last_line + 1)}
        found = frozenset[str]().union(*(lines.get(s, ()) for s in spots))
        if "" in found:
            found = frozenset[str]().union(*lines.values())
        files = tuple(f"{name}::" for name in found if name and "::" not in name)
        found |= {name for name in self.seconds if files and name.startswith(files)}
        found = frozenset(name for name in found if "::" in name)
        order = sorted(found, key=lambda name: (self.seconds[name], name))
        spent = accumulate(self.seconds[name] for name in order)
        return [n for n, s in zip(order, spent, strict=True) if s <= patience_s]


def reach(tests: Sequence[str], code: str = "planner") -> Reach:
    """Return what `tests` reach of a package; RuntimeError if they can't be run.

    A test that fails as it stands is left out, and named. Each file or folder of tests
    is run in a process of its own. What it reached is kept under the system's temporary
    folder, until a file that it imports changes, or one of data. What else they import
    is imported here too, so that forked processes needn't.
    """
    found: dict[str, dict[int, frozenset[str]]] = defaultdict(dict)
    seconds: dict[str, float] = {}
    _apart(_compiled, tests)
    for test in tests:
        part = _kept(code, test)
        for path, lines in part.tests.items():
            for line, names in lines.items():
                found[path][line] = found[path].get(line, frozenset()) | names
        seconds |= part.seconds
        for name in part.failed:
            sys.stderr.write(f"fails before anything is changed, left out: {name}\n")
        for name in part.modules:
            with contextlib.suppress(Exception):
                importlib.import_module(name)
    return Reach(dict(found), seconds)


def _kept(code: str, test: str) -> "_Part":
    """Return what one file or folder of tests reaches, as kept or else run anew."""
    asked = f"{code} {test} ".encode() + Path(__file__).read_bytes()
    name = hashlib.sha256(asked).hexdigest()
    kept = Path(tempfile.gettempdir(), f"mutation-reach-{os.getuid()}", name)
    with contextlib.suppress(OSError, ValueError, EOFError, pickle.UnpicklingError):
        ours = kept.stat().st_uid == os.getuid()
        hashes, part = pickle.loads(kept.read_bytes()) if ours else ({}, None)
        if part and hashes == _hashes(hashes, test):
            return cast(_Part, part)
    part = _apart(partial(_reach, code), [test])
    if not isinstance(part, _Part):
        text = Path("tests.log").read_text("utf-8")[-3000:]
        raise RuntimeError(f"{test} can't be run: {part}\n{text}")
    kept.parent.mkdir(mode=0o700, exist_ok=True)
    kept.write_bytes(pickle.dumps((_hashes(part.imported, test), part)))
    return part


def _hashes(imported: Iterable[str], test: str) -> dict[str, str]:
    """Return the hashes of what a test imports, of its own files and of all data."""
    own = [Path(test), *Path(test).rglob("*.py")]
    code = (".py", ".pyc", ".log", ".md")
    data = (p for p in Path().rglob("[!.]*") if p.suffix not in code)
    data = (p for p in data if not p.parts[0].startswith(".") and p.parent != MINE)
    return {
        str(path): hashlib.sha256(path.read_bytes()).hexdigest()
        if path.is_file()
        else ""
        for path in sorted({*map(Path, imported), *own, *data})
    }


def noticed(change: Change, found: Reach, patience_s: float = 60.0) -> str:
    """Return the first test that fails with the change made, or what else became of it.

    That is LIVES, UNREACHED, or TIME_UP where a test takes far longer than it did.
    """
    tests = found.of(change, patience_s)
    if not tests:
        return UNREACHED
    path = Path(change.path)
    before, stood = path.read_bytes(), path.stat().st_mtime
    try:
        path.write_bytes(changed(before, change))
        os.utime(path, (stood + 2, stood + 2))  # so that no old bytecode passes for it
        return str(_apart(partial(_failing, found.seconds), tests))
    finally:
        path.write_bytes(before)
        os.utime(path, (stood, stood))


def _compiled(tests: Sequence[str]) -> object:
    """Import what the tests import, so that all trials find it compiled."""
    sys.dont_write_bytecode = False
    return int(pytest.main([*_OPTIONS, "--collect-only", *tests]))


def _reach(code: str, tests: Sequence[str]) -> object:
    watch = _Watch(Coverage(data_file=None, include=[f"{code}/*"]))
    watch.coverage.start()  # before any conftest, which imports much of the package
    status = pytest.main([*_OPTIONS, *tests], plugins=[watch])
    watch.coverage.stop()
    if status > pytest.ExitCode.TESTS_FAILED and status != _NO_TESTS:
        return f"pytest's exit status {int(status)}"
    here = Path.cwd()
    data = watch.coverage.get_data()
    found: dict[str, dict[int, frozenset[str]]] = defaultdict(dict)
    for name in data.measured_files():
        path = str(Path(name).relative_to(here))
        for line, contexts in data.contexts_by_lineno(name).items():
            found[path][line] = frozenset(contexts) - watch.failed
    seconds = {n: s for n, s in watch.seconds.items() if n not in watch.failed}
    files = {n: getattr(m, "__file__", None) for n, m in list(sys.modules.items())}
    ours = {
        name: path
        for name, path in files.items()
        if path and here in Path(path).parents
    }
    imported = [str(Path(path).relative_to(here)) for path in ours.values()]
    others = [name for name, path in files.items() if path and name not in ours]
    return _Part(dict(found), seconds, sorted(watch.failed), imported, others)


@dataclass
class _Watch:
    coverage: Coverage
    seconds: dict[str, float] = field(default_factory=dict)
    failed: set[str] = field(default_factory=set)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.add(report.nodeid)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_setup(self, item: pytest.Item):
        self.coverage.switch_context(item.nodeid.partition("::")[0])
        result = yield
        self.coverage.switch_context(item.nodeid)
        return result

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item):
        self.coverage.switch_context(item.nodeid)
        begun = _worked_s()
        result = yield
        self.seconds[item.nodeid] = _worked_s() - begun
        self.coverage.switch_context("")
        return result


def _worked_s() -> float:
    """Return the processor time of this process and of those that it waited for."""
    return sum(os.times()[:4])


def _failing(seconds: Mapping[str, float], tests: Sequence[str]) -> object:
    sys.dont_write_bytecode = True
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    first = _First(seconds)
    _wake(0.0)
    status = pytest.main([*_OPTIONS, "-x", *tests], plugins=[first])
    return first.failed or ("not imported" if status else LIVES)


def _wake(seconds: float) -> None:
    """End this process in a while, unless it is asked again before."""
    signal.setitimer(signal.ITIMER_PROF, SPARE_S + TIMES * seconds)
    signal.setitimer(signal.ITIMER_REAL, WAITING_S)


@dataclass
class _First:
    seconds: Mapping[str, float]
    failed: str = ""

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        _wake(self.seconds[nodeid])

    def pytest_sessionstart(self) -> None:
        now = settings.get_profile(settings.get_current_profile_name())
        quick = (Phase.explicit, Phase.generate)  # a counterexample needn't be small
        settings.register_profile("quick", now, phases=quick)
        settings.load_profile("quick")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self.failed:
            self.failed = report.nodeid


def _apart(work: Callable[[Sequence[str]], object], tests: Sequence[str]) -> object:
    """Return what `work` returns in a process of its own."""
    receive, send = _FORK.Pipe(duplex=False)

    def run() -> None:
        os.setsid()
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
        with Path("tests.log").open("w") as log:
            os.dup2(log.fileno(), 1)
            os.dup2(log.fileno(), 2)
            send.send(work(tests))
        os._exit(0)

    child = _FORK.Process(target=run)
    child.start()
    send.close()
    try:
        return receive.recv()
    except EOFError:
        child.join()
        late = (-signal.SIGPROF, -signal.SIGALRM)
        return TIME_UP if child.exitcode in late else "died"
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child.pid or 0, signal.SIGKILL)  # with what it started
        child.kill()
        child.join()
