"""What `today` prints, narrow enough for a phone: now, next, wet, to read, to decide."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from planner.languages.language import ENGLISH, Language
from planner.nouns.plan import Plan, PlannedTask
from planner.report.columns import wrapped
from planner.report.days import facts
from planner.report.drawing.telling import unchecked
from planner.report.drawing.view import View
from planner.report.drawing.week_rows import midnight

WIDTH = 44  # characters: a terminal on a phone shows 40 to 48
Piece = tuple[datetime, datetime, PlannedTask]


def today_text(
    plan: Plan,
    now: datetime,
    *,
    who: str = "",
    decide: Sequence[str] = (),
    language: Language = ENGLISH,
) -> str:
    """Return what to do now and next, what is wet, what to read and what to decide.

    `who` is the id of one of the crew, whose work alone is told; `decide` is what has
    to be decided besides what the plan says, and is for whoever leads: it is English,
    which its heading says in another language.
    """
    view, say = View(plan, language), language.say
    day = now.astimezone(view.zone).date()
    start, end = midnight(day, view.zone), midnight(day + timedelta(days=1), view.zone)
    pieces = sorted(
        (
            (a, b, t)
            for t in plan.tasks
            if (not who or who in t.team) and t.happened != "done"
            for a, b in t.spans
            if b > now
        ),
        key=lambda p: (p[0], p[2].id),
    )
    of_day = [p for p in pieces if p[0] < end]
    parts = (
        (say("Now"), [_piece(view, p) for p in pieces if p[0] <= now]),
        (say("Next"), [*_next(view, pieces, now, end)]),
        (say("Leave alone"), [*facts.left_alone(view, now)]),
        (say("Closes"), [*facts.closing(view, start, end)]),
        (say("Air"), [*facts.holds(view, start, end)]),
        (say("Read, measure"), [*_read(view, of_day)]),
        *_to_decide(view, of_day, day, decide),
    )
    names = {p.id: p.name for p in plan.crew}
    lines = wrapped(view.when(now), width=WIDTH)
    lines += wrapped(f"{plan.job}{f', {names[who]}' if who else ''}", width=WIDTH)
    if not language.is_checked:
        lines += ["", *wrapped(unchecked(language), width=WIDTH)]
    for head, items in parts:
        always = head in (say("Now"), say("Next"))
        if items or always:
            lines += ["", head.upper()]
        if not items and always:
            lines.append("  " + say("nothing"))
        for words in items:
            for number, part in enumerate(words.split("\n")):
                first, rest = ("  ", "    ") if number == 0 else ("    ", "      ")
                lines += wrapped(part, first=first, rest=rest, width=WIDTH)
    return "\n".join(lines) + "\n"


def _piece(view: View, piece: Piece) -> str:
    """Return a stretch of work: until when, what, by whom."""
    _, until, task = piece
    clock, title = view.clock(until), view.title(task.id)
    words = view.say("until {clock} {task}", clock=clock, task=title)
    return f"{words}\n{view.team(task)}"


def _next(
    view: View, pieces: Sequence[Piece], now: datetime, end: datetime
) -> Iterator[str]:
    """Yield what begins later today; where nothing does, what begins the next day."""
    ahead = [p for p in pieces if p[0] > now]
    today = [p for p in ahead if p[0] < end]
    if not today and ahead:
        first = ahead[0][0].astimezone(view.zone).date()
        yield view.day(ahead[0][0])
        last = midnight(first + timedelta(days=1), view.zone)
        today = [p for p in ahead if p[0] < last]
    for begin, until, task in today:
        lines = [
            f"{view.clock(begin)}-{view.clock(until)} {view.title(task.id)}",
            view.team(task),
        ]
        if begin == task.start:
            for wait in facts.awaited(view, task):
                lines.append(
                    view.say(
                        "[ ] {task}: {stage} by {when}",
                        task=view.title(wait.task),
                        stage=view.told(wait.stage),
                        when=view.when(wait.ready),
                    )
                )
        yield "\n".join(lines)


def _read(view: View, pieces: Sequence[Piece]) -> Iterator[str]:
    """Yield which air to read when, and how to tell what the day's work waits for."""
    if words := facts.readings(view, pieces):
        yield view.say("the air {when}", when=words)
    for what, how in facts.how_to_tell(view, pieces):
        yield f"{what}: {how}"


def _to_decide(
    view: View, pieces: Sequence[Piece], day: date, english: Sequence[str]
) -> Iterator[tuple[str, list[str]]]:
    """Yield what is to be decided, below one heading; what is English below its own."""
    say, told = view.say, [*_decide(view, pieces, day)]
    reminded = [f"{r.title}: {r.words}" for r in view.plan.reminders if r.day == day]
    if view.language is ENGLISH:
        yield say("Decide"), [*english, *told, *reminded]
    else:
        yield say("Decide"), told
        yield say("{what} (in English)", what=say("Decide")), [*english, *reminded]


def _decide(view: View, pieces: Sequence[Piece], day: date) -> Iterator[str]:
    """Yield what the plan wants decided on a day: checks, and what must be on site."""
    say = view.say
    if words := facts.if_a_joint_shows(view, pieces):
        yield say("If a joint shows: {words}", words=words)
    for supply in view.plan.supplies:
        if supply.on_site == day:
            yield say("{supply}: on site today", supply=view.told(supply.title))
        elif supply.on_site == day + timedelta(days=1):
            yield say("{supply}: on site tomorrow", supply=view.told(supply.title))
