"""What must be said beside work that can hurt, by where it is and how it is done."""

from collections.abc import Iterator

from planner.judge.case import JudgedPlan
from planner.judge.methods import CUT_FROM_MM, Room
from planner.nouns.plan import PlannedTask

SIGNED = ("fasten", "anchor", "plug", "frame-fix", "shoot")
REACH_MM = 1800.0  # 6 ft
WHOLE_WALLS = {
    *("fur", "board", "plug", "frame-fix", "shoot", "skim-coat"),
    *("prime", "shadow", "colour", "second-colour", "sand-again", "mask"),
    *("clear", "cover"),
}
TOUCHING = {
    *("mark", "open", "back", "fur", "board", "plug", "frame-fix", "shoot", "fasten"),
}
UP_COLUMNS = {
    *("mark", "open", "back", "lines", "set-corner", "fasten", "bond", "tape"),
    *("setting-coat", "drying-coat", "topping-coat", "rub", "wipe"),
}


def faults(case: JudgedPlan, room: Room) -> Iterator[str]:
    """Yield work beside which what must be minded is not said."""
    for task in case.plan.tasks:
        said = " ".join(task.cautions)
        for needed, words in (
            (_high(case, room, task), "Ladder or scaffold"),
            (task.on_stage, "Exits"),
            (task.on_stage, "no hot work"),
            (task.fumes or (task.dusty and task.on_stage), "detectors and sprinklers"),
            (task.fumes, "Rags with solvent"),
            (task.phase == "open", "rated for fire or sound"),
            (task.phase in ("fur", "plug", "frame-fix", "shoot"), "sealed again"),
            (task.phase in ("cut", "trim", "sand-modules"), "Nobody alone at a saw"),
            (task.phase == "survey", "Nobody of the crew takes a sample"),
            (task.phase == "locate", "isolated, locked and tagged"),
            (task.phase == "drill", "post-tensioned"),
            (task.phase == "drill", "No compressed air"),
            (task.phase in SIGNED, "signs for"),
        ):
            if needed and words not in said:
                yield f'"{task.title}": nothing is said of "{words}"'
        for words in _behind(case, room, task):
            if words not in said:
                yield f'"{task.title}": nothing is said of the {words} behind it'
        if "blow" in f"{task.how} {said}".lower():
            yield f'"{task.title}": dust is never blown out'


def _behind(case: JudgedPlan, room: Room, task: PlannedTask) -> Iterator[str]:
    """Yield what lies in the wall where a task touches it, what and on which run."""
    stage, leg_mm = case.job.stage, case.job.kit.corner_leg_mm
    for one in stage.behind if task.phase in TOUCHING else ():
        bay = case.own(one.run)
        at = room.runs.index(bay)
        far_mm = stage.runs[at].length_mm - one.from_start_mm
        corners = {
            name
            for name, (left, right) in room.corners
            if (right == bay and one.from_start_mm <= leg_mm)
            or (left == bay and far_mm <= leg_mm)
        }
        if {bay, *corners} & set(task.bays):
            yield f"{one.what} on {stage.runs[at].name}"


def _high(case: JudgedPlan, room: Room, task: PlannedTask) -> bool:
    """Tell whether a task surely lies above reach: on a whole wall, or up a column."""
    stage, kit = case.job.stage, case.job.kit
    if stage.ceiling_mm <= REACH_MM:
        return False
    if task.phase in WHOLE_WALLS:
        return bool(set(task.bays) & set(room.built))
    column = stage.ceiling_mm - kit.corner_height_mm >= CUT_FROM_MM
    corners = {name for name, _ in room.corners}
    return task.phase in UP_COLUMNS and column and bool(set(task.bays) & corners)
