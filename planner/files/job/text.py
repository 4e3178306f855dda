"""A job file's bytes become TOML values that every other part can hold and show."""

import sys
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from planner.files.job.faults import SectionReader

BYTES_MAX = 1_000_000
DEEPEST = 12  # tables and lists within each other; a job file has five at most
LARGEST = 2**63 - 1  # TOML 1.0, "Integer": 64-bit signed
SHOWN = 20  # faults of one kind shown; thousands would bury the others

_SPOKEN = {"\n": "a new line", "\r": "a carriage return", "\t": "a tab"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A value, the dotted place where it stands, and how deep that is."""

    place: str
    value: object
    deep: int


def values_of(reader: SectionReader, data: bytes) -> dict[str, Any] | None:
    """Return what the file says, or None with its faults noted.

    A text that isn't on one line, or holds other control characters, is a fault
    that doesn't hide others. A byte-order mark at the start is passed over.
    """
    try:
        raw = tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        reader.fault("file", f"is not text in UTF-8, at byte {error.start + 1}")
        return None
    except tomllib.TOMLDecodeError as error:
        reader.fault("file", f"is not TOML: {error}")
        return None
    except RecursionError:
        reader.fault("file", "holds lists or tables that are nested too deeply")
        return None
    except ValueError:  # Python refuses to read so many digits
        most = f"{sys.get_int_max_str_digits():,}"
        reader.fault("file", f"holds a number of more than {most} digits")
        return None
    return raw if stands(reader, raw) else None


def stands(reader: SectionReader, raw: Mapping[str, Any]) -> bool:
    """Tell whether every part of the program can work with values; faults are noted.

    A text that isn't on one line is a fault that doesn't keep others from being found.
    """
    found = list(_all(raw))
    for one in (x for x in found if isinstance(x.value, str)):
        if odd := _control(str(one.value)):
            reader.fault(one.place, f"the text holds {odd}", "write it on one line")
    impossible = [(x.place, words) for x in found if (words := _impossible(x))]
    for place, words in impossible[:SHOWN]:
        reader.fault(place, words)
    return not impossible


def _all(raw: Mapping[str, Any]) -> Iterator[_Found]:
    """Yield every value in the order of the file, as deep as a job file can go."""
    left = [_Found(place="", value=raw, deep=0)]
    while left:
        here = left.pop()
        if here.place:
            yield here
        if here.deep > DEEPEST:
            continue
        inner: list[tuple[object, Any]] = []
        if isinstance(here.value, dict):
            inner = list(here.value.items())
        elif isinstance(here.value, list):
            inner = list(enumerate(here.value, 1))
        left += [
            _Found(
                place=f"{here.place}.{key}" if here.place else str(key),
                value=value,
                deep=here.deep + 1,
            )
            for key, value in reversed(inner)
        ]


def _impossible(found: _Found) -> str:
    """Return what no part of the program could work with."""
    if found.deep > DEEPEST:
        return "is nested too deeply in other lists or tables"
    if isinstance(found.value, int) and abs(found.value) > LARGEST:
        return "is a whole number above 64 bits, which is too large"
    return ""


def _control(text: str) -> str:
    """Return the first character that doesn't belong into a line, in words."""
    for one in text:
        if unicodedata.category(one) in ("Cc", "Zl", "Zp"):
            spoken = _SPOKEN.get(one, "a control character")
            return f"{spoken} (U+{ord(one):04X})"
    return ""
