"""The job file: TOML in people's words becomes one Job, or all its faults at once.

Each section is checked by a model of its own (`job_schema`), so that a fault in one
doesn't hide those of another; what must fit together across sections is checked
last (`job_checks`), on the sections that stand.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel

from planner.errors import Fault, JobFileError
from planner.files.job import checks, own_values, text
from planner.files.job import methods as job_methods
from planner.files.job.changes import Changes, laid
from planner.files.job.defaults import WITH_DEFAULTS, defaults_used
from planner.files.job.faults import SectionReader, texts_of
from planner.files.job.keys.unknown import unknown_hint
from planner.files.job.room_checks import check_corner_keys
from planner.files.job.sections.schema import (
    LISTS,
    SECTIONS,
    CalendarsSection,
    KitSection,
    MethodsSection,
    PersonSection,
    RatesSection,
    StageSection,
    SurveySection,
)
from planner.files.job.sections.schema_air import (
    MONTHS,
    DayNightSection,
    HalfSection,
    RoomSection,
)
from planner.files.job.sections.section import id_of
from planner.files.plain import PlainFileError, read_plain
from planner.files.web import addresses
from planner.measures import mostly
from planner.nouns.air import Climate, DayNight, Dehumidifier, Thermostat, Ventilation
from planner.nouns.ids import slug
from planner.nouns.job import (
    Behind,
    CrewMember,
    Job,
    Kit,
    Methods,
    Movable,
    Rates,
    Run,
    SecondColour,
    Stage,
    Survey,
)


def _day_night(air: DayNightSection) -> DayNight:
    day = air.day or HalfSection.model_construct(
        temperature=air.temperature, humidity=air.humidity
    )
    night = air.night or day
    return DayNight(
        day_c=day.temperature,
        day_rh_pct=day.humidity,
        night_c=night.temperature,
        night_rh_pct=night.humidity,
        day_from=air.day_hours[0],
        day_to=air.day_hours[1],
    )


def _climate(room: RoomSection | None) -> Climate | None:
    if room is None:
        return None
    return Climate(
        volume_m3=room.volume,
        leak_per_h=room.leak_per_hour,
        lag_h=room.lag,
        thermostats=(
            *(Thermostat(heat_to_c=h.to, hours=h.hours) for h in room.heat),
            *(Thermostat(cool_to_c=c.to, hours=c.hours) for c in room.cool),
        ),
        ventilation=tuple(
            Ventilation(air_changes_per_h=v.changes_per_hour, hours=v.hours)
            for v in room.ventilation
        ),
        dehumidifiers=tuple(
            Dehumidifier(
                rated_l_per_day=d.rated,
                rated_c=d.rated_at,
                rated_rh_pct=d.rated_humidity,
                set_rh_pct=d.set_to,
                hours=d.hours,
                compressor=d.compressor,
            )
            for d in room.dehumidifier
        ),
    )


def _survey(survey: SurveySection) -> Survey:
    return Survey(
        done=survey.done,
        report=survey.report or "",
        located=survey.located,
        own_making=survey.own_making,
        results_h=survey.results,
        isolated_h=survey.isolated,
    )


REPAINT = "repaint"


def _fields(section: BaseModel, *leave_out: str) -> dict[str, Any]:
    return {
        k: getattr(section, k) for k in type(section).model_fields if k not in leave_out
    }


def _methods(methods: MethodsSection, runs: tuple[Run, ...]) -> Methods:
    second = methods.second_colour
    bays = {slug(r.name): r.id for r in runs}
    return Methods(
        **_fields(methods, "second_colour", "drying_coats"),
        drying_coats=job_methods.drying_coats(methods),
        second_colour=SecondColour(
            product=second.product,
            coats=second.coats,
            bays=tuple(bays.get(slug(n), slug(n)) for n in second.bays),
        )
        if second
        else None,
    )


def read_job(path: Path) -> Job:
    """Return the job that the file at `path` describes, as `job_of` does."""
    return job_of(load(path), path)


def load(path: Path) -> bytes:
    """Return the bytes of a job file.

    Raises
    ------
    JobFileError
        When it can't be read, isn't a plain file or is larger than a job can be.
    """
    try:
        return read_plain(path, most=text.BYTES_MAX)
    except PlainFileError as error:
        reader = SectionReader(path.name)
        reader.fault("file", str(error))
        raise JobFileError(reader.told(), file=str(path)) from None


def job_of(data: bytes, path: Path) -> Job:
    """Return the job that the bytes of the file at `path` describe.

    Calendar and reading files are named as absolute paths in the job; they are
    checked for being there, not read. Addresses of calendars aren't asked yet. A
    byte-order mark at the start is passed over.

    Raises
    ------
    JobFileError
        With every fault of the file: its place, the value seen, what is allowed.
    """
    return job_from(JobValues.of(data, path))


@dataclass(frozen=True, slots=True, kw_only=True)
class JobValues:
    """The values that a job file holds, with the faults of its text."""

    path: Path
    raw: Mapping[str, Any]
    faults: tuple[Fault, ...]

    @classmethod
    def of(cls, data: bytes, path: Path) -> "JobValues":
        """Return the values in the bytes of the file at `path`.

        Raises
        ------
        JobFileError
            When the bytes are no values of TOML, or none that can be worked with.
        """
        reader = SectionReader(path.name)
        raw = text.values_of(reader, data)
        if raw is None:
            raise JobFileError(reader.told(), file=str(path))
        return cls(path=path, raw=raw, faults=tuple(reader.faults))


def job_from(values: JobValues, changes: Sequence[Changes] = ()) -> Job:
    """Return the job that values describe, with changes laid over them.

    Raises
    ------
    JobFileError
        As `job_of`; a fault in what a change says has its place there.
    """
    path = values.path
    reader = SectionReader(path.name)
    reader.faults += values.faults
    reader.hide_links(values.raw)
    raw = laid(reader, values.raw, changes)
    reader.units = mostly(texts_of(raw))
    known = [*SECTIONS, *LISTS]
    for key in raw:
        if key not in known:
            reader.fault(key, "unknown section", unknown_hint(key, known))
    got: dict[str, Any] = {}
    for read, kinds in ((reader.section, SECTIONS), (reader.listed, LISTS)):
        for name, (model, needed) in kinds.items():
            left_out = kinds is LISTS or name in reader.places
            if name not in raw and needed and left_out:
                reader.fault(name, "is missing", f"the file needs a section {name}")
                got[name] = None
            else:  # of a section that isn't there, each needed key is missing
                empty: object = {} if kinds is SECTIONS else []
                got[name] = read(name, model, raw.get(name, empty))
    check_corner_keys(reader, raw)
    if REPAINT not in raw:
        got[REPAINT] = None  # a job is a repaint only if its file says so
    return _job(reader, path, got)


def _stage(stage: StageSection, runs: tuple[Run, ...]) -> Stage:
    return Stage(
        id=id_of(stage),
        name=stage.name,
        address=stage.address,
        runs=runs,
        corners=tuple(i for i, r in enumerate(stage.run) if r.meets is not None),
        ceiling_mm=stage.ceiling,
        wall=stage.wall,
        stud_spacing_mm=stage.stud_spacing,
        apron_mm=stage.apron,
        behind=tuple(
            Behind(
                what=b.what,
                run=next(r.id for r in runs if slug(r.name) == slug(b.run)),
                from_start_mm=b.from_start,
                height_mm=b.height,
            )
            for b in stage.behind
        ),
    )


def _kit(kit: KitSection) -> Kit:
    return Kit(
        module_width_mm=kit.module_width,
        radius_mm=kit.radius,
        module_mass_kg=kit.module_mass,
        straight_height_mm=kit.straight_height,
        corner_height_mm=kit.corner_height or 0.0,
        corner_leg_mm=kit.corner_leg or 0.0,
        upright_height_mm=kit.upright_height or 0.0,
        least_cut_mm=kit.least_cut,
        drying_times=kit.drying_times,
    )


def _rates(rates: RatesSection) -> Rates:
    return Rates(
        currency=rates.currency,
        stage_per_day=rates.stage_per_day,
        labour_per_h=rates.labour_per_hour,
    )


def _crew_member(person: PersonSection, found: Callable[[str], str]) -> CrewMember:
    return CrewMember(
        id=id_of(person),
        name=person.name,
        trades=person.trades,
        shifts=person.shifts,
        rest_h=person.rest,
        calendar=found(person.calendar) if person.calendar else None,
        rate_per_h=person.rate,
        mail=person.mail,
        language=person.language,
    )


def _calendars(
    stage: StageSection, calendars: CalendarsSection, found: Callable[[str], str]
) -> dict[str, Any]:
    """Return what a job says of its stage's calendars, and of reading all of them."""
    return {
        "bookings": tuple(found(n) for n in stage.bookings),
        "quiet": tuple(found(n) for n in stage.quiet),
        "holidays": tuple(found(n) for n in stage.holidays),
        "keep_for_h": calendars.keep_for,
        "tentative_is_free": calendars.tentative == "free",
        "entries": calendars.entries,
        "leave_out": tuple((found(x.file), x.uid) for x in calendars.leave_out),
        "movable": tuple(
            Movable(file=found(x.file), uid=x.uid, cost=x.costs)
            for x in calendars.movable
        ),
    }


