"""The use case of `compare`: changes to a job side by side, against the job as it is."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from time import monotonic
from zoneinfo import ZoneInfo

from planner.errors import Fault, FaultsError, PlannerError, TimeUpError
from planner.files.job.changes import Changes
from planner.files.job.edits.said_changes import changes_said
from planner.levers.lever import Lever
from planner.levers.ready import Pulled, joint, levers, pairs
from planner.nouns.choices.comparison import Alternative, Comparison, Gain, gain
from planner.nouns.inputs import Inputs
from planner.promise.playing import say_nothing
from planner.usecases.comparing.attempts import AtHand, Attempt, Way, weighed
from planner.usecases.comparing.side_by_side import Together
from planner.usecases.read import Papers
from planner.usecases.standing import refuse_begun

AS_IT_IS = "the job as it is"
AT_THE_EARLIEST = f"{AS_IT_IS}, planned to return the earliest"

Tell = Callable[[Alternative, Gain | None], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareRequest:
    """Of which job what is compared, and how: as the command line may choose.

    `said` are alternatives as they are said there, see `said_changes`; with `levers`
    the ready set is tried. `keep` is a file for the job with its only alternative.
    """

    job: Path
    said: tuple[str, ...] = ()
    levers: bool = False
    keep: Path | None = None
    futures: int
    seed: int
    seconds: float | None = None
    since_s: float = field(default_factory=monotonic)
    work_limit: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Idea:
    """An alternative that was read: its changes, and what the job then is.

    With `may_lose` it may lead to longer waits, so a bound is asked before it is planned.
    `way` is how it is planned.
    """

    title: str
    say: str
    changes: tuple[Changes, ...]
    inputs: Inputs
    parts: tuple[str, ...] = ()
    may_lose: bool = False
    way: Way = Way.KEPT

    @property
    def words(self) -> tuple[str, ...]:
        """Return each change in words."""
        return tuple(w for one in self.changes for w in one.words())


def read_ideas(papers: Papers, said: Sequence[str]) -> tuple[Idea, ...]:
    """Return alternatives as they are said, see `files.job.edits.said_changes`.

    Raises
    ------
    PlannerError
        With the faults of all alternatives together.
    """
    ideas = []
    faults: list[Fault] = []
    for number, text in enumerate(said, 1):
        label = "--change" if len(said) == 1 else f"--change {number}"
        try:
            ideas.append(_read(papers, text, label))
        except FaultsError as error:
            faults.extend(error.faults)
    if faults:
        raise FaultsError(tuple(dict.fromkeys(faults)), file=str(papers.path))
    return tuple(ideas)


def _read(papers: Papers, said: str, label: str) -> Idea:
    changes = changes_said(said, label)
    title = "; ".join(words for one in changes for words in one.words())
    return Idea(title=title, say=said, changes=changes, inputs=papers.inputs(*changes))


def read_levers(
    papers: Papers, found: Sequence[Lever], *, parts: Sequence[tuple[str, ...]] = ()
) -> tuple[Idea, ...]:
    """Return levers as alternatives; those that the job's file can't have are left out.

    `parts` are the titles of those that each joins.
    """
    ideas = []
    for number, one in enumerate(found):
        try:
            idea = _read(papers, one.say, one.title)
        except FaultsError:
            continue
        joins = parts[number] if parts else ()
        may_lose = any(key.startswith("methods.") for key in one.keys)
        ideas.append(
            replace(idea, title=one.title, parts=joins, may_lose=may_lose, way=Way.NEAR)
        )
    return tuple(ideas)


def _check_keep(job: Path, keep: Path, ideas: Sequence[Idea]) -> None:
    """Refuse to keep what can't be kept: several alternatives, or a file elsewhere."""
    if len(ideas) != 1:
        raise PlannerError(
            "one alternative is kept, not several, and not all levers",
            where="--keep",
            hint="give a single --change, its parts joined by ;",
        )
    if keep.resolve().parent != job.resolve().parent:
        raise PlannerError(
            "must lie beside the job file, because its paths begin there",
            where="--keep",
            hint=f"name a file in {job.resolve().parent}",
        )


def comparing(request: CompareRequest) -> "Comparing":
    """Return a comparison that can be run, once everything for it has been read.

    Raises
    ------
    PlannerError
        When the job has begun; with the faults of the job; else with those of all
        alternatives together, or why an alternative can't be kept.
    """
    refuse_begun(
        request.job,
        "make a change in the job file, and see what is left with it: "
        f"covetime revise {request.job} --dry-run",
    )
    papers = Papers(request.job)
    as_it_is = papers.inputs()
    ideas = read_ideas(papers, request.said)
    if request.keep is not None:
        _check_keep(request.job, request.keep, () if request.levers else ideas)
    return Comparing(request, papers, as_it_is, ideas)


