"""What `revise` prints: what moved, by how much and why, and what no longer fits."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from planner.nouns.calendar import Busy
from planner.nouns.ids import bare
from planner.nouns.plan import Plan, PlannedTask
from planner.nouns.work import ReturnKind
from planner.report.columns import item
from planner.report.words.sure.cases import (
    share_words,
    until_words,
)
from planner.units import days_and_hours, moment_words


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveTold:
    """A task to come as it was planned and as it is; None where a plan hasn't it."""

    before: PlannedTask | None
    after: PlannedTask | None


def revised_text(
    before: Plan,
    after: Plan,
    *,
    moved: Sequence[MoveTold],
    unkept: Sequence[Busy],
    taken: Sequence[str],
    causes: Sequence[tuple[str, int]],
    taught: Sequence[str],
    now: datetime,
    zone: tzinfo,
) -> str:
    """Return a revision in words, an item for each thing that moved.

    `causes` of a moved promise are told in words, with the minutes that it is later for
    each; `taught` is what was learned, an item each.
    """
    lines = [
        f"{after.job}: what is left, as of {moment_words(now, zone)}",
        *_returns(before, after, zone),
        *_promise(before, after, causes, zone),
        *(x for words in closure_words(before, after, now=now, zone=zone)
          for x in item(words, "  ", hang=2)),
        *_moved(moved, {p.id: p.name for p in after.crew}, zone),
        *_unfit(unkept, after, zone),
        *(("What the log taught", *(x for t in taught for x in item(t)))
          if taught else ()),
    ]  # fmt: skip
    if taken:
        short = ", ".join(bare(t) for t in taken)
        lines += item(f"Not logged, taken as planned: {short}", "", hang=2)
    due = ", ".join(_due(before, after, now))
    if due:
        lines += item(
            "Planned to be done by now, but what they follow wasn't done in time, or they "
            f"were logged as waiting, so still to come: {due}. Log as done those that were, "
            "and revise again",
            "",
            hang=2,
        )
    return "\n".join(lines) + "\n"


def _due(before: Plan, after: Plan, now: datetime) -> Iterator[str]:
    """Yield the ids of tasks that would be done by now and have not been begun."""
    starts = {t.id: t.start for t in after.tasks}
    for task in before.tasks:
        start = starts.get(task.id)
        if task.end <= now and start is not None and start >= now:
            yield bare(task.id)


def _returns(before: Plan, after: Plan, zone: tzinfo) -> Iterator[str]:
    for kind in ReturnKind:
        old, new = (p.stage.returning(kind).when for p in (before, after))
        minutes = (new - old).total_seconds() / 60
        yield f"  {kind.capitalize()}: {moment_words(new, zone)}, {later_words(minutes)}"


def _promise(
    before: Plan, after: Plan, causes: Sequence[tuple[str, int]], zone: tzinfo
) -> Iterator[str]:
    """Yield by when the stage is promised, how that moved, and what moved it."""
    old, new = (p.stage.returning(ReturnKind.FULL_SERVICE) for p in (before, after))
    sure = after.stage.sureness
    said = until_words(new.promise, sure.looked_until, zone)
    if old.promise is not None and new.promise is not None:
        minutes = (new.promise - old.promise).total_seconds() / 60
        said += f", {later_words(minutes)}"
    else:
        was = until_words(old.promise, before.stage.sureness.looked_until, zone)
        said += f"; it was {was}"
    yield f"  Promised in {share_words(sure.sure_percent)} cases: {said}"
    if sure.tentative_percent > sure.sure_percent:
        late = until_words(new.tentative_until, sure.looked_until, zone)
        yield f"    in {share_words(sure.tentative_percent)} cases: {late}"
    for words in why_promised(before, after, causes):
        yield from item(words, "    ", hang=2)


