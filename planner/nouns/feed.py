"""What a calendar shows, before it is written: feeds of entries, and their text.

Times are UTC instants or whole days. A record refuses what can't be written; the
text of titles, places and descriptions is cleaned as it is written instead, since
it comes from people and a stray character should not cost them the plan.
"""

import re
from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

_BREAKS = re.compile("\r\n|[\n\v\f\r\x1c\x1d\x1e\x85\u2028\u2029]")
_UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ufeff]")  # Cc, and U+FEFF
_HALVES = re.compile("[\ud800-\udfff]")  # Cs
_BLANKS = re.compile(r"[^\S\n]{9,}")


def clean_text(text: str) -> str:
    """Return the text as it is written: no control characters, line ends made alike.

    Everything that some reader takes for a line end becomes one; other control
    characters and byte-order marks go; half a character (a lone surrogate) becomes
    U+FFFD. Of a long run of blanks eight stay, since a folded piece of nothing but
    blanks is lost by some readers. Tabs and all printable text, right-to-left marks
    and emoji included, stay.
    """
    kept = _UNSEEN.sub("", _HALVES.sub("\ufffd", _BREAKS.sub("\n", text)))
    return _BLANKS.sub(" " * 8, kept).strip()


def clean_line(text: str) -> str:
    """Return the text on one line, runs of blanks and line ends drawn together."""
    return re.sub(r"[ \t\n]+", " ", clean_text(text))


def require_name(what: str, value: str) -> None:
    """Refuse a name that would not be written just as it stands."""
    if not value or value != clean_line(value):
        raise ValueError(f"{what} {value!r} is not one clean line of text")


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """A stretch between two instants, whole seconds in UTC, the end excluded."""

    start: datetime
    end: datetime

    def __post_init__(self) -> None:
        for name, value in (("start", self.start), ("end", self.end)):
            if value.utcoffset() != timedelta(0) or value.microsecond:
                raise ValueError(f"{name} is {value}, not whole seconds in UTC")
        if self.end <= self.start:
            raise ValueError(f"end {self.end} is not after start {self.start}")


@dataclass(frozen=True, slots=True, kw_only=True)
class AllDay:
    """Whole days of wherever the reader is, the last one included."""

    first: date
    last: date

    def __post_init__(self) -> None:
        for name, value in (("first", self.first), ("last", self.last)):
            if isinstance(value, datetime):
                raise ValueError(f"{name} is {value}, not a day")
        if self.last < self.first:
            raise ValueError(f"last day {self.last} is before the first {self.first}")


class Relation(StrEnum):
    """How a follow-on hangs on the entry that holds the link (RFC 9253 §4)."""

    FINISH_TO_START = "FINISHTOSTART"
    FINISH_TO_FINISH = "FINISHTOFINISH"
    START_TO_START = "STARTTOSTART"
    START_TO_FINISH = "STARTTOFINISH"


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowOn:
    """A link from an entry to one of its job that comes after it, with the gap between."""

    key: str
    gap: timedelta = timedelta(0)
    relation: Relation = Relation.FINISH_TO_START

    def __post_init__(self) -> None:
        if self.gap.microseconds:
            raise ValueError(f"gap is {self.gap}, not whole seconds")


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedEntry:
    """One entry of a calendar; `key` names it within its job and never changes.

    `job_id` names that job for ever; it is empty where the entry is the plan's own.
    The description is plain text and may have several lines. `follow_ons` are
    written on request only.
    """

    key: str
    title: str
    when: Timed | AllDay
    busy: bool
    tentative: bool = False
    description: str = ""
    location: str = ""
    categories: tuple[str, ...] = ()
    follow_ons: tuple[FollowOn, ...] = ()
    job_id: str = ""

    def __post_init__(self) -> None:
        require_name("key", self.key)
        if not clean_line(self.title):
            raise ValueError(f"title {self.title!r} of {self.key} shows nothing")
        for category in self.categories:
            require_name("category", category)
            if "," in category:  # several readers split it there
                raise ValueError(f"category {category!r} has a comma")


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """One calendar: `seed` names it within the plan, as "crew" or "people/ana".

    `description` may change with every plan ("as of ...") without touching the
    entries. `origin` names the plan; it ends the description of each entry, which
    keeps that of the plan that last changed it. `refresh_h` is a hint to receivers,
    in hours, which many don't take.
    """

    seed: str
    name: str
    color: str
    entries: tuple[FeedEntry, ...]
    refresh_h: int = 6
    description: str = ""
    origin: str = ""
    source_url: str = ""

    def __post_init__(self) -> None:
        require_name("seed", self.seed)
        require_name("name", self.name)
        if self.origin:
            require_name("origin", self.origin)
        if self.refresh_h < 1:
            raise ValueError(f"refresh_h is {self.refresh_h}, not 1 or more")
        keys = Counter((e.job_id, e.key) for e in self.entries)
        twice = [key for (_, key), n in keys.items() if n > 1]
        if twice:
            raise ValueError(f"keys used twice: {', '.join(twice)}")
        for entry in self.entries:
            for follow_on in entry.follow_ons:
                if (entry.job_id, follow_on.key) not in keys:
                    raise ValueError(f"{entry.key} leads to {follow_on.key}, not here")