class Comparing:
    """A comparison that grows as plans are found."""

    def __init__(
        self,
        request: CompareRequest,
        papers: Papers,
        as_it_is: Inputs,
        ideas: Sequence[Idea],
    ) -> None:
        self.request = request
        self.papers = papers
        self.inputs = as_it_is
        self.ideas = ideas
        self.base: Alternative | None = None
        self.at_hand: AtHand | None = None
        self._earliest: AtHand | None = None
        self.found: dict[int, Alternative] = {}
        self.titles: list[str] = []

    @property
    def zone(self) -> ZoneInfo:
        """The site's time zone."""
        return self.inputs.job.zone

    def kept(self) -> bytes:
        """Return the bytes of the job file with the only alternative kept in it."""
        (idea,) = self.ideas
        return self.papers.with_changes(*idea.changes)

    @property
    def count(self) -> int | None:
        """How many plans are made, as far as is known; None before the levers are."""
        if self.request.levers and len(self.titles) == len(self.ideas):
            return None
        return 2 + max(len(self.titles), len(self.ideas))

    def run(
        self,
        together: Together,
        tell: Tell,
        step: Callable[[str], None] = say_nothing,
    ) -> None:
        """Plan everything that was asked for, and tell of each as it comes.

        `step` is told in words what is being done before the first alternative is known.
        """
        self.titles += [idea.title for idea in self.ideas]
        if self.plan_earliest(together, tell):
            planned = together.all([self._attempt(idea) for idea in self.ideas])
            self.plan_kept(together, tell, step)
            self.gather(planned, tell)
        if self.request.levers:
            self.plan_levers(together, tell)

    def plan_earliest(self, together: Together, tell: Tell) -> bool:
        """Plan the job as it is to return the earliest; tell whether to go on."""
        found = together.here(self._as_it_is())
        if found.alternative.figures is None and together.stopped():
            return False
        self.base, hand = found.alternative, found.at_hand
        self._earliest = hand
        title = AS_IT_IS if hand is None else AT_THE_EARLIEST
        tell(replace(self.base, title=title), None)
        return True

    def plan_kept(
        self, together: Together, tell: Tell, step: Callable[[str], None]
    ) -> None:
        """Plan the job as it is to be kept; all alternatives are weighed against that."""
        if self._earliest is None or together.stopped():
            return
        wanted = replace(self._as_it_is(), way=Way.KEPT, at_hand=self._earliest)
        found = together.here(wanted, step)
        self.base, self.at_hand = found.alternative, found.at_hand
        tell(self.base, None)

    def gather(self, planned: Iterator[tuple[int, Alternative]], tell: Tell) -> None:
        """Gather the alternatives that were asked for, and tell of each."""
        assert self.base is not None
        for number, one in planned:
            best = weighed(one, self._attempt(self.ideas[number]))
            self.found[number] = best
            tell(best, gain(self.base, best))

    def plan(self, ideas: Sequence[Idea], together: Together, tell: Tell) -> None:
        """Plan more alternatives, near the plan of the job as it is."""
        first = len(self.titles)
        self.titles += [idea.title for idea in ideas]
        if self.base is None:
            return
        for number, one in together.all([self._attempt(idea) for idea in ideas]):
            self.found[first + number] = one
            tell(one, gain(self.base, one))

    def plan_levers(self, together: Together, tell: Tell) -> None:
        """Plan the levers of the ready set, then those pairs that may win together."""
        found = levers(self.inputs.job, self.papers.values)
        self.plan(read_levers(self.papers, found), together, tell)
        chosen = pairs(self._pulled(found))
        joined = read_levers(
            self.papers,
            [joint(one, two) for one, two in chosen],
            parts=[(one.title, two.title) for one, two in chosen],
        )
        self.plan(joined, together, tell)

    def _pulled(self, found: Sequence[Lever]) -> list[Pulled]:
        """Return the levers that have a plan, with what it comes to."""
        by_title = {one.title: one for one in self.found.values()}
        out = []
        for one in found:
            tried = by_title.get(one.title)
            if self.base is None or tried is None or tried.figures is None:
                continue
            won = gain(self.base, tried)
            days = 0.0 if won is None else won.days
            minutes = dict(tried.figures.minutes)
            out.append(Pulled(lever=one, days=days, minutes=minutes))
        return out

    def comparison(self) -> Comparison:
        """Return what is known by now.

        Raises
        ------
        TimeUpError
            When the job as it is wasn't planned before the run was stopped.
        """
        if self.base is None:
            raise TimeUpError(
                "stopped before the job as it is was planned",
                hint="plan it first with: covetime plan",
            )
        job = self.inputs.job
        return Comparison(
            job=job.name,
            zone=job.zone.key,
            currency=job.rates.currency,
            futures=self.request.futures,
            seed=self.request.seed,
            sure_percent=job.sure_percent,
            as_it_is=self.base,
            alternatives=tuple(self.found[n] for n in sorted(self.found)),
            unfinished=tuple(
                t for n, t in enumerate(self.titles) if n not in self.found
            ),
        )

    def _as_it_is(self) -> Attempt:
        request = self.request
        return Attempt(
            title=AS_IT_IS,
            changes=(),
            inputs=self.inputs,
            futures=request.futures,
            seed=request.seed,
            seconds=request.seconds,
            since_s=request.since_s,
            work_limit=request.work_limit,
        )

    def _attempt(self, idea: Idea) -> Attempt:
        request = self.request
        return Attempt(
            title=idea.title,
            changes=idea.words,
            inputs=idea.inputs,
            say=idea.say,
            parts=idea.parts,
            at_hand=self.at_hand,
            way=idea.way,
            may_lose=idea.may_lose,
            futures=request.futures,
            seed=request.seed,
            seconds=request.seconds,
            since_s=request.since_s,
            work_limit=request.work_limit,
        )
