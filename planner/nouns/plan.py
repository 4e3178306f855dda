"""The nouns of a finished plan, frozen; instants are UTC, spans half-open.

This is what `plan.json` holds and all reports are made from. A plan holds stages; the
ids of its tasks and bays begin with the id of their stage, as `ids` says.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime

from planner.measures import Units
from planner.nouns.ids import find_id, is_of, short_id
from planner.nouns.odds import PlannedReturn, Sureness
from planner.nouns.purchase import Cost, PlannedSupply, ToolDays
from planner.nouns.told.mark import PlanMark
from planner.nouns.told.saying import Saying
from planner.nouns.used import UsedProduct
from planner.nouns.work import ReturnKind

FORMAT_VERSION = 8

MADE_TO_BE_KEPT = "Made to be kept: "  # how remarks begin on what else was weighed
CUT_SHORT = "Cut short: "  # how the remark begins that says what was left out, and why
OWN_AIR = "Own air: "  # how the remark begins that says in which air a plan holds

Stretch = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTask:
    """A task in the plan: when, by whom, with what slack.

    `spans` are the stretches worked. `person_hours` are the work itself: each day of
    the team, what lies between two nights, begins with `set_up_h` hours in which it
    sets up and cleans up and that don't count; days that leave it no more aren't
    worked. `total_slack_min` is how long the task alone
    could slip before full service moves, `free_slack_min` before any other task does;
    `held_by` says in words what kept it from starting earlier; `touch_up_frac` is the
    chance, for each bay, that what it checks needs one more touch-up coat. `lifts`
    says in words what is lifted in it and by how many people; `lifters` is the most
    of them, and the least team. `stage` is the id of the stage that it is done for,
    also where it is done off the stage. `happened` is "done" or "begun" in a plan that
    was revised after it began: what is told of it until then is what was logged.
    """

    id: str
    stage: str
    title: str
    how: str
    phase: str
    bays: tuple[str, ...]
    start: datetime
    end: datetime
    spans: tuple[Stretch, ...]
    team: tuple[str, ...]
    lead: tuple[str, ...]
    help: tuple[str, ...]
    person_hours: float
    set_up_h: float
    elapsed_h: float
    worked_min: int
    quantity: str
    one_go: bool
    on_stage: bool
    loud: bool
    dusty: bool
    fumes: bool
    product: str | None
    dry_stage: str | None
    wet_m2: float
    total_slack_min: int
    free_slack_min: int
    held_by: str
    bring: tuple[str, ...]
    cautions: tuple[str, ...]
    source: str
    touch_up_frac: float = 0.0
    lifts: tuple[str, ...] = ()
    lifters: int = 0
    visit: bool = False
    happened: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWait:
    """A wait that begins at the end of `task`, in the air of its own hours.

    `ready` is planned with the job's margin; `likely` is without it. `air_c` and
    `humidity_pct` are the means over the wait. `covered_by` are the products of coats
    laid over it before it was dry, whose water has to leave as well.
    """

    task: str
    product: str
    product_title: str
    stage: str
    way: str
    begins: datetime
    ready: datetime
    likely: datetime
    air_c: float
    humidity_pct: float
    source: str
    source_tag: str
    covered_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLink:
    """What a task follows and why; with the stage of hardening waited for, if any."""

    before: str
    after: str
    reason: str
    product: str | None
    stage: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWindow:
    """The time within which `after` must begin to cover `before`, or it is sanded.

    `closes` is null where that lies beyond the plan's grid. `sanded_again` names the
    task that is done because the window couldn't be kept; null where it is.
    """

    before: str
    after: str
    product: str
    latest: str
    closes: datetime | None
    sanded_again: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainStep:
    """One step of what holds the date, in order of time.

    A task of it is binding if its total slack is zero; a slip of the others is hidden
    so far, by a night or something else that comes after them.

    `task` could not start because of `because` (words) from `held_from`, until its
    start or the next step of the same task. `by` is what held it: a task, a person
    or a fact, as `cause` says.
    """

    task: str
    cause: str
    by: str
    because: str
    held_from: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnTerm:
    """One thing that a return waits for: a task and a stage of hardening after it."""

    returning: ReturnKind
    task: str
    product: str | None
    stage: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptApart:
    """`other` overlaps neither `task` nor the wait after it that is named."""

    task: str
    other: str
    product: str | None
    stage: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureShare:
    """A part of the closure, in minutes; the shares add up to the closure."""

    part: str
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AimOutcome:
    """What was reached for an aim, in words, and whether better can exist."""

    aim: str
    words: str
    value: int
    bound: int
    proven: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A closed stretch and its reason in words."""

    start: datetime
    end: datetime
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Crewmate:
    """One of the crew: trades, open hours, shifts, what closes them, hours worked.

    `idle_min` are minutes without work between the first and the last work of a
    shift: the person waits there and is paid. Breaks and what the person's calendar
    takes are not among them. Where shifts lie nearer than `rest_h`, `rests` says when
    the person rests between them: `rest_h` from the last work on, if that reaches into
    the next shift, and as long up to the next work, if that reaches into the shift
    before. A team may stand idle in the rest of one of it. `language` is the one in
    which the person is told things, a tag of BCP 47.
    """

    id: str
    name: str
    trades: tuple[str, ...]
    rest_h: float
    open: tuple[Stretch, ...]
    shifts: tuple[Stretch, ...]
    rests: tuple[Stretch, ...]
    taken: tuple[Taken, ...]
    worked_min: int
    idle_min: int
    days_called: int
    language: str = "en"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Air as it was read in the room."""

    when: datetime
    air_c: float
    humidity_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AirSeries:
    """The room's air that the plan assumed: one value for each tick from `start`.

    It lasts until the last moment that a wait, a working return or a window tells, so
    that each can be worked out again.
    `changes_per_h` is how often the room's air is changed in an hour; `readings` are
    those that fall within the series. The coldest wall is `wall_colder_delta_k` colder
    than the room: coats dry, and limits hold, by it. [K].
    """

    start: datetime
    tick_minutes: int
    air_c: tuple[float, ...]
    humidity_pct: tuple[float, ...]
    changes_per_h: tuple[float, ...]
    wall_colder_delta_k: float
    readings: tuple[Reading, ...]
    origin: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reminder:
    """What is to be done before, during or after the work, and is no task of the crew.

    `day` is the day by which it is done, or from which it holds; null where it has none.
    """

    id: str
    when: str  # "before", "during" or "after"
    day: date | None
    title: str
    words: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedBay:
    """A bay's id and name, in the order of the room."""

    id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStage:
    """One build on one stage: when it is closed, when it is back, what closes it.

    `id` names the stage within the plan, and the ids of its tasks and bays begin with
    it. `job_id` names the job for ever: the stage's calendar entries are known by it.
    `closure` is that of the working plan; `promised_closure` is what is booked.
    `return_terms` are what each return waits for, `chain` is what holds its date and
    `division` how the hours of its closure divide. `shut` is when the building is.
    """

    id: str
    job_id: str
    name: str
    closure: Stretch
    returns: tuple[PlannedReturn, ...]
    sureness: Sureness
    return_terms: tuple[ReturnTerm, ...]
    bays: tuple[PlannedBay, ...]
    chain: tuple[ChainStep, ...]
    division: tuple[ClosureShare, ...]
    bookings: tuple[Taken, ...]
    quiet: tuple[Taken, ...]
    shut: tuple[Stretch, ...]
    air: AirSeries
    address: str = ""

    def returning(self, kind: ReturnKind) -> PlannedReturn:
        """Return the return to service of a kind."""
        return next(r for r in self.returns if r.kind is kind)

    @property
    def promised_closure(self) -> Stretch:
        """From the first work on the stage to the promise of full service.

        Where that is later than was looked at, until as far as was looked.
        """
        promise = self.returning(ReturnKind.FULL_SERVICE).promise
        return self.closure[0], promise or self.sureness.looked_until


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Everything about a plan that the reports and an outside checker need.

    `plan_id` names the plan and stays the same when it is planned again; the
    `fingerprint` is of all inputs and the program's version. `sayings` are its sentences
    that other languages of the crew can't find whole. Planning makes plans of
    one stage; what people share (crew, products, purchases, money) is the plan's.
    """

    format_version: int
    plan_id: str
    job: str
    zone: str
    program: str
    solver: str
    fingerprint: str
    grid_start: datetime
    grid_ticks: int
    tick_minutes: int
    margin_frac: float
    stages: tuple[PlannedStage, ...]
    tasks: tuple[PlannedTask, ...]
    waits: tuple[PlannedWait, ...]
    products: tuple[UsedProduct, ...]
    links: tuple[PlannedLink, ...]
    apart: tuple[KeptApart, ...]
    windows: tuple[PlannedWindow, ...]
    aims: tuple[AimOutcome, ...]
    stopped: str
    crew: tuple[Crewmate, ...]
    cost: Cost
    supplies: tuple[PlannedSupply, ...]
    tools: tuple[ToolDays, ...]
    assumptions: tuple[str, ...]
    remarks: tuple[str, ...]
    reminders: tuple[Reminder, ...] = ()
    codes: str = ""  # the place whose codes come first; none: wherever the site is
    units: Units = Units.US  # the measures that readers are shown first
    sayings: tuple[Saying, ...] = ()
    entries: str = "tasks"  # or "shifts": what an entry of a person's calendar is
    mark: PlanMark | None = None  # from its first writing on

    def __post_init__(self) -> None:
        for what in ("id", "job_id"):
            found = Counter(getattr(s, what) for s in self.stages)
            if twice := [name for name, count in found.items() if count > 1]:
                raise ValueError(f"stages: {what} {twice[0]!r} is used twice")
        known = {s.id for s in self.stages}
        for task in self.tasks:
            if task.stage not in known or not is_of(task.stage, task.id):
                raise ValueError(f"tasks: {task.id!r} is of none of the stages")

    @property
    def stage(self) -> PlannedStage:
        """The stage of a plan that has only one, or a ValueError."""
        (only,) = self.stages
        return only

    @property
    def made_to_be_kept(self) -> bool:
        """Whether this plan was chosen over the one that returns the earliest."""
        return any(r.startswith(MADE_TO_BE_KEPT) for r in self.remarks)

    def stage_of(self, task: PlannedTask) -> PlannedStage:
        """Return the stage that a task is done for."""
        return next(s for s in self.stages if s.id == task.stage)

    def task(self, said: str) -> PlannedTask:
        """Return the task of an id, which may leave its stage out where one has it."""
        id_ = find_id(said, (t.id for t in self.tasks))
        return next(t for t in self.tasks if t.id == id_)

    def short_id(self, task: str) -> str:
        """Return a task's id as people say it, its stage left out where one has it."""
        return short_id(task, (t.id for t in self.tasks))
