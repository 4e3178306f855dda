"""What comes before what: the trade's own order, and every link that the plan names."""

from collections.abc import Iterator
from functools import cached_property
from itertools import pairwise, product

from planner.judge.case import JudgedPlan, number
from planner.judge.methods import Room, patch_works
from planner.judge.physics.stacks import IN_ORDER, bed, compound, stacks
from planner.judge.waits import Waits
from planner.nouns.job import Shows
from planner.nouns.plan import PlannedTask
from planner.nouns.product import CLEARED
from planner.nouns.work import ReturnKind

RECOAT, DRY, HOLD = "recoat", "dry", "hold"
OPEN_TO_ALL = "open to all"  # free of fumes, or dry where it gives off none

Pair = tuple[PlannedTask, PlannedTask, str | None]  # before, after, stage waited for

# In one bay: kind of work, what follows it there, and the stage that has to be reached.
IN_A_BAY: tuple[tuple[str, str, str | None], ...] = (
    ("sand-modules", "join", None),
    ("sand-modules", "trim", None),
    ("sand-modules", "join-uprights", None),
    ("sand-modules", "set-corner", None),
    ("mark", "open", None),
    ("mark", "fur", None),
    ("mark", "plug", None),
    ("mark", "trim", None),
    ("open", "back", None),
    ("plug", "fur", None),
    ("back", "lines", None),
    ("fur", "frame-fix", None),
    ("fur", "shoot", None),
    ("fur", "board", None),
    ("frame-fix", "board", None),
    ("shoot", "board", None),
    ("board", "lines", None),
    ("mark", "cut", None),
    ("sand-modules", "cut", None),
    ("cut", "join", None),
    ("fasten", "cap", None),
    ("cap", "floor", None),
    ("lines", "set", None),
    ("lines", "set-corner", None),
    ("trim", "join-uprights", None),
    ("trim", "set-corner", None),
    ("join-uprights", "set-corner", None),
    ("join", "set", None),
    ("set", "fasten", None),
    ("set-corner", "fasten", None),
    ("fasten", "drill", HOLD),
    ("drill", "bed", None),
    ("bed", "anchor", None),
    ("anchor", "pack", None),
    ("drill", "anchor", None),
    ("anchor", "foam", None),
    ("anchor", "floor", HOLD),
    ("bed", "floor", "crust"),
    ("pack", "floor", "crust"),
    ("foam", "floor", "trim"),
    ("floor", "bond", None),
    ("floor", "tape", None),
    ("bond", "tape", RECOAT),
    ("setting-coat", "rub", DRY),
    ("drying-coat", "rub", DRY),
    ("topping-coat", "rub", DRY),
    ("skim-coat", "rub", DRY),
)
# What opens a wall or goes into a floor, for which it must be known what is in there.
OPENING = ("open", "fur", "plug", "frame-fix", "shoot", "drill", "floor", "scuff")
# In all bays together.
OVERALL: tuple[tuple[str, str, str | None], ...] = (
    *(
        (visit, work, known)
        for visit, known in (("survey", "report"), ("locate", "isolated"))
        for work in OPENING
    ),
    *(
        (visit, work, None)
        for visit in ("survey", "locate")
        for work in ("mark", "test-slab")
    ),
    ("intake", "count", None),
    ("count", "sand-modules", None),
    ("count", "mark", None),
    ("count", "test-slab", None),
    ("test-slab", "read-slab", "read"),
    ("read-slab", "floor", None),
    ("floor", "scuff", None),
    ("scuff", "wipe", None),
    ("rub", "wipe", None),
    ("wipe", "prime", RECOAT),
    ("prime", "shadow", OPEN_TO_ALL),
    ("prime", "colour", OPEN_TO_ALL),
    ("shadow", "colour", None),
    ("colour", "mask", ReturnKind.LIGHT_FOOT_TRAFFIC),
    ("mask", "second-colour", None),
    ("colour", "second-colour", OPEN_TO_ALL),
    ("colour", "handover", OPEN_TO_ALL),
    ("second-colour", "handover", OPEN_TO_ALL),
)
# In a job that paints again what stands.
REPAINTING: tuple[tuple[str, str, str | None], ...] = (
    ("survey", "scuff", "report"),
    ("survey", "clear", None),
    ("clear", "scuff", RECOAT),
    ("clear", "wipe", RECOAT),
    ("scuff", "wipe", None),
    ("wipe", "cover", RECOAT),
    ("cover", "colour", None),
    ("wipe", "colour", RECOAT),
    ("colour", "handover", OPEN_TO_ALL),
)
# From a corner to the runs beside it, and from those back to it.
OUTWARDS = (
    ("mark", "mark"),
    ("set-corner", "set"),
    ("set-corner", "fasten"),
    ("fasten", "fasten"),
    ("drill", "drill"),
)
INWARDS = (
    ("lines", "set-corner"),
    ("join", "set-corner"),
    ("fasten", "drill"),
    ("set", "fasten"),
    ("floor", "bond"),
    ("floor", "tape"),
)


