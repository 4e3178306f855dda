"""Which tasks the job's methods ask for: work, coats, bays and products."""

import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from planner.judge.case import JudgedPlan, number
from planner.judge.physics.stacks import bed, stack_of
from planner.nouns.ids import bare
from planner.nouns.plan import PlannedTask

CUT_FROM_MM = 25.4  # less than an inch is no upright and no module
HAIR_MM = 1e-6
IN_EACH = (
    *("mark", "lines", "fasten", "drill", "anchor", "floor", "tape"),
    "rub",
)
FILLS = {"mortar": ("bed", "pack"), "foam": ("foam",)}
MASONRY_FIXINGS = {
    "plugs": "plug",
    "frame fixings": "frame-fix",
    "cartridge nails": "shoot",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The bays of a room: its runs, its corners with the runs beside them, the apron."""

    runs: tuple[str, ...]
    corners: tuple[tuple[str, tuple[str, str]], ...]
    apron: str

    @property
    def built(self) -> tuple[str, ...]:
        """The bays that modules stand in."""
        return (*self.runs, *(c for c, _ in self.corners))


def room_of(case: JudgedPlan) -> Room:
    """Return the bays of a job's room."""
    runs = tuple(case.own(r.id) for r in case.job.stage.runs)
    meets = case.job.stage.corners
    names = (
        ["corner"]
        if len(meets) == 1
        else [f"corner-{n + 1}" for n in range(len(meets))]
    )
    return Room(
        runs=runs,
        corners=tuple(
            (case.own(name), (runs[i], runs[i + 1]))
            for name, i in zip(names, meets, strict=True)
        ),
        apron=case.own("apron"),
    )


Ordered = tuple[str, int, tuple[str, ...]]  # kind of work, which coat, bays


def ordered(case: JudgedPlan, room: Room) -> Counter[Ordered]:
    """Return every task that the job orders: how many of each kind, coat and bays."""
    out = Counter[Ordered]()
    if case.job.repaint is not None:
        out.update(_repainted(case, room))
        out.update(_of_patches(case, room))
        return out
    for part in (_throughout, _on_the_walls, _of_pieces, _of_paint, _of_patches):
        out.update(part(case, room))
    return out


def last_compound(case: JudgedPlan) -> str:
    """Return the compound of a job's last coat over its joints."""
    m = case.job.methods
    coats = (
        (m.topping, m.topping_coats),
        (m.drying, m.drying_coats),
        (m.setting, m.setting_coats),
    )
    return next(product for product, count in coats if count)


def patch_works(before: str) -> tuple[str, ...]:
    """Return the kinds of work where a joint shows, by the task that comes next."""
    phase = before.partition(".")[0].rpartition("-")
    match before.partition(".")[0] if not phase[2].isdecimal() else phase[0]:
        case "rub":
            return ("spot-fill",)
        case "wipe":
            return "spot-fill", "spot-sand"
        case "" | "handover":
            return "spot-fill", "spot-prime", "spot-colour"
        case _:
            return "spot-fill", "spot-prime"


def _of_patches(case: JudgedPlan, _: Room) -> Iterator[Ordered]:
    """Yield what is done where a joint was logged to show through."""
    known = {bare(t.id) for t in case.plan.tasks}
    for one in case.job.shows:
        if one.before in known or not one.before:
            for work in patch_works(one.before):
                yield work, one.number, (case.own(one.bay),)


def _throughout(case: JudgedPlan, room: Room) -> Iterator[Ordered]:
    """Yield what is done once for the whole job, and on the floor."""
    m, stage = case.job.methods, case.job.stage
    for whole in ("intake", "count"):
        yield whole, 0, ()
    survey = case.job.survey
    for visit, day in (("survey", survey.done), ("locate", survey.located)):
        if not survey.own_making and day is None:
            yield visit, 0, ()
    painted = m.colour_on_apron and stage.apron_mm > 0.0  # the whole floor
    for work in ("test-slab", "read-slab", *["scuff"] * painted):
        yield work, 0, (room.apron,)
    yield "wipe", 0, tuple(sorted((*room.built, *[room.apron] * painted)))
    yield "sand-modules", 0, tuple(sorted(room.built))
    yield "handover", 0, tuple(sorted((*room.built, room.apron)))


def _on_the_walls(case: JudgedPlan, room: Room) -> Iterator[Ordered]:
    """Yield what is done in each bay along the walls, compound coat by coat."""
    m = case.job.methods
    each = [*IN_EACH, *FILLS[m.fill]]
    if m.backing == "inlaid":
        each += ["open", "back"]
    else:
        each += ["fur", "board"]
        if case.job.stage.wall == "masonry":
            each.append(MASONRY_FIXINGS[m.masonry_fixing])
    if m.bonding_agent:
        each.append("bond")
    coats = (
        ("setting-coat", m.setting_coats),
        ("drying-coat", m.drying_coats),
        ("topping-coat", m.topping_coats),
        ("skim-coat", m.skim_coats),
    )
    for bay in room.built:
        for work in each:
            yield work, 0, (bay,)
        for work, count in coats:
            for n in range(1, count + 1):
                yield work, n, (bay,)


def _of_pieces(case: JudgedPlan, room: Room) -> Iterator[Ordered]:
    """Yield the cutting, bolting and setting of the pieces."""
    m, stage, kit = case.job.methods, case.job.stage, case.job.kit
    for run in room.runs:
        for work in ("join", "set"):
            yield work, 0, (run,)
    for work, count in PIECES:
        if found := tuple(sorted(_with(case, room, count))):
            yield work, 0, found
    for corner, _ in room.corners:
        yield "set-corner", 0, (corner,)
        if stage.ceiling_mm - kit.corner_height_mm >= CUT_FROM_MM:
            yield "trim", 0, (corner,)
            if m.lifting != "singly":  # else bolted on the wall as they are set
                yield "join-uprights", 0, (corner,)


def _of_paint(case: JudgedPlan, room: Room) -> Iterator[Ordered]:
    """Yield primer, the shadow check and colour, coat by coat."""
    m = case.job.methods
    built = tuple(sorted(room.built))
    for n in range(1, m.primer_coats + 1):
        for bays in [built] if m.primer_in == "one go" else [(b,) for b in built]:
            yield "prime", n, bays
    yield "shadow", 0, built
    coloured = tuple(sorted((*built, room.apron))) if m.colour_on_apron else built
    for n in range(1, m.colour_coats + 1):
        yield "colour", n, coloured
    if m.second_colour is not None:
        second = tuple(sorted(map(case.own, m.second_colour.bays)))
        yield "mask", 0, second
        for n in range(1, m.second_colour.coats + 1):
            yield "second-colour", n, second


def _repainted(case: JudgedPlan, room: Room) -> Iterator[Ordered]:
    """Yield what a repaint orders: nothing is built, only what stands is coloured."""
    repaint = case.job.repaint
    assert repaint is not None
    floor = (room.apron,) if case.job.stage.apron_mm > 0.0 else ()
    painted = (*room.built, *floor) if repaint.area != "floor" else floor
    over = tuple(sorted(painted))
    if not case.job.survey.own_making and case.job.survey.done is None:
        yield "survey", 0, ()
    for work in ("clear", "wipe", "cover"):
        yield work, 0, over
    if floor:
        yield "scuff", 0, floor
    for n in range(1, repaint.coats + 1):
        yield "colour", n, over
    yield "handover", 0, tuple(sorted((*room.built, room.apron)))


def _between_mm(case: JudgedPlan, run: int) -> float:
    """Return what is left of a run between the corner pieces at its ends."""
    stage = case.job.stage
    corners = len({run - 1, run} & set(stage.corners))
    return stage.runs[run].length_mm - corners * case.job.kit.corner_leg_mm


def cut_pieces(case: JudgedPlan, run: int) -> int:
    """Return how many modules of a run are cut: two where one would be a sliver."""
    kit, fill_mm = case.job.kit, _between_mm(case, run)
    left_mm = math.fmod(fill_mm + HAIR_MM, kit.module_width_mm) - HAIR_MM
    if min(fill_mm, left_mm) < CUT_FROM_MM - HAIR_MM:
        return 0
    alone = fill_mm < kit.module_width_mm
    return 2 if left_mm < kit.least_cut_mm - HAIR_MM and not alone else 1


def free_ends(case: JudgedPlan, run: int) -> int:
    """Return how many ends of a run stand open in the room, modules at them."""
    if _between_mm(case, run) < CUT_FROM_MM:
        return 0
    return 2 - len({run - 1, run} & set(case.job.stage.corners))


PIECES = (("cut", cut_pieces), ("cap", free_ends))


def _with(
    case: JudgedPlan, room: Room, count: Callable[[JudgedPlan, int], int]
) -> Iterator[str]:
    """Yield the runs that have some of a kind of piece."""
    return (run for i, run in enumerate(room.runs) if count(case, i))


def faults(case: JudgedPlan, room: Room) -> Iterator[str]:
    """Yield work that the job orders and the plan leaves out, or that nobody ordered."""
    bays = {b.id for b in case.plan.stage.bays}
    if bays != {*room.built, room.apron}:
        yield f"the plan's bays are {', '.join(sorted(map(bare, bays)))}, not those of the room"
    planned: Counter[Ordered] = Counter(
        (t.phase, number(t), tuple(sorted(t.bays)))
        for t in case.plan.tasks
        if t.phase != "sand-again"
    )
    wanted = ordered(case, room)
    for work, coat, places in (wanted - planned).elements():
        yield f"{_words(work, coat, places)}: ordered, but not in the plan"
    for work, coat, places in (planned - wanted).elements():
        yield f"{_words(work, coat, places)}: in the plan, but not ordered"
    for task in case.plan.tasks:
        yield from _laid(case, task)
    if case.job.repaint is None:
        yield from _built(case, room)


def _built(case: JudgedPlan, room: Room) -> Iterator[str]:
    """Yield what is told wrong of the tape and of the pieces."""
    kind = case.job.methods.tape
    for task in case.of("tape"):
        if f"{kind} tape" not in task.how.lower():
            yield f'"{task.title}": is not said to be of {kind} tape, as the job has it'
    if kind == "mesh" and not case.job.methods.setting_coats:
        yield "mesh tape under drying compound alone: it cracks"
    for work, count in PIECES:
        wanted_count = sum(count(case, i) for i in range(len(room.runs)))
        for task in case.of(work):
            if task.quantity.partition(" ")[0] != str(wanted_count):
                yield f'"{task.title}": {task.quantity}, it takes {wanted_count}'


def _words(work: str, coat: int, bays: tuple[str, ...]) -> str:
    count = f", coat {coat}" if coat else ""
    where = f" ({', '.join(map(bare, bays))})" if bays else ""
    return f"{work}{count}{where}"


def colour_of(case: JudgedPlan, task: PlannedTask) -> str:
    """Return the product of the last colour where a task is."""
    second = None if case.job.repaint else case.job.methods.second_colour
    mine = second is not None and set(task.bays) <= set(map(case.own, second.bays))
    return second.product if second is not None and mine else case.job.methods.colour


def _laid(case: JudgedPlan, task: PlannedTask) -> Iterator[str]:
    """Yield where another product is laid than the job says, or its limits end early."""
    m = case.job.methods
    second = m.second_colour.product if m.second_colour else None
    covered = "set" if len(stack_of(case, task)) > 1 else "dry"
    table: dict[str, tuple[str | None, str | None]] = {
        "survey": ("wall-sample", None),
        "locate": ("services", None),
        "fasten": (m.adhesive, "hold"),
        "anchor": (m.adhesive, "hold"),
        "bed": (m.mortar, "crust"),
        "pack": (m.mortar, "crust"),
        "foam": (m.foam, "trim"),
        "bond": (m.bonding, "recoat"),
        "tape": bed(case) or (None, None),
        "setting-coat": (m.setting, covered),
        "drying-coat": (m.drying, "dry"),
        "topping-coat": (m.topping, "dry"),
        "skim-coat": (m.skim, "dry"),
        "wipe": ("damp-wipe", "recoat"),
        "clear": ("damp-wipe", "recoat"),
        "test-slab": (m.slab_test, "read"),
        "prime": (m.primer, "recoat"),
        "spot-fill": (last_compound(case), "dry"),
        "spot-prime": (m.primer, "recoat"),
        "spot-colour": (colour_of(case, task), "recoat"),
        "colour": (m.colour, "recoat"),
        "second-colour": (second, "recoat"),
    }
    product, stage = table.get(task.phase, (None, None))
    if task.product != product:
        yield f'"{task.title}": lays {task.product}, the job says {product}'
    if task.dry_stage != stage:
        yield (
            f'"{task.title}": keeps its air until "{task.dry_stage}", it must until '
            f'"{stage}"'
        )
    compound = ("setting-coat", "drying-coat", "topping-coat", "skim-coat")
    painted = (
        *("clear", "wipe", "bond", "prime"),
        *("colour", "second-colour", "spot-colour"),
    )
    if task.phase in (*compound, *painted) and task.wet_m2 <= 0.0:
        yield f'"{task.title}": covers no area'
