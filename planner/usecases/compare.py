"""The use case of `compare`: changes to a job side by side, against the job as it is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic

from planner.errors import Fault, FaultsError, TimeUpError
from planner.files.job.changes import Changes
from planner.files.job.said_changes import changes_said
from planner.nouns.comparison import Alternative, Comparison, Gain, gain
from planner.nouns.inputs import Inputs
from planner.usecases.read import Papers
from planner.usecases.side_by_side import Attempt, Together
from planner.usecases.standing import standing_plan

AS_IT_IS = "the job as it is"

BASE = -1  # its place among the alternatives, which count from 0

Tell = Callable[[Alternative, Gain | None], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareRequest:
    """Of which job changes are compared, and how: as the command line may choose."""

    job: Path
    folder: Path
    futures: int
    seed: int
    seconds: float | None = None
    since_s: float = field(default_factory=monotonic)
    work_limit: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Idea:
    """An alternative that was read: its changes, and what the job then is."""

    title: str
    say: str
    changes: tuple[Changes, ...]
    inputs: Inputs

    @property
    def words(self) -> tuple[str, ...]:
        """Return each change in words."""
        return tuple(w for one in self.changes for w in one.words())


def read_ideas(
    papers: Papers, said: Sequence[tuple[str, str]]
) -> tuple[Inputs, tuple[Idea, ...]]:
    """Return the job as it is, and alternatives from pairs of a title and what is said.

    Without a title, an alternative is called by its changes.

    Raises
    ------
    PlannerError
        With the faults of the job; else with those of all alternatives together.
    """
    as_it_is = papers.inputs()
    ideas = []
    faults: list[Fault] = []
    for number, (title, text) in enumerate(said, 1):
        label = "--change" if len(said) == 1 else f"--change {number}"
        try:
            changes = changes_said(text, label)
            inputs = papers.inputs(*changes)
        except FaultsError as error:
            faults.extend(error.faults)
            continue
        words = "; ".join(w for one in changes for w in one.words())
        ideas.append(
            Idea(title=title or words, say=text, changes=changes, inputs=inputs)
        )
    if faults:
        raise FaultsError(tuple(dict.fromkeys(faults)), file=str(papers.path))
    return as_it_is, tuple(ideas)


class Comparing:
    """A comparison that grows as plans are found."""

    def __init__(self, wanted: CompareRequest, as_it_is: Inputs) -> None:
        self.wanted = wanted
        self.inputs = as_it_is
        self.base: Alternative | None = None
        self.found: dict[int, Alternative] = {}
        self.titles: list[str] = []

    def plan(self, ideas: Sequence[Idea], together: Together, tell: Tell) -> None:
        """Plan the job as it is, if that isn't done yet, and more alternatives."""
        first = len(self.titles)
        self.titles += [idea.title for idea in ideas]
        attempts = {first + n: self._attempt(idea) for n, idea in enumerate(ideas)}
        if self.base is None:
            attempts = {BASE: self._as_it_is(), **attempts}
        keys = list(attempts)
        for number, one in together.all(list(attempts.values())):
            if keys[number] == BASE:
                self.base = one
            else:
                self.found[keys[number]] = one
            won = None if self.base is None else gain(self.base, one)
            tell(one, won)

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
            futures=self.wanted.futures,
            seed=self.wanted.seed,
            as_it_is=self.base,
            alternatives=tuple(self.found[n] for n in sorted(self.found)),
            unfinished=tuple(
                t for n, t in enumerate(self.titles) if n not in self.found
            ),
        )

    def _as_it_is(self) -> Attempt:
        wanted = self.wanted
        return Attempt(
            title=AS_IT_IS,
            changes=(),
            inputs=self.inputs,
            standing=standing_plan(self.inputs, wanted.folder),
            futures=wanted.futures,
            seed=wanted.seed,
            seconds=wanted.seconds,
            since_s=wanted.since_s,
            work_limit=wanted.work_limit,
        )

    def _attempt(self, idea: Idea) -> Attempt:
        wanted = self.wanted
        return Attempt(
            title=idea.title,
            changes=idea.words,
            inputs=idea.inputs,
            say=idea.say,
            futures=wanted.futures,
            seed=wanted.seed,
            seconds=wanted.seconds,
            since_s=wanted.since_s,
            work_limit=wanted.work_limit,
        )
