"""Why a promise moved: what it would be without each thing that happened."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from planner.living.laid_over import with_learned, with_log, with_shown
from planner.nouns.case import Case
from planner.nouns.happened import Logbook, What
from planner.nouns.inputs import Inputs
from planner.nouns.job import Shows
from planner.nouns.odds import Learned
from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
from planner.promise.playing import odds_of_placed
from planner.usecases.living.left import SOME, Left, moved_on_from
from planner.usecases.plan import Choices

# What is told together, in words.
TOGETHER: Mapping[str, frozenset[What]] = {
    "who is away": frozenset({What.AWAY}),
    "bookings": frozenset({What.BOOKED, What.RELEASED}),
    "quiet hours": frozenset({What.QUIET}),
    "the crates' new day": frozenset({What.LATE}),
    "the air as it was measured": frozenset({What.AIR}),
    "a damaged piece": frozenset({What.DAMAGED}),
    "a damp base": frozenset({What.MOISTURE}),
}
JOINTS = "joints that show through"
PACE = "the crew's pace, as it was logged"
COATS = "how coats were found to dry"


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedBy:
    """Something that happened, and by how much it moves the promise. [min]; 0 is left out.

    It is how much sooner the earlier plan, moved on, would be promised without it.
    """

    words: str
    minutes: int


def causes(
    inputs: Inputs,
    book: Logbook,
    known: frozenset[str],
    learned: Learned,
    left: Left,
    before: Plan,
    choices: Choices,
    *,
    file: str,
) -> tuple[MovedBy, ...]:
    """Return what moved the promise, of what was logged since the plan was last made.

    `inputs` are without the log, `known` the ids of events that the plan `before` knew.
    What follows from how the work itself went isn't among it.
    """
    shows = left.case.inputs.job.shows

    def facts(log: Logbook, taught: Learned, places: tuple[Shows, ...]) -> Inputs:
        laid = with_shown(with_log(inputs, log, file=file), places)
        return with_learned(laid, taught)

    cases = dict(_without(book, known, learned, shows, facts))
    if not cases:
        return ()
    whole = _promise(left.case.inputs, left, before)
    return tuple(
        MovedBy(words=words, minutes=round((whole - without).total_seconds() / 60))
        for words, facts in cases.items()
        if whole is not None and not choices.search().over()
        if (without := _promise(_but_unkept(facts, left), left, before)) is not None
        if without != whole
    )


def _without(
    book: Logbook,
    known: frozenset[str],
    learned: Learned,
    shows: tuple[Shows, ...],
    facts: Callable[[Logbook, Learned, tuple[Shows, ...]], Inputs],
) -> Iterator[tuple[str, Inputs]]:
    """Yield the facts without each cause, made by `facts` of what is left."""
    new = {e.what for e in book.counting if e.id not in known}
    for words, kinds in TOGETHER.items():
        if kinds & new:
            events = tuple(
                e for e in book.events if e.what not in kinds or e.id in known
            )
            yield words, facts(replace(book, events=events), learned, shows)
    if shows and What.SHOWS in new:
        yield JOINTS, facts(book, learned, ())
    if not new & {What.BEGUN, What.DONE, What.DRY, What.WET}:
        return
    if learned.pace:
        yield PACE, facts(book, replace(learned, pace=()), shows)
    if learned.waits:
        yield COATS, facts(book, replace(learned, waits=()), shows)


def _but_unkept(facts: Inputs, left: Left) -> Inputs:
    """Return facts without the bookings that the closure lies over anyway."""
    kept = tuple(b for b in facts.hours.bookings if b not in left.unkept)
    return replace(facts, hours=replace(facts.hours, bookings=kept))


def _promise(facts: Inputs, left: Left, before: Plan) -> datetime | None:
    """Return by when the earlier plan, moved on, is kept; None: it can't be told."""
    case = Case(inputs=facts, past=left.case.past)
    placed = moved_on_from(before, case, left.answer)
    if placed is None:
        return None
    odds = odds_of_placed(
        facts,
        placed,
        planned={r.kind: r.when for r in left.answer.returns},
        threats=False,
        futures=SOME,
        past=left.case.past,
    )
    full = next(r for r in odds.returns if r.kind is ReturnKind.FULL_SERVICE)
    return next(c.when for c in full.by if c.percent == odds.sure_percent)