class Order:
    """The order of the work, pair by pair, in the plan's own air."""

    def __init__(self, case: JudgedPlan, waits: Waits, room: Room) -> None:
        self.case, self.waits, self.room = case, waits, room
        self.at: dict[tuple[str, str], list[PlannedTask]] = {}
        self.all: dict[str, list[PlannedTask]] = {}
        for task in sorted(case.plan.tasks, key=lambda t: (number(t), t.start)):
            self.all.setdefault(task.phase, []).append(task)
            for bay in task.bays:
                self.at.setdefault((task.phase, bay), []).append(task)

    @cached_property
    def earlier(self) -> dict[str, set[str]]:
        """The tasks that the plan's links put before each task, near and far."""
        direct: dict[str, set[str]] = {}
        for link in self.case.plan.links:
            direct.setdefault(link.after, set()).add(link.before)
        out: dict[str, set[str]] = {}
        for task in self.case.plan.tasks:
            seen: set[str] = set()
            ahead = [task.id]
            while ahead:
                new = direct.get(ahead.pop(), set()) - seen
                seen |= new
                ahead += new
            out[task.id] = seen
        return out

    def _at(self, work: str, bay: str) -> list[PlannedTask]:
        return self.at.get((work, bay), [])

    def _every(self, work: str) -> list[PlannedTask]:
        return self.all.get(work, [])

    # ------------------------------------------------------ the trade's order

    def needed(self) -> Iterator[Pair]:
        """Yield every pair of tasks that the trade puts in order."""
        for bay in self.room.built:
            for before, after, stage in IN_A_BAY:
                for one, two in product(self._at(before, bay), self._at(after, bay)):
                    yield one, two, stage
            yield from self._stacked(bay)
        overall = OVERALL if self.case.job.repaint is None else REPAINTING
        for before, after, stage in overall:
            yield from self._overall(before, after, stage)
        for corner, runs in self.room.corners:
            for run in runs:
                yield from self._across(corner, run, OUTWARDS)
                yield from self._across(run, corner, INWARDS)
        for work in ("prime", "colour", "second-colour"):
            yield from self._coats(work)
        for shown in self.case.job.shows:
            yield from self._patched(shown)

    def _patched(self, shown: Shows) -> Iterator[Pair]:
        """Yield the work where a joint showed: dry below, filled, dry, before what follows."""
        after = self.case.tasks.get(self.case.own(shown.before))
        bay = self.case.own(shown.bay)
        patch = [
            task
            for work in patch_works(shown.before)
            for task in self._at(work, bay)
            if number(task) == shown.number
        ]
        if not patch or (after is None and shown.before):
            return
        below = self._below_last(bay) if after is None else self._below(after, bay)
        yield from ((one, patch[0], stage) for one, stage in below)
        for one, two in pairwise((*patch, *([after] if after else []))):
            filled = DRY if one.phase == "spot-fill" else None
            coat = one.phase in ("spot-prime", "spot-colour")
            yield one, two, OPEN_TO_ALL if coat else filled

    def _below_last(self, bay: str) -> list[tuple[PlannedTask, str | None]]:
        """Return what must be dry where a joint is filled on the last coat of a bay."""
        coats = [*self._at("colour", bay), *self._at("second-colour", bay)]
        return [(t, OPEN_TO_ALL) for t in coats[-1:]]

    def _below(
        self, after: PlannedTask, bay: str
    ) -> list[tuple[PlannedTask, str | None]]:
        """Return what must be done, or dry, before a joint is filled before a task."""
        match after.phase:
            case "rub":
                return [(t, DRY) for t in compound(self.case, bay)[-1:]]
            case "wipe":
                return [(t, None) for t in self._at("rub", bay)]
            case "handover":
                return self._below_last(bay)
            case "spot-colour":
                primed = self._at("spot-prime", bay)
                return [(t, OPEN_TO_ALL) for t in primed if number(t) == number(after)]
            case "prime" if number(after) == 1:
                return [(t, RECOAT) for t in self._every("wipe")]
            case "second-colour" if number(after) == 1:
                return [(t, OPEN_TO_ALL) for t in self._at("colour", bay)[-1:]]
        own = [t for t in self._at(after.phase, bay) if number(t) == number(after) - 1]
        if own:
            return [(t, RECOAT) for t in own]
        last = max((number(t) for t in self._every("prime")), default=0)
        primed = [t for t in self._at("prime", bay) if number(t) == last]
        return [(t, OPEN_TO_ALL) for t in primed]

    def _overall(self, before: str, after: str, stage: str | None) -> Iterator[Pair]:
        """Yield the last coats of one kind of work before the first of another."""
        ones, twos = self._every(before), self._every(after)
        last = max((number(t) for t in ones), default=0)
        first = min((number(t) for t in twos), default=0)
        for one, two in product(ones, twos):
            if number(one) == last and number(two) == first:
                yield one, two, stage

    def _across(
        self, one: str, two: str, pairs: tuple[tuple[str, str], ...]
    ) -> Iterator[Pair]:
        for before, after in pairs:
            for a, b in product(self._at(before, one), self._at(after, two)):
                yield a, b, None

    def _stacked(self, bay: str) -> Iterator[Pair]:
        """Yield tape and coats of compound, each over the one before.

        That has set, or all below it is dry; so has the bed under the tape.
        """
        hard = bed(self.case)
        for tape, coat in product(self._at("tape", bay), compound(self.case, bay)[:1]):
            yield tape, coat, hard[1] if hard else None
        for below, above in pairwise([*stacks(self.case, bay), []]):
            for one, two in pairwise(below):
                yield one, two, "set"
            for one, two in product(below, above[:1]):
                yield one, two, DRY

    def _coats(self, work: str) -> Iterator[Pair]:
        """Yield coats of primer or colour, over the one before and next to it."""
        coats = self._every(work)
        for one, two in product(coats, coats):
            if number(two) != number(one) + 1:
                continue
            near = set(one.bays) | {
                b
                for corner, runs in self.room.corners
                for run in runs
                for a, b in ((corner, run), (run, corner))
                if a in one.bays
            }
            if near & set(two.bays):
                yield one, two, RECOAT

    # ------------------------------------------------------------------ faults

    def faults(self) -> Iterator[str]:
        """Yield pairs out of order, and links that the plan doesn't name or keep."""
        told = {(x.before, x.after, x.product, x.stage) for x in self.case.plan.links}
        for before, after, wanted in self.needed():
            yield from self._kept(before, after, wanted)
            if before.id not in self.earlier.get(after.id, ()):
                yield (
                    f'"{after.title}": nothing in the plan says that it follows '
                    f'"{before.title}"'
                )
            stage = self.stage_of(before, wanted)
            link = (before.id, after.id, before.product, stage)
            if stage is not None and link not in told:
                yield (
                    f'"{after.title}": the plan doesn\'t say that it waits for '
                    f'"{before.title}" ({stage})'
                )
        yield from self._links()
        yield from self._apart()

    def stage_of(self, task: PlannedTask, wanted: str | None) -> str | None:
        """Return the stage of a task's product that others wait for."""
        if wanted != OPEN_TO_ALL:
            return wanted
        found = self.waits.stage(task.product or "", CLEARED)
        return CLEARED if found else RECOAT

    def _kept(
        self, before: PlannedTask, after: PlannedTask, wanted: str | None
    ) -> Iterator[str]:
        case = self.case
        if case.happened(after):
            return  # whatever was begun was begun
        stage = self.stage_of(before, wanted)
        if stage is None:
            if after.start < before.end:
                yield (
                    f'"{after.title}": begins {case.when(after.start)}, before '
                    f'"{before.title}" is done, {case.when(before.end)}'
                )
            return
        over = self.waits.least(before, before.product or "", stage)
        if stage == DRY and before.phase in IN_ORDER:
            over = self.waits.least_dry(before)
        if case.tick(after.start) < over:
            yield (
                f'"{after.title}": begins {case.when(after.start)}, before '
                f'"{before.title}" is at "{stage}", {case.when(case.of_tick(over))}'
            )

    def _links(self) -> Iterator[str]:
        """Yield links of the plan that it doesn't keep itself."""
        case = self.case
        for link in case.plan.links:
            one, two = case.tasks.get(link.before), case.tasks.get(link.after)
            if one is None or two is None:
                yield f"a link names no task: {link.before} to {link.after}"
                continue
            if link.product is None or link.stage is None:
                yield from self._kept(one, two, None)
                continue
            yield from self._kept(one, two, link.stage)
            wait = case.waits.get((one.id, link.product, link.stage))
            if wait is None:
                yield f'"{two.title}": the wait after "{one.title}" is not in the plan'
            elif two.start < wait.ready and not case.happened(two):
                yield (
                    f'"{two.title}": begins before the wait after "{one.title}" is '
                    f"over, {case.when(wait.ready)}"
                )

    def _apart(self) -> Iterator[str]:
        """Yield pairs that the plan itself wants apart and that overlap."""
        case = self.case
        for pair in case.plan.apart:
            one, two = case.tasks.get(pair.task), case.tasks.get(pair.other)
            if one is None or two is None:
                yield f"two tasks kept apart are not both there: {pair.task}, {pair.other}"
                continue
            key = (one.id, pair.product or "", pair.stage or "")
            over = case.waits[key].ready if key in case.waits else one.end
            both = case.happened(one) and case.happened(two)
            if two.end > one.start and two.start < over and not both:
                yield f'"{two.title}": not kept apart from "{one.title}"'
