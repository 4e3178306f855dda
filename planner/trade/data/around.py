"""What is done before the work and after it, in words, from `around.toml`."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class ReminderWords:
    """A reminder's words, with names in braces for what a plan fills in.

    `repaint`: it also holds where nothing is built and what stands is painted again.
    """

    id: str
    when: str
    title: str
    words: str
    source: str
    tag: str
    repaint: bool = False


@cache
def reminders() -> tuple[ReminderWords, ...]:
    """Return every reminder, in the order of the data."""
    return tuple(ReminderWords(**row) for row in _said()["reminder"])


def figure(name: str) -> float:
    """Return a number of the data by its name."""
    return float(_said()["figure"][name]["value"])


@cache
def _said() -> Mapping[str, Any]:
    text = (
        files("planner.trade.data").joinpath("around.toml").read_text(encoding="utf-8")
    )
    return tomllib.loads(text)
