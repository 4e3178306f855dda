"""What `hours` prints: per owner and day, what is open, and why the rest is closed."""

from collections.abc import Iterator

from planner.hours.account import Account, Accounts, ClosedBecause, Day, Stretch, lasts
from planner.hours.grid import Grid
from planner.report.columns import WIDTH, item, labelled
from planner.units import day_words, duration_words

DAY_W, OPEN_W, WORD_W = 13, 13, 8
INDENT = " " * (DAY_W + OPEN_W)


def clock(grid: Grid, day: Day, tick: int) -> str:
    """Return a tick's local time; the end of a day is 24:00."""
    return "24:00" if tick == day.end else f"{grid.local(tick):%H:%M}"


def span_words(grid: Grid, day: Day, stretch: Stretch) -> str:
    """Return from when to when a stretch lasts, such as '08:00-12:00'."""
    if (stretch.start, stretch.end) == (day.start, day.end):
        return "all day"
    return f"{clock(grid, day, stretch.start)}-{clock(grid, day, stretch.end)}"


def short_day(grid: Grid, day: Day) -> str:
    """Return a day without its year, such as 'Mon 8 Feb'."""
    return day_words(grid.instant(day.start), grid.zone)[:-5]


def reason_words(stretch: Stretch) -> str:
    """Return every reason of a stretch, each once."""
    return "; ".join(dict.fromkeys(r.words for r in stretch.reasons))


def is_off(stretch: Stretch) -> bool:
    """Tell whether a stretch is closed only because nobody works then."""
    return not stretch.is_open and stretch.reasons[0].why is ClosedBecause.OFF


def clock_change(grid: Grid, day: Day) -> str:
    """Return how long a day with a clock change is, "" for any other."""
    hours = lasts(grid, day).total_seconds() / 3600
    if hours == 24:
        return ""
    way = "forward" if hours < 24 else "back"
    return f"clocks go {way}, {hours:g} h"


def _said(word: str, text: str) -> list[str]:
    return labelled(word, text, WORD_W, width=WIDTH - len(INDENT))


def _joined(grid: Grid, day: Day) -> str:
    """Return the open hours of a day; stretches that touch are one."""
    spans: list[tuple[int, int]] = []
    for s in day.stretches:
        if s.is_open and spans and spans[-1][1] == s.start:
            spans[-1] = (spans[-1][0], s.end)
        elif s.is_open:
            spans.append((s.start, s.end))
    return ", ".join(f"{clock(grid, day, a)}-{clock(grid, day, b)}" for a, b in spans)


def _day_lines(account: Account, day: Day) -> Iterator[str]:
    grid = account.grid
    said: list[str] = []
    if day.open_ticks:
        said += _said("open", _joined(grid, day))
    for stretch in day.stretches:
        if is_off(stretch) or not stretch.reasons:
            continue
        word = "but" if stretch.is_open else "closed"
        words = reason_words(stretch)
        said += _said(word, f"{span_words(grid, day, stretch)} {words}")
    if not said:
        said = _said("closed", f"all day {account.off}")
    if change := clock_change(grid, day):
        said += _said("note", change)
    opened = duration_words(day.open_ticks * grid.tick_minutes)
    head = f"  {short_day(grid, day):<{DAY_W - 2}}{opened:<{OPEN_W}}"
    yield head + said[0]
    yield from (INDENT + line for line in said[1:])


def _account_lines(account: Account) -> Iterator[str]:
    opened = duration_words(account.open_ticks * account.grid.tick_minutes)
    yield ""
    yield from item(
        f"{account.owner}: {opened} open; hours not listed are {account.off}", ""
    )
    for day in account.days:
        yield from _day_lines(account, day)


def range_words(answer: Accounts) -> str:
    """Return from which day to which, such as 'Mon 8 Feb to Sun 21 Feb 2027'."""
    days = answer.accounts[0].days
    first, last = (
        day_words(answer.grid.instant(d.start), answer.grid.zone)
        for d in (days[0], days[-1])
    )
    return first if first == last else f"{first} to {last}"


def hours_words(answer: Accounts) -> str:
    """Return every owner's days, each closed hour with its reason."""
    grid = answer.grid
    lines = [
        *item(f"Open hours: {answer.job}", ""),
        *item(
            f"{range_words(answer)}, times in {grid.zone.key}, "
            f"steps of {grid.tick_minutes} min",
            "",
        ),
    ]
    for account in answer.accounts:
        lines += _account_lines(account)
    if answer.remarks:
        lines += ["", *(x for r in answer.remarks for x in item(f"note: {r}", ""))]
    return "\n".join(lines) + "\n"
