"""What the calendars said before: one record for each entry, in the plan's folder.

The writer of calendars compares each entry with the record of its last
publication: an entry whose content is unchanged keeps its sequence number and
its stamps, a changed one goes up, a vanished one is cancelled for a while. The
record also holds the little that a cancelled entry still shows.

No identity depends on this file. If it is lost, every entry counts as changed
once, and nobody's calendar doubles.
"""

import re
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Literal

from pydantic import Field

from planner.errors import OutputError
from planner.files.folder.ours import lie_within
from planner.files.own_json import Record, read_record, record_bytes

FILE = "published.json"

_VALUE = re.compile(r"\d{8}(T\d{6}Z)?")  # a DATE or a UTC DATE-TIME of RFC 5545
_HINT = "delete it: entries keep their identities, but all count as changed once"


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """One entry as it was last published.

    `start` and `end` are the values of DTSTART and DTEND as written: UTC instants,
    or days with the end excluded. `changed` is when the content last changed,
    `origin` the plan that changed it, `digest` the SHA-256 of that content.
    """

    feed: str
    key: str
    uid: str
    sequence: int
    changed: datetime
    digest: str
    title: str
    start: str
    end: str
    cancelled: bool
    origin: str = ""

    def __post_init__(self) -> None:
        for name in ("feed", "key", "uid", "title"):
            if not getattr(self, name):
                raise ValueError(f"{name} is empty")
        if not lie_within((f"{self.feed}.ics",)):
            raise ValueError(f"feed is {self.feed!r}, not the path of a calendar")
        if not 0 <= self.sequence < 2**31:
            raise ValueError(f"sequence is {self.sequence!r}, not 0 to {2**31 - 1}")
        if not re.fullmatch("[0-9a-f]{64}", self.digest):
            raise ValueError(f"digest is {self.digest!r}, not 64 hexadecimal digits")
        for value in (self.start, self.end):
            if not _VALUE.fullmatch(value):
                raise ValueError(f"{value!r} is neither a day nor a UTC instant")
            datetime.fromisoformat(value)  # refuses what no calendar has
        if len(self.start) != len(self.end) or self.start >= self.end:
            raise ValueError(f"start {self.start} and end {self.end} don't agree")
        if self.changed.tzinfo is not UTC or self.changed.microsecond:
            raise ValueError(f"changed is {self.changed}, not whole seconds in UTC")


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedState:
    """All entries of a plan's folder that subscribers may hold, in the order of uids."""

    entries: tuple[Published, ...] = ()

    def __post_init__(self) -> None:
        uids = [entry.uid for entry in self.entries]
        if len(set(uids)) < len(uids):
            raise ValueError("one uid stands for two entries")

    def of_feed(self, feed: str) -> tuple[Published, ...]:
        """Return the entries of one feed."""
        return tuple(entry for entry in self.entries if entry.feed == feed)

    def feeds(self) -> tuple[str, ...]:
        """Return the feeds that still hold entries, sorted.

        A feed that the present plan doesn't make any more is written without
        entries as long as it stands here, so that its entries are cancelled.
        """
        return tuple(sorted({entry.feed for entry in self.entries}))

    def with_feed(self, feed: str, entries: tuple[Published, ...]) -> "PublishedState":
        """Return the state with the entries of one feed replaced."""
        others = tuple(entry for entry in self.entries if entry.feed != feed)
        return PublishedState(
            entries=tuple(sorted(others + entries, key=lambda entry: entry.uid))
        )


class _Row(Record):
    """An entry in the file; the record checks what the types leave open."""

    feed: str
    key: str
    uid: str
    sequence: int
    changed: datetime
    digest: str
    title: str
    start: str
    end: str
    cancelled: bool
    origin: str = ""


class _File(Record):
    schema_name: Literal["covetime/published"] = Field(alias="schema")
    version: Literal[1]
    entries: tuple[_Row, ...]


def to_bytes(state: PublishedState) -> bytes:
    """Return the state as the bytes of its file; equal states give equal bytes."""
    rows = tuple(_Row(**asdict(entry)) for entry in state.entries)
    return record_bytes(_File(schema="covetime/published", version=1, entries=rows))


def from_bytes(data: bytes, *, file: str = FILE) -> PublishedState:
    """Return the state that a file's bytes hold.

    Raises
    ------
    OutputError
        If the file is damaged or of another version; a guess could make a
        sequence number go backwards.
    """
    try:
        rows = read_record(_File, data).entries
        return PublishedState(entries=tuple(map(_entry, rows)))
    except ValueError as error:
        raise OutputError(
            f"the record of what was published can't be read: {error}",
            where=file,
            hint=_HINT,
        ) from error


def _entry(row: _Row) -> Published:
    values = dict(row)
    return Published(**{**values, "changed": row.changed.astimezone(UTC)})
