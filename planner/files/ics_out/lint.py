"""Faults that a job's texts and zone can bring into a calendar file, found in its bytes.

What people type flows into titles, places, categories and the keys behind the UIDs, and
a site's zone comes from the machine's zone data: no test knows all of these, so each
file is looked at before it is put in place. The rest hangs on this program's code alone
and is the same for every job: which properties stand where and in which form, what
goes together, whether links are kept. Tests hold that, by a stricter lint of theirs.

Shares no code with the writer and uses no library, so that a mistake of either is
seen. Standards: RFC 5545 (sections named beside the rules).
"""

import re
from collections.abc import Iterator

from planner.errors import Fault
from planner.files.ics_out.lint_lines import RawLine, RawPart, at, take_apart
from planner.files.ics_out.lint_zones import zone_faults


def lint(data: bytes) -> tuple[Fault, ...]:
    """Return what is wrong with a calendar file; nothing if it may be published."""
    calendar, faults = take_apart(data)
    if calendar is None:
        return faults
    return (*faults, *_calendar_faults(calendar))


def _calendar_faults(calendar: RawPart) -> Iterator[Fault]:
    events = [part for part in calendar.parts if part.name == "VEVENT"]
    for part in (calendar, *events):
        for line in part.lines:
            yield from _text_faults(line)
    yield from zone_faults(calendar)
    yield from _uid_faults(calendar, events)


_TEXTS = frozenset(
    (
        "SUMMARY",
        "DESCRIPTION",
        "LOCATION",
        "NAME",
        "X-WR-CALNAME",
        "X-WR-CALDESC",
        "UID",
        "PRODID",
    )
)


def _text_faults(line: RawLine) -> Iterator[Fault]:
    """Yield the faults of a text, and of the names of categories (§3.3.11)."""
    if line.name in _TEXTS and not re.fullmatch(r"(?:[^\\;,]|\\[\\;,nN])+", line.value):
        yield at(line.number, f"{line.name} is empty or not escaped as text")
    if line.name == "CATEGORIES":
        yield from _category_faults(line)


_CATEGORY = r"(?:[^\\;,]|\\[\\;])+"


def _category_faults(line: RawLine) -> Iterator[Fault]:
    if re.match(r"(?:[^\\]|\\[^,])*\\,", line.value):
        yield at(line.number, "a category has a comma, at which some readers split it")
    elif not re.fullmatch(rf"{_CATEGORY}(?:,{_CATEGORY})*", line.value):
        yield at(line.number, "CATEGORIES has an empty or badly escaped name")


def _uid_faults(calendar: RawPart, events: list[RawPart]) -> Iterator[Fault]:
    """Yield each UID that stands for more than one thing (§3.8.4.7)."""
    first: dict[str, int] = {}
    for part in (calendar, *events):
        for line in part.all("UID"):
            if line.value in first:
                where = first[line.value]
                yield at(line.number, f"the UID stands on line {where} already")
            first.setdefault(line.value, line.number)
