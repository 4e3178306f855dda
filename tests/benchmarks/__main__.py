"""Measure the engine: `python -m tests.benchmarks --out FOLDER`.

What was measured is written after each run, so that nothing is lost when it is
interrupted. `--help` says which sets there are.
"""

import argparse
import gc
import json
import os
import platform
import resource
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import asdict, replace
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from pathlib import Path
from threading import Event

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bar

from planner.main import OBJECTS_BETWEEN_SEARCHES
from planner.schedule.cp.version import SOLVER
from planner.schedule.problem.outcome import Progress
from tests.benchmarks.measure import Row
from tests.benchmarks.peers import PEERS
from tests.benchmarks.picture import drawing
from tests.benchmarks.psplib import read_folder
from tests.benchmarks.summary import again, aim_table, lines, table
from tests.benchmarks.trials import (
    OWN_SETS,
    Terms,
    Trial,
    own_trials,
    published_trials,
    shop_projects,
)

EXAMPLE = """example:
  python -m tests.benchmarks --sets 45 90 --seeds 1-10 --seconds 30 --out /tmp/bench
  python -m tests.benchmarks --sets j30 j60 --psplib ~/psplib --stride 2 --out /tmp/ps
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run what is asked for; return 0, or 130 when interrupted."""
    gc.set_threshold(OBJECTS_BETWEEN_SEARCHES)  # as in the program
    parser = _parser()
    asked = parser.parse_args(arguments)
    try:
        todo = _todo(asked)
    except ValueError as error:
        parser.error(str(error))
    asked.out.mkdir(parents=True, exist_ok=True)
    rows, interrupted = _run(todo, asked.out, asked.busy)
    if rows:
        sys.stdout.write(_text(rows))
    said = "interrupted; " if interrupted else ""
    sys.stderr.write(f"{said}{len(rows)} of {len(todo)} runs written to {asked.out}\n")
    return 130 if interrupted else 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks",
        description="Measure the engine on generated jobs and published instances.",
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "--sets",
        nargs="+",
        default=["45", "45-scarce", "90", "aims", "clash", "shops"],
        metavar="SET",
        help=f"of {', '.join(OWN_SETS)} (generated jobs by tasks; scarce: three people; "
        "aims: three in order; clash: no plan; of the examples, answers, answers near "
        "one after a small change, and commands), shops (job shops), or a set of the "
        "folder that --psplib names, such as j30",
    )
    parser.add_argument(
        "--seeds", type=_seeds, default=_seeds("1-10"), help="such as 1-20 or 3,5,8"
    )
    parser.add_argument(
        "--seconds", type=float, default=30.0, help="limit of a run on the clock"
    )
    parser.add_argument(
        "--work", type=float, help="limit of the engine's work; else its own or ample"
    )
    parser.add_argument(
        "--repeat", type=int, default=1, help="run each so often; plans must be equal"
    )
    parser.add_argument(
        "--busy",
        type=int,
        default=0,
        help="so many processes take the machine's time beside each second run",
    )
    parser.add_argument(
        "--psplib", type=Path, help="folder with .sm files, and best_known.csv if any"
    )
    parser.add_argument(
        "--stride", type=int, default=1, help="of the projects of a set, each n-th"
    )
    parser.add_argument(
        "--peers",
        nargs="*",
        choices=list(PEERS),
        default=list(PEERS),
        help="who else solves the published instances; nothing for nobody",
    )
    parser.add_argument(
        "--out", type=Path, required=True, help="folder for table, JSON and picture"
    )
    return parser


def _seeds(text: str) -> tuple[int, ...]:
    """Return the seeds that `1-10` or `3,5,8` names."""
    seeds: list[int] = []
    for part in text.split(","):
        first, _, last = part.partition("-")
        seeds += range(int(first), int(last or first) + 1)
    return tuple(seeds)


def _todo(asked: argparse.Namespace) -> list[Trial]:
    """Return the runs that the options ask for; refuses what isn't there."""
    terms = Terms(clock_s=asked.seconds, work=asked.work, peers=tuple(asked.peers))
    projects = {"shops": list(shop_projects())}
    for project in read_folder(asked.psplib) if asked.psplib else ():
        projects.setdefault(project.set, []).append(project)
    trials: list[Trial] = []
    for group in dict.fromkeys(asked.sets):
        if group in OWN_SETS:
            trials += own_trials(group, asked.seeds, terms)
        elif group in projects:
            trials += published_trials(projects[group][:: asked.stride], terms)
        else:
            known = ", ".join((*OWN_SETS, *projects))
            raise ValueError(
                f"unknown set {group!r}; there are {known}; --psplib FOLDER gives more"
            )
    if any(t.solver == "PyJobShop" for t in trials) and not find_spec("pyjobshop"):
        raise ValueError("PyJobShop isn't installed: pip install pyjobshop==0.0.9")
    return [trial for trial in trials for _ in range(asked.repeat)]


