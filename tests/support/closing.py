"""Closures to choose from, made up: a year of a stage with bookings of every kind."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.measures import Units
from planner.nouns.calendar import Busy
from planner.nouns.choices.closures import (
    ClosureChoices,
    ClosureOption,
    Gap,
    Season,
    SeasonMonth,
)
from planner.nouns.choices.comparison import BackBy, Figures
from planner.nouns.work import ReturnKind

HALIFAX = ZoneInfo("America/Halifax")
DAY = timedelta(days=1)


def day(month: int, number: int, year: int = 2027, hour: int = 0) -> datetime:
    return datetime(year, month, number, hour, tzinfo=HALIFAX)


def booked(
    title: str,
    start: datetime,
    days: int,
    kind: str = "busy",
    cost: float | None = None,
) -> Busy:
    return Busy(
        start=start.astimezone(UTC), end=(start + days * DAY).astimezone(UTC),
        kind=kind, title=title, file="stage.ics", uid=title, moving_cost=cost,
    )  # fmt: skip


BOOKINGS = (
    booked("Knitwear", day(2, 8), 3),
    booked("Furniture", day(3, 10), 3),
    booked("Music video", day(3, 23), 2),
    booked("Agency hold", day(4, 13), 3, "tentative"),
    booked("Rehearsals <all> & more", day(7, 5), 12, cost=1500.0),
    booked("Open days", day(10, 1), 6),
    booked("A film", day(11, 20), 40),
)


def figures(start: datetime, days: int, cost: float, hits: float = 0.0) -> Figures:
    """Return a closure that is kept six days after it is planned, surely after 13."""
    end = start + days * DAY
    return Figures(
        closure=(start, end),
        returns=(
            BackBy(
                kind=ReturnKind.LIGHT_FOOT_TRAFFIC,
                planned=end - 3 * DAY,
                kept=end + 3 * DAY,
                latest=end + 9 * DAY,
            ),
            BackBy(
                kind=ReturnKind.FULL_SERVICE,
                planned=end,
                kept=end + 6 * DAY,
                latest=end + 13 * DAY,
            ),
        ),
        stage_cost=cost,
        labour_cost=6_000.0,
        binds=("Mortar cures",),
        minutes=(),
        proven=True,
        next_hit_frac=hits,
        wanted_frac=0.9 if end < day(5, 1) else 0.0,
    )


def option(
    start: datetime,
    days: int,
    cost: float,
    *,
    until: datetime | None,
    moves: str = "",
    hits: float = 0.0,
) -> ClosureOption:
    """Return a closure in a gap that begins a day before it; `moves` begins a title."""
    moving = tuple(b for b in BOOKINGS if moves and b.title.startswith(moves))
    return ClosureOption(
        gap=Gap(
            start=start - DAY, end=until, before='"Knitwear" (stage.ics)',
            after='"Furniture" (stage.ics)' if until else "", moving=moving,
        ),
        figures=figures(start, days, cost, hits),
        needs_until=start + days * DAY,
        moved=tuple(f'"{b.title}" (stage.ics) moves' for b in moving),
    )  # fmt: skip


def closures(*, wanted: bool = True) -> ClosureChoices:
    """Return a year of closures: some good, one beaten, gaps that are too short."""
    short = ClosureOption(
        gap=Gap(start=day(3, 13), end=day(3, 23), before="", after=""),
        needs_until=day(3, 31),
    )
    return ClosureChoices(
        job="Tern Street Stage, corner backdrop",
        zone="America/Halifax",
        currency="CAD",
        since=day(2, 8),
        until=day(2, 8, 2028),
        sure_percent=80,
        options=(
            option(day(2, 12, hour=9), 18, 50_000.0, until=day(3, 10), hits=0.29),
            short,
            option(day(3, 25), 19, 49_000.0, until=day(7, 5), moves="Agency hold"),
            option(day(4, 16), 18, 47_500.0, until=day(7, 5)),
            option(day(6, 25), 17, 43_000.0, until=day(10, 1), moves="Rehearsals"),
            option(day(8, 2), 17, 46_500.0, until=day(10, 1)),
            option(day(10, 8), 17, 46_400.0, until=day(11, 20)),
            option(day(1, 4, 2028), 20, 60_000.0, until=None),
        ),
        bookings=BOOKINGS,
        back_by=day(5, 1) if wanted else None,
    )


def season(*, outside: bool = True) -> Season:
    """Return a year of air: damp and cold in winter, drier and warm in summer."""
    warm = (-4, -3, 0, 5, 10, 15, 19, 19, 15, 10, 5, -1)
    damp = (80, 78, 76, 74, 72, 74, 70, 72, 76, 78, 82, 83)
    months = []
    for n in range(1, 14):
        year, month = 2027 + n // 12, n % 12
        start = day(month + 1, 1, year)
        months.append(
            SeasonMonth(
                start=max(start, day(2, 8)),
                end=(start + 32 * DAY).replace(day=1),
                air_c=float(warm[month]),
                humidity_pct=float(damp[month]),
            )
        )
    return Season(outside=outside, months=tuple(months), units=Units.METRIC)
