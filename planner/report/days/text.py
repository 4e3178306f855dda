"""Day sheets as text for the printer or the phone: 80 columns, a page for each day."""

import textwrap
from collections.abc import Iterable

from planner.nouns.plan import Plan
from planner.report.days.sheets import DaySheet, DayWork, day_sheets
from planner.report.drawing.view import View

WIDTH = 80
PAGE = "\f"  # form feed: printers and pagers begin a page here


def day_sheets_text(plan: Plan) -> str:
    """Return a sheet for each day, one after the other, each beginning a page."""
    sheets = day_sheets(View(plan))
    return PAGE.join("\n".join(_sheet(plan, s)) + "\n" for s in sheets)


def _sheet(plan: Plan, day: DaySheet) -> list[str]:
    lines = [*_filled(f"{day.day}: {plan.job}"), "=" * WIDTH]
    came = "; ".join(f"{who} {clocks}" for who, clocks in day.people)
    lines += _item("Comes", came or "nobody is called")
    lines += [line for words in day.closed for line in _filled(words)]
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
        ("Mind", ("; ".join(day.mind) + f". {day.first}.",) if day.mind else ()),
        ("Air expected", (day.air,) if day.air else ()),
    ):
        lines += _list(head, items)
    return lines


def _work(work: DayWork) -> Iterable[str]:
    part = f" ({work.part})" if work.part else ""
    yield from _item(work.clocks.replace(" to ", "-"), f"{work.title}{part}", 13)
    marks = "".join(f"; {w}" for w in (work.marks, work.how) if w)
    whole = " in all" if work.part else ""
    yield from _item(
        "", f"{work.team}: {work.work}{whole}, {work.labour} booked{marks}", 13
    )
    for lift in work.lifts:
        yield from _item("", f"lift: {lift}", 13, hang=4)
    for ready in work.ready:
        yield from _item("", f"[ ] check: {ready}", 13, hang=4)


def _list(head: str, items: tuple[str, ...]) -> Iterable[str]:
    """Yield a heading with its items, each item on lines of its own."""
    for i, words in enumerate(items):
        yield from _item("" if i else head, words, 18)


def _item(head: str, words: str, indent: int = 18, *, hang: int = 0) -> list[str]:
    wide = textwrap.wrap(
        words,
        WIDTH - indent,
        subsequent_indent=" " * hang,
        break_on_hyphens=False,
    )
    heads = [head, *[""] * max(len(wide) - 1, 0)]
    return [f"{h:<{indent}}{w}".rstrip() for h, w in zip(heads, wide, strict=True)]


def _filled(words: str) -> list[str]:
    return textwrap.wrap(words, WIDTH, break_on_hyphens=False)
