"""[air] of a job file, with its months, the outside and the room's machines."""

from datetime import time
from typing import Annotated

from pydantic import (
    Field,
    field_validator,
)

from planner import units
from planner.files.job.sections.section import Section
from planner.files.job.sections.shift_words import ClockSpan, clock_span
from planner.files.job.sections.values import (
    Celsius,
    Hours,
    Humidity,
    Named,
    measure,
    plain,
)
from planner.measures import Units

MONTHS = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun",
    "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip


class HalfSection(Section):
    """Air by day or by night."""

    temperature: Celsius
    humidity: Humidity


class DayNightSection(Section):
    """Air that is the same all day, or one by day and one by night."""

    temperature: Celsius = 20.0
    humidity: Humidity = 50.0
    day: HalfSection | None = None
    night: HalfSection | None = None
    day_hours: tuple[time, time] = (time(7), time(19))

    @field_validator("day_hours", mode="before", json_schema_input_type=ClockSpan)
    @classmethod
    def _hours(cls, value: object) -> object:
        return clock_span(value)


class MonthSection(DayNightSection):
    """[[air.month]]: the assumed air of one month."""

    month: Annotated[str, Field(pattern=f"^({'|'.join(MONTHS)})$")]


class OutsideSection(DayNightSection):
    """[air.outside]: the air outside, assumed, and a record or forecast of it."""

    record: Named | None = None


class _Timed(Section):
    hours: tuple[tuple[time, time], ...] = ()  # none: all day

    @field_validator(
        "hours", mode="before", json_schema_input_type=ClockSpan | list[ClockSpan]
    )
    @classmethod
    def _hours(cls, value: object) -> object:
        return tuple(
            clock_span(v) for v in (value if isinstance(value, list) else [value])
        )


class HeatSection(_Timed):
    """[[air.room.heat]]: heating up to a temperature in its hours."""

    to: Celsius


class CoolSection(_Timed):
    """[[air.room.cool]]: cooling down to a temperature in its hours."""

    to: Celsius


class VentilationSection(_Timed):
    """[[air.room.ventilation]]: outside air let in, in air changes an hour."""

    changes_per_hour: Annotated[float, Field(gt=0, le=60)]


class DehumidifierSection(_Timed):
    """[[air.room.dehumidifier]]: a machine, its rating and its set point."""

    rated: Annotated[
        float, measure(units.litres_per_day, 1.0, 2_000.0, plain("{:g} l/day"))
    ]
    rated_at: Celsius = 80.0 / 1.8 - 32.0 / 1.8
    rated_humidity: Humidity = 60.0
    set_to: Humidity = 50.0
    compressor: bool = True


class RoomSection(Section):
    """[air.room]: what makes the room's air out of the air outside."""

    volume: Annotated[float, measure(units.volume_m3, 5.0, 100_000.0, plain("{:g} m³"))]
    leak_per_hour: Annotated[float, Field(ge=0, le=20)] = 0.3
    lag: Hours = 24.0
    heat: tuple[HeatSection, ...] = ()
    cool: tuple[CoolSection, ...] = ()
    ventilation: tuple[VentilationSection, ...] = ()
    dehumidifier: tuple[DehumidifierSection, ...] = ()


class AirSection(DayNightSection):
    """[air]: what the room's air is taken to be, was read as, or is made by."""

    readings: Named | None = None
    wall_colder: Annotated[
        float, measure(units.temperature_delta_k, 0.0, 30.0, Units.kelvins)
    ] = 0.0
    moving: Annotated[float, measure(units.speed_m_s, 0.0, 1.0, plain("{:g} m/s"))] = (
        0.0
    )
    month: tuple[MonthSection, ...] = ()
    outside: OutsideSection | None = None
    room: RoomSection | None = None
