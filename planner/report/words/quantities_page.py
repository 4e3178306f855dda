"""The purchase list as a page of its own."""

from importlib.resources import files

from markupsafe import Markup

from planner.report.drawing import tokens
from planner.report.drawing.templating import environment
from planner.report.words.quantities_rows import Buying, buy_rows, tool_rows
from planner.report.words.quantities_text import HOW_TO_PLAN


def quantities_page(buying: Buying) -> bytes:
    """Return the list as one HTML page that needs no network and no script."""
    looks = files("planner.report").joinpath("templates/page.css").read_text("utf-8")
    template = environment().get_template("quantities.html.j2")
    text = template.render(
        buying=buying,
        style=Markup(f"{tokens.css()}\n{looks}"),
        how_to_plan=HOW_TO_PLAN,
        buys=buy_rows(buying),
        tools=tool_rows(buying),
    )
    return text.encode() + b"\n"
