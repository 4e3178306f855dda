"""Copies of calendars that were fetched, in the user's own cache folder.

A copy is one file: a line of JSON (when, validators, checksum), then the bytes as
they were read. It is named by a hash, for many addresses are secrets; it is written
aside and moved into place, readable by its owner alone.
"""

import hashlib
import json
import os
import sys
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from planner.files.web.addresses import BYTES_MAX

_HEAD_BYTES_MAX = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """What an address gave, when it was last known to be so, and its validators."""

    data: bytes
    fetched: datetime
    etag: str = ""
    modified: str = ""


def usual_folder() -> Path:
    """Return the cache folder of this program, as the system places it.

    References
    ----------
    XDG Base Directory Specification 0.8: XDG_CACHE_HOME, which counts only where it
    is absolute, else ~/.cache.
    """
    if sys.platform == "win32":
        named, rest = os.environ.get("LOCALAPPDATA", ""), "AppData/Local"
    elif sys.platform == "darwin":
        named, rest = "", "Library/Caches"
    else:
        named, rest = os.environ.get("XDG_CACHE_HOME", ""), ".cache"
    base = Path(named) if named and Path(named).is_absolute() else Path.home() / rest
    return base / "covetime" / "calendars"


def _path(folder: Path, address: str) -> Path:
    return folder / (hashlib.sha256(address.encode()).hexdigest() + ".copy")


def read(folder: Path, address: str) -> Copy | None:
    """Return the copy of an address; None where there is no whole one."""
    try:
        with _path(folder, address).open("rb") as file:
            head = json.loads(file.readline(_HEAD_BYTES_MAX))
            data = file.read(BYTES_MAX + 1)
        copy = Copy(
            data=data,
            fetched=datetime.fromisoformat(head["fetched"]).astimezone(UTC),
            etag=str(head["etag"]),
            modified=str(head["modified"]),
        )
        whole = hashlib.sha256(data).hexdigest() == head["sha256"]
    except (OSError, ValueError, KeyError, TypeError):
        return None  # damaged or not there: the address will be asked again
    return copy if whole else None


def write(folder: Path, address: str, copy: Copy) -> None:
    """Put a copy in the place of the one before.

    Raises
    ------
    OSError
        When the folder can't be written; the copy before is untouched then.
    """
    head = {
        "fetched": copy.fetched.isoformat(),
        "etag": copy.etag,
        "modified": copy.modified,
        "sha256": hashlib.sha256(copy.data).hexdigest(),
    }
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    place = _path(folder, address)
    handle, aside = tempfile.mkstemp(dir=folder, prefix=".new-")  # mode 0600
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(json.dumps(head).encode() + b"\n" + copy.data)
        Path(aside).replace(place)
    except OSError:
        Path(aside).unlink(missing_ok=True)
        raise
