"""The plan that is kept most surely by an early date, chosen among plans with room."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from math import exp, hypot, prod

from planner.nouns.case import Case
from planner.nouns.odds import Odds
from planner.nouns.protection import UNPROTECTED, Offer, Protection
from planner.odds.tally import FUTURES, SEED
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.searching import Search
from planner.promise.judging import Judge, Judged, late_weeks
from planner.promise.telling import told, with_room
from planner.trade.data.odds import spread

PERCENT = 80
FEW = 2_000  # futures by which plans are told apart
FINALISTS = 3  # plans that meet all futures
# How far labour is taken to be longer, in standard deviations of the logarithm of a
# task's length: 0.3 makes a task as long as 62 of a hundred futures have it.
SHARE = 0.05  # of the work, for each plan with room
LEVELS = (0.3, 0.6, 0.9, 1.2, 1.6)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPlan:
    """The plan that promises the earliest return, and the others worth showing.

    `answer` answers the unprotected case that was asked, as `answering.answer` does: it
    has passed the checker, and `make.worded` makes a plan of it. The crew follows its
    dates; `promised` is when full service has come in `percent` of a hundred futures
    (None: later than was looked at), and is what the owner is told. `odds` are those of
    this plan in the same futures, causes not told apart.

    `offer` sums this plan up, `unprotected` the plan that returns the earliest if all
    goes as planned (the very same where no protection helps). `trade` are the plans
    worth showing, this one with them, by the day their closure begins: of each it is
    true that no other one has both the earlier promise and the lesser cost.
    """

    percent: int
    answer: Answer
    odds: Odds
    promised: datetime | None
    offer: Offer
    unprotected: Offer
    trade: tuple[Offer, ...]


def kept(
    case: Case,
    search: Search,
    *,
    percent: int = PERCENT,
    seed: int = SEED,
    futures: int = FUTURES,
    step: Callable[[str], None] = lambda _: None,
) -> KeptPlan:
    """Return the plan of a case that is made to be kept.

    Parameters
    ----------
    case
        What is to be planned, without protection.
    search
        How to search; once it is over, the best plan so far is returned. The plan
        without protection is always found first.
    percent
        Of a hundred futures, how many keep the promise.
    seed, futures
        Of all draws: every plan meets the same futures.
    step
        Told in words what is being done.

    Raises
    ------
    NoPlanError, TimeUpError
        As `answering.answer` does for the case without protection.
    """
    first = answer(case, search)
    return kept_from(
        case, first, search, percent=percent, seed=seed, futures=futures, step=step
    )


def kept_from(
    case: Case,
    first: Answer,
    search: Search,
    *,
    percent: int = PERCENT,
    seed: int = SEED,
    futures: int = FUTURES,
    step: Callable[[str], None] = lambda _: None,
) -> KeptPlan:
    """Return what `kept` does, where the plan without protection is known.

    Raises
    ------
    ValueError
        When the case is protected, or `first` is the answer to another one.
    """
    if case.protection != UNPROTECTED:
        raise ValueError("a protected case has no plan to be told")
    if first.fingerprint != case.fingerprint:
        raise ValueError("the answer is to another case")
    judge = Judge(case=case, percent=percent, seed=seed, weeks=late_weeks(first, case))
    few = min(FEW, futures)
    step("playing the plan that returns the earliest")
    plain = judge.judged(first, UNPROTECTED, few)
    seen = [plain]
    if plain.promised_tick > first.grid.ceil(first.closure[1]):
        for protection in protections(case):
            if search.over():
                break
            step(f"planning with {100 * protection.labour_frac:.0f} % more labour")
            seen += _tried(case, protection, first, search, judge, few)
    best = sorted(seen[1:], key=lambda j: j.rank)[:FINALISTS]
    step(f"playing the best of them in {futures:,} futures")
    final = [
        judge.judged(j.answer, j.offer.protection, futures) for j in [plain, *best]
    ]
    sooner = [j for j in final if j.promised_tick <= final[0].promised_tick]
    chosen = min(sooner, key=lambda j: j.rank)
    return KeptPlan(
        percent=percent,
        answer=chosen.answer,
        odds=judge.odds(chosen.answer, futures),
        promised=chosen.offer.promised,
        offer=chosen.offer,
        unprotected=final[0].offer,
        trade=worth_showing([j.offer for j in final]),
    )


def protections(case: Case) -> Iterator[Protection]:
    """Yield the protections to try, in proportion to how far labour is out."""
    far = spread(case.inputs.job)
    paces = (far.pace_job, far.pace_work, far.pace_task)
    sigma, usual = hypot(*(p.frac for p in paces)), prod(p.median for p in paces)
    for level in LEVELS if sigma > 0.0 or usual > 1.0 else ():
        yield Protection(labour_frac=max(usual * exp(level * sigma) - 1.0, 0.0))


def worth_showing(offers: list[Offer]) -> tuple[Offer, ...]:
    """Return the offers that no other one betters in promise, cost and shifts alike."""

    def worth(offer: Offer) -> tuple[float, float, int]:
        cost = offer.expected_cost
        when = float("inf") if offer.promised is None else offer.promised.timestamp()
        return when, offer.expected_days if cost is None else cost, offer.shifts

    found = {worth(o): o for o in reversed(offers)}
    kept_ = [
        offer
        for mine, offer in found.items()
        if not any(
            all(a <= b for a, b in zip(other, mine, strict=True))
            for other in found
            if other != mine
        )
    ]
    return tuple(sorted(kept_, key=lambda o: (o.closed_from, worth(o))))


def _tried(
    case: Case,
    protection: Protection,
    first: Answer,
    search: Search,
    judge: Judge,
    futures: int,
) -> Iterator[Judged]:
    """Yield the plan with a protection, judged, if there is one."""
    guarded = replace(case, protection=protection)
    weeks = len(first.grid.days()) // 7
    part = search.part(SHARE)
    quiet = replace(part, near=first.placements, on_found=None, on_progress=None)
    placements = with_room(guarded, quiet, weeks)
    found = told(case, placements, first, quiet) if placements else None
    if found is not None:
        yield judge.judged(found, protection, futures)
