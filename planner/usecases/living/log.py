"""The use case of `log`: write down what happened on a job, and show what was.

Nothing is planned, and no calendar is read: at the wall, a link that doesn't answer
must not keep anybody from logging.
"""

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from planner import units
from planner.errors import PlannerError
from planner.files.job.jobfile import read_job
from planner.files.logbook.appending import append, log_of, read_log
from planner.files.logbook.lines import line_of, retaken, with_id
from planner.files.logbook.moments import moment_said, stretch_said, until_said
from planner.living.doubts import doubts, doubts_of
from planner.living.known import Known, known_of, with_patches
from planner.nouns.happened import (
    OF_BAYS,
    OF_TASKS,
    OF_WORDS,
    STRETCHES,
    Happening,
    Logbook,
    OnFloor,
    What,
)
from planner.nouns.ids import id_on
from planner.trade.data import materials
from planner.trade.takeoff import take_off
from planner.trade.work import work

WHOLE_DAYS = (What.MOISTURE, What.DAMAGED)  # until a day: until it is over
ANYWAY = "put it right, or log it all the same with --anyway"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What somebody said happened, in their own words, as the command line gives it."""

    what: str
    about: str = ""
    at: str = "now"
    start: str | None = None
    until: str | None = None
    by: tuple[str, ...] = ()
    left: str | None = None
    temperature: str | None = None
    humidity: str | None = None
    on_floor: tuple[str, ...] = ()
    words: str = ""
    insisted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownLog:
    """A job's log as it is shown: where it stands, what counts, what is doubted."""

    path: Path
    book: Logbook
    known: Known
    doubts: Mapping[str, tuple[str, ...]]
    events: tuple[Happening, ...]


def known_job(path: Path) -> Known:
    """Return what the log of a job may speak of, from its file and what is in it already.

    Raises
    ------
    JobFileError
        With every fault of the job file.
    """
    job = read_job(path)
    takeoff = take_off(job, ids=tuple(run.id for run in job.stage.runs))
    known = known_of(job, work(job, takeoff, materials.merged(job.products)))
    return with_patches(known, read_log(log_of(path)))


def shown(path: Path) -> ShownLog:
    """Return a job's log."""
    known, log = known_job(path), log_of(path)
    book = read_log(log)
    return ShownLog(
        path=log,
        book=book,
        known=known,
        doubts=doubts_of(book, known),
        events=book.events,
    )


def log(path: Path, said: Said, *, now: datetime) -> ShownLog:
    """Add an event to a job's log; return the log with that event alone.

    Raises
    ------
    PlannerError
        When it can't be understood, or is questioned and wasn't insisted on; nothing
        is logged then.
    """
    known, place = known_job(path), log_of(path)
    book = read_log(place)
    event = _event(said, known, now)
    found = doubts(event, book.counting, known)
    if found and not said.insisted:
        raise PlannerError(
            f"this can't be, so it wasn't logged: {'; '.join(found)}",
            where=f"{event.what} {said.about}".strip(),
            hint=ANYWAY,
        )
    append(place, line_of(event))
    return ShownLog(
        path=place,
        book=book,
        known=known,
        doubts={event.id: found} if found else {},
        events=(event,),
    )


def undo(path: Path, id_: str, *, by: tuple[str, ...], now: datetime) -> ShownLog:
    """Log that an event doesn't count; "last": the last one logged that does.

    With an event of a logger's file all go that were read from it then.

    Raises
    ------
    PlannerError
        When there is no such event, or it doesn't count any more as it is.
    """
    known, place = known_job(path), log_of(path)
    book = read_log(place)
    counting = [e for e in book.events if e.id not in book.undone]
    if id_ == "last":
        plain = [e for e in counting if e.what is not What.UNDO]
        id_ = sorted(plain, key=lambda e: e.logged)[-1].id if plain else ""
    if id_ not in {e.id for e in counting}:
        raise PlannerError(
            "there is no such event that counts" if id_ else "nothing is logged yet",
            where=f"--undo {id_}".strip(),
            hint=f"the ids of events stand last in {place}",
        )
    people = people_meant(by, known)
    here = now.astimezone(known.zone)
    meant = next(e for e in counting if e.id == id_)
    together = [e for e in counting if e.reading_of and _batch(e) == _batch(meant)]
    events = tuple(retaken(e, e.id, here, people) for e in together or [meant])
    append(place, *map(line_of, events))
    return ShownLog(
        path=place,
        book=Logbook(events=(*book.events, *events)),
        known=known,
        doubts={},
        events=events,
    )


def _batch(event: Happening) -> tuple[str, datetime]:
    return event.reading_of, event.logged


