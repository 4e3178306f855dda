"""A first job file, commented in words of the trade, and empty calendars beside it."""

import json
import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from planner.files.job.keys.known import schema_text

SCHEMA = "job.schema.json"
STAGE_CALENDAR = "calendars/stage.ics"

_USUAL = {  # what is written where nothing was asked, in the job's own units
    "metric": {"apron": "2.4 m", "air": "20 C", "sheet": "23 C"},
    "us": {"apron": "8 ft", "air": "68 F", "sheet": "73 F"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Beginning:
    """What a job begins with, as its author says it: words, not checked yet.

    A wall is its name and its length ("back wall", "7.2 m"), in order; with `corners`
    each meets the next one. A person is a name and trades. `pieces` are the kit's
    measures, by their keys in a job file.
    """

    name: str
    time_zone: str
    earliest: str
    walls: tuple[tuple[str, str], ...]
    corners: bool
    ceiling: str
    people: tuple[tuple[str, tuple[str, ...]], ...]
    units: Literal["metric", "us"]
    pieces: Mapping[str, str]


def starter_files(beginning: Beginning) -> dict[str, bytes]:
    """Return the files of a new job by their paths.

    They are job.toml, its calendars, and the schema by which editors check its keys.
    """
    calendars = {STAGE_CALENDAR: f"{beginning.name}: bookings"}
    calendars |= {
        path: beginning.people[number][0]
        for number, path in enumerate(_calendars_of(beginning))
    }
    files = {"job.toml": "\n".join(_lines(beginning)) + "\n"}
    files[SCHEMA] = schema_text()
    files |= {path: _empty_calendar(title) for path, title in calendars.items()}
    return {path: text.encode("utf-8") for path, text in files.items()}


def _calendars_of(beginning: Beginning) -> list[str]:
    """Return the path of each person's calendar; two of one name get a number."""
    paths: list[str] = []
    for name, _ in beginning.people:
        plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
        stem = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-") or "person"
        taken = sum(bool(re.fullmatch(rf".*/{stem}(-\d+)?\.ics", p)) for p in paths)
        number = f"-{taken + 1}" if taken or stem == "stage" else ""
        paths.append(f"calendars/{stem}{number}.ics")
    return paths


def _text(value: str) -> str:
    """Return a basic string of TOML, which escapes as JSON does (TOML 1.0, strings)."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _day(said: str) -> str:
    """Return a day of TOML, or what was said instead as a text, which is a fault."""
    try:
        return date.fromisoformat(said.strip()).isoformat()
    except ValueError:
        return _text(said)


def _lines(beginning: Beginning) -> Iterator[str]:
    usual = _USUAL[beginning.units]
    yield f"#:schema ./{SCHEMA}"
    yield "# A job for covetime: what stands here is understood as `covetime check` says."
    yield "# What is left out, or stands behind a #, takes a default that check lists;"
    yield "# `covetime keys` says what else can stand here."
    yield ""
    yield "[job]"
    yield f"name = {_text(beginning.name)}"
    yield f"time_zone = {_text(beginning.time_zone)}"
    yield f"earliest = {_day(beginning.earliest)}            # the first day of use"
    yield '# drying_margin = "25 %"            # added to every wait that dries'
    yield '# codes = "Nova Scotia"             # the place whose codes come first'
    yield "# delivery = 2027-02-10T09:00:00    # when the crates come"
    yield "# close_from = 2027-02-22           # the stage isn't closed before this day"
    yield "# back_by = 2027-03-31              # wanted back by the end of it; a wish"
    yield ""
    yield "[stage]"
    yield f"name = {_text(beginning.name)}"
    yield f"ceiling = {_text(beginning.ceiling)}"
    yield f'apron = "{usual["apron"]}"                   # depth of floor in front'
    yield '# wall = "masonry"                  # else board on wood studs'
    yield '# hours = "07:00-22:00"             # when the building is open'
    yield f'bookings = ["{STAGE_CALENDAR}"]  # put the stage\'s calendar there'
    yield ""
    yield from _walls(beginning)
    yield from _kit(beginning)
    yield "[methods]"
    yield 'backing = "inlaid"                  # or "furred" over the wall'
    yield 'fill = "mortar"                     # or "foam"'
    yield "primer_coats = 2"
    yield "colour_coats = 2"
    yield ""
    yield from _people(beginning)
    yield "[air]                               # of the room while the work dries"
    yield f'temperature = "{usual["air"]}"'
    yield 'humidity = "50 %"'
    yield '# readings = "readings.csv"         # better: what was read in the room'
    yield ""
    yield "# A booking of the stage that may be moved, for covetime closures:"
    yield "# [[calendars.movable]]"
    yield f'# file = "{STAGE_CALENDAR}"'
    yield '# uid = "the UID of the entry there"'
    yield "# costs = 1500"
    yield ""
    yield "# Your own product, by its data sheet:"
    yield "# [[product]]"
    yield '# id = "our-topping"'
    yield '# like = "topping"'
    yield '# recoat = "24 h"'
    yield f'# at = "{usual["sheet"]}"'
    yield '# humidity = "50 %"'
    yield '# sheet = "its data sheet, page 2"'


def _walls(beginning: Beginning) -> Iterator[str]:
    following = [name for name, _ in beginning.walls[1:]]
    for number, (name, length) in enumerate(beginning.walls):
        yield "[[stage.run]]"
        yield f"name = {_text(name)}"
        yield f"length = {_text(length)}"
        if beginning.corners and number < len(following):
            meets = _text(following[number])
            yield f"meets = {meets}                # in an inside corner"
        yield ""


def _kit(beginning: Beginning) -> Iterator[str]:
    yield "[kit]                               # the moulded pieces, as measured"
    yield from (f"{key} = {_text(said)}" for key, said in beginning.pieces.items())
    yield ""


def _people(beginning: Beginning) -> Iterator[str]:
    for (name, trades), calendar in zip(
        beginning.people, _calendars_of(beginning), strict=True
    ):
        yield "[[crew]]"
        yield f"name = {_text(name)}"
        yield f"trades = [{', '.join(_text(t) for t in trades)}]"
        yield 'shifts = ["Mon-Fri 08:00-12:00 13:00-17:00"]'
        yield f'calendar = "{calendar}"      # busy there: not open here'
        yield ""


def _empty_calendar(title: str) -> str:
    """Return a calendar without entries, to be replaced or filled (RFC 5545)."""
    plain = "".join(c for c in title if unicodedata.category(c) != "Cc")
    for char in ("\\", ";", ","):
        plain = plain.replace(char, f"\\{char}")
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//covetime//new job//EN",
        f"X-WR-CALNAME:{plain[:60]}",
        "END:VCALENDAR",
    ]
    return "".join(f"{line}\r\n" for line in lines)