def _runs(stage: StageSection) -> tuple[Run, ...]:
    return tuple(
        Run(id=id_of(r), name=r.name, length_mm=r.length, first_stud_mm=r.first_stud)
        for r in stage.run
    )


def _job(reader: SectionReader, path: Path, got: dict[str, Any]) -> Job:
    """Return the job from its sections, or raise all faults found by now."""
    folder = path.resolve().parent
    labour, listed = got["labour"], got["product"]
    own = own_values.own_products(reader, listed)
    own_rates = own_values.own_rates(reader, labour)
    own_supplies = own_values.own_supplies(reader, got["supply"])
    checks.check_all(reader, folder, got, own)
    if reader.faults:
        raise JobFileError(reader.told(), file=str(path))
    job, stage, kit, methods = got["job"], got["stage"], got["kit"], got["methods"]
    crew, air = got["crew"], got["air"]

    runs, painted = _runs(stage), job_methods.repaint_of(got[REPAINT])
    record = air.outside.record if air.outside else None

    def found(name: str) -> str:
        return name if addresses.is_address(name) else str((folder / name).resolve())

    return Job(
        name=job.name,
        plan_id=id_of(job),
        file=str(path),
        zone=job.time_zone,
        earliest=job.earliest,
        stage=_stage(stage, runs),
        kit=_kit(kit),
        methods=_methods(methods, runs),
        crew=tuple(_crew_member(p, found) for p in crew),
        air=_day_night(air),
        air_file=found(air.readings) if air.readings else None,
        air_months=tuple((MONTHS.index(m.month) + 1, _day_night(m)) for m in air.month),
        outside=_day_night(air.outside) if air.outside else None,
        outside_file=found(record) if record else None,
        wall_colder_delta_k=air.wall_colder,
        air_m_s=air.moving,
        climate=_climate(air.room),
        margin_frac=job.drying_margin / 100.0,
        sure_percent=round(job.sure),
        tick_minutes=round(job.tick * 60),
        stage_hours=stage.hours,
        **_calendars(stage, got["calendars"], found),
        close_from=job.close_from,
        back_by=_end_of(job.back_by, job.time_zone),
        delivery=None if painted else _in_zone(job.delivery, job.time_zone),
        repaint=painted,
        order_lead_h=None if painted else job.order_lead,
        codes=job.codes or "",
        units=job.units or reader.units,
        survey=_survey(got["survey"]),
        rates=_rates(got["rates"]),
        products=own,
        own_rates=own_rates,
        own_supplies=own_supplies,
        own_odds=got["odds"].own,
        own_pace=own_values.own_pace(labour),
        own_waits=own_values.own_waits(listed),
        defaults_used=defaults_used({k: got[k] for k in WITH_DEFAULTS}, reader.units),
    )


def _end_of(said: date | None, zone: ZoneInfo) -> datetime | None:
    """Return a time as the site means it; a day is meant until it ends."""
    if said is None or isinstance(said, datetime):
        return _in_zone(said, zone)
    return datetime.combine(said + timedelta(days=1), time(), tzinfo=zone)


def _in_zone(when: datetime | None, zone: ZoneInfo) -> datetime | None:
    """Return a time as the site means it: without a zone it is the site's own."""
    if when is None:
        return None
    return when if when.tzinfo else when.replace(tzinfo=zone)
