"""The nouns of the house, frozen. Lengths in mm, areas in m², times as UTC instants."""

from dataclasses import dataclass, field
from datetime import date, datetime, time
from enum import StrEnum
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from planner.matter import SHUT_ROOM_PER_H, Air, Product

# ---------------------------------------------------------------- the stage


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A straight stretch of wall, measured along the floor from corner to end."""

    name: str
    length_mm: float
    first_stud_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """The room: runs in order; `corners` holds i where run i meets run i + 1."""

    name: str
    runs: tuple[Run, ...]
    corners: tuple[int, ...]
    ceiling_mm: float
    wall: str  # "board on wood studs", "board on steel studs", "masonry"
    stud_spacing_mm: float
    apron_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """The moulded modules and their measures."""

    module_width_mm: float
    radius_mm: float
    module_mass_kg: float
    straight_height_mm: float
    corner_height_mm: float
    corner_leg_mm: float
    upright_height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondColour:
    """A second colour: its product, its coats, and the bays that it covers."""

    product: str
    coats: int
    bays: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Methods:
    """What the crew lead chose; products are ids in the materials data."""

    backing: str  # a recipe's name, such as "inlaid"
    fill: str  # a recipe's name, such as "mortar"
    bonding_agent: bool
    next_coat_after: str  # "set" or "dry": setting compound before the next coat
    setting_coats: int
    topping_coats: int
    primer_coats: int
    colour_coats: int
    colour_on_apron: bool
    sanding: str  # "workshop" or "stage"
    setting: str
    topping: str
    primer: str
    colour: str
    adhesive: str
    mortar: str
    foam: str
    bonding: str
    drying: str = "all-purpose"
    drying_coats: int = 0
    primer_in: str = "one go"  # or "bays"
    lifting: str = "by hand"  # or "singly" or "hoist"
    second_colour: SecondColour | None = None


# ----------------------------------------------------------------- people


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """Ordinary hours on some weekdays (0 is Monday), local times, start before end."""

    weekdays: tuple[int, ...]
    hours: tuple[tuple[time, time], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """One of the crew; `calendar` is the path or address of busy times, if any.

    `mail` are the addresses by which calendars know the person: what they declined
    takes none of their time.
    """

    id: str
    name: str
    trades: tuple[str, ...]
    shifts: tuple[Shift, ...]
    rest_h: float
    calendar: str | None = None
    rate_per_h: float | None = None
    mail: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Busy:
    """A stretch of a calendar that is taken, and the entry that takes it.

    `kind` is "busy", "unavailable" or "tentative". `title` is empty for a private
    entry. `all_day` is true where the entry was given as whole days.
    """

    start: datetime
    end: datetime
    kind: str
    title: str
    file: str
    uid: str
    all_day: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """What a calendar file says of a window: taken stretches and remarks on reading."""

    file: str
    busy: tuple[Busy, ...]
    remarks: tuple[str, ...] = ()


# -------------------------------------------------------------------- air


@dataclass(frozen=True, slots=True, kw_only=True)
class DayNight:
    """Assumed air: one value by day, one by night; equal values mean constant air."""

    day_c: float
    day_rh_pct: float
    night_c: float
    night_rh_pct: float
    day_from: time
    day_to: time


@dataclass(frozen=True, slots=True, kw_only=True)
class AirReading:
    """Temperature and relative humidity at an instant."""

    when: datetime
    air_c: float
    humidity_pct: float


Clock = tuple[tuple[time, time], ...]  # hours of the day, local; none: all day


@dataclass(frozen=True, slots=True, kw_only=True)
class Thermostat:
    """Heating up to a temperature, or cooling down to one, in its hours."""

    heat_to_c: float | None = None
    cool_to_c: float | None = None
    hours: Clock = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Ventilation:
    """Outside air let in: so many times the room's own volume in an hour."""

    air_changes_per_h: float
    hours: Clock = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Dehumidifier:
    """A machine that takes `rated_l_per_day` out of air at its rating.

    It runs while the room is damper than its set point. A `compressor` weakens in
    the cold; a machine that dries by adsorption doesn't.
    """

    rated_l_per_day: float
    rated_c: float = 26.7  # 80 °F and 60 %, the rating of ANSI/AHAM DH-1
    rated_rh_pct: float = 60.0
    set_rh_pct: float = 50.0
    hours: Clock = ()
    compressor: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate:
    """What makes the room's air out of the outside air.

    Air leaks in all day at `leak_per_h` (air changes), whatever is opened. Without
    heating the room follows the outside with a lag of `lag_h`; 0 means at once.
    """

    volume_m3: float
    leak_per_h: float = SHUT_ROOM_PER_H
    lag_h: float = 24.0  # an ordinary heated building, from memory
    thermostats: tuple[Thermostat, ...] = ()
    ventilation: tuple[Ventilation, ...] = ()
    dehumidifiers: tuple[Dehumidifier, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a room without air in it and flows that run backwards."""
        for name, value, low in (
            ("volume_m3", self.volume_m3, 1e-6),
            ("leak_per_h", self.leak_per_h, 0.0),
            ("lag_h", self.lag_h, 0.0),
            *(
                ("air_changes_per_h", v.air_changes_per_h, 0.0)
                for v in self.ventilation
            ),
            *(("rated_l_per_day", d.rated_l_per_day, 0.0) for d in self.dehumidifiers),
        ):
            if value < low:
                raise ValueError(f"{name}: {value} is less than {low:g}")


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class RoomAir:
    """The room's air and where its water came from and went, each tick. [kg]."""

    air: Air
    given_off_kg: NDArray[np.float64]  # by the wet work
    let_in_kg: NDArray[np.float64]  # by leaks and ventilation; less than 0: let out
    dried_kg: NDArray[np.float64]  # by dehumidifiers
    condensed_kg: NDArray[np.float64]  # on whatever is cold


# -------------------------------------------------------------------- job


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """Money, in one currency; None where the job file is silent."""

    currency: str = ""
    stage_per_day: float | None = None
    labour_per_h: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRate:
    """The crew's own hours for a kind of work, instead of the labour data's.

    `work` is the id of a labour rate; None keeps what the data say.
    """

    work: str
    hours: float | None  # of one person, for each unit of the rate
    set_up_h: float | None  # for the team to set up and clean up, each day
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnSupply:
    """How the crew buys a supply, instead of as the supply data say.

    `id` is a supply's; `holds` is what a pack holds, in the supply's unit, and `pack`
    says it in words. None keeps what the data say.
    """

    id: str
    pack: str | None
    holds: float | None
    waste_frac: float | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One build on one stage, as the job file says it.

    `plan_id` names the job for ever, so that its calendars can be published anew.
    `keep_for_h` is how old the copy of a calendar may be that stands in for its
    address; `leave_out` names entries to leave out, by calendar and UID.
    """

    name: str
    plan_id: str
    file: str
    zone: ZoneInfo
    earliest: date
    stage: Stage
    kit: Kit
    methods: Methods
    crew: tuple[Person, ...]
    air: DayNight
    air_file: str | None  # readings in the room
    margin_frac: float
    tick_minutes: int
    stage_hours: tuple[time, time] | None
    bookings: tuple[str, ...] = ()
    quiet: tuple[str, ...] = ()
    holidays: tuple[str, ...] = ()
    keep_for_h: float | None = None  # None: no copy may stand in
    tentative_is_free: bool = False
    leave_out: tuple[tuple[str, str], ...] = ()
    delivery: datetime | None = None
    rates: Rates = field(default_factory=Rates)
    air_months: tuple[tuple[int, DayNight], ...] = ()  # instead of `air`, by month
    outside: DayNight | None = None  # the air outside, where a climate is given
    outside_file: str | None = None  # a record or forecast of it
    wall_colder_delta_k: float = 0.0  # how much colder the wall is than the room
    climate: Climate | None = None  # what makes the room's air out of it
    products: tuple[Product, ...] = ()  # the user's own, from data sheets
    own_rates: tuple[OwnRate, ...] = ()
    own_supplies: tuple[OwnSupply, ...] = ()
    defaults_used: tuple[str, ...] = ()  # "kit.radius: 24 in", for the report


# ------------------------------------------------------------------- work


class Pace(StrEnum):
    """Whether work may stop at night and go on."""

    PAUSABLE = "pausable"
    ONE_GO = "one go"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """What a follow-on waits for after a task: a stage of a product's hardening."""

    product: str
    stage: str
    thickness_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Team:
    """A team size and how much of each person's hour counts (1.0: all of it)."""

    size: int
    yield_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A piece of work in a bay, with labour, trades and what to mind.

    `person_hours` are the work itself; on each day of it the team first takes
    `set_up_h` to set up and clean up.
    """

    id: str
    title: str
    how: str
    phase: str
    bays: tuple[str, ...]
    lead: tuple[str, ...]
    help: tuple[str, ...]
    person_hours: float
    set_up_h: float
    elapsed_h: float
    quantity: str
    teams: tuple[Team, ...]
    pace: Pace
    on_stage: bool = True
    loud: bool = False
    dusty: bool = False
    product: str | None = None  # whose limits hold from the start until `dry_stage`
    dry_stage: str | None = None
    thickness_mm: float | None = None
    wet_m2: float = 0.0  # area that its product is laid on
    fumes: bool = False
    lifts: tuple[str, ...] = ()  # in words: what, its mass, how many people
    lifters: int = 0  # people who lift at least; 0 where nothing heavy is lifted
    optional: bool = False  # done only where a window can't be kept without it
    touch_up_frac: float = 0.0  # chance, for each bay, of one more touch-up coat
    bring: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """What must come before what, always with the reason in words."""

    before: str
    after: str
    reason: str
    wait: Wait | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A coat that `after` must cover in time, or the task `unless` is done.

    `latest` names a latest time of the product, which runs from the end of `before`
    to the start of `after`.
    """

    before: str
    after: str
    product: str
    latest: str
    unless: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """A return to service: everything it waits for, by task and wait."""

    name: str  # "light feet" or "full service"
    after: tuple[tuple[str, Wait | None], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """All that the room and the methods ask for."""

    bays: tuple[str, ...]
    tasks: tuple[Task, ...]
    links: tuple[Link, ...]
    returns: tuple[Return, ...]
    windows: tuple[Window, ...] = ()
