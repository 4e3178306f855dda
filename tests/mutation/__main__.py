"""Make small wrong changes and count those that the tests notice.

Nothing in this tree is changed: all happens in a copy that is thrown away.
"""

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from typing import Any

from tests.mutation.changes import Change, changed, changes, siblings
from tests.mutation.trial import LIVES, TIME_UP, UNREACHED, noticed, reach
from tests.support.finding import answering_for

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
COPY = "MUTATION_COPY"  # set in the process that runs inside the copy
EXAMPLE = """example:
  python -m tests.mutation --rooms hours air --sample 40 --seed 1 --out changes.txt
  python -m tests.mutation --rooms air --sample 400 --at planner/air/laws.py:120
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one change, and why it may live if somebody has said so."""

    room: str
    change: Change
    by: str
    why: str = ""
    equivalent: bool = False

    @property
    def lives(self) -> bool:
        """Whether no test notices the change."""
        return self.by in (LIVES, UNREACHED)


def main(arguments: Sequence[str] | None = None) -> int:
    """Try a sample of changes; return 1 if one lives for which there is no reason."""
    asked = _parser().parse_args(arguments)
    if COPY not in os.environ:
        return _in_a_copy(asked)
    outcomes: list[Outcome] = []
    try:
        for room in asked.rooms:
            for outcome in tried(room, asked):
                outcomes.append(outcome)
                asked.out.write_text(report(outcomes), "utf-8")
                sys.stderr.write(f"{room} {len(outcomes)} {outcome.by}\n")
    except KeyboardInterrupt:
        sys.stderr.write("interrupted\n")
    sys.stdout.write(report(outcomes))
    return int(any(o.lives and not o.why for o in outcomes))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m tests.mutation",
        description="Count the small wrong changes that the tests notice.",
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    names = list(_table("rooms.toml"))
    parser.add_argument("--rooms", nargs="+", choices=names, default=names)
    parser.add_argument("--sample", type=int, default=40, help="changes in each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--at", default="", metavar="FILE:LINE", help="of the sample, those there alone"
    )
    parser.add_argument(
        "--patience", type=float, default=60.0, help="seconds of tests for a change"
    )
    parser.add_argument(
        "--tests", nargs="+", default=[], metavar="FILE", help="these tests alone"
    )
    parser.add_argument("--out", type=Path, default=Path("changes.txt"), metavar="FILE")
    return parser


def _in_a_copy(asked: argparse.Namespace) -> int:
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder, "copy")
        left_out = shutil.ignore_patterns(".?*", "node_modules", "dist", "build")
        shutil.copytree(ROOT, copy, ignore=left_out)
        command = [sys.executable, "-m", "tests.mutation", "--rooms", *asked.rooms]
        for name in ("sample", "seed", "at", "patience"):
            command += [f"--{name}", str(getattr(asked, name))]
        command += ["--out", str(asked.out.resolve())]
        command += ["--tests", *asked.tests] if asked.tests else []
        inside = os.environ | {COPY: "1"}
        return subprocess.run(command, check=False, cwd=copy, env=inside).returncode


def _table(name: str) -> dict[str, Any]:
    return tomllib.loads((HERE / name).read_text("utf-8"))


def tried(room: str, asked: argparse.Namespace) -> Iterator[Outcome]:
    """Yield what becomes of each change in a room's sample."""
    code = modules_in(_table("rooms.toml")[room])
    found = reach(asked.tests or answering_for(code))
    reasons = {
        (row["file"], row["was"], row["now"]): (row["why"], row["equivalent"])
        for row in _table("lives.toml")["lives"]
    }
    for change in drawn(code, asked.sample, asked.seed):
        if not f"{change.path}:{change.line}".startswith(asked.at):
            continue
        by = noticed(change, found, asked.patience)
        reason = reasons.get((change.path, change.was, change.now), ("", False))
        yield Outcome(
            room=room, change=change, by=by, why=reason[0], equivalent=reason[1]
        )


def modules_in(patterns: Sequence[str]) -> list[str]:
    """Return the paths of the modules that a room's patterns find."""
    found = {p.relative_to(ROOT).as_posix() for q in patterns for p in ROOT.glob(q)}
    return sorted(found)


def drawn(modules: Sequence[str], sample: int, seed: int) -> list[Change]:
    """Return so many changes of the files, each kind in its turn; the same by seed."""
    texts = {
        str(path.relative_to(ROOT)): path.read_text("utf-8")
        for path in sorted((ROOT / "planner").rglob("*.py"))
    }
    fields = siblings(texts)
    kinds: dict[str, list[Change]] = defaultdict(list)
    for path, text in texts.items():
        if path in modules:
            for change in changes(path, text, fields):
                kinds[change.kind].append(change)
    for kind in sorted(kinds):
        random.Random(f"{seed} {kind}").shuffle(kinds[kind])
    turns = zip_longest(*(kinds[kind] for kind in sorted(kinds)))
    out: list[Change] = []
    for change in (c for turn in turns for c in turn if c):
        if len(out) == sample:
            break
        try:
            changed(texts[change.path].encode(), change)
        except SyntaxError:
            continue
        out.append(change)
    return out


def report(outcomes: Sequence[Outcome]) -> str:
    """Return the table by room, then each change that lives, as it was and became."""
    lines = ["room        noticed  of  equivalent  share"]
    for room in dict.fromkeys(o.room for o in outcomes):
        here = [o for o in outcomes if o.room == room]
        same = sum(o.lives and o.equivalent for o in here)
        dead = sum(not o.lives for o in here)
        share = f"{dead / (len(here) - same):.0%}" if len(here) > same else "-"
        lines.append(f"{room:11}{dead:8}{len(here):4}{same:12}{share:>7}")
    late = sum(o.by == TIME_UP for o in outcomes)
    lines += [f"noticed by their time alone: {late}", ""]
    for o in sorted(
        outcomes, key=lambda o: (bool(o.why), o.change.path, o.change.line)
    ):
        if o.lives:
            lines += [f"{o.change.path}:{o.change.line} {o.change.kind}: {o.by}"]
            lines += [f"  - {o.change.was}", f"  + {o.change.now}"]
            lines += [f"  {o.why or 'no reason given'}"]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.exit(main())
