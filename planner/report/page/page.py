"""The page: a whole plan in one file that needs no network and no script."""

from base64 import b64encode
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files

from markupsafe import Markup

from planner.nouns.plan import Plan
from planner.report.board import board
from planner.report.board import style as board_style
from planner.report.board.board import Scene, scene
from planner.report.board.closed import NOBODY, OFF, Closed
from planner.report.board.style import WIDE
from planner.report.charts.air_chart import air_pictures
from planner.report.days.people import person_rows
from planner.report.days.sheets import day_sheets
from planner.report.drawing import tokens
from planner.report.drawing.drying_progress import Drying
from planner.report.drawing.templating import environment
from planner.report.drawing.view import View, minutes_between
from planner.report.network import draw
from planner.report.opening import style as opening_style
from planner.report.opening.sheet import Prepared, opening_section
from planner.report.page.spent import spent
from planner.report.page.stage import (
    booked_days,
    closed_words,
    holding,
    how_promised,
    returns,
    stage_weeks,
)
from planner.report.page.waits import chained
from planner.report.words.around import around_rows
from planner.report.words.coat_air import coat_rows, limit_rows
from planner.report.words.dependencies import DEFINED, chain_lines, wait_words
from planner.report.words.quantities_rows import buy_rows, buying_of, tool_rows
from planner.report.words.summary import idle_money, money_words
from planner.units import days_and_hours, duration_words


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


def _file(name: str) -> str:
    return files("planner.report").joinpath(f"templates/{name}").read_text("utf-8")


def plan_page(plan: Plan, prepared: Prepared | None = None) -> bytes:
    """Return everything about a plan as one HTML page, in its readers' order.

    With `prepared`, the opening of the wall comes last.
    """
    view = View(plan)
    drying = Drying(plan)
    script = _file("page.js")
    wide = scene(view, drying, WIDE)
    people = [person_rows(view, c) for c in plan.crew]
    buying = buying_of(plan)
    text = (
        environment()
        .get_template("page.html.j2")
        .render(
            plan=plan,
            style=Markup(_style(opening=prepared is not None)),
            script=Markup(script),
            script_hash=_hash(script),
            patterns=board.pattern_defs(),
            returns=returns(view),
            closed=closed_words(view),
            closed_for=days_and_hours(minutes_between(*plan.stage.promised_closure)),
            how_promised=how_promised(view),
            booked_days=booked_days(view),
            cost=_money(plan),
            holding=holding(view),
            weeks=stage_weeks(view),
            bay_names=_bay_names(view),
            keys=board.legend_pictures(),
            board=board.board_pictures(view, drying),
            lanes=_lanes(wide),
            closed_rows=_closed(wide),
            spent=spent(view),
            people=people,
            people_hours=duration_words(sum(c.worked_min for c in plan.crew)),
            people_idle=duration_words(sum(c.idle_min for c in plan.crew)),
            days=day_sheets(view),
            around=around_rows(plan),
            buys=buy_rows(buying),
            tools=tool_rows(buying),
            opening=opening_section(prepared) if prepared else None,
            chain=chain_lines(view),
            wait_words=wait_words,
            defined=" ".join(DEFINED),
            network=draw.network_pictures(view),
            tasks=chained(view),
            origin=_capital("; ".join(plan.stage.air.origin)),
            air=air_pictures(view),
            limits=limit_rows(view),
            coats=coat_rows(view, drying),
            margin=f"{plan.margin_frac * 100:.0f} %",
            labour=tuple(
                dict.fromkeys((t.phase.replace("-", " "), t.source) for t in plan.tasks)
            ),
        )
    )
    return text.encode() + b"\n"


def _style(*, opening: bool) -> str:
    """Return the style of the page, with that of the wall's opening if it is shown."""
    of_opening = opening_style.css() if opening else ""
    sheets = tokens.css(), board_style.css(), draw.css(), of_opening, _file("page.css")
    return "\n".join(sheets)


def _hash(script: str) -> str:
    """Return what a content security policy knows a script by."""
    return f"sha256-{b64encode(sha256(script.encode()).digest()).decode()}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _money(plan: Plan) -> tuple[str, ...]:
    """Return what the plan costs, a line for each kind that the rates allow."""
    sums = tuple(f"{s} {plan.cost.currency}".rstrip() for s in money_words(plan))
    to = ("stage: to the promise of full service",) if plan.cost.stage else ()
    return (*sums, *to, *idle_money(plan.cost))


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
