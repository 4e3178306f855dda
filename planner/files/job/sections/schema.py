"""The sections of a job file, as pydantic models: keys, units, bounds, defaults."""

from datetime import time
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    field_validator,
)

from planner import units
from planner.files.job.sections.schema_air import AirSection
from planner.files.job.sections.section import Section
from planner.files.job.sections.shift_words import ClockSpan, clock_span, shift_of
from planner.files.job.sections.spreads import FactorOf
from planner.files.job.sections.values import (
    Celsius,
    Day,
    DayOrMoment,
    Frac,
    Hours,
    Humidity,
    Moment,
    Money,
    Named,
    length_within,
    mail_of,
    measure,
    plain,
    zone_of,
)
from planner.languages.catalogues import canonical
from planner.measures import Units
from planner.nouns.job import Shift
from planner.nouns.odds import Factor

Id = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]*$")]


# ----------------------------------------------------------------- sections


class JobSection(Section):
    """[job]: name, time zone, days, tick, margin, certainty, delivery."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    id: Id | None = None
    time_zone: Annotated[Any, BeforeValidator(zone_of, json_schema_input_type=str)]
    earliest: Day
    tick: Annotated[float, measure(units.hours, 1 / 12, 1, plain("{:g} h"))] = 0.25
    drying_margin: Frac = 25.0
    sure: Annotated[float, measure(units.percent, 50.0, 99.0, plain("{:.0f} %"))] = 80.0
    close_from: Day | None = None
    back_by: DayOrMoment | None = None
    delivery: Moment | None = None
    order_lead: (
        Annotated[float, measure(units.hours, 0.0, 24.0 * 366, plain("{:g} h"))] | None
    ) = None
    codes: Annotated[str, Field(min_length=1, max_length=100)] | None = None
    units: Units | None = None

    @field_validator("tick")
    @classmethod
    def _whole(cls, value: float) -> float:
        if round(value * 60) not in (5, 10, 15, 20, 30, 60):
            raise ValueError("the tick is one of 5, 10, 15, 20, 30 or 60 min")
        return value

    @field_validator("sure")
    @classmethod
    def _whole_percent(cls, value: float) -> float:
        if value != round(value):
            raise ValueError(f"{value:g} % is not a whole number of percent")
        return value


class RunSection(Section):
    """[[stage.run]]: a stretch of wall; `meets` makes an inside corner."""

    name: Annotated[str, Field(min_length=1, max_length=60)]
    id: Id | None = None
    length: Annotated[float, length_within(300.0, 100_000.0)]
    meets: str | None = None
    first_stud: Annotated[float, length_within(0.0, 2_000.0)] = 0.0


class BehindSection(Section):
    """[[stage.behind]]: what lies in the wall where a cove will hide it."""

    what: Literal[
        "outlet",
        "switch",
        "cable",
        "data socket",
        "pipe",
        "sprinkler pipe",
        "gas pipe",
        "duct",
    ]
    run: str
    from_start: Annotated[float, length_within(0.0, 100_000.0)]
    height: Annotated[float, length_within(0.0, 30_000.0)]


class StageSection(Section):
    """[stage]: the room, its hours and the calendars that close it."""

    name: Annotated[str, Field(min_length=1, max_length=200)] = "the stage"
    id: Id | None = None
    address: Annotated[str, Field(max_length=300)] = ""
    run: Annotated[tuple[RunSection, ...], Field(min_length=1, max_length=4)]
    ceiling: Annotated[float, length_within(1_500.0, 30_000.0)]
    wall: Literal["board on wood studs", "board on steel studs", "masonry"] = (
        "board on wood studs"
    )
    stud_spacing: Annotated[float, length_within(200.0, 1_300.0)] = 406.4
    apron: Annotated[float, length_within(0.0, 50_000.0)] = 2438.4
    hours: tuple[time, time] | None = None
    bookings: tuple[Named, ...] = ()
    quiet: tuple[Named, ...] = ()
    behind: tuple[BehindSection, ...] = ()
    holidays: tuple[Named, ...] = ()

    @field_validator("hours", mode="before", json_schema_input_type=ClockSpan)
    @classmethod
    def _hours(cls, value: object) -> object:
        return clock_span(value)


class KitSection(Section):
    """[kit]: the moulded modules' measures; a corner's only where runs meet in one."""

    module_width: Annotated[float, length_within(100.0, 5_000.0)]
    radius: Annotated[float, length_within(100.0, 3_000.0)]
    straight_height: Annotated[float, length_within(200.0, 5_000.0)]
    module_mass: Annotated[float, measure(units.mass_kg, 0.1, 500.0, Units.mass)]
    corner_height: Annotated[float, length_within(200.0, 5_000.0)] | None = None
    corner_leg: Annotated[float, length_within(200.0, 5_000.0)] | None = None
    upright_height: Annotated[float, length_within(200.0, 5_000.0)] | None = None
    least_cut: Annotated[float, length_within(25.4, 1_000.0)] = 152.4
    drying_times: Annotated[float, Field(ge=1.0, le=4.0)] = 1.25


class SecondColourSection(Section):
    """[methods.second_colour]: a colour on a later day, where it ends of itself."""

    product: str = "flat-colour"
    coats: Annotated[int, Field(ge=1, le=6)] = 2
    bays: Annotated[tuple[str, ...], Field(min_length=1)]


class MethodsSection(Section):
    """[methods]: what the crew lead chose; recipes by their names."""

    backing: str = "inlaid"
    fill: str = "mortar"
    bonding_agent: bool = False
    next_coat_after: Literal["set", "dry"] = "set"
    setting_coats: Annotated[int, Field(ge=0, le=6)] = 2
    drying_coats: Annotated[int, Field(ge=0, le=6)] | None = None
    topping_coats: Annotated[int, Field(ge=0, le=6)] = 1
    skim_coats: Annotated[int, Field(ge=0, le=2)] = 0
    primer_coats: Annotated[int, Field(ge=1, le=6)] = 2
    colour_coats: Annotated[int, Field(ge=1, le=6)] = 2
    colour_on_apron: bool = True
    second_colour: SecondColourSection | None = None
    primer_in: str = "one go"
    masonry_fixing: Literal["plugs", "frame fixings", "cartridge nails"] = "plugs"
    lifting: Literal["by hand", "singly", "hoist"] = "by hand"
    sanding: str = "workshop"
    setting: str = "setting-90"
    drying: str = "all-purpose"
    topping: str = "topping"
    skim: str = "skim"
    primer: str = "water-primer"
    colour: str = "flat-colour"
    adhesive: str = "adhesive"
    mortar: str = "dry-mortar"
    foam: str = "foam"
    bonding: str = "bonding-agent"
    slab_test: str = "slab-sheet"
    tape: Literal["paper", "mesh"] = "paper"


class RepaintSection(Section):
    """[repaint]: floor and coves are painted again, and nothing is built."""

    area: Literal["floor", "floor and coves", "all"] = "floor and coves"
    colour: Literal["same", "another"] = "same"
    coats: Annotated[int, Field(ge=1, le=6)] | None = None
    lasts: Annotated[float, Field(ge=1.0, le=1000.0)] = 15.0
    overshoes: Annotated[float, Field(ge=0.0, le=1.0)] = 0.5
    plastic: Annotated[float, Field(ge=0.0, le=1.0)] = 0.2


class PersonSection(Section):
    """[[crew]]: one of the crew."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    id: Id | None = None
    trades: Annotated[
        tuple[Literal["carpenter", "finisher", "painter", "labourer"], ...],
        Field(min_length=1),
    ]
    calendar: Named | None = None
    shifts: Annotated[tuple[Shift, ...], Field(min_length=1)] = (
        shift_of("Mon-Fri 08:00-12:00 13:00-17:00"),
    )
    rest: Hours = 11.0
    rate: Money | None = None
    mail: tuple[
        Annotated[str, BeforeValidator(mail_of, json_schema_input_type=str)], ...
    ] = ()
    language: Annotated[str, AfterValidator(canonical)] = "en"

    @field_validator("shifts", mode="before", json_schema_input_type=str | list[str])
    @classmethod
    def _shifts(cls, value: object) -> object:
        lines = [value] if isinstance(value, str) else value
        if not isinstance(lines, list) or not all(isinstance(x, str) for x in lines):
            raise ValueError(
                'a list of lines such as "Mon-Fri 08:00-12:00 13:00-17:00"'
            )
        return tuple(shift_of(x) for x in lines)


