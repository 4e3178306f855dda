"""Day sheets: what one day asks of the crew, on one sheet of paper.

A sheet says who comes, what closes hours, the work in order with what must be ready
before it and how to tell, which air to keep and when to read it, when it is loud or
dusty, what to bring, what to mind, and what is left alone overnight.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.nouns.plan import PlannedTask, Stretch, Taken
from planner.report.days import facts
from planner.report.drawing.view import View, minutes_between, passes
from planner.report.drawing.week_rows import midnight

# Of a sheet in ordinary type: its lines, the characters of one and of a cell of the
# table, and the lines that a line of the table takes.
MANY_LINES, LINE, ROOM, ROW = 36, 105, 75, 1.25


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWork:
    """A stretch of a task on a day; `ready` is what must have hardened by then.

    `how` is said where what is laid runs out while it is worked; `hours` are the
    `clocks` in few characters.
    """

    id: str
    title: str
    clocks: str
    hours: str
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
        day=view.language.heading(start, view.zone),
        people=_people(view, pieces),
        closed=_closed(view, start, end),
        work=tuple(_work(view, t, (a, b)) for a, b, t in pieces),
        tests=tuple(facts.how_to_tell(view, pieces)),
        hold=hold,
        readings=facts.readings(view, pieces) if hold else "",
        noise=tuple(facts.noise(view, pieces)),
        joint=facts.if_a_joint_shows(view, pieces),
        closing=tuple(facts.closing(view, start, end)),
        waits=tuple(facts.left_alone(view, end)),
        bring=_each(view.told(x) for t in tasks for x in t.bring),
        mind=tuple(map(view.told, _unsaid(x for t in tasks for x in t.cautions))),
        first=facts.comes_first(view),
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
            out.append((person.name, view.clocks(first, last)))
    return tuple(out)


def _closed(view: View, start: datetime, end: datetime) -> tuple[str, ...]:
    """Return the bookings and quiet hours of a day, and the returns that fall on it."""
    say = view.say

    def within(entries: Iterable[Taken]) -> Iterable[tuple[str, str]]:
        for t in entries:
            if t.start < end and t.end > start:
                span = view.span(max(t.start, start), min(t.end, end))
                yield span, view.told(t.reason)

    booked = [
        say("Booked {span}: {entry}", span=span, entry=entry)
        for span, entry in within(view.plan.stage.bookings)
    ]
    quiet = [
        say("Quiet {span}: {entry}", span=span, entry=entry)
        for span, entry in within(view.plan.stage.quiet)
    ]
    back = [
        say("From {clock}: {what}", clock=view.clock(r.when), what=view.told(r.kind))
        for r in view.plan.stage.returns
        if start <= r.when < end
    ]
    return (*booked, *quiet, *back)


def _work(view: View, task: PlannedTask, span: Stretch) -> DayWork:
    say = view.say
    marks = [
        word
        for word, holds in (
            (say("binding"), task.id in view.binding),
            (say("in one go"), task.one_go),
            (say("loud"), task.loud),
            (say("dusty"), task.dusty),
            (say("fumes"), task.fumes),
            (say("on the stage between bookings"), task.visit),
            (say("off the stage"), not (task.on_stage or task.visit)),
        )
        if holds
    ]
    number, count = task.spans.index(span) + 1, len(task.spans)
    return DayWork(
        id=view.plan.short_id(task.id),
        title=view.title(task.id),
        clocks=view.clocks(*span),
        hours="-".join(map(view.clock, span)),
        team=view.team(task),
        work=view.told(task.quantity),
        labour=view.language.duration(minutes_between(*span) * len(task.team)),
        how=facts.batches(view, task),
        marks=", ".join(marks),
        part=say("part {number} of {count}", number=number, count=count)
        if count > 1
        else "",
        lifts=tuple(map(view.told, task.lifts)),
        ready=tuple(_ready(view, task)) if number == 1 else (),
    )


def _ready(view: View, task: PlannedTask) -> Iterable[str]:
    """Yield what must have hardened before a task, and when it is reckoned to be."""
    for wait in facts.awaited(view, task):
        yield view.say(
            "{task}: {passes} until {when} ({stage})",
            task=view.title(wait.task),
            passes=view.told(passes(wait.way)),
            when=view.when(wait.ready),
            stage=view.told(wait.stage),
        )
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
    say, number = view.say, view.language.number
    low, high = (
        view.language.measure("temperature", c, view.plan.units)
        for c in (min(warm), max(warm))
    )
    dry, wet = number(min(damp)), number(max(damp))
    heat = low if low == high else say("{low} to {high}", low=low, high=high)
    damp_said = dry if dry == wet else say("{low} to {high}", low=dry, high=wet)
    return say("{heat}, humidity {percent} %", heat=heat, percent=damp_said)
