"""The nouns of a job as its file says it: stage, kit, methods, crew. Lengths in mm."""

from dataclasses import dataclass, field
from datetime import date, datetime, time
from enum import StrEnum
from zoneinfo import ZoneInfo

from planner.measures import Units
from planner.nouns.air import Climate, DayNight
from planner.nouns.odds import Factor
from planner.nouns.product import Product


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A straight stretch of wall, measured along the floor from corner to end.

    `id` names its bay.
    """

    id: str
    name: str
    length_mm: float
    first_stud_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Behind:
    """Something in the wall behind a cove: an outlet, a pipe, a duct.

    `run` is the id of its run; places are measured from the run's start, and from the
    floor.
    """

    what: str
    run: str
    from_start_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """The room: runs in order; `corners` holds i where run i meets run i + 1.

    `id` names the stage wherever several are meant.
    """

    id: str
    name: str
    runs: tuple[Run, ...]
    corners: tuple[int, ...]
    ceiling_mm: float
    wall: str  # "board on wood studs", "board on steel studs", "masonry"
    stud_spacing_mm: float
    apron_mm: float
    behind: tuple[Behind, ...] = ()
    address: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """The moulded modules and their measures; a corner's are 0 in a room without one."""

    module_width_mm: float
    radius_mm: float
    straight_height_mm: float
    module_mass_kg: float
    corner_height_mm: float = 0.0
    corner_leg_mm: float = 0.0
    upright_height_mm: float = 0.0
    least_cut_mm: float = 152.4  # 6 in; assumption: what two flanges and screws need
    drying_times: float = 1.25  # as long as on board takes compound on the modules


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
    skim: str = "skim"
    slab_test: str = "slab-sheet"
    tape: str = "paper"  # or "mesh", under setting compound alone
    skim_coats: int = 0  # over the whole face, for the highest finish
    primer_in: str = "one go"  # or "bays"
    masonry_fixing: str = "plugs"  # or "frame fixings" or "cartridge nails"
    lifting: str = "by hand"  # or "singly" or "hoist"
    second_colour: SecondColour | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Repaint:
    """Painting again what stands, without any building: how much of it, how often over.

    `area` is "floor", "floor and coves" or "all". The wear figures are planning numbers,
    common practice without a source: a colour lasts `lasts_days` days of use without
    protection; a day with overshoes, or with plastic on the floor, counts as a part of
    one.
    """

    area: str
    coats: int
    colour: str = "same"  # or "another"
    lasts_days: float = 15.0
    overshoes_frac: float = 0.5
    plastic_frac: float = 0.2

    @property
    def has_coves(self) -> bool:
        """Whether more than the floor is painted."""
        return self.area != "floor"


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """What is known of wall and floor before they are opened, and what finding out takes.

    `done` is the day on which they were sampled for asbestos and lead, `located` that on
    which the services were found; nobody asks either of what is of the crew's own making.
    """

    done: date | None = None
    report: str = ""
    located: date | None = None
    own_making: bool = False
    results_h: float = 7 * 24.0  # from the sample to the laboratory's report
    isolated_h: float = 24.0  # from finding a service until it is isolated

    def wants(self, work: str) -> bool:
        """Tell whether a visit ("survey" or "locate") has still to be paid."""
        known = self.done if work == "survey" else self.located
        return known is None and not self.own_making


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """Ordinary hours on some weekdays (0 is Monday), local times, start before end."""

    weekdays: tuple[int, ...]
    hours: tuple[tuple[time, time], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewMember:
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
    language: str = "en"  # in which they are told things; a tag of BCP 47


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """Money, in one currency; None where the job file is silent."""

    currency: str = ""
    stage_per_day: float | None = None
    labour_per_h: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Movable:
    """A booking of the stage that may be moved: its calendar, its UID, what that costs."""

    file: str
    uid: str
    cost: float


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
class Shows:
    """A joint that shows through in a bay, and the task before which it is filled.

    `number` counts what was logged of this kind; it is part of the tasks' ids. Before
    hand-over, or where nothing comes any more (`before` is empty), the bay is coated
    again as well.
    """

    number: int
    bay: str
    before: str = ""


class HeldFor(StrEnum):
    """What work in a bay waits for."""

    PIECE = "a piece in place of a damaged one"
    DRY_BASE = "a base that is dry enough"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldBay:
    """A bay in which work that needs something doesn't begin before a moment.

    An empty `bay` stands for all; `said` is what was logged, in words.
    """

    bay: str
    what: HeldFor
    until: datetime
    said: str = ""


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
    address; `leave_out` names entries to leave out, by calendar and UID. The stage
    isn't closed before `close_from`; it is wanted back by `back_by`, which is a wish.
    """

    name: str
    plan_id: str
    file: str
    zone: ZoneInfo
    earliest: date
    stage: Stage
    kit: Kit
    methods: Methods
    crew: tuple[CrewMember, ...]
    air: DayNight
    air_file: str | None  # readings in the room
    margin_frac: float
    tick_minutes: int
    stage_hours: tuple[time, time] | None
    sure_percent: int = 80  # in how many of a hundred futures the promise is kept
    bookings: tuple[str, ...] = ()
    quiet: tuple[str, ...] = ()
    holidays: tuple[str, ...] = ()
    keep_for_h: float | None = None  # None: no copy may stand in
    tentative_is_free: bool = False
    entries: str = "tasks"  # or "shifts": what an entry of a person's calendar is
    leave_out: tuple[tuple[str, str], ...] = ()
    movable: tuple[Movable, ...] = ()
    close_from: date | None = None
    back_by: datetime | None = None
    delivery: datetime | None = None
    survey: Survey = field(default_factory=Survey)
    repaint: Repaint | None = None  # where nothing is built
    order_lead_h: float | None = None  # from the order of the kit to its delivery
    codes: str = ""  # the place whose codes come first, as the job file names it
    units: Units = Units.US  # the measures that readers are shown first
    rates: Rates = field(default_factory=Rates)
    air_months: tuple[tuple[int, DayNight], ...] = ()  # instead of `air`, by month
    outside: DayNight | None = None  # the air outside, where a climate is given
    outside_file: str | None = None  # a record or forecast of it
    air_m_s: float = 0.0  # moved over the coats
    wall_colder_delta_k: float = 0.0  # how much colder the wall is than the room
    climate: Climate | None = None  # what makes the room's air out of it
    products: tuple[Product, ...] = ()  # the user's own, from data sheets
    own_rates: tuple[OwnRate, ...] = ()
    own_supplies: tuple[OwnSupply, ...] = ()
    own_odds: tuple[tuple[str, float | Factor], ...] = ()  # by their names in `[odds]`
    own_pace: tuple[tuple[str, Factor], ...] = ()  # by kind of work
    own_waits: tuple[tuple[str, Factor], ...] = ()  # by product
    held: tuple[HeldBay, ...] = ()  # by what was logged
    shows: tuple[Shows, ...] = ()  # joints that were seen, as they were logged
    learned_pace: tuple[tuple[str, Factor], ...] = ()  # by kind of work, from the log
    learned_waits: tuple[tuple[str, Factor], ...] = ()  # by product, from the log
    defaults_used: tuple[str, ...] = ()  # "kit.radius: 24 in", for the report
