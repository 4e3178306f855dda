"""What happened on a job, as it was logged: events, and lines that can't be read.

Moments are at the site, with its offset; ids are those of a plan, so they begin with
the id of their stage (`ids`).
"""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class What(StrEnum):
    """The kinds of event; the word is the one that people write."""

    BEGUN = "begun"  # a task
    STOPPED = "stopped"  # a task, for now
    DONE = "done"  # a task
    WAITING = "waiting"  # a task that hadn't been begun by then
    DRY = "dry"  # the coat of a task
    WET = "wet"  # the coat of a task, found not dry
    SHOWS = "shows"  # a joint in a bay shows through: one more coat
    LATE = "late"  # the crates
    DAMAGED = "damaged"  # a piece, in a bay
    AWAY = "away"  # one of the crew
    BOOKED = "booked"  # the stage
    RELEASED = "released"  # a booking that isn't one any more
    QUIET = "quiet"  # hours in which nothing loud is done
    AIR = "air"  # as it was measured in the room
    MOISTURE = "moisture"  # of a surface or the slab, as it was measured
    USED = "used"  # the stage, by a production; with what on the floor
    PAINTED = "painted"  # floor and coves, so that wear begins anew
    NOTE = "note"
    UNDO = "undo"  # what another event says doesn't count


OF_TASKS = frozenset(
    {What.BEGUN, What.STOPPED, What.DONE, What.WAITING, What.DRY, What.WET}
)
OF_BAYS = frozenset({What.SHOWS, What.DAMAGED})
OF_WORDS = frozenset(
    {
        What.BOOKED,
        What.RELEASED,
        What.MOISTURE,
        What.NOTE,
        What.USED,
        What.PAINTED,
    }
)  # what they are about stands in words
READ_FROM = "read from "  # how the words of a data logger's readings begin
STRETCHES = frozenset({What.AWAY, What.BOOKED, What.RELEASED, What.QUIET, What.USED})


class OnFloor(StrEnum):
    """What lay on the floor, or was worn on it, while the stage was used."""

    OVERSHOES = "overshoes"
    PLASTIC = "plastic"


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """One thing that happened, or was heard of, at a moment.

    `id` is made of all the rest, so the same event logged in two copies of a log is
    one. `about` is the id of a task, a bay or a person, by `what`; for an undo it is
    that of the event which no longer counts. `start` and `until` bound a stretch;
    for crates that are late and for a damaged piece, `until` is when the next are to
    come. `on_floor` is what protected the floor of a stage that was used. `left_h` are hours of the team still to be worked. `insisted`: it was
    questioned, and kept.
    """

    id: str
    what: What
    at: datetime
    logged: datetime
    about: str = ""
    by: tuple[str, ...] = ()
    start: datetime | None = None
    until: datetime | None = None
    left_h: float | None = None
    air_c: float | None = None
    humidity_pct: float | None = None
    on_floor: tuple[OnFloor, ...] = ()
    words: str = ""
    insisted: bool = False

    def __post_init__(self) -> None:
        """Refuse moments without a zone, and stretches that run backwards."""
        for name in ("at", "logged", "start", "until"):
            moment = getattr(self, name)
            if moment is not None and moment.utcoffset() is None:
                raise ValueError(f"{name}: {moment} has no zone")
        if self.start is not None and self.until is not None:
            if self.start >= self.until:
                raise ValueError(f"from {self.start} is not before {self.until}")
        elif self.what in STRETCHES:
            raise ValueError(f"{self.what}: from when until when isn't said")
        if self.on_floor and self.what is not What.USED:
            raise ValueError(f"{self.what}: nothing lies on the floor for it")
        if self.left_h is not None and self.left_h < 0:
            raise ValueError(f"left: {self.left_h} h is less than nothing")
        if self.what is What.AIR and None in (self.air_c, self.humidity_pct):
            raise ValueError("air: temperature and humidity are both needed")
        if self.what is What.LATE and self.until is None:
            raise ValueError("late: until when isn't said")

    @property
    def reading_of(self) -> str:
        """The file of a data logger that it was read from; else empty."""
        given = self.what is What.AIR and self.words.startswith(READ_FROM)
        return self.words.removeprefix(READ_FROM) if given else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BrokenLine:
    """A line of a log that can't be read, or isn't as it was written; from 1."""

    number: int
    text: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Logbook:
    """All that was logged for a job, in the order of the file, and what is broken."""

    events: tuple[Happening, ...] = ()
    broken: tuple[BrokenLine, ...] = ()

    @property
    def undone(self) -> frozenset[str]:
        """The ids of the events that don't count any more; an undo can be undone."""
        gone: set[str] = set()
        # The last first; of two in the same second, the one further down in the file.
        for event in sorted(self.events, key=lambda e: e.logged)[::-1]:
            if event.what is What.UNDO and event.id not in gone:
                gone.add(event.about)
        return frozenset(gone)

    @property
    def counting(self) -> tuple[Happening, ...]:
        """What counts, in the order in which it was logged; undos are not among it."""
        undone = self.undone
        found = (e for e in self.events if e.what is not What.UNDO)
        return tuple(
            sorted((e for e in found if e.id not in undone), key=lambda e: e.logged)
        )

    @property
    def in_time(self) -> tuple[Happening, ...]:
        """What counts, in the order in which it happened."""
        return tuple(sorted(self.counting, key=lambda e: e.at))
