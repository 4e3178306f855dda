"""The plan that is kept most surely by an early date, chosen among plans with room."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from math import exp, hypot, prod
from random import Random

from planner.nouns.case import Case
from planner.nouns.protection import UNPROTECTED, Offer, Protection
from planner.odds.tally import FUTURES, SEED
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.problem import Problem
from planner.planning.searching import Search
from planner.promise.improving import Arranged, Improving, Placements, as_arranged
from planner.promise.judging import Judge
from planner.promise.telling import in_air_of, told, weeks_of, with_room
from planner.schedule.problem.limits import SearchLimits, StoppedError
from planner.schedule.space.narrowed import ImpossibleError
from planner.trade.data.odds import spread

PERCENT = 80
SHARE = 0.05  # of the work, for each plan with room
# How far labour is taken to be longer, in standard deviations of the logarithm of a
# task's length: 0.6 makes a task as long as 73 of a hundred futures have it.
LEVELS = (0.6, 1.2)
# Plans that are played to better one, with the usual limit of work: so many for each
# task, and a few more.
CHANGES, A_FEW = 0.5, 12
MOST_SOONER = 2  # days


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPlan:
    """The plan that promises the earliest return, and the others worth showing.

    `answer` answers the unprotected case that was asked, as `answering.answer` does: it
    has passed the checker, and `make.worded` makes a plan of it. The crew follows its
    dates; `promised` is when full service has come in `percent` of a hundred futures
    (None: later than was looked at), and is what the owner is told.

    `offer` sums this plan up, `unprotected` the plan that returns the earliest if all
    goes as planned (the very same where no protection helps). `trade` are the plans
    worth showing, this one with them, by the day their closure begins: of each it is
    true that no other one is as good in promise, cost and shifts alike. `cut_short`
    says whether the search was over before all were looked at.
    """

    percent: int
    answer: Answer
    promised: datetime | None
    offer: Offer
    unprotected: Offer
    trade: tuple[Offer, ...]
    cut_short: bool = False


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
        What is to be planned, without protection. Where something was agreed before, or
        the job has begun, nothing is changed to be kept more often: the plan moves as
        little as it can.
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
    StoppedError
        On an interrupt before anything was looked at.
    """
    if case.protection != UNPROTECTED:
        raise ValueError("a protected case has no plan to be told")
    if first.fingerprint != case.fingerprint:
        raise ValueError("the answer is to another case")
    stop = search.interrupted  # whoever waits for the end is spared another playing
    judge = Judge(case, first, percent=percent, seed=seed, over=stop)
    step("playing the plan that returns the earliest")
    plain = judge.judged(first, UNPROTECTED, futures)
    late = plain.promised_tick > first.grid.ceil(first.closure[1])
    seen, cut_short = [plain], False
    if late and not (case.agreed or case.past):
        others = _Keeping(case, first, search, judge, step).plans(Random(seed))
        with suppress(StoppedError):
            for other, guard in others:
                seen.append(judge.judged(other, guard, futures))
        cut_short = search.over()
    sooner = [j for j in seen if j.promised_tick <= plain.promised_tick]
    chosen = min(sooner, key=lambda j: j.rank)
    return KeptPlan(
        percent=percent,
        answer=chosen.answer,
        promised=chosen.offer.promised,
        offer=chosen.offer,
        unprotected=plain.offer,
        trade=worth_showing([j.offer for j in sooner]),
        cut_short=cut_short,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Begun:
    """A plan that is made better, and what protected the plan that had its order."""

    plan: Arranged
    guard: Protection

    @property
    def score(self) -> float:
        """How well it is kept; the lesser one is the better."""
        return self.plan.rough.score


class _Keeping:
    """The search for plans that are kept earlier than the one that returns first."""

    def __init__(
        self,
        case: Case,
        first: Answer,
        search: Search,
        judge: Judge,
        step: Callable[[str], None],
    ) -> None:
        self.case, self.first, self.judge, self.step = case, first, judge, step
        part = search.part(SHARE)
        self.search = replace(
            part, near=first.placements, on_found=None, on_progress=None
        )
        self.problem = in_air_of(case, first, weeks_of(first))
        self.work = min(search.limits.work / SearchLimits().work, 1.0)
        self.tries = self.work * len(self.problem.work.tasks)

    def plans(self, random: Random) -> Iterator[tuple[Answer, Protection]]:
        """Yield plans that differ in protection and in the day their closure begins."""
        starts = [(self.first, UNPROTECTED)]
        for protection in protections(self.case):
            if self.search.over():
                break
            self.step(f"planning with {100 * protection.labour_frac:.0f} % more labour")
            found = self.guarded(protection)
            if found is not None:
                starts.append((found, protection))
                yield found, protection
        if self.search.over():
            return
        for arranged, guard in self.arranged(starts, random):
            found = told(self.case, arranged.placements, self.first, self.search)
            if found is not None:
                yield found, guard

    def guarded(self, protection: Protection) -> Answer | None:
        """Return the plan with a protection, told with its real lengths."""
        guarded = replace(self.case, protection=protection)
        placements = with_room(guarded, self.first, self.search)
        if not placements or self.search.over():
            return None
        return told(self.case, placements, self.first, self.search)

    def arranged(
        self, starts: Sequence[tuple[Answer, Protection]], random: Random
    ) -> Iterator[tuple[Arranged, Protection]]:
        """Yield plans made better by changes, for closures that begin sooner and sooner.

        Most is tried of the closure that begins last, and of the most promising one.
        """
        likely = min(
            (start for start, _ in starts),
            key=lambda start: self.judge.rough(start.placements).score,
        )
        self.step("trying the orders of these plans")
        closures = list(self.begun(_begins(self.problem, likely), starts))
        promising = min((begun[0].score for _, begun in closures), default=0.0)
        before: _Begun | None = None
        for improving, begun in closures:
            if self.search.over():
                return
            when = self.problem.grid.local(improving.not_before)
            self.step(f"changing order and teams, closed from {when:%a %d %b}")
            if before is not None:
                again = improving.arranged(before.plan.order, before.plan.teams)
                if again is not None:
                    begun.append(_Begun(plan=again, guard=before.guard))
            begun.sort(key=lambda one: one.score)
            if before is None or promising in {one.score for one in begun}:
                tried = [
                    self.improved(improving, one, CHANGES, random) for one in begun[:2]
                ]
                best = min(tried, key=lambda one: one.score)
            else:
                best = begun[0]
            best = self.improved(improving, best, CHANGES, random)
            if before is not None and best.score >= before.score:
                return
            yield best.plan, best.guard
            before = best

    def begun(
        self, begins: Iterable[int], starts: Sequence[tuple[Answer, Protection]]
    ) -> Iterator[tuple[Improving, list[_Begun]]]:
        """Yield what looks for plans, and plans to begin with, for sooner and sooner closures.

        Of the plans in the orders of `starts` these are the best one by the teams that
        it had, and the best one by those with which each task ends soonest.
        """
        sooner: int | None = None
        for not_before in begins:
            if self.search.over():
                return
            with suppress(ImpossibleError):
                improving = Improving(
                    self.problem, not_before, self.judge.rough, self.search.over
                )
                begun = list(self.begun_of(improving, starts))
                if not begun:
                    continue
                closed = min(self.closed(one.plan) for one in begun)
                if sooner is not None and closed >= sooner:
                    return  # a booking or the crates keep it from beginning sooner
                sooner = closed
                yield improving, begun

    def begun_of(
        self, improving: Improving, starts: Sequence[tuple[Answer, Protection]]
    ) -> Iterator[_Begun]:
        """Yield the best of the plans in the orders of `starts`, of each way to man them."""
        seen: set[Placements] = set()
        for keeps_teams in (True, False):
            made = []
            for start, guard in starts:
                order, own = as_arranged(self.problem, start.placements)
                plan = improving.arranged(order, own if keeps_teams else {}, but=seen)
                if plan is not None:
                    seen.add(plan.placements)
                    made.append(_Begun(plan=plan, guard=guard))
            if made:
                yield min(made, key=lambda one: one.score)

    def improved(
        self, improving: Improving, begun: _Begun, changes: float, random: Random
    ) -> _Begun:
        """Return a plan made better by changes, so many for each task and a few more."""
        count = round(changes * self.tries + A_FEW * self.work)
        plan = improving.improved(begun.plan, changes=count, random=random)
        return replace(begun, plan=plan)

    def closed(self, plan: Arranged) -> int:
        """Return the tick from which a plan closes the stage."""
        on_stage = {t.id for t in self.problem.work.tasks if t.on_stage}
        return min(p.start for p in plan.placements if p.task in on_stage)


def _begins(problem: Problem, start: Answer) -> Iterator[int]:
    """Yield the day on which a plan's closure begins, and days of work before it."""
    closed = problem.grid.floor(start.closure[0])
    opens = [p.open for p in problem.instance.people]
    days = [
        begin
        for _, begin, end in problem.grid.days()
        if begin <= closed and any(o.clip(begin, end) for o in opens)
    ]
    yield from reversed(days[-1 - MOST_SOONER :])


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
    undominated = [
        offer
        for mine, offer in found.items()
        if not any(
            all(a <= b for a, b in zip(other, mine, strict=True))
            for other in found
            if other != mine
        )
    ]
    return tuple(sorted(undominated, key=lambda o: (o.closed_from, worth(o))))
