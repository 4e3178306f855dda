"""Day sheets: what one day asks of the crew, on one sheet of paper.

A sheet says who comes, what closes hours, the work in order with what must be ready
before it and how to tell, which air to keep and when to read it, when it is loud or
dusty, what to bring, what to mind, and what is left alone overnight.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.nouns.plan import PlannedTask, Stretch
from planner.report.days import facts
from planner.report.drawing.view import View, minutes_between, passes
from planner.report.drawing.week_rows import midnight
from planner.units import duration_words

# Of a sheet in ordinary type: its lines, the characters of one and of a cell of the
# table, and the lines that a line of the table takes.
MANY_LINES, LINE, ROOM, ROW = 36, 105, 75, 1.25


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWork:
    """A stretch of a task on a day; `ready` is what must have hardened by then.

    `how` is said where what is laid runs out while it is worked.
    """

    id: str
    title: str
    clocks: str
    team: str
    work: str
    labour: str
    how: str
    marks: str
    part: str
    lifts: tuple[str, ...]
    ready: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySheet:
    """A day in words."""

    id: str
    day: str
    people: tuple[tuple[str, str], ...]
    closed: tuple[str, ...]
    work: tuple[DayWork, ...]
    tests: tuple[tuple[str, str], ...]
    hold: tuple[str, ...]
    readings: str
    noise: tuple[str, ...]
    joint: str
    closing: tuple[str, ...]
    waits: tuple[str, ...]
    bring: tuple[str, ...]
    mind: tuple[str, ...]
    first: str
    air: str

    @property
    def full(self) -> bool:
        """Whether the sheet needs smaller type to stay on one page."""
        lists = (self.mind, self.bring, self.hold, self.waits, self.closing, self.noise)
        chars = sum(len(w) + 2 for words in lists for w in words)
        chars += sum(len(how) + 20 for _, how in self.tests)
        rows = sum(
            1
            + len(w.ready)
            + len(w.lifts)
            + (len(w.title + w.work + w.marks + w.how) > ROOM)
            for w in self.work
        )
        return rows * ROW + chars / LINE > MANY_LINES


def day_sheets(view: View) -> tuple[DaySheet, ...]:
    """Return a sheet for each day on which somebody works or a return falls."""
    moments = [a for t in view.plan.tasks for a, _ in t.spans]
    moments += [r.when for r in view.plan.stage.returns]
    days = sorted({m.astimezone(view.zone).date() for m in moments})
    return tuple(
        _sheet(view, midnight(d, view.zone), midnight(d + timedelta(days=1), view.zone))
        for d in days
    )


def _sheet(view: View, start: datetime, end: datetime) -> DaySheet:
    plan = view.plan
    pieces = [(a, b, t) for t in plan.tasks for a, b in t.spans if start <= a < end]
    pieces.sort(key=lambda p: (p[0], p[2].start, p[2].id))
    tasks = list({t.id: t for _, _, t in pieces}.values())
    hold = tuple(facts.holds(view, start, end))
    return DaySheet(
        id=f"day-{start.astimezone(view.zone):%Y-%m-%d}",
        day=view.day(start),
        people=_people(view, pieces),
        closed=_closed(view, start, end),
        work=tuple(_work(view, t, (a, b)) for a, b, t in pieces),
        tests=tuple(facts.how_to_tell(view, pieces)),
        hold=hold,
        readings=facts.readings(view, pieces) if hold else "",
        noise=tuple(facts.noise(view, pieces)),
        joint=facts.if_a_joint_shows(pieces),
        closing=tuple(facts.closing(view, start, end)),
        waits=tuple(facts.left_alone(view, end)),
        bring=_each(x for t in tasks for x in t.bring),
        mind=_unsaid(x for t in tasks for x in t.cautions),
        first=facts.comes_first(plan),
        air=_air(view, start, end),
    )


def _each(items: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(items))


def _unsaid(cautions: Iterable[str]) -> tuple[str, ...]:
    """Return each caution once, and none that a longer one says as well."""
    once = _each(cautions)
    return tuple(x for x in once if not any(x != y and x in y for y in once))


def _people(
    view: View, pieces: list[tuple[datetime, datetime, PlannedTask]]
) -> tuple[tuple[str, str], ...]:
    """Return who comes, from when to when."""
    out = []
    for person in view.plan.crew:
        own = [(a, b) for a, b, t in pieces if person.id in t.team]
        if own:
            first, last = min(a for a, _ in own), max(b for _, b in own)
            clocks = f"{view.when(first)[-5:]} to {view.when(last)[-5:]}"
            out.append((person.name, clocks))
    return tuple(out)


def _closed(view: View, start: datetime, end: datetime) -> tuple[str, ...]:
    """Return the bookings and quiet hours of a day, and the returns that fall on it."""
    out = []
    for word, entries in (
        ("Booked", view.plan.stage.bookings),
        ("Quiet", view.plan.stage.quiet),
    ):
        for t in entries:
            if t.start < end and t.end > start:
                span = view.span(max(t.start, start), min(t.end, end))
                out.append(f"{word} {span}: {t.reason}")
    out += [
        f"From {view.when(r.when)[-5:]}: {r.kind}"
        for r in view.plan.stage.returns
        if start <= r.when < end
    ]
    return tuple(out)


def _work(view: View, task: PlannedTask, span: Stretch) -> DayWork:
    marks = [
        word
        for word, holds in (
            ("binding", task.id in view.binding),
            ("in one go", task.one_go),
            ("loud", task.loud),
            ("dusty", task.dusty),
            ("fumes", task.fumes),
            ("on the stage between bookings", task.visit),
            ("off the stage", not (task.on_stage or task.visit)),
        )
        if holds
    ]
    number, count = task.spans.index(span) + 1, len(task.spans)
    return DayWork(
        id=view.plan.short_id(task.id),
        title=task.title,
        clocks=f"{view.when(span[0])[-5:]} to {view.when(span[1])[-5:]}",
        team=view.team(task),
        work=task.quantity,
        labour=duration_words(minutes_between(*span) * len(task.team)),
        how=facts.batches(view, task),
        marks=", ".join(marks),
        part=f"part {number} of {count}" if count > 1 else "",
        lifts=task.lifts,
        ready=tuple(_ready(view, task)) if number == 1 else (),
    )


def _ready(view: View, task: PlannedTask) -> Iterable[str]:
    """Yield what must have hardened before a task, and when it is reckoned to be."""
    for wait in facts.awaited(view, task):
        title = view.tasks[wait.task].title
        yield f"{title}: {passes(wait.way)} until {view.when(wait.ready)} ({wait.stage})"
    if covers := view.covers(task):
        yield covers


def _air(view: View, start: datetime, end: datetime) -> str:
    """Return the air that the plan reckons with on a day."""
    air = view.plan.stage.air
    step = timedelta(minutes=air.tick_minutes)
    first, last = (start - air.start) // step, (end - air.start) // step
    warm = air.air_c[max(first, 0) : max(last, 0)]
    damp = air.humidity_pct[max(first, 0) : max(last, 0)]
    if not warm:
        return ""
    say = view.plan.units.temperature
    low, high = say(min(warm)), say(max(warm))
    dry, wet = f"{min(damp):.0f}", f"{max(damp):.0f}"
    heat = low if low == high else f"{low} to {high}"
    return f"{heat}, humidity {dry if dry == wet else f'{dry} to {wet}'} %"
