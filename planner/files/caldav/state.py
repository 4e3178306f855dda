"""What was put on calendar servers: one record for each entry, in the plan's folder.

Written anew after each entry, so that a publishing that breaks off goes on where it
stopped. If it is lost nothing doubles and nothing is taken from anybody: entries
have steady names, and a seal says whether they are as this program wrote them.
"""

import contextlib
import os
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from pydantic import Field

from planner.errors import OutputError
from planner.files.caldav.items import NAME
from planner.files.own_json import Record, read_record, record_bytes

FILE = "caldav.json"
_HINT = "delete it: what is on the server is looked at again, and nothing doubles"


@dataclass(frozen=True, slots=True, kw_only=True)
class ServerEntry:
    """An entry as it was last put: its name and its tag there, and what it said.

    `going` says that its removal was begun, so that a missing entry isn't taken for
    one that somebody deleted.
    """

    uid: str
    name: str
    etag: str
    seal: str
    title: str
    going: bool = False

    def __post_init__(self) -> None:
        for field in ("uid", "name", "etag", "seal", "title"):
            value = getattr(self, field)
            if not value.isprintable():
                raise ValueError(f"{field} is {value!r}, not a line of text")
        if not NAME.fullmatch(self.name):
            raise ValueError(f"name is {self.name!r}, not one of ours")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A feed in a collection."""

    collection: str
    feed: str


Places = dict[Place, dict[str, ServerEntry]]


class _Entry(Record):
    """An entry in the file; `ServerEntry` checks what the types leave open."""

    uid: str
    name: str
    etag: str
    seal: str
    title: str
    going: bool = False


class _Place(Record):
    collection: str
    feed: str
    entries: tuple[_Entry, ...]


class _File(Record):
    schema_name: Literal["covetime/caldav"] = Field(alias="schema")
    version: Literal[1]
    places: tuple[_Place, ...]


def read_places(folder: Path) -> Places:
    """Return the records of a plan's folder by place and uid; none if there are none.

    Raises
    ------
    OutputError
        If the file is damaged; a guess could overwrite what somebody changed.
    """
    path = folder / FILE
    try:
        return {
            Place(collection=p.collection, feed=p.feed): {
                e.uid: ServerEntry(**dict(e)) for e in p.entries
            }
            for p in read_record(_File, path.read_bytes()).places
        }
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise OutputError(
            f"can't be read: {error.strerror}", where=str(path)
        ) from error
    except ValueError as error:
        raise OutputError(
            f"the record of what was published can't be read: {error}",
            where=str(path),
            hint=_HINT,
        ) from error


def write_places(
    folder: Path, places: Mapping[Place, Mapping[str, ServerEntry]]
) -> None:
    """Put the records into a plan's folder; at any moment the old or the new stand.

    Raises
    ------
    OutputError
        If the disk is full or fails; the old records stand then.
    """
    rows = tuple(
        _Place(
            collection=place.collection,
            feed=place.feed,
            entries=tuple(_Entry(**asdict(entries[uid])) for uid in sorted(entries)),
        )
        for place, entries in sorted(
            places.items(), key=lambda x: (x[0].collection, x[0].feed)
        )
    )
    data = record_bytes(_File(schema="covetime/caldav", version=1, places=rows))
    path, fresh = folder / FILE, folder / f".{FILE}.new"
    with _told(path):
        with fresh.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)


@contextlib.contextmanager
def _told(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutputError(
            f"can't be written: {error.strerror}",
            where=str(path),
            hint="put it right and publish again: it goes on where it stopped",
        ) from error