def _event(said: Said, known: Known, now: datetime) -> Happening:
    """Return what was said as an event, with its id."""
    what = _what(said.what)
    at, start, until = _moments(what, said, known, now)
    about = _about(what, said, known)
    in_words = what in OF_WORDS and not about
    words = said.about if in_words else said.words
    if in_words and said.words:
        words = f"{words}: {said.words}".removeprefix(": ")
    if what in (What.NOTE, What.MOISTURE) and not words:
        such = 'note "lift stuck"' if what is What.NOTE else 'moisture "slab 82 % RH"'
        raise PlannerError("says nothing", where=what, hint=f"such as: {such}")
    try:
        return with_id(
            Happening(
                id="",
                what=what,
                about=about,
                logged=now.astimezone(known.zone).replace(microsecond=0),
                by=people_meant(said.by, known),
                words=words,
                insisted=said.insisted,
                at=at,
                start=start,
                until=until,
                left_h=_value(units.hours, said.left, "--left"),
                air_c=_value(units.temperature_c, said.temperature, "--temp"),
                humidity_pct=_value(units.percent, said.humidity, "--rh"),
                on_floor=tuple(map(_on_floor, said.on_floor)),
            )
        )
    except ValueError as error:
        raise PlannerError(str(error), where=what) from None


def _what(said: str) -> What:
    kinds = [w.value for w in What if w is not What.UNDO]
    if said.lower() in kinds:
        return What(said.lower())
    near = difflib.get_close_matches(said.lower(), kinds, n=1)
    hint = f'did you mean "{near[0]}"?' if near else f"there are: {', '.join(kinds)}"
    raise PlannerError(f'"{said}" is no kind of event', hint=hint)


def _on_floor(said: str) -> OnFloor:
    if said.lower() in list(OnFloor):
        return OnFloor(said.lower())
    raise PlannerError(
        f'"{said}" is nothing that is known to lie on a floor',
        where="--floor",
        hint=f"there are: {', '.join(OnFloor)}",
    )


def _moments(
    what: What, said: Said, known: Known, now: datetime
) -> tuple[datetime, datetime | None, datetime | None]:
    """Return when an event was, and from when until when what it tells of is."""
    zone, where = known.zone, "--at"
    start = until = None
    try:
        at = moment_said(said.at, now=now, zone=zone)
        if what in STRETCHES:
            where = "--from, --until"
            if said.start is None or said.until is None:
                raise ValueError("from when until when? Say both")
            past = what is What.USED
            start, until = stretch_said(
                said.start, said.until, now=now, zone=zone, ahead=not past
            )
        elif said.until is not None:
            where = "--until"
            if what in WHOLE_DAYS:
                until = until_said(said.until, now=now, zone=zone)
            else:
                until = moment_said(said.until, now=now, zone=zone, ahead=True)
    except ValueError as error:
        raise PlannerError(str(error), where=where) from None
    return at, start, until


def _about(what: What, said: Said, known: Known) -> str:
    """Return the id of what an event is about; empty where words say it."""
    names = known.names_for(what)
    if what is What.MOISTURE:
        return known.meant(what, said.about) or ""
    if what in OF_WORDS or (what not in OF_TASKS | OF_BAYS and what is not What.AWAY):
        return ""
    found = known.meant(what, said.about)
    if found is not None:
        return found
    kind = "person" if what is What.AWAY else "bay" if what in OF_BAYS else "task"
    if said.insisted and said.about:
        stage = next(iter(known.bays)).partition(":")[0]
        return said.about if what is What.AWAY else id_on(stage, said.about)
    short = [n.rpartition(":")[2] for n in names]
    near = difflib.get_close_matches(said.about, short, n=3)
    hint = (
        f"did you mean {' or '.join(near)}?" if near else f"there: {', '.join(short)}"
    )
    raise PlannerError(f'there is no {kind} "{said.about}"', where=what, hint=hint)


def people_meant(said: tuple[str, ...], known: Known) -> tuple[str, ...]:
    """Return the ids of the people that somebody named, several with commas.

    Raises
    ------
    PlannerError
        When one of them isn't of the crew.
    """
    out = []
    for name in (n.strip() for one in said for n in one.split(",")):
        id_ = known.meant(What.AWAY, name)
        if id_ is None:
            raise PlannerError(
                f'nobody of the crew is called "{name}"',
                where="--by",
                hint=f"there: {', '.join(known.people.values())}",
            )
        out.append(id_)
    return tuple(out)


def _value(read: Callable[[str], float], text: str | None, where: str) -> float | None:
    try:
        return None if text is None else read(text)
    except ValueError as error:
        raise PlannerError(str(error), where=where) from None
