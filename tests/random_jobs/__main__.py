"""Plan random jobs and say what became of them.

    python -m tests.random_jobs --seeds 1-1000 --out FOLDER

A seed that stands in FOLDER/rows.jsonl already isn't planned again, unless it stands
there with a fault and `--again` is given. Each job has a process of its own.
"""

import argparse
import json
import multiprocessing
import resource
import signal
import sys
import tempfile
from collections import Counter
from pathlib import Path
from statistics import median
from typing import Any

from tests.random_jobs.trial import BROKE, REFUSED, SLOW, Row, trial

WORK = 0.02
PROCESSOR_S = 60  # for a job with all that is looked into, a refusal several times
MEMORY = 5 * 2**30


def main() -> int:
    """Run the seeds that are asked for; return how many are faulty."""
    asked = _parser().parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    rows = _stored(asked.out / "rows.jsonl")
    for seed in asked.seeds:
        known = rows.get(seed)
        if known and not (asked.again and known["faults"]):
            continue
        line = _apart(seed, asked.work)
        rows[seed] = json.loads(line)
        with (asked.out / "rows.jsonl").open("a") as file:
            file.write(line + "\n")
        if rows[seed]["faults"]:
            sys.stderr.write(f"seed {seed}: {rows[seed]['faults'][0]}\n")
    chosen = [rows[s] for s in asked.seeds]
    sys.stdout.write(tally(chosen) + "\n")
    return min(sum(bool(r["faults"]) for r in chosen), 100)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=_seeds, default=_seeds("1-1000"))
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--work", type=float, default=WORK, help="limit of work")
    parser.add_argument("--again", action="store_true", help="plan faulty ones again")
    return parser


def _seeds(text: str) -> list[int]:
    out: list[int] = []
    for part in text.split(","):
        first, _, last = part.partition("-")
        out += range(int(first), int(last or first) + 1)
    return out


def _stored(path: Path) -> dict[int, dict[str, Any]]:
    if not path.exists():
        return {}
    rows = (json.loads(x) for x in path.read_text("utf-8").splitlines())
    return {row["seed"]: row for row in rows}


def _apart(seed: int, work: float) -> str:
    """Return a seed's row, made in a process that may take so much and no more."""
    context = multiprocessing.get_context("fork")
    mine, its = context.Pipe(duplex=False)
    process = context.Process(target=_work, args=(seed, work, its))
    process.start()
    its.close()
    try:
        return str(mine.recv())
    except EOFError:
        process.join()
        slow = process.exitcode == -signal.SIGXCPU
        outcome, faults = (SLOW, ()) if slow else (BROKE, ("its process died",))
        return Row(seed=seed, outcome=outcome, cpu_s=0.0, crew=0, faults=faults).line()
    finally:
        process.kill()
        process.join()


def _work(seed: int, work: float, pipe: Any) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_S, PROCESSOR_S + 5))
    with tempfile.TemporaryDirectory() as folder:
        pipe.send(trial(seed, Path(folder), work=work).line())


def tally(rows: list[dict[str, Any]]) -> str:
    """Return how many ended how, and how long a job took."""
    outcomes = Counter(r["outcome"] for r in rows)
    times = sorted(r["cpu_s"] for r in rows)
    refused = [r for r in rows if r["outcome"] == REFUSED]
    lines = [f"{name:15}{count:6}" for name, count in outcomes.most_common()]
    lines += [
        f"{'proven':15}{sum(r['proven'] for r in rows):6}",
        f"{'with faults':15}{sum(bool(r['faults']) for r in rows):6}",
        f"{'refusals naming':15}{sum(r['named'] for r in refused):6}",
        f"{'given way':15}{sum(r['dropped'] is True for r in refused):6}",
        f"processor time  median {median(times):.1f} s, most {times[-1]:.1f} s, "
        f"all {sum(times):.0f} s",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
