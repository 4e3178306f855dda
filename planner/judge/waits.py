"""Every wait once more in the plan's air, and what the air must keep until then.

A wait is over at the first tick by which the shares of all ticks since its coat was
finished add up to one. The plan's air is written to a thousandth of a degree and of a
per cent, so a share may come out some millionths of itself off: `HAIR` of a wait
decides nothing. That can move a wait by one tick at most, which is the tolerance of
the other side.
"""

from collections.abc import Iterator
from datetime import datetime
from functools import cached_property

import numpy as np

from planner.judge.asked import looked_at
from planner.judge.case import JudgedPlan, Mask, runs_of
from planner.judge.physics import air, balance
from planner.judge.physics.air import JudgedAir
from planner.judge.physics.hardening import Floats, covered, speed
from planner.judge.physics.stacks import dried, stack_of, stacks
from planner.judge.physics.vapour import over_ice_pa, vapour_pa
from planner.nouns.plan import PlannedTask, PlannedWait
from planner.nouns.product import AirLimits, Hardening, HardeningWay, Product

HAIR = 1e-4
LATE_TICKS = 1  # a wait that is longer by more than the rounding of the air can make it
LIMIT_HAIR = 2e-3  # the air is written to a thousandth
PLANNED, LIKELY = "planned", "likely"


