r"""A log as text, one event a line, and back: readable, and mergeable line by line.

::

    2027-02-16 14:15 -0400 | done | tern-street:prime-1 | by hedda, beatriz | ... | 3fa2b1c9

A line has the moment, the kind of event, what it is about ("-" for nothing), then
fields that each begin with their name, and last its own id: the first eight digits of
the SHA-256 of what stands before. So a line that was cut off, or changed by hand, is
told from one that was written here; and a line that two people's copies both have is
one event when the copies are put together. In what people write, "|" is written "\p",
and "\" is written "\\".
"""

import hashlib
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from planner.nouns.happened import BrokenLine, Happening, Logbook, OnFloor, What

TITLE = "# what happened on this job: one event a line, only added to, by covetime log"
_SEPARATOR, _NOTHING = " | ", "-"
_FIELDS = (
    "by",
    "from",
    "until",
    "left",
    "air",
    "humidity",
    "floor",
    "says",
    "logged",
    "kept",
)
INSISTED = "though questioned"


def line_of(event: Happening) -> str:
    """Return an event as a line, without the end of line; its id is worked out anew."""
    fields = (
        ("by", ", ".join(event.by)),
        ("from", _minute(event.start)),
        ("until", _minute(event.until)),
        ("left", "" if event.left_h is None else f"{event.left_h:g} h"),
        ("air", "" if event.air_c is None else f"{event.air_c:.1f} C"),
        ("humidity", "" if event.humidity_pct is None else f"{event.humidity_pct:g} %"),
        ("floor", ", ".join(event.on_floor)),
        ("says", " ".join(event.words.split())),
        ("logged", event.logged.strftime("%Y-%m-%d %H:%M:%S %z")),
        ("kept", INSISTED if event.insisted else ""),
    )
    parts = (
        _minute(event.at),
        event.what.value,
        event.about or _NOTHING,
        *(f"{name} {value}" for name, value in fields if value),
    )
    text = _SEPARATOR.join(_escaped(p) for p in parts)
    return f"{text}{_SEPARATOR}{_id(text)}"


def with_id(event: Happening) -> Happening:
    """Return an event as it will be read back: its id, its words in one line."""
    return event_of(line_of(event))


def event_of(line: str) -> Happening:
    """Return the event of a line.

    Raises
    ------
    ValueError
        Says why the line is none.
    """
    text, _, id_ = line.rpartition(_SEPARATOR)
    if not re.fullmatch("[0-9a-f]{8}", id_):
        raise ValueError("it is cut off, or was never a line of this log")
    if id_ != _id(text):
        raise ValueError("it isn't as it was written: its check digits don't fit")
    when, what, about, *rest = (_plain(p) for p in text.split(_SEPARATOR))
    named = dict(_named(p) for p in rest)
    return Happening(
        id=id_,
        what=What(what),
        at=_at(when),
        logged=datetime.strptime(named["logged"], "%Y-%m-%d %H:%M:%S %z"),
        about="" if about == _NOTHING else about,
        by=tuple(named["by"].split(", ")) if "by" in named else (),
        start=_moment(named.get("from")),
        until=_moment(named.get("until")),
        left_h=_value(named.get("left")),
        air_c=_value(named.get("air")),
        humidity_pct=_value(named.get("humidity")),
        on_floor=tuple(map(OnFloor, named["floor"].split(", ")))
        if "floor" in named
        else (),
        words=named.get("says", ""),
        insisted="kept" in named,
    )


def logbook_of(data: bytes) -> Logbook:
    """Return what a log says; a line that can't be read is named, the rest stands.

    Lines that begin with "#", and empty ones, say nothing. An event that stands there
    twice is one.
    """
    events: dict[str, Happening] = {}
    broken: list[BrokenLine] = []
    for number, raw in _lines(data):
        try:
            event = event_of(raw.decode())
        except UnicodeDecodeError:
            why = "it isn't text (UTF-8)"
        except (ValueError, KeyError) as error:
            why = str(error) if isinstance(error, ValueError) else f"it lacks {error}"
        else:
            events.setdefault(event.id, event)
            continue
        text = raw.decode(errors="replace")
        broken.append(BrokenLine(number=number, text=text, why=why))
    return Logbook(events=tuple(events.values()), broken=tuple(broken))


def _lines(data: bytes) -> Iterator[tuple[int, bytes]]:
    for number, raw in enumerate(data.split(b"\n"), start=1):
        line = raw.rstrip(b"\r")  # a copy that went through another system
        if line.strip() and not line.startswith(b"#"):
            yield number, line


def _id(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:8]


def _escaped(text: str) -> str:
    return text.replace("\\", "\\\\").replace("|", "\\p")


def _plain(text: str) -> str:
    return re.sub(r"\\(.)", lambda m: "|" if m[1] == "p" else m[1], text)


def _named(part: str) -> tuple[str, str]:
    name, _, value = part.partition(" ")
    if name not in _FIELDS:
        raise ValueError(f'it has a field "{name}" that isn\'t known here')
    return name, value


def _minute(moment: datetime | None) -> str:
    return "" if moment is None else moment.strftime("%Y-%m-%d %H:%M %z")


def _moment(text: str | None) -> datetime | None:
    return None if text is None else _at(text)


def _at(text: str) -> datetime:
    return datetime.strptime(text, "%Y-%m-%d %H:%M %z")


def _value(text: str | None) -> float | None:
    return None if text is None else float(text.split()[0])


def retaken(
    event: Happening, of: str, logged: datetime, by: tuple[str, ...]
) -> Happening:
    """Return the undo of an event: it no longer counts from `logged` on."""
    raw = Happening(id="", what=What.UNDO, at=event.at, logged=logged, about=of, by=by)
    return with_id(replace(raw, at=logged.replace(second=0, microsecond=0)))
