"""What must fit together in the room of a job file: runs, corners, pieces, studs."""

from collections.abc import Mapping
from typing import Any

from planner.files.job.faults import SectionReader
from planner.files.job.keys.needed import needed_hint
from planner.files.job.sections.schema import KitSection, MethodsSection, StageSection
from planner.files.job.sections.section import id_of
from planner.nouns.ids import slug
from planner.trade.takeoff import corner_ids


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


CORNER_KEYS = ("corner_height", "corner_leg", "upright_height")


def check_corner_keys(reader: SectionReader, raw: Mapping[str, Any]) -> None:
    """Note each measure of a corner's pieces that a room with corners lacks.

    Looks at the file's values, so that these faults stand beside those of the other
    measures, whatever else is wrong with kit and stage.
    """
    stage, kit = raw.get("stage"), raw.get("kit", {})
    runs = stage.get("run") if isinstance(stage, dict) else None
    if not isinstance(kit, dict) or not isinstance(runs, list):
        return
    if not any(isinstance(run, dict) and "meets" in run for run in runs):
        return
    for place in (f"kit.{key}" for key in CORNER_KEYS if key not in kit):
        hint = needed_hint(place)
        reader.fault(place, "is missing, and runs meet in an inside corner", hint)


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
        legs = (kit.corner_leg or 0.0) * (int(before) + int(run.meets is not None))
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
    if cornered and kit.corner_height is not None:
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
        if value is not None and value < kit.radius:
            reader.fault(
                f"kit.{field}",
                f"{reader.units.length(value)} is less than the radius, {reader.units.length(kit.radius)}: "
                "the piece can't turn the corner",
            )
    leg = kit.corner_leg
    if leg is not None and kit.radius <= leg < kit.straight_height:
        reader.fault(
            "kit.corner_leg",
            f"{reader.units.length(leg)} is less than the straight modules reach out on "
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
