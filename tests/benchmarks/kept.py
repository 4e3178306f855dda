"""How much earlier a plan that is made to be kept can promise, beside what none could.

    python -m tests.benchmarks.kept --examples straight corner --seeds 1 2 3

Plans the examples and random jobs; a line each: how often the earliest return is kept,
dates kept in 50, 80 and 95 of a hundred futures, and days closed to the 80 % date, of
the plan without protection and of the one chosen; what no plan could promise; and which
part of the distance between the two the chosen plan makes up. The bound stands on few
futures, so its date is days off by chance where returns jump over a weekend, and a part
above 100 % is chance; so both plans are set beside it in the same few futures as well,
by the 80 % date and on average.
"""

import argparse
import sys
import tempfile
import time
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from planner.errors import PlannerError
from planner.nouns.case import Case
from planner.nouns.odds import Odds
from planner.nouns.work import ReturnKind
from planner.odds.tally import FUTURES, SEED, kept_by
from planner.planning.answering import answer
from planner.planning.searching import Search
from planner.promise.hindsight import KNOWN, Hindsight, bound_of
from planner.promise.judging import Judge
from planner.promise.keeping import PERCENT, kept_from
from planner.schedule.problem.limits import SearchLimits
from planner.usecases.read import read_inputs
from tests.random_jobs.jobs import made_job
from tests.support.places import ROOT


def main(arguments: Sequence[str] | None = None) -> int:
    """Print a line for each job, and the mean of what is made up."""
    asked = _parser().parse_args(arguments)
    parts: list[tuple[float, float, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        for name, path in _jobs(asked, Path(folder)):
            try:
                part = _line(name, path, asked.known, asked.work)
            except PlannerError as error:
                sys.stdout.write(f"{name}: {error}\n")
                continue
            parts += [part] if part is not None else []
            sys.stdout.flush()
    if parts:
        by_date, same_date, same_mean = (
            sum(p) / len(parts) for p in zip(*parts, strict=True)
        )
        sys.stdout.write(
            f"made up on average: {by_date:.0%}; in the bound's own futures "
            f"{same_date:.0%} by the {PERCENT} % date, {same_mean:.0%} of the mean\n"
        )
    return 0


def _line(
    name: str, path: Path, futures: int, work: float
) -> tuple[float, float, float] | None:
    """Print what became of a job; return the parts of the distance that are made up."""
    case, search = (
        Case(inputs=read_inputs(path)),
        Search(limits=SearchLimits(work=work)),
    )
    began = time.process_time()
    first = answer(case, search)
    found_s = time.process_time() - began
    chosen = kept_from(case, first, search)
    kept_s = time.process_time() - began - found_s
    judge = Judge(case, first, percent=PERCENT, seed=SEED)
    known = Hindsight(
        case, max(r.when for r in first.returns), seed=SEED, futures=futures
    )
    zone = case.inputs.job.zone

    def told(when: datetime | None) -> str:
        return "-" if when is None else f"{when.astimezone(zone):%d %b %H:%M}"

    sys.stdout.write(f"{name}: search {found_s:.1f} s, promise {kept_s:.1f} s\n")
    for title, odds, offer in (
        ("first", judge.odds(first, FUTURES), chosen.unprotected),
        ("kept", judge.odds(chosen.answer, FUTURES), chosen.offer),
    ):
        full = _full(odds)
        dates = "  ".join(told(c.when) for c in full.by)
        sys.stdout.write(
            f"  {title:6} closed from {told(offer.closed_from)}, back "
            f"{told(offer.planned)}, kept {full.kept_frac:4.0%}; {dates}; "
            f"{offer.closed_days} days, {offer.expected_days:.1f} expected, "
            f"{offer.shifts} shifts\n"
        )
    before, now = chosen.unprotected.promised, chosen.promised
    if not known.holds or before is None or now is None:
        return None
    least = known.least_returns()
    bound = bound_of(known, least, percent=PERCENT)
    if bound.when is None:
        return None
    sys.stdout.write(
        f"  none before {told(bound.when)} ({told(bound.low)} to {told(bound.high)})"
    )
    part = _part(before.timestamp(), now.timestamp(), bound.when.timestamp())
    sys.stdout.write(f"; made up {part:.0%}\n")
    backs = [judge.returned(a, futures) for a in (first, chosen.answer)]
    day = 24 * 60 / known.problem.grid.tick_minutes
    by_then = [kept_by(back, PERCENT) / day for back in (*backs, least)]
    means = [float(back.mean()) / day for back in (*backs, least)]
    same_date, same_mean = _part(*by_then), _part(*means)
    sys.stdout.write(
        f"  in the bound's own futures, days to the {PERCENT} % date "
        f"{by_then[0]:.1f} first, {by_then[1]:.1f} kept, {by_then[2]:.1f} bound: "
        f"{same_date:.0%}; on average {means[0]:.1f}, {means[1]:.1f}, "
        f"{means[2]:.1f}: {same_mean:.0%}\n"
    )
    return part, same_date, same_mean


def _part(before: float, now: float, least: float) -> float:
    """Return which part of the way from `before` to `least` is made up by `now`."""
    return (before - now) / (before - least) if before > least else 1.0


def _full(odds: Odds):
    return next(r for r in odds.returns if r.kind is ReturnKind.FULL_SERVICE)


def _jobs(asked: argparse.Namespace, folder: Path):
    for example in asked.examples:
        yield example, ROOT / "examples" / example / "job.toml"
    for seed in asked.seeds:
        place = folder / str(seed)
        place.mkdir()
        yield f"seed {seed}", made_job(seed).write(place)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--examples", nargs="*", default=["straight", "corner"])
    parser.add_argument("--seeds", type=int, nargs="*", default=[])
    parser.add_argument("--work", type=float, default=SearchLimits().work)
    parser.add_argument("--known", type=int, default=KNOWN, help="futures of the bound")
    return parser


if __name__ == "__main__":
    raise SystemExit(main())