def _run(todo: Sequence[Trial], out: Path, busy: int) -> tuple[list[Row], bool]:
    """Return the rows of the runs, and whether they were interrupted.

    A run works on a thread of its own, so that Ctrl-C is heard at once; the run at
    hand is then stopped and dropped. A second Ctrl-C doesn't wait for it.
    """
    rows: list[Row] = []
    begun = _surroundings()
    console = Console(stderr=True, highlight=False)
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
    )
    shown = console.is_terminal
    with (
        _interruptible() as stop,
        ThreadPoolExecutor(1) as thread,
        Bar(*columns, console=console, disable=not shown) as bar,
    ):
        task = bar.add_task("", total=len(todo))
        for trial in todo:
            name = f"{trial.set} {trial.instance}, {trial.solver}"
            bar.update(task, description=name)

            def tell(at: Progress, name: str = name) -> None:
                where = f"{name}: {at.aim.value} {at.best}, bound {at.bound}"
                bar.update(task, description=where)

            with _beside(busy if len(rows) % 2 else 0):
                row = thread.submit(trial.run, stop.is_set, tell).result()
            row = replace(row, peak_mib=row.peak_mib or _peak_mib())
            if stop.is_set():
                return rows, True
            rows.append(row)
            _write(rows, begun, out)
            bar.advance(task)
            if not shown:
                console.print(f"{len(rows)}/{len(todo)}  {_words(row)}")
    return rows, False


@contextmanager
def _beside(count: int) -> Iterator[None]:
    """Let so many processes that only count take the machine's time meanwhile."""
    words = [sys.executable, "-c", "while True: pass"]
    busy = [subprocess.Popen(words) for _ in range(count)]
    try:
        yield
    finally:
        for process in busy:
            process.kill()
            process.wait()


def _peak_mib() -> int:
    """Return the most memory that this process has used."""
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used // (1 << 20 if sys.platform == "darwin" else 1 << 10)


@contextmanager
def _interruptible() -> Iterator[Event]:
    """Yield an event that Ctrl-C sets; a second Ctrl-C ends the program."""
    stop = Event()

    def note(*_: object) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        stop.set()
        sys.stderr.write("\nstopping; a peer may take until its limit\n")

    before = signal.signal(signal.SIGINT, note)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)


def _words(row: Row) -> str:
    """Return a row in words: what was reached, what is proven, and the time."""
    said = "no plan" if row.value is None else str(row.value)
    if row.facts:
        said = f"{row.value} facts clash, {'' if row.proven else 'not '}minimal"
    elif len(row.aims) > 1:
        said = ", ".join(
            f"{a.aim} {a.value} {_proof(a.value, a.bound)}" for a in row.aims
        )
    elif row.value is not None and row.bound is not None:
        said = f"{row.value} {_proof(row.value, row.bound)}"
    if row.value is None and row.stopped:
        said = row.stopped
    took = f"{row.seconds:.2f} s, {row.cpu_s:.2f} s of processor time"
    return f"{row.set} {row.instance}, {row.solver}: {said}, {took}"


def _proof(value: int, bound: int) -> str:
    return "proven" if bound >= value else f"(bound {bound})"


def _write(rows: Sequence[Row], begun: dict[str, object], out: Path) -> None:
    """Write the table, the JSON and the picture of what was measured so far."""
    found = lines(rows)
    data = {
        "begun": begun,
        "ended": _surroundings(),
        "summary": [asdict(line) for line in found],
        "rows": [asdict(row) for row in rows],
    }
    (out / "table.txt").write_text(_text(rows), encoding="utf-8")
    (out / "results.json").write_text(json.dumps(data, indent=1) + "\n", "utf-8")
    (out / "picture.svg").write_text(drawing(rows), encoding="utf-8")


def _text(rows: Sequence[Row]) -> str:
    """Return the table, and what there is to say of aims and of runs made again."""
    found = lines(rows)
    parts = (table(found), aim_table(rows), again(found))
    return "\n".join(part for part in parts if part)


def _surroundings() -> dict[str, object]:
    """Return what the figures hang on besides the program."""
    try:
        peer = version("pyjobshop")
    except PackageNotFoundError:
        peer = ""
    return {
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "python": platform.python_version(),
        "solver": SOLVER,
        "pyjobshop": peer,
        "cores": os.cpu_count(),
        "load": list(os.getloadavg()) if hasattr(os, "getloadavg") else None,
    }


if __name__ == "__main__":
    raise SystemExit(main())
