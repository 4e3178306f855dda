"""The crew's page: each day, each person, the board, what to buy, the wall's opening."""

from collections.abc import Iterator
from dataclasses import dataclass

from planner.languages.catalogues import language_of
from planner.languages.language import ENGLISH, Language
from planner.nouns.living.earlier import EarlierPlaces
from planner.nouns.plan import Plan
from planner.report.board import board
from planner.report.board.board import Scene, scene
from planner.report.board.closed import NOBODY, OFF, Closed
from planner.report.board.style import WIDE
from planner.report.days.people import PersonRows, person_rows
from planner.report.days.sheets import day_sheets
from planner.report.drawing.drying_progress import Drying
from planner.report.drawing.view import View
from planner.report.opening.sheet import Prepared, opening_section
from planner.report.page.frame import CREW, PagePart, framed, told_in
from planner.report.page.moved import moved_tables
from planner.report.words.around import around_rows
from planner.report.words.quantities_rows import buy_rows, buying_of, tool_rows
from planner.units import duration_words


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceRow:
    """A stretch of a bay's surface in words."""

    name: str
    start: str
    end: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneTable:
    """A lane of the board as a table."""

    name: str
    surfaces: tuple[SurfaceRow, ...]


def crew_page(
    plan: Plan,
    prepared: Prepared | None = None,
    earlier: EarlierPlaces | None = None,
) -> bytes:
    """Return the days and people of a plan, its board and its purchases.

    With `prepared`, the opening of the wall comes last; `earlier` is where the tasks of
    a revised plan were planned before.
    """
    view = View(plan, year_said=True)
    drying = Drying(plan)
    wide = scene(view, drying, WIDE, earlier)
    buying = buying_of(plan)
    before_after = PagePart(id="around", title="Before and after the work")
    opening = PagePart(id="opening", title="The opening of the wall")
    return framed(
        "crew.html.j2",
        plan,
        file=CREW,
        parts=(
            PagePart(id="days", title="Days"),
            PagePart(id="people", title="Who comes when"),
            *((before_after,) if plan.reminders else ()),
            *((PagePart(id="moved", title="What moved"),) if earlier else ()),
            PagePart(id="board", title="The board"),
            PagePart(id="buying", title="What to buy, and by when"),
            *((opening,) if prepared else ()),
        ),
        script="crew.js",
        others=tuple(map(told_in, languages_of(plan))),
        days=day_sheets(view),
        around=around_rows(plan),
        people=[person_rows(view, c) for c in plan.crew],
        own_rows=list(_own_rows(view)),
        people_hours=duration_words(sum(c.worked_min for c in plan.crew)),
        people_idle=duration_words(sum(c.idle_min for c in plan.crew)),
        bay_names=_bay_names(view),
        moved=moved_tables(view, earlier) if earlier else None,
        keys=board.legend_pictures(view, drying, earlier),
        board=board.board_pictures(view, drying, earlier),
        lanes=_lanes(wide),
        closed_rows=_closed(wide),
        buys=buy_rows(buying),
        tools=tool_rows(buying),
        opening=opening_section(prepared) if prepared else None,
    )


def crew_page_in(plan: Plan, language: Language) -> bytes:
    """Return the days and people of a plan in a language other than English."""
    view = View(plan, language, year_said=True)
    say, duration = language.say, language.duration
    people = [person_rows(view, c) for c in plan.crew]
    here = told_in(language)
    return framed(
        "crew_told.html.j2",
        plan,
        file=here.file,
        parts=(
            PagePart(id="days", title=say("Days")),
            PagePart(id="people", title=say("Who comes when")),
        ),
        script="crew.js",
        language=language,
        others=tuple(map(told_in, languages_of(plan))),
        days=day_sheets(view),
        people=people,
        own_rows=[(rows, language) for rows in people],
        people_hours=duration(sum(c.worked_min for c in plan.crew)),
        people_idle=duration(sum(c.idle_min for c in plan.crew)),
    )


def languages_of(plan: Plan) -> tuple[Language, ...]:
    """Return the languages of a plan's crew besides English, each once."""
    found = dict.fromkeys(language_of(c.language) for c in plan.crew)
    return tuple(x for x in found if x is not ENGLISH)


def _own_rows(view: View) -> Iterator[tuple[PersonRows, Language]]:
    """Yield each person's days in the language of that person."""
    for person in view.plan.crew:
        language = language_of(person.language)
        own = view if language is ENGLISH else View(view.plan, language, year_said=True)
        yield person_rows(own, person), language


def _bay_names(view: View) -> str:
    return "In the order of the room: " + ", ".join(
        b.name for b in view.plan.stage.bays
    )


def _lanes(wide: Scene) -> tuple[LaneTable, ...]:
    """Return the board's lanes as tables."""
    view = wide.view
    return tuple(
        LaneTable(
            name=bay.name,
            surfaces=tuple(
                SurfaceRow(
                    name=s.name,
                    start=view.when(s.start),
                    end=view.when(s.end),
                    after=s.task.title if s.task else "",
                )
                for s in states
            ),
        )
        for bay, states in zip(view.plan.stage.bays, wide.surfaces, strict=True)
    )


def _closed(wide: Scene) -> tuple[tuple[str, str], ...]:
    """Return bookings, quiet hours and days off in words; nights go without saying."""
    return tuple(
        (wide.view.span(c.start, c.end), _reason(c))
        for c in sorted(wide.closed, key=lambda c: (c.start, c.end, c.reason))
        if c.kind != NOBODY
    )


def _reason(closed: Closed) -> str:
    return closed.reason if closed.kind == OFF else f"{closed.kind}: {closed.reason}"