class LeaveOutSection(Section):
    """[[calendars.leave_out]]: an entry that doesn't count, faults and all."""

    file: Named
    uid: Annotated[str, Field(min_length=1, max_length=1_000)]


class MovableSection(Section):
    """[[calendars.movable]]: a booking of the stage that may be moved, at a price."""

    file: Named
    uid: Annotated[str, Field(min_length=1, max_length=1_000)]
    costs: Money


class CalendarsSection(Section):
    """[calendars]: what holds for the reading of all calendars."""

    keep_for: Hours | None = None
    tentative: Literal["busy", "free"] = "busy"
    entries: Literal["tasks", "shifts"] = "tasks"
    leave_out: tuple[LeaveOutSection, ...] = ()
    movable: tuple[MovableSection, ...] = ()


class SurveySection(Section):
    """[survey]: what is known of wall and floor before they are opened or sanded."""

    done: Day | None = None
    report: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    located: Day | None = None
    own_making: bool = False
    results: Hours = 168.0
    isolated: Hours = 24.0


class RatesSection(Section):
    """[rates]: money."""

    currency: Annotated[str, Field(max_length=8)] = ""
    stage_per_day: Money | None = None
    labour_per_hour: Money | None = None


Chance = Annotated[float, measure(units.percent, 0.0, 100.0, plain("{:.0f} %"))]


