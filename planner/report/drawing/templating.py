"""Templates that escape by default: names from a job file never become markup."""

import re
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from jinja2.ext import Extension

from planner.report.drawing.elements import clean

_UNIT = re.compile(
    r"(?<=\d) (?=(?:h|min|%|°F|°C|m|m²|mm|l|ml|kg|lb|days?|Jan|Feb|Mar|Apr|May|Jun|"
    r"Jul|Aug|Sep|Oct|Nov|Dec)\b|%|°)"
)

_INDENT = re.compile(r"\n\s+")


def _together(value: object) -> object:
    """Return text that a page can hold, its units on the same line as their numbers."""
    if type(value) is str:  # not Markup: that is a picture or a style
        return _UNIT.sub("\N{NO-BREAK SPACE}", clean(value))
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
