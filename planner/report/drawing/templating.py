"""Templates that escape by default: names from a job file never become markup."""

import re
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.ext import Extension
from jinja2.runtime import Context

from planner.report.drawing.elements import clean
from planner.units import year_once

_UNIT = re.compile(
    r"(?<=\d) (?=(?:h|min|%|°F|°C|m|m²|mm|l|ml|kg|lb|days?|Jan|Feb|Mar|Apr|May|Jun|"
    r"Jul|Aug|Sep|Oct|Nov|Dec)\b|%|°)"
)

_INDENT = re.compile(r"\n\s+")


@pass_context
def _together(context: Context, value: object) -> object:
    """Return text that a page can hold, its units on the same line as their numbers.

    Dates leave out the year that the page says at its head, as `year`. Macros don't know
    it, so names are shown by one.
    """
    if type(value) is str:  # not Markup: that is a picture or a style
        year = context.get("year")
        said = value if year is None else year_once(value, year)
        return _UNIT.sub("\N{NO-BREAK SPACE}", clean(said))
    return value


class _Flush(Extension):
    """Takes the indentation out of templates, not out of what they are filled with."""

    def preprocess(
        self,
        source: str,
        name: str | None,  # noqa: ARG002
        filename: str | None = None,  # noqa: ARG002
    ) -> str:
        return _INDENT.sub("\n", source)


@cache
def environment() -> Environment:
    """Return the environment of every template of the reports."""
    return Environment(
        loader=PackageLoader("planner.report"),
        autoescape=True,
        finalize=_together,
        undefined=StrictUndefined,
        trim_blocks=True,
        extensions=[_Flush],
    )