class Waits:
    """What hangs on the air, worked out from the plan's air and the products alone."""

    def __init__(self, case: JudgedPlan) -> None:
        self.case = case
        self.done: dict[tuple[str, str, str], Floats] = {}

    # -------------------------------------------------------------- the air

    @cached_property
    def of_facts(self) -> JudgedAir:
        """The air that the job's facts give, without the water of the plan's coats."""
        case = self.case
        model = air.assumed(case, case.job.air, case.job.air_months)
        warm, damp = air.read_in(case, model)
        return JudgedAir(air_c=warm, humidity_pct=damp, changes_per_h=air.changes(case))

    @cached_property
    def series(self) -> JudgedAir:
        """The air that the plan lies in.

        Where the job describes the room it is the plan's own, which lasts as long as
        anything that is told, and its last day over again for what may lie beyond.
        """
        case, facts = self.case, self.of_facts
        if case.job.climate is None:
            return facts
        day = 24 * 3600 // case.step
        count = case.ticks
        index = np.arange(count)
        known = len(case.plan.stage.air.air_c)
        if known < count:
            size = min(day, known)
            index[known:] = known - size + (index[known:] - known) % size
        return JudgedAir(
            air_c=np.array(case.plan.stage.air.air_c)[index],
            humidity_pct=np.array(case.plan.stage.air.humidity_pct)[index],
            changes_per_h=facts.changes_per_h,
        )

    @cached_property
    def wall(self) -> JudgedAir:
        """The air at the coldest wall: the room's vapour, at the wall's temperature."""
        s, colder_k = self.series, self.case.job.wall_colder_delta_k
        full = over_ice_pa(s.air_c - colder_k)
        damp = 100.0 * vapour_pa(s.air_c, s.humidity_pct) / full
        return JudgedAir(
            air_c=s.air_c - colder_k,
            humidity_pct=damp.clip(0.0, 100.0) if colder_k else s.humidity_pct,
            changes_per_h=s.changes_per_h,
        )

    # ---------------------------------------------------------------- waits

    def _done(self, product: Product, stage: Hardening, how: str) -> Floats:
        """Return how many times over a stage has passed since the first tick."""
        key = (product.id, stage.stage, how)
        if key not in self.done:
            s = self.wall
            own = self.case.job.margin_frac if _of_the_air(stage) else 0.0
            longer = own if how == PLANNED else 0.0
            per_h = speed(
                stage, s.air_c, s.humidity_pct, s.changes_per_h, product.thickness_mm
            )
            share = per_h / (1.0 + longer) * (self.case.step / 3600)
            self.done[key] = np.concatenate(([0.0], np.cumsum(share)))
        return self.done[key]

    def ready(
        self, product: Product, stage: Hardening, end: int, how: str, hair: float = 0.0
    ) -> int:
        """Return the tick at which a coat finished at `end` has reached a stage.

        The last tick of the grid stands for everything later. A positive `hair` asks
        for that share less of the way, a negative one for more.
        """
        if stage.after is not None:
            end = self.ready(product, stage.after, end, how, hair)
        last = self.case.ticks
        if end >= last:
            return last
        if dict(stage.numbers).get("hours_h") == 0.0:
            return end
        done = self._done(product, stage, how)
        ready = int(np.searchsorted(done, done[end] + 1.0 - hair))
        return min(max(ready, end), last)

    def stage(self, product: str, stage: str) -> tuple[Product, Hardening] | None:
        """Return a product and a stage of it, if there are such."""
        found = self.case.inputs.products.get(product)
        if found is None:
            return None
        return next(((found, s) for s in found.stages if s.stage == stage), None)

    def after(
        self,
        task: PlannedTask,
        product: Product,
        stage: Hardening,
        how: str,
        hair: float,
    ) -> int:
        """Return the tick at which a task's coat has reached a stage.

        Where others go over it wet, dry as if all of them had been laid at once.
        """
        if (found := looked_at(self.case, task, stage.stage)) is not None:
            if found.dry:
                return found.tick
            return max(self._by_law(task, product, stage, PLANNED, hair), found.tick)
        return self._by_law(task, product, stage, how, hair)

    def _by_law(
        self,
        task: PlannedTask,
        product: Product,
        stage: Hardening,
        how: str,
        hair: float,
    ) -> int:
        end = self.case.tick(task.end)
        coats = stack_of(self.case, task) if stage.stage == "dry" else [task]
        if len(coats) == 1:
            return self.ready(product, stage, end, how, hair)
        return self._dried(coats, [end] * len(coats), how, hair)

    def _dried(
        self, coats: list[PlannedTask], ends: list[int], how: str, hair: float
    ) -> int:
        found = [self.stage(t.product or "", "dry") for t in coats]
        passed = [self._done(*one, how) for one in found if one is not None]
        return dried(ends, passed, hair)

    def least_dry(self, task: PlannedTask) -> int:
        """Return the first tick at which a coat and all that is wet with it may be dry."""
        case = self.case
        bay = task.bays[0]
        coats = next((s for s in stacks(case, bay) if task in s), [task])
        ends = [case.tick(t.end) for t in coats]
        by_law = self._dried(coats, ends, PLANNED, HAIR)
        looked = looked_at(case, task, "dry")
        if looked is None:
            return by_law
        return looked.tick if looked.dry else max(by_law, looked.tick)

    def least(self, task: PlannedTask, product: str, stage: str) -> int:
        """Return the first tick at which a stage may be taken as reached, a hair given."""
        found = self.stage(product, stage)
        if found is None:
            return self.case.tick(task.end)
        return self.after(task, *found, PLANNED, HAIR)

    def faults(self) -> Iterator[str]:
        """Yield what is wrong with waits, with limits on the air, and with the air."""
        yield from self._air()
        for wait in self.case.plan.waits:
            yield from self._wait(wait)
        for task in self.case.plan.tasks:
            if not self.case.happened(task):
                yield from self._limits(task)

    def _wait(self, wait: PlannedWait) -> Iterator[str]:
        case = self.case
        task = case.tasks.get(wait.task)
        found = self.stage(wait.product, wait.stage)
        if task is None or found is None or task.product != wait.product:
            yield (
                f"{case.title(wait.task)}: a wait for {wait.product} to be "
                f'"{wait.stage}" is no wait after it'
            )
            return
        where = f'"{task.title}", {found[0].title} ({wait.stage})'
        if wait.stage == "dry":
            over = tuple(t.product for t in stack_of(case, task)[1:])
            if over != wait.covered_by:
                yield f"{where}: which coats lie over it wet is told wrong"
        if wait.begins != task.end:
            yield f"{where}: the wait doesn't begin when the work ends"
        if wait.way != found[1].way.value:
            yield f"{where}: it {found[1].way.value}, the plan says {wait.way}"
        for how, said in (
            (PLANNED, wait.ready),
            (LIKELY, wait.likely),
        ):
            yield from self._moment(where, found, task, how, said)

    def _moment(
        self,
        where: str,
        found: tuple[Product, Hardening],
        task: PlannedTask,
        how: str,
        said: datetime,
    ) -> Iterator[str]:
        case = self.case
        soonest = self.after(task, *found, how, HAIR)
        latest = self.after(task, *found, how, -HAIR) + LATE_TICKS
        tick = case.tick(said)
        if not soonest <= tick <= latest:
            word = "early" if tick < soonest else "late"
            yield (
                f"{where}: {how} for {case.when(said)}, too {word}: in its air that is "
                f"{case.when(case.of_tick(self.after(task, *found, how, 0.0)))}"
            )

    # --------------------------------------------------------------- limits

    def _limits(self, task: PlannedTask) -> Iterator[str]:
        """Yield where the air breaks a coat's limits from its start until it is dry."""
        case = self.case
        if task.product is None or task.dry_stage is None:
            return
        until = "dry" if len(stack_of(case, task)) > 1 else task.dry_stage
        found = self.stage(task.product, until)
        if found is None:
            yield f'"{task.title}": {task.product} has no stage "{until}"'
            return
        product, stage = found
        start = case.tick(task.start)
        dry = self.after(task, product, stage, PLANNED, HAIR)
        for words, bad in self._breaks(product.limits):
            broken = runs_of(bad[start:dry])
            if broken:
                first = case.when(case.of_tick(start + broken[0][0]))
                yield (
                    f'"{task.title}": {product.title} needs {words} until it is '
                    f"{until}, broken from {first}"
                )
        beyond = np.zeros(case.ticks, dtype=np.bool_)
        one: Hardening | None = stage
        while one is not None:
            beyond |= ~covered(one.law, self.wall.air_c, self.wall.humidity_pct)
            one = one.after
        if beyond[start:dry].any():
            yield f'"{task.title}": no law says how {product.title} dries in its air'
        yield from self._warm_before(task, product, start)

    def _breaks(self, limits: AirLimits) -> Iterator[tuple[str, Mask]]:
        """Yield each limit in words with the ticks that break it."""
        s = self.series
        wall_c = self.wall.air_c
        if limits.min_c is not None:
            yield (
                f"{limits.min_c:.1f} °C or more at the wall",
                wall_c < limits.min_c - LIMIT_HAIR,
            )
        if limits.max_c is not None:
            yield (
                f"{limits.max_c:.1f} °C or less",
                s.air_c > limits.max_c + LIMIT_HAIR,
            )
        if limits.max_rh_pct is not None:
            yield (
                f"{limits.max_rh_pct:.0f} % or less",
                s.humidity_pct > limits.max_rh_pct + LIMIT_HAIR,
            )
        if limits.dew_margin_delta_k is not None:
            # The wall is so far above the dew point if its air, as much colder,
            # could still hold the vapour.
            at_c = wall_c - limits.dew_margin_delta_k + LIMIT_HAIR
            damp = np.maximum(s.humidity_pct, 0.1)
            yield (
                f"a wall {limits.dew_margin_delta_k:.0f} °C above the dew point",
                vapour_pa(s.air_c, damp) > over_ice_pa(at_c),
            )

    def _warm_before(
        self, task: PlannedTask, product: Product, start: int
    ) -> Iterator[str]:
        limits = product.limits
        before = round(limits.min_c_before_h * 3600 / self.case.step)
        if limits.min_c is None or before == 0:
            return
        lain = self.wall.air_c[max(start - before, 0) : max(start, 1)]
        if (lain < limits.min_c - LIMIT_HAIR).any():
            yield (
                f'"{task.title}": {product.title} needs {limits.min_c:.1f} °C or more '
                f"for {limits.min_c_before_h:g} h before it, and the wall was colder"
            )

    # -------------------------------------------------------------- the air

    def _told_until(self) -> int:
        """Return the last tick that a wait, a return or a window tells."""
        plan = self.case.plan
        told = [m for w in plan.waits for m in (w.ready, w.likely)]
        told += [r.when for r in plan.stage.returns]
        told += [w.closes for w in plan.windows if w.closes is not None]
        return max((self.case.tick(m) for m in told), default=0)

    def _air(self) -> Iterator[str]:
        """Yield where the plan's air isn't what the job's facts give."""
        case, said = self.case, self.case.plan.stage.air
        count = len(said.air_c)
        if abs(said.wall_colder_delta_k - case.job.wall_colder_delta_k) > 1e-9:
            yield (
                f"the plan's air: the wall {said.wall_colder_delta_k:g} °C colder than "
                f"the room, the job says {case.job.wall_colder_delta_k:g}"
            )
        if said.start != case.start or said.tick_minutes != case.job.tick_minutes:
            yield "the plan's air doesn't begin with its grid, or has another step"
            return
        if not self._told_until() <= count <= case.ticks:
            yield "the plan's air doesn't last as long as what the plan tells of waits"
            return
        if not count == len(said.humidity_pct) == len(said.changes_per_h):
            yield "the plan's air isn't one value for each tick"
            return
        facts = self.of_facts
        warm, damp = facts.air_c[:count], facts.humidity_pct[:count]
        off_c, off_pct = 0.01, 0.01  # written to a thousandth
        if case.job.climate is not None:
            own = (np.array(said.air_c), np.array(said.humidity_pct))
            wet_kg = balance.given_off_kg(case, *own)
            warm, damp = balance.room(case, case.job.climate, wet_kg)
            rest = case.ticks - count
            whole = (np.pad(warm, (0, rest), "edge"), np.pad(damp, (0, rest), "edge"))
            warm, damp = (a[:count] for a in air.read_in(case, whole))
            off_c, off_pct = ROOM_OFF_K, ROOM_OFF_PCT
        for what, unit, values, right, off in (
            ("temperature", "°C", said.air_c, warm, off_c),
            ("humidity", "%", said.humidity_pct, damp, off_pct),
            (
                "air changes",
                "an hour",
                said.changes_per_h,
                facts.changes_per_h[:count],
                0.01,
            ),
        ):
            wrong = np.abs(np.array(values) - right) > off
            if wrong.any():
                tick = int(np.argmax(wrong))
                yield (
                    f"the plan's air: {what} {values[tick]:.2f} {unit} at "
                    f"{case.when(case.of_tick(tick))}, the job's facts give "
                    f"{float(right[tick]):.2f}"
                )


# What two balances of the same room may differ by: short steps against whole ticks,
# and coats whose water was reckoned in an air that was not quite the last one.
ROOM_OFF_K, ROOM_OFF_PCT = 0.01, 1.0


def _of_the_air(stage: Hardening) -> bool:
    return stage.way in (HardeningWay.DRIES, HardeningWay.CLEARS)
