"""Closures that could be, as a calendar of tentative holds to send round."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.nouns.choices.closures import ClosureChoices, ClosureOption
from planner.nouns.feed import AllDay, Feed, FeedEntry
from planner.units import day_words, moment_words

SEED = "holds"


def holds_feed(
    found: ClosureChoices, options: Sequence[ClosureOption], *, stage: str
) -> Feed:
    """Return a calendar with a tentative entry for each option, in whole days.

    Each lasts to the date that is kept, and says that it is one option of so many.
    """
    return Feed(
        seed=SEED,
        name=f"{stage}: closures to choose from",
        color="saddlebrown",
        entries=tuple(
            _hold(found, option, stage, len(options))
            for option in options
            if option.figures is not None
        ),
        description=f"{found.job}: closures that could be; one will be chosen",
    )


def _hold(
    found: ClosureChoices, option: ClosureOption, stage: str, count: int
) -> FeedEntry:
    figures, zone = option.figures, ZoneInfo(found.zone)
    assert figures is not None
    first, back = figures.closure[0], figures.full
    until = back.kept or back.planned
    chosen = "the only one left" if count == 1 else f"one of {count}"
    sure = (
        "later than was looked at"
        if back.kept is None
        else f"by {day_words(back.kept, zone)}"
    )
    lines = [
        f"This is an option, {chosen}: nothing is booked by it.",
        f"Closed from {moment_words(first, zone)}",
        f"Full service {moment_words(back.planned, zone)} if all goes as planned; "
        f"kept {sure} in {found.sure_percent} of 100 futures",
        *(f"Only if {moved}" for moved in option.moved),
        *_price(found, option),
        found.job,
    ]
    return FeedEntry(
        key=f"hold/{first.astimezone(zone):%Y-%m-%d}",
        title=f"{stage}: may be closed for {found.work} (option)",
        when=AllDay(first=first.astimezone(zone).date(), last=_last_day(until, zone)),
        busy=True,
        tentative=True,
        description="\n".join(lines),
        location=stage,
        categories=("closure",),
    )


def _price(found: ClosureChoices, option: ClosureOption) -> tuple[str, ...]:
    """Return what moving the bookings in the way costs, where that is known."""
    cost = option.gap.moving_cost
    said = f"Moving what is booked costs {cost:,.0f} {found.currency}".rstrip()
    return (said,) if cost else ()


def _last_day(end: datetime, zone: ZoneInfo) -> date:
    """Return the last day touched; what ends at midnight doesn't touch the next."""
    return (end - timedelta(seconds=1)).astimezone(zone).date()
