"""What must fit together across the sections of a job file."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from planner.files.job.faults import SectionReader, standing
from planner.files.job.methods import check_methods
from planner.files.job.schema import (
    JobSection,
    KitSection,
    MethodsSection,
    PersonSection,
    StageSection,
    SurveySection,
)
from planner.files.job.schema_air import AirSection, DayNightSection
from planner.files.plain import other_kind
from planner.files.web import addresses
from planner.nouns import product
from planner.nouns.ids import slug
from planner.trade.takeoff import corner_ids


class Named(Protocol):
    """A section with a name, and with an id if the file gives one."""

    @property
    def name(self) -> str:
        """The name that people read."""

    @property
    def id(self) -> str | None:
        """The id that stays when the name is written otherwise."""


def id_of(section: Named) -> str:
    """Return the id of a section: as given, else made of its name."""
    return section.id or slug(section.name)


def check_runs(reader: SectionReader, stage: StageSection) -> None:
    """Note runs whose names clash or whose corners lead nowhere."""
    names = [r.name for r in stage.run]
    slugs, ids = [slug(n) for n in names], [id_of(r) for r in stage.run]
    corners = corner_ids(sum(r.meets is not None for r in stage.run))
    for i, run in enumerate(stage.run):
        field = "name" if run.id is None else "id"
        place, value = f"stage.run.{i + 1}.{field}", run.id or run.name
        if slugs[i] in slugs[:i]:
            reader.fault(f"stage.run.{i + 1}.name", f'"{run.name}" is used twice')
        elif ids[i] in ids[:i]:
            reader.fault(place, f'"{value}" is used twice')
        if not ids[i] or {ids[i], slugs[i]} & {"apron", "all"}:
            reader.fault(place, f'"{value}" can\'t name a run')
        if ids[i] in corners:
            reader.fault(
                place,
                f'"{value}" is what a corner of this room is called',
                "give the run a name of its own, such as the wall it stands on",
            )
        meets = run.meets
        if meets is None:
            continue
        if i + 1 >= len(names) or meets != names[i + 1]:
            follower = f'"{names[i + 1]}"' if i + 1 < len(names) else "nothing"
            reader.fault(
                f"stage.run.{i + 1}.meets",
                f'"{meets}" is not the next run',
                f"a run meets the one listed after it; after it comes {follower}",
            )


STUDS_MM = 625.0  # 24 in, the widest framing of ASTM C840, from memory; metric 625


def check_geometry(
    reader: SectionReader,
    stage: StageSection,
    kit: KitSection,
    methods: MethodsSection | None,
) -> None:
    """Note a room that the kit's pieces don't fit."""
    cornered = any(r.meets is not None for r in stage.run)
    for i, run in enumerate(stage.run):
        before = i > 0 and stage.run[i - 1].meets is not None
        legs = kit.corner_leg * (int(before) + int(run.meets is not None))
        if legs and run.length < legs:
            reader.fault(
                f"stage.run.{i + 1}.length",
                f"{reader.units.length(run.length)} is shorter than the legs of its "
                f"corner pieces, {reader.units.length(legs)}",
            )
    if kit.least_cut >= kit.module_width:
        reader.fault(
            "kit.least_cut",
            f"{reader.units.length(kit.least_cut)} is not less than the width of a module, "
            f"{reader.units.length(kit.module_width)}",
        )
    _check_heights(reader, stage, kit, cornered=cornered)
    if cornered:
        _check_corner(reader, kit)
        _check_round(reader, stage, kit)
    if methods is not None and methods.backing == "inlaid" and stage.wall != "masonry":
        _check_studs(reader, stage)


def _check_heights(
    reader: SectionReader, stage: StageSection, kit: KitSection, *, cornered: bool
) -> None:
    tall = [("straight modules", kit.straight_height)]
    if cornered:
        tall.append(("corner piece, on which the uprights stand", kit.corner_height))
    name, highest = max(tall, key=lambda t: t[1])
    if stage.ceiling < highest:
        reader.fault(
            "stage.ceiling",
            f"{reader.units.length(stage.ceiling)} is lower than the kit's {name}, {reader.units.length(highest)}",
        )
    if kit.radius > kit.straight_height:
        reader.fault(
            "kit.radius",
            f"{reader.units.length(kit.radius)} is more than the height of the straight "
            f"modules, {reader.units.length(kit.straight_height)}",
        )


def _check_corner(reader: SectionReader, kit: KitSection) -> None:
    """Note a corner piece that can't turn the cove, or that runs can't meet at."""
    for field in ("corner_leg", "corner_height"):
        value = getattr(kit, field)
        if value < kit.radius:
            reader.fault(
                f"kit.{field}",
                f"{reader.units.length(value)} is less than the radius, {reader.units.length(kit.radius)}: "
                "the piece can't turn the corner",
            )
    if kit.radius <= kit.corner_leg < kit.straight_height:
        reader.fault(
            "kit.corner_leg",
            f"{reader.units.length(kit.corner_leg)} is less than the straight modules reach out on "
            f"the floor, {reader.units.length(kit.straight_height)}: those of two runs would overlap",
        )


def _check_round(reader: SectionReader, stage: StageSection, kit: KitSection) -> None:
    """Note a fourth run that comes round to the first and stands in its cove."""
    if len(stage.run) < 4 or any(r.meets is None for r in stage.run[:3]):
        return
    first, second, third, fourth = (r.length for r in stage.run)
    deep = kit.straight_height
    if third < first + deep and fourth > second - deep:
        reader.fault(
            "stage.run.4.length",
            f"{reader.units.length(fourth)} reaches into the cove of the first run",
            f"{reader.units.length(max(second - deep, 0.0))} at most keeps clear of it; inside corners "
            "all turn the same way",
        )


def _check_studs(reader: SectionReader, stage: StageSection) -> None:
    """Note studs that inlaid backing can't end on."""
    if stage.stud_spacing > STUDS_MM:
        reader.fault(
            "stage.stud_spacing",
            f"{reader.units.length(stage.stud_spacing)} is more than a strip of backing can span "
            f"from stud to stud, {reader.units.length(STUDS_MM)}",
            'add studs, or choose backing = "furred"',
        )
    for i, run in enumerate(stage.run):
        if run.first_stud > stage.stud_spacing:
            reader.fault(
                f"stage.run.{i + 1}.first_stud",
                f"{reader.units.length(run.first_stud)} is more than the spacing of the studs, "
                f"{reader.units.length(stage.stud_spacing)}: there would be another stud before it",
            )


def check_behind(reader: SectionReader, stage: StageSection) -> None:
    """Note what is said to lie behind a cove and can't be there."""
    runs = {slug(r.name): r for r in stage.run}
    for i, one in enumerate(stage.behind, 1):
        place = f"stage.behind.{i}"
        run = runs.get(slug(one.run))
        if run is None:
            names = ", ".join(r.name for r in stage.run)
            reader.fault(f"{place}.run", f'"{one.run}" is no run', f"known: {names}")
        elif one.from_start > run.length:
            reader.fault(
                f"{place}.from_start",
                f"{reader.units.length(one.from_start)} is past the end of {run.name}, "
                f"{reader.units.length(run.length)} long",
            )
        if one.height > stage.ceiling:
            reader.fault(
                f"{place}.height",
                f"{reader.units.length(one.height)} is above the ceiling, {reader.units.length(stage.ceiling)}",
            )


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
    """Note a day by which the stage is wanted back before it may be closed."""
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
