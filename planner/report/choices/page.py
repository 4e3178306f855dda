"""A page of its own for a choice: parts with words, a picture, a table; no script."""

from dataclasses import dataclass
from importlib.resources import files

from markupsafe import Markup

from planner.report.drawing import tokens
from planner.report.drawing.elements import Node, markup
from planner.report.drawing.templating import environment


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceTable:
    """A table under a caption: the first cell of a row names it.

    `numbers` are the columns, counted from 0, that hold numbers and stand to the right.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        """Refuse rows that the head doesn't fit."""
        if any(len(row) != len(self.head) for row in self.rows):
            raise ValueError(
                f"{self.caption}: rows that are not {len(self.head)} cells"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoicePart:
    """A part of a page: what it says, then a picture, a table, items, lines to copy.

    `narrow` is drawn in place of the picture where the page is less than 70 rem wide.
    """

    heading: str
    says: tuple[str, ...] = ()
    picture: Node | None = None
    narrow: Node | None = None
    table: ChoiceTable | None = None
    items: tuple[str, ...] = ()
    code: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoicePage:
    """A whole page: the job, what the page answers, facts in a line, its parts."""

    job: str
    answers: str
    facts: tuple[str, ...]
    parts: tuple[ChoicePart, ...]


def choice_page(page: ChoicePage) -> bytes:
    """Return the page as one HTML file that needs neither network nor script."""
    looks = files("planner.report").joinpath("templates/page.css").read_text("utf-8")
    text = (
        environment()
        .get_template("choices.html.j2")
        .render(page=page, draw=markup, style=Markup(f"{tokens.css()}\n{looks}"))
    )
    return text.encode() + b"\n"
