"""What must fit together across the sections of a job file."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from planner.files.job.faults import SectionReader, standing
from planner.files.job.methods import check_methods
from planner.files.job.room_checks import check_behind, check_geometry, check_runs
from planner.files.job.sections.schema import (
    JobSection,
    PersonSection,
    RepaintSection,
    StageSection,
    SurveySection,
)
from planner.files.job.sections.schema_air import AirSection, DayNightSection
from planner.files.job.sections.section import id_of
from planner.files.plain import other_kind
from planner.files.web import addresses
from planner.nouns import product
from planner.nouns.ids import slug

A_YEAR = timedelta(days=365)  # within what is planned ahead at most, 53 weeks


def check_crew(reader: SectionReader, crew: Sequence[PersonSection | None]) -> None:
    """Note an empty crew and names that can't be told apart."""
    if not crew:
        reader.fault("crew", "nobody is listed", "list each person as [[crew]]")
    ids = {""}
    for i, person in standing(crew):
        if id_of(person) in ids:
            field = "name" if person.id is None else "id"
            reader.fault(
                f"crew.{i}.{field}",
                f'"{person.id or person.name}" is used twice or contains no letter',
                f"give each of the crew {'a name' if person.id is None else 'an id'} of "
                "their own",
            )
        ids.add(id_of(person))


def check_air(reader: SectionReader, air: AirSection) -> None:
    """Note assumed air that is given twice or by halves, and air without a room."""
    _check_halves(reader, "air", air)
    for i, month in enumerate(air.month, 1):
        _check_halves(reader, f"air.month.{i}", month)
        if month.month in [m.month for m in air.month[: i - 1]]:
            reader.fault(f"air.month.{i}.month", f'"{month.month}" is given twice')
    if air.outside is not None:
        _check_halves(reader, "air.outside", air.outside)
        if air.room is None:
            reader.fault(
                "air.outside",
                "the air outside changes nothing as long as the room isn't described",
                "describe the room as [air.room] with its volume",
            )


def _check_halves(reader: SectionReader, place: str, air: DayNightSection) -> None:
    if (air.day is None) != (air.night is None):
        reader.fault(place, "give both day and night, or neither")
    if air.day is not None and {"temperature", "humidity"} & air.model_fields_set:
        reader.fault(
            place, "give temperature and humidity, or day and night, but not both"
        )


def check_file(
    reader: SectionReader,
    folder: Path,
    place: str,
    name: str,
    *,
    or_folder: bool = False,
) -> None:
    """Note a file that is named but isn't there, or is no file."""
    if addresses.is_address(name):
        reader.fault(
            place,
            "this is a link, and only calendars are fetched from links",
            "give a file",
        )
        return
    kind = _kind(folder / name)
    if kind is None:
        reader.fault(place, *_missing(folder, name))
    elif kind and not (or_folder and (folder / name).is_dir()):
        reader.fault(place, f'"{name}" is {kind}, not a file')


def _missing(folder: Path, name: str) -> tuple[str, str]:
    """Return that a file isn't there, and what to do; what may be a link isn't shown."""
    if addresses.is_like_link(name):
        return (
            f"{addresses.shown(name)} is neither a file that is there nor a whole link",
            "a link begins with https:// or webcal://, with two slashes",
        )
    return (
        f'"{name}" is not there',
        f"looked for {folder / name}; paths start at the job file's folder",
    )


def _kind(path: Path) -> str | None:
    """Return what is there instead of a file, None for nothing that can be looked at.

    No file can have some names, such as one of a thousand letters.
    """
    try:
        return other_kind(path)
    except (OSError, ValueError):
        return None


def check_days(reader: SectionReader, job: JobSection) -> None:
    """Note a stage that may be closed too late to be planned, or is wanted back before."""
    if job.close_from is not None and job.close_from > job.earliest + A_YEAR:
        reader.fault(
            "job.close_from",
            f"{job.close_from} is more than a year after job.earliest, {job.earliest}",
            "give a later job.earliest: no plan looks further ahead",
        )
    if job.back_by is None:
        return
    for field in ("earliest", "close_from"):
        first = getattr(job, field)
        last = job.back_by.date() if isinstance(job.back_by, datetime) else job.back_by
        if first is not None and last < first:
            reader.fault("job.back_by", f"{job.back_by} is before job.{field}, {first}")


