"""Day sheets as text for the printer or the phone: 80 columns, a page for each day."""

from collections.abc import Iterable

from planner.nouns.plan import Plan
from planner.report.columns import WIDTH, labelled, wrapped
from planner.report.days.sheets import DaySheet, DayWork, day_sheets
from planner.report.drawing.view import View
from planner.report.words.around import around_rows

CLOCKS, COLUMN = 13, 18  # where the text begins beside hours and beside a heading
PAGE = "\f"  # form feed: printers and pagers begin a page here


def day_sheets_text(plan: Plan) -> str:
    """Return a sheet for each day, one after the other, each beginning a page."""
    sheets = day_sheets(View(plan))
    days = ["\n".join(_sheet(plan, s)) + "\n" for s in sheets]
    if plan.reminders:
        days.insert(0, "\n".join(_around(plan)) + "\n")
    return PAGE.join(days)


def _around(plan: Plan) -> list[str]:
    """Return the sheet of what is done before the work, beside it and after it."""
    lines = [*wrapped(f"Before and after the work: {plan.job}"), "=" * WIDTH]
    for row in around_rows(plan):
        lines += labelled(row.day or row.when.capitalize(), row.title, COLUMN)
        lines += labelled("", f"{row.words} [{row.source}]", COLUMN)
    return lines


def _sheet(plan: Plan, day: DaySheet) -> list[str]:
    lines = [*wrapped(f"{day.day}: {plan.job}"), "=" * WIDTH]
    came = "; ".join(f"{who} {clocks}" for who, clocks in day.people)
    lines += labelled("Comes", came or "nobody is called", COLUMN)
    lines += [line for words in day.closed for line in wrapped(words)]
    lines.append("-" * WIDTH)
    for work in day.work:
        lines += _work(work)
    lines.append("-" * WIDTH)
    for head, items in (
        ("Loud, dusty", day.noise),
        ("How to tell", tuple(f"{what}: {how}" for what, how in day.tests)),
        ("If a joint shows", (day.joint,) if day.joint else ()),
        ("Closing", day.closing),
        ("Keep the air", day.hold),
        ("Read the air", (day.readings,) if day.readings else ()),
        ("Tonight leave", day.waits),
        ("Bring", (", ".join(day.bring),) if day.bring else ()),
        ("Mind", (_minded(day),) if day.work else ()),
        ("Air expected", (day.air,) if day.air else ()),
    ):
        lines += _list(head, items)
    return lines


def _minded(day: DaySheet) -> str:
    """Return what is to be minded on a day of work; what outranks it comes last."""
    return "; ".join(day.mind) + f"{'. ' if day.mind else ''}{day.first}."


def _work(work: DayWork) -> Iterable[str]:
    part = f" ({work.part})" if work.part else ""
    yield from labelled(work.clocks.replace(" to ", "-"), f"{work.title}{part}", CLOCKS)
    marks = "".join(f"; {w}" for w in (work.marks, work.how) if w)
    whole = " in all" if work.part else ""
    yield from labelled(
        "", f"{work.team}: {work.work}{whole}, {work.labour} booked{marks}", CLOCKS
    )
    for lift in work.lifts:
        yield from labelled("", f"lift: {lift}", CLOCKS, hang=4)
    for ready in work.ready:
        yield from labelled("", f"[ ] check: {ready}", CLOCKS, hang=4)


def _list(head: str, items: tuple[str, ...]) -> Iterable[str]:
    """Yield a heading with its items, each item on lines of its own."""
    for i, words in enumerate(items):
        yield from labelled("" if i else head, words, COLUMN)
