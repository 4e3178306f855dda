"""Day sheets as text for the printer or the phone: 80 columns, a page for each day."""

from collections.abc import Iterable

from planner.languages.language import ENGLISH, Language
from planner.nouns.plan import Plan
from planner.report.columns import WIDTH, labelled, wrapped
from planner.report.days.sheets import DaySheet, DayWork, day_sheets
from planner.report.drawing.telling import unchecked
from planner.report.drawing.view import View
from planner.report.words.around import around_rows

CLOCKS, COLUMN = 13, 18  # where the text begins beside hours and beside a heading
PAGE = "\f"  # form feed: printers and pagers begin a page here


def day_sheets_text(plan: Plan, language: Language = ENGLISH) -> str:
    """Return a sheet for each day, one after the other, each beginning a page.

    Before them comes what is done before the work and after it, in English alone.
    """
    view = View(plan, language, year_said=True)
    days = ["\n".join(_sheet(view, s)) + "\n" for s in day_sheets(view)]
    if plan.reminders and language is ENGLISH:
        days.insert(0, "\n".join(_around(plan)) + "\n")
    return PAGE.join(days)


def _around(plan: Plan) -> list[str]:
    """Return the sheet of what is done before the work, beside it and after it."""
    lines = [*wrapped(f"Before and after the work: {plan.job}"), "=" * WIDTH]
    for row in around_rows(plan):
        lines += labelled(row.day or row.when.capitalize(), row.title, COLUMN)
        lines += labelled("", f"{row.words} [{row.source}]", COLUMN)
    return lines


def _sheet(view: View, day: DaySheet) -> list[str]:
    say = view.say
    lines = [*wrapped(f"{day.day}: {view.plan.job}"), "=" * WIDTH]
    if not view.language.is_checked:
        lines += [*wrapped(unchecked(view.language)), "-" * WIDTH]
    came = "; ".join(f"{who} {clocks}" for who, clocks in day.people)
    lines += labelled(say("Comes"), came or say("nobody is called"), COLUMN)
    lines += [line for words in day.closed for line in wrapped(words)]
    lines.append("-" * WIDTH)
    for work in day.work:
        lines += _work(view, work)
    lines.append("-" * WIDTH)
    for head, items in (
        (say("Loud, dusty"), day.noise),
        (say("How to tell"), tuple(f"{what}: {how}" for what, how in day.tests)),
        (say("If a joint shows"), (day.joint,) if day.joint else ()),
        (say("Closing"), day.closing),
        (say("Keep the air"), day.hold),
        (say("Read the air"), (day.readings,) if day.readings else ()),
        (say("Leave overnight"), day.waits),
        (say("Bring"), (", ".join(day.bring),) if day.bring else ()),
        (say("Mind"), (_minded(day),) if day.work else ()),
        (say("Air expected"), (day.air,) if day.air else ()),
    ):
        lines += _list(head, items)
    return lines


def _minded(day: DaySheet) -> str:
    """Return what is to be minded on a day of work; what outranks it comes last."""
    return "; ".join(day.mind) + f"{'. ' if day.mind else ''}{day.first}."


def _work(view: View, work: DayWork) -> Iterable[str]:
    say = view.say
    part = f" ({work.part})" if work.part else ""
    yield from labelled(work.hours, f"{work.title}{part}", CLOCKS)
    marks = "".join(f"; {w}" for w in (work.marks, work.how) if w)
    told = {"team": work.team, "work": work.work, "labour": work.labour}
    booked = (
        say("{team}: {work} in all, {labour} booked", **told)
        if work.part
        else say("{team}: {work}, {labour} booked", **told)
    )
    yield from labelled("", f"{booked}{marks}", CLOCKS)
    for lift in work.lifts:
        yield from labelled("", say("lift: {lift}", lift=lift), CLOCKS, hang=4)
    for ready in work.ready:
        words = say("[ ] check: {what}", what=ready)
        yield from labelled("", words, CLOCKS, hang=4)


def _list(head: str, items: tuple[str, ...]) -> Iterable[str]:
    """Yield a heading with its items, each item on lines of its own."""
    for i, words in enumerate(items):
        yield from labelled("" if i else head, words, COLUMN)