def check_calendars(
    reader: SectionReader,
    folder: Path,
    got: Mapping[str, Any],
    named: Sequence[str],
    bookings: Sequence[str],
) -> None:
    """Note what is left out of calendars, or moved in them, that the job doesn't have."""

    def whole(name: str) -> str:
        if addresses.is_address(name) or _kind(folder / name) is None:
            return name
        return str((folder / name).resolve())

    calendars = got["calendars"]
    for key, entries, there, what in (
        ("leave_out", calendars.leave_out, named, "none of the calendars of this job"),
        ("movable", calendars.movable, bookings, "none of the stage's bookings"),
    ):
        known = " or ".join(f'"{addresses.hidden(n)}"' for n in there[:2])
        for i, one in enumerate(entries, 1):
            if whole(one.file) not in {whole(n) for n in there}:
                reader.fault(
                    f"calendars.{key}.{i}.file",
                    f'"{addresses.hidden(one.file)}" is {what}',
                    f"write it as it stands there: {known or 'there are none'}",
                )
    said = [(whole(one.file), one.uid) for one in calendars.movable]
    for i, one in enumerate(said, 1):
        if one in said[: i - 1]:
            reader.fault(f"calendars.movable.{i}.uid", f'"{one[1]}" is named twice')


def check_calendar(reader: SectionReader, folder: Path, place: str, name: str) -> None:
    """Note a calendar that isn't there, or an address that can't be fetched."""
    if not addresses.is_address(name):
        check_file(reader, folder, place, name, or_folder=True)
    elif fault := addresses.fault_of(name):
        reader.fault(place, fault)


def check_survey(reader: SectionReader, survey: SurveySection) -> None:
    """Note a survey without its report, or a report of none."""
    if survey.done is not None and survey.report is None:
        reader.fault(
            "survey.report",
            "is missing",
            "name the report that says what was found: who, when, its number",
        )
    if survey.report is not None and survey.done is None:
        reader.fault(
            "survey.done",
            "is missing",
            "give the day on which wall and floor were sampled: done = 2027-01-12",
        )


def check_repaint(
    reader: SectionReader, repaint: RepaintSection, stage: StageSection
) -> None:
    """Note a floor to be painted again where there is none."""
    if repaint.area == "floor" and not stage.apron:
        reader.fault(
            "repaint.area",
            '"floor", but stage.apron is 0: there is no floor to paint',
            'give stage.apron, or choose "all"',
        )


def check_all(
    reader: SectionReader,
    folder: Path,
    got: Mapping[str, Any],
    own: tuple[product.Product, ...],
) -> None:
    """Note every fault across sections; a section that is None didn't stand."""
    stage, kit, methods = got["stage"], got["kit"], got["methods"]
    crew, air = got["crew"], got["air"]
    named: list[str] = []
    job = got["job"]
    for what, section in (("job", job), ("stage", stage)):
        if section is not None and not id_of(section):
            reader.fault(
                f"{what}.name",
                f'"{section.name}" contains no letter',
                f'give the {what} an id too, such as id = "north-wall"',
            )
    if job is not None:
        check_days(reader, job)
    if stage is not None:
        check_runs(reader, stage)
        check_behind(reader, stage)
        for field in ("bookings", "quiet", "holidays"):
            for i, name in enumerate(getattr(stage, field), 1):
                named.append(name)
                check_calendar(reader, folder, f"stage.{field}.{i}", name)
        if kit is not None:
            check_geometry(reader, stage, kit, methods)
    if crew is not None:
        check_crew(reader, crew)
        for i, person in standing(crew):
            if person.calendar:
                named.append(person.calendar)
                check_calendar(reader, folder, f"crew.{i}.calendar", person.calendar)
        if stage is not None and got["calendars"] is not None:
            check_calendars(reader, folder, got, named, stage.bookings)
    if got["repaint"] is not None and stage is not None:
        check_repaint(reader, got["repaint"], stage)
    if got["survey"] is not None:
        check_survey(reader, got["survey"])
    if methods is not None:
        check_methods(reader, methods, stage, own, slug)
    if air is not None:
        check_air(reader, air)
        if air.readings:
            check_file(reader, folder, "air.readings", air.readings)
        if air.outside and air.outside.record:
            check_file(reader, folder, "air.outside.record", air.outside.record)
