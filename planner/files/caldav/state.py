"""What lies on calendar servers: one record an entry, kept in the plan's folder.

Written anew after each entry, so that a publishing that breaks off goes on where it
stopped. If it is lost nothing doubles and nothing is taken from anybody: entries
have steady names, and a seal says whether they are as this program wrote them.
"""

import contextlib
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from planner.errors import OutputError
from planner.files.caldav.items import NAME

FILE = "caldav.json"
SCHEMA = "covetime/caldav"
VERSION = 1
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
            if not isinstance(value, str) or not value.isprintable():
                raise ValueError(f"{field} is {value!r}, not a line of text")
        if not NAME.fullmatch(self.name):
            raise ValueError(f"name is {self.name!r}, not one of ours")
        if not isinstance(self.going, bool):
            raise ValueError(f"going is {self.going!r}, not true or false")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A feed in a collection."""

    collection: str
    feed: str


Places = dict[Place, dict[str, ServerEntry]]


def read_places(folder: Path) -> Places:
    """Return the records of a plan's folder by place and uid; none if there are none.

    Raises
    ------
    OutputError
        If the file is damaged; a guess could overwrite what somebody changed.
    """
    path = folder / FILE
    try:
        content = json.loads(path.read_bytes())
        if (content["schema"], content["version"]) != (SCHEMA, VERSION):
            raise ValueError("it is of another version")
        return {
            Place(collection=str(p["collection"]), feed=str(p["feed"])): {
                e["uid"]: ServerEntry(**e) for e in p["entries"]
            }
            for p in content["places"]
        }
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise OutputError(
            f"can't be read: {error.strerror}", where=str(path)
        ) from error
    except (ValueError, KeyError, TypeError, RecursionError) as error:
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
    rows = [
        {
            "collection": place.collection,
            "feed": place.feed,
            "entries": [asdict(entries[uid]) for uid in sorted(entries)],
        }
        for place, entries in sorted(
            places.items(), key=lambda x: (x[0].collection, x[0].feed)
        )
    ]
    content = {"schema": SCHEMA, "version": VERSION, "places": rows}
    data = (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()
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