class OddsSection(Section):
    """[odds]: how far the job may differ from its plan."""

    pace: FactorOf | None = None
    pace_by_work: FactorOf | None = None
    pace_by_task: FactorOf | None = None
    waits: FactorOf | None = None
    waits_by_coat: FactorOf | None = None
    temperature: (
        Annotated[float, measure(units.temperature_delta_k, 0.0, 10.0, Units.kelvins)]
        | None
    ) = None
    humidity: (
        Annotated[float, measure(units.percent, 0.0, 40.0, plain("{:.0f} %"))] | None
    ) = None
    air_memory: Hours | None = None
    late_crates: Chance | None = None
    late_by: Hours | None = None
    damaged_pieces: Chance | None = None
    replaced_in: Hours | None = None
    booking_late: Chance | None = None
    booking_late_by: Hours | None = None
    away: Chance | None = None
    touch_up: Hours | None = None

    @property
    def own(self) -> tuple[tuple[str, float | Factor], ...]:
        """What the job says, by name: factors, chances, hours, K, points of humidity."""
        chances = ("late_crates", "damaged_pieces", "booking_late", "away")
        return tuple(
            (name, value / 100.0 if name in chances else value)
            for name, value in self
            if value is not None
        )


class ProductSection(Section):
    """[[product]]: a product of the user's own, from its data sheet."""

    id: Id
    like: str
    title: str | None = None
    recoat: Hours | None = None
    at: Celsius = 25.0
    humidity: Humidity = 50.0
    cover_within: Hours | None = None
    coverage: (
        Annotated[
            float,
            measure(units.coverage_m2_per_l, 0.05, 100.0, Units.coverage),
        ]
        | None
    ) = None
    pack: (
        Annotated[float, measure(units.volume_l, 0.01, 1_000.0, Units.volume)] | None
    ) = None
    spread: FactorOf | None = None
    sheet: Annotated[str, Field(min_length=1)]


class LabourSection(Section):
    """[[labour]]: the crew's own hours for a kind of work."""

    work: str
    hours: Hours | None = None
    per: str = ""
    set_up: Hours | None = None
    spread: FactorOf | None = None
    source: Annotated[str, Field(min_length=1)] = "the crew's own hours"


class SupplySection(Section):
    """[[supply]]: how the crew buys something, and what goes to waste."""

    id: str
    pack: Annotated[str, Field(min_length=1)] | None = None
    holds: str | None = None
    waste: Frac | None = None
    source: Annotated[str, Field(min_length=1)] = "as the crew buys it"


SECTIONS: dict[str, tuple[type[Section], bool]] = {  # name: (model, needed)
    "job": (JobSection, True),
    "stage": (StageSection, True),
    "kit": (KitSection, True),
    "methods": (MethodsSection, False),
    "calendars": (CalendarsSection, False),
    "air": (AirSection, False),
    "survey": (SurveySection, False),
    "repaint": (RepaintSection, False),
    "rates": (RatesSection, False),
    "odds": (OddsSection, False),
}
LISTS: dict[str, tuple[type[Section], bool]] = {
    "crew": (PersonSection, True),
    "product": (ProductSection, False),
    "labour": (LabourSection, False),
    "supply": (SupplySection, False),
}
