"""The values of a job file: measures with a unit, days, zones, money."""

import difflib
import re
from collections.abc import Callable
from datetime import date, datetime
from typing import Annotated, Any
from zoneinfo import ZoneInfo, available_timezones

from pydantic import AfterValidator, BeforeValidator, Field

from planner import units
from planner.measures import Units, written

Say = Callable[[Units, float], str]
_Measured = Annotated[str, Field(pattern=r"\d")]  # as editors may check it


def plain(words: str) -> Say:
    """Return what words a value that both unit systems write alike."""
    return lambda _units, value: words.format(value)


def measure(
    parse: Callable[[str], float], low: float, high: float, say: Say
) -> BeforeValidator:
    """Return a validator of text with a unit, within [low, high].

    What it says is in the unit system of that text first.
    """

    def check(value: object) -> float:
        if not isinstance(value, str):
            raise ValueError(f"{value!r} has no unit; write it in quotes with one")
        number = parse(value)
        if not low <= number <= high:
            first = written(value) or Units.US
            low_words, high_words = say(first, low), say(first, high)
            raise ValueError(f'"{value}" is not between {low_words} and {high_words}')
        return number

    return BeforeValidator(check, json_schema_input_type=_Measured)


def length_within(low_mm: float, high_mm: float) -> BeforeValidator:
    """Return a validator of a length, within [low, high]."""
    return measure(units.length_mm, low_mm, high_mm, Units.length)


def zone_of(value: object) -> ZoneInfo:
    """Return the time zone of that name."""
    if not isinstance(value, str) or value not in available_timezones():
        near = difflib.get_close_matches(str(value), available_timezones(), n=1)
        tail = f'; did you mean "{near[0]}"?' if near else ""
        raise ValueError(
            f'"{value}" is not a time zone such as "America/Halifax"{tail}'
        )
    return ZoneInfo(value)


def _day(value: object) -> date:
    if isinstance(value, datetime) or not isinstance(value, date):
        raise ValueError(f"{value!r} is not a day such as 2027-02-08 (without quotes)")
    return value


def _of_this_century(value: Any) -> Any:
    """Return a day or a time, or say that it is too far away."""
    if not units.is_this_century(value):
        raise ValueError(f"{value.isoformat()} is not a day of this century")
    return value


def mail_of(value: object) -> str:
    """Return a mail address as it stands."""
    if not isinstance(value, str) or not re.fullmatch(r"[^@\s]+@[^@\s]+", value):
        raise ValueError(f'{value!r} is not a mail address such as "ana@example.org"')
    return value


def _named(value: str) -> str:
    """Return the name of a file or an address, or say that it is none."""
    if not value.strip():
        raise ValueError(
            f'"{value}" names no file and no link; name one, or leave it out'
        )
    return value


Named = Annotated[str, AfterValidator(_named)]


def _day_or_moment(value: object) -> date:
    if not isinstance(value, date):
        raise ValueError(
            f"{value!r} is neither a day such as 2027-03-05 nor a time such as "
            "2027-03-05T08:00:00 (without quotes)"
        )
    return value


Day = Annotated[
    date,
    BeforeValidator(_day, json_schema_input_type=date),
    AfterValidator(_of_this_century),
]
DayOrMoment = Annotated[  # a datetime is a date too, and stays one
    Any,
    BeforeValidator(_day_or_moment, json_schema_input_type=date | datetime),
    AfterValidator(_of_this_century),
]
Moment = Annotated[datetime, AfterValidator(_of_this_century)]
Celsius = Annotated[float, measure(units.temperature_c, -30.0, 60.0, Units.temperature)]
Humidity = Annotated[float, measure(units.percent, 0.0, 100.0, plain("{:.0f} %"))]
Frac = Annotated[float, measure(units.percent, 0.0, 300.0, plain("{:.0f} %"))]
Hours = Annotated[float, measure(units.hours, 0.0, 24.0 * 60, plain("{:g} h"))]
Money = Annotated[float, Field(ge=0, le=1e9)]