def closure_words(
    before: Plan, after: Plan, *, now: datetime, zone: tzinfo
) -> Iterator[str]:
    """Yield from when until when the stage is to be clear, if that moved, and what it was.

    A start that is past in both plans is told to nobody.
    """
    was_from, start = (p.stage.closure[0] for p in (before, after))
    was_until, until = (clear_until(p, zone) for p in (before, after))
    starts = start != was_from and max(start, was_from) > now
    if not starts and until == was_until:
        return
    said = [f"until {_instead(until, was_until)}"]
    if starts:
        first, earlier = (moment_words(m, zone) for m in (start, was_from))
        said.insert(0, f"from {_instead(first, earlier)}")
    yield f"Keep the stage clear {'; '.join(said)}"


def clear_until(plan: Plan, zone: tzinfo) -> str:
    """Return until when a plan asks that the stage is kept clear: its promise."""
    full = plan.stage.returning(ReturnKind.FULL_SERVICE)
    return until_words(full.promise, plan.stage.sureness.looked_until, zone)


def _instead(new: str, old: str) -> str:
    return f"{new}, as before" if new == old else f"{new}, not {old}"


def why_promised(
    before: Plan, after: Plan, causes: Sequence[tuple[str, int]]
) -> Iterator[str]:
    """Yield what moved the promise of full service, and by how much.

    Each cause is worked out by itself, on the earlier plan. What they leave of the move
    is the rest, so that all of them add up to it, some later and some sooner.
    """
    for words, minutes in causes:
        yield f"{later_words(minutes)} for {words}, had nothing been planned anew"
    old, new = (
        p.stage.returning(ReturnKind.FULL_SERVICE).promise for p in (before, after)
    )
    gone = "how the work has gone"
    if causes and old is not None and new is not None:
        moved = (new - old).total_seconds() / 60
        rest = moved - sum(minutes for _, minutes in causes)
        if rest:
            yield (
                f"the rest, {later_words(rest)}, for {gone}, what is no longer unsure "
                "and what was planned anew"
            )
    elif old != new:
        the_rest = "the rest " if causes else ""
        yield f"{the_rest}for {gone}, and what is no longer unsure"


def _moved(
    moved: Sequence[MoveTold], names: dict[str, str], zone: tzinfo
) -> Iterator[str]:
    yield "What moved" if moved else "Nothing else moves"
    for move in moved:
        yield from item(_move(move, names, zone))


def _unfit(unkept: Sequence[Busy], after: Plan, zone: tzinfo) -> Iterator[str]:
    if unkept:
        yield "What no longer fits"
    for booking in unkept:
        back = clear_until(after, zone)
        yield from item(
            f"{booking_words(booking, zone)}: the wall is open, and the stage is "
            f"closed until {back}"
        )


def booking_words(booking: Busy, zone: tzinfo) -> str:
    """Return a booking by its title, its file and its times."""
    title = f'"{booking.title}"' if booking.title else "a private booking"
    start, end = (moment_words(m, zone) for m in (booking.start, booking.end))
    return f"{title} ({booking.file}), {start} to {end}"


def _move(move: MoveTold, names: dict[str, str], zone: tzinfo) -> str:
    old, new = move.before, move.after
    if new is None:
        assert old is not None
        return f"{_named(old)}: falls away"
    if old is None:
        return f"{_named(new)}: new, {moment_words(new.start, zone)}; {new.held_by}"
    if new.happened:
        minutes = (new.end - old.end).total_seconds() / 60
        return (
            f"{_named(new)}: ends {moment_words(new.end, zone)}, {later_words(minutes)}"
        )
    minutes = (new.start - old.start).total_seconds() / 60
    parts = [f"{_named(new)}: {moment_words(new.start, zone)}, {later_words(minutes)}"]
    if set(old.team) != set(new.team):
        who, earlier = (
            " and ".join(names.get(p, p) for p in t.team) for t in (new, old)
        )
        parts.append(f"{who} instead of {earlier}")
    if minutes > 0 and new.held_by:
        parts.append(new.held_by)
    return "; ".join(parts)


def _named(task: PlannedTask) -> str:
    return f"{task.title} ({bare(task.id)})"


def later_words(minutes: float) -> str:
    """Return by how much something is later or sooner than before."""
    if not minutes:
        return "as before"
    word = "later" if minutes > 0 else "sooner"
    return f"{days_and_hours(abs(minutes))} {word}"
