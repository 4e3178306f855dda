"""The page to look things up in: what waits for what, the air, what all of it rests on."""

from planner.nouns.plan import Plan
from planner.report.charts.air_chart import air_pictures
from planner.report.drawing.drying_progress import Drying
from planner.report.drawing.view import View
from planner.report.network import draw
from planner.report.page.frame import REFERENCE, PagePart, framed
from planner.report.page.waits import chained
from planner.report.words.coat_air import coat_rows, limit_rows
from planner.report.words.dependencies import DEFINED, chain_lines, wait_words


def reference_page(plan: Plan) -> bytes:
    """Return every task with what it waits for, the air, assumptions and sources."""
    view = View(plan, year_said=True)
    return framed(
        "reference.html.j2",
        plan,
        file=REFERENCE,
        parts=(
            PagePart(id="waits", title="What waits for what"),
            PagePart(id="air", title="The air"),
            PagePart(id="checks", title="Assumptions and checks"),
        ),
        script="reference.js",
        chain=chain_lines(view),
        wait_words=wait_words,
        defined=" ".join(DEFINED),
        network=draw.network_pictures(view),
        tasks=chained(view),
        origin=_capital("; ".join(plan.stage.air.origin)),
        air=air_pictures(view),
        limits=limit_rows(view),
        coats=coat_rows(view, Drying(plan)),
        margin=f"{plan.margin_frac * 100:.0f} %",
        labour=tuple(
            dict.fromkeys((t.phase.replace("-", " "), t.source) for t in plan.tasks)
        ),
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
