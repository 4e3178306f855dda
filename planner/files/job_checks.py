"""What must fit together across the sections of a job file."""

import difflib
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from planner import matter, units
from planner.files.job_faults import Reader
from planner.files.job_schema import (
    AirSection,
    DayNightSection,
    KitSection,
    MethodsSection,
    PersonSection,
    StageSection,
)
from planner.trade import materials


def slug(name: str) -> str:
    """Return a name as it stands in ids and file names: 'North wall' → 'north-wall'."""
    return re.sub(r"[^\w]+", "-", name.strip().lower()).strip("-")


def check_runs(reader: Reader, stage: StageSection) -> None:
    """Note runs whose names clash or whose corners lead nowhere."""
    names = [r.name for r in stage.run]
    ids = [slug(n) for n in names]
    for i, name in enumerate(names):
        if slug(name) in ids[:i]:
            reader.fault(f"stage.run.{i + 1}.name", f'"{name}" is used twice')
        if not slug(name) or slug(name) in ("apron", "all"):
            reader.fault(f"stage.run.{i + 1}.name", f'"{name}" can\'t name a run')
        meets = stage.run[i].meets
        if meets is None:
            continue
        if i + 1 >= len(names) or meets != names[i + 1]:
            follower = f'"{names[i + 1]}"' if i + 1 < len(names) else "nothing"
            reader.fault(
                f"stage.run.{i + 1}.meets",
                f'"{meets}" is not the next run',
                f"a run meets the one listed after it; after it comes {follower}",
            )


def check_geometry(reader: Reader, stage: StageSection, kit: KitSection) -> None:
    """Note a room that the kit's pieces don't fit."""
    for i, run in enumerate(stage.run):
        before = i > 0 and stage.run[i - 1].meets is not None
        legs = kit.corner_leg * (int(before) + int(run.meets is not None))
        if legs and run.length < legs:
            reader.fault(
                f"stage.run.{i + 1}.length",
                f"{units.length_words(run.length)} is shorter than the legs of its "
                f"corner pieces, {units.length_words(legs)}",
            )
    tall = kit.corner_height if any(r.meets for r in stage.run) else kit.straight_height
    if stage.ceiling < tall:
        reader.fault(
            "stage.ceiling",
            f"{units.length_words(stage.ceiling)} is lower than the kit's pieces, "
            f"{units.length_words(tall)}",
        )
    if kit.radius > kit.straight_height:
        reader.fault(
            "kit.radius",
            f"{units.length_words(kit.radius)} is more than the height of the straight "
            f"modules, {units.length_words(kit.straight_height)}",
        )


def check_crew(reader: Reader, crew: tuple[PersonSection, ...]) -> None:
    """Note an empty crew and names that can't be told apart."""
    if not crew:
        reader.fault("crew", "nobody is listed", "list each person as [[crew]]")
    ids = [slug(p.name) for p in crew]
    for i, person in enumerate(crew):
        if ids[i] in ids[:i] or not ids[i]:
            reader.fault(
                f"crew.{i + 1}.name",
                f'"{person.name}" is used twice or has no letters',
                "give each of the crew a name of their own",
            )


def check_methods(
    reader: Reader, methods: MethodsSection, own: tuple[matter.Product, ...]
) -> None:
    """Note products that aren't known, and joints without any compound."""
    known = materials.merged(own)
    kinds = {
        "setting": "setting compound",
        "topping": "drying compound",
        "primer": "primer",
        "colour": "colour",
        "adhesive": "adhesive",
        "mortar": "mortar",
        "foam": "foam",
        "bonding": "bonding agent",
    }
    for field, kind in kinds.items():
        value = getattr(methods, field)
        right = [p.id for p in known.values() if p.kind == kind]
        if value not in right:
            near = difflib.get_close_matches(value, right, n=1)
            reader.fault(
                f"methods.{field}",
                f'"{value}" is not a {kind} known here',
                f'did you mean "{near[0]}"?' if near else f"known: {', '.join(right)}",
            )
    if methods.setting_coats + methods.topping_coats == 0:
        reader.fault("methods", "setting_coats and topping_coats are both 0")


def check_air(reader: Reader, air: AirSection) -> None:
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
                "the air outside counts for nothing without a room",
                "describe the room as [air.room] with its volume",
            )


def _check_halves(reader: Reader, place: str, air: DayNightSection) -> None:
    if (air.day is None) != (air.night is None):
        reader.fault(place, "day and night come together or not at all")
    if air.day is not None and {"temperature", "humidity"} & air.model_fields_set:
        reader.fault(
            place, "give temperature and humidity, or day and night, but not both"
        )


def check_file(reader: Reader, folder: Path, place: str, name: str) -> None:
    """Note a file that is named but isn't there."""
    if "://" not in name and not (folder / name).exists():
        reader.fault(
            place,
            f'"{name}" is not there',
            f"looked for {folder / name}; paths start at the job file's folder",
        )


def check_masonry(reader: Reader, stage: StageSection, methods: MethodsSection) -> None:
    """Note a backing that the wall can't take."""
    if stage.wall == "masonry" and methods.backing == "inlaid":
        reader.fault(
            "methods.backing",
            '"inlaid" needs a board wall on studs; the wall is masonry',
            'choose "furred"',
        )


def check_all(
    reader: Reader,
    folder: Path,
    got: Mapping[str, Any],
    own: tuple[matter.Product, ...],
) -> None:
    """Note every fault across sections; a section that is None didn't stand."""
    stage, kit, methods = got["stage"], got["kit"], got["methods"]
    crew, air = got["crew"], got["air"]
    if stage is not None:
        check_runs(reader, stage)
        for field in ("bookings", "quiet", "holidays"):
            for i, name in enumerate(getattr(stage, field), 1):
                check_file(reader, folder, f"stage.{field}.{i}", name)
        if kit is not None:
            check_geometry(reader, stage, kit)
        if methods is not None:
            check_masonry(reader, stage, methods)
    if crew is not None:
        check_crew(reader, crew)
        for i, person in enumerate(crew, 1):
            if person.calendar:
                check_file(reader, folder, f"crew.{i}.calendar", person.calendar)
    if methods is not None:
        check_methods(reader, methods, own)
    if air is not None:
        check_air(reader, air)
        if air.readings:
            check_file(reader, folder, "air.readings", air.readings)
        if air.outside and air.outside.record:
            check_file(reader, folder, "air.outside.record", air.outside.record)
