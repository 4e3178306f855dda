"""The policy: how the crew goes on when work and waits don't turn out as planned.

It decides from what is known at the time:

- Everybody follows the plan's order, person by person and bay by bay.
- A task begins as soon as all that it waits for is ready and dry: before it was planned
  only in shifts for which all of its team are called, afterwards in any open hours.
- Where a task's own team can't begin when it is due, others of the same trades step in
  if they are expected to be done sooner.
- On a day on which one of a team is away, the team begins nothing, and work that it has
  begun and that may pause rests; work in one go that has begun is finished.
- Work in one go is begun only where its planned length fits in; if it takes longer, the
  team stays until it is done.
- Limits of the air, quiet hours, fumes and the stage's bookings hold in every future: a
  booking that begins while the stage is closed takes the stage, and work goes on after.
- The stage isn't closed before the booking before it has left, and for a kit of which a
  piece must be replaced not before that has come.
- A coat that missed its window is sanded again; mortar that is past its pot life is
  mixed and bedded again. A joint that shows through is filled, dried, sanded and primed.

Of a job that has begun only the rest is played: what is done lies where it was, and a
coat that was looked at is ready as it was found, dry or still wet.
"""

from collections.abc import Callable, Iterable

import numpy as np
from numpy.typing import NDArray

from planner.nouns.odds import Holder
from planner.nouns.work import ReturnKind
from planner.odds.draws import Draws
from planner.odds.outcome import Played, Waiting
from planner.odds.script import PlayedTeam, Script, Step
from planner.odds.setting import Limit
from planner.schedule.problem.limits import StoppedError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

_AGAIN = 3  # times that what missed its window is done again
_TRIES = 40  # times that a start is moved on for its air, or for who is away


def play(
    script: Script, draws: Draws, over: Callable[[], bool] = lambda: False
) -> Played:
    """Return what becomes of a plan in the futures drawn.

    Raises
    ------
    StoppedError
        Once it is `over`, which is asked first and before each task.
    """
    if over():
        raise StoppedError  # before anything is drawn
    return _Play(script, draws).played(over)


class _Play:
    def __init__(self, script: Script, draws: Draws) -> None:
        self.script, self.draws = script, draws
        self.futures = draws.futures
        self.series = draws.air()
        self.place = {s.task.id: i for i, s in enumerate(script.steps)}
        self.starts: dict[str, Ints] = {}
        self.ends: dict[str, Ints] = {}
        self.held: dict[str, Ints] = {}
        self.held_for: dict[str, Ints] = {}
        self.holders: list[tuple[Holder, str]] = [(Holder.OTHER, "")]
        self.free = [self.ticks(0) for _ in script.people]
        self.last = [self.ticks(-1) for _ in script.people]  # step done last
        self.taken: dict[str, tuple[Ints, int]] = {}  # of a pool: free from, by step
        days = len(script.day_begins)  # with the horizon's own
        self.away = [draws.away(who, days).ravel() for who in script.people]
        self.over: dict[tuple[str, str], Ints] = {}
        self.overtime = self.ticks(0)
        per_day = 24 * 60 // script.tick_minutes
        self.late_crates = draws.late_days().astype(np.int64) * per_day
        self.replaced = draws.damaged_days().astype(np.int64) * per_day
        overrun = np.ceil(draws.overrun_h() * per_day / 24).astype(np.int64)
        self.stage_from = script.stage_from + overrun

    def ticks(self, value: int) -> Ints:
        return np.full(self.futures, value, dtype=np.int64)

    def played(self, over: Callable[[], bool]) -> Played:
        for task, (start, end) in self.script.gone.items():
            self.starts[task], self.ends[task] = self.ticks(start), self.ticks(end)
        for step in self.script.steps:
            if over():
                raise StoppedError
            self.step(step)
        full = self.back_in(ReturnKind.FULL_SERVICE)
        return Played(
            starts=self.starts,
            ends=self.ends,
            returns={kind: self.back_in(kind).until for kind in self.script.returns},
            held_by=self.held,
            held_for=self.held_for,
            holders=tuple(self.holders),
            last=full.by,
            last_for=full.what,
            overtime=self.overtime,
        )

    def holder(self, kind: Holder, name: str) -> int:
        """Return the number of what holds a start."""
        if (kind, name) not in self.holders:
            self.holders.append((kind, name))
        return self.holders.index((kind, name))

    def back_in(self, kind: ReturnKind) -> Waiting:
        """Return when the stage is back, and what this waited for."""
        held, terms = Waiting.for_nothing(self.futures), [*self.script.returns[kind]]
        if kind is ReturnKind.FULL_SERVICE:
            terms += [(s.task.id, "") for s in self.script.steps if s.task.on_stage]
        self.wait_for(held, terms)
        return held

    def wait_for(self, held: Waiting, terms: Iterable[tuple[str, str]]) -> None:
        """Wait for tasks, and for what each lays to harden."""
        for task, wait in terms:
            what = self.holder(Holder.WAIT, wait) if wait else 0
            held.wait(self.ready(task, wait), self.place.get(task, -1), what)

    def ready(self, task: str, wait: str) -> Ints:
        """Return when what follows a task may begin, its wait over."""
        if task not in self.ends:
            return self.ticks(0)  # never carried out
        done = self.ends[task]
        if task in self.script.finds_damage:
            done = done + self.replaced
        if not wait:
            return done
        if (task, wait) not in self.over:
            self.over[task, wait] = self.hardened(task, wait)
        return np.maximum(done, self.over[task, wait])

    def hardened(self, task: str, wait: str) -> Ints:
        """Return when the wait after a coat is over, by what was found of it if it was."""
        hardens, end = self.script.waits[wait], self.ends[task]
        found = self.script.found.get((task, wait))
        if found is None:
            return hardens.over(
                end, self.draws.wait(task, hardens.product), self.series
            )
        if found.dry:
            return self.ticks(found.over)
        least = hardens.least_factor(end, found.seen, self.series)
        factor = self.draws.wait(task, hardens.product, more_than=least)
        return np.maximum(hardens.over(end, factor, self.series), found.seen + 1)

    def step(self, step: Step) -> None:
        """Play a task, and what must be done again before it."""
        before = self.kept() if step.latest else None
        self.carry_out(step, np.ones(self.futures, dtype=np.bool_))
        for _ in range(_AGAIN):
            missed = self.missed(step)
            if before is None or not missed:
                break
            late = np.logical_or.reduce(list(missed.values()))
            self.take_back(before, late)
            for name, where in missed.items():
                if name in self.script.gone:
                    continue  # its hours are past: what follows it comes late
                again = (
                    self.script.spare.get(name) or self.script.steps[self.place[name]]
                )
                if again.teams:
                    self.carry_out(again, where)
            before = self.kept()
            self.carry_out(step, late)
        if step.touch_up is not None:
            self.touch_up(step, step.touch_up)

    def kept(self) -> list[Ints]:
        """Return copies of what a step changes of its team: free from, last step, hours."""
        return [a.copy() for a in (*self.free, *self.last, self.overtime)]

    def take_back(self, before: list[Ints], where: Mask) -> None:
        """Undo what a step changed of its team, in some of the futures."""
        now = (*self.free, *self.last, self.overtime)
        for array, old in zip(now, before, strict=True):
            array[where] = old[where]

    def missed(self, step: Step) -> dict[str, Mask]:
        """Return, for each task to do before a step that comes too late, the futures."""
        out: dict[str, Mask] = {}
        for latest in step.latest:
            if latest.before not in self.ends:
                continue
            due = self.script.windows[latest.wait]
            since = np.minimum(self.ends[latest.before], self.script.horizon)
            late = self.starts[step.task.id] > due[since]
            late &= self.starts[step.task.id] < self.script.horizon
            if latest.unless in self.ends:
                late &= self.starts[latest.unless] < 0
            if late.any():
                out[latest.unless or latest.before] = late
        return out

    def carry_out(self, step: Step, where: Mask) -> None:
        """Play a task once, in some of the futures; the others keep what they had."""
        held = self.gate(step)
        ticks = self.length(step.hours * self.draws.pace(step.task.id, step.task.phase))
        start, end = self.soonest(step, held, ticks, where)
        self.note(step.task.id, where, start, end, held)
        for pool in step.pools:
            before, _ = self.taken.get(pool, (self.ticks(0), -1))
            until = np.where(where, np.maximum(before, end), before)
            self.taken[pool] = (until, self.place.get(step.task.id, -1))

    def note(
        self, task: str, where: Mask, start: Ints, end: Ints, held: Waiting
    ) -> None:
        """Keep what became of a task."""
        for kept, value, empty in (
            (self.starts, start, -1),
            (self.ends, end, 0),
            (self.held, held.by, -1),
            (self.held_for, held.what, 0),
        ):
            before = kept.get(task)
            kept[task] = np.where(
                where, value, self.ticks(empty) if before is None else before
            )
        for key in [k for k in self.over if k[0] == task]:
            del self.over[key]

    def length(self, hours: Floats) -> Ints:
        """Return hours as ticks, rounded up."""
        ticks = np.ceil(hours * 60 / self.script.tick_minutes - 1e-9)
        return np.maximum(ticks, 1).astype(np.int64)

    def gate(self, step: Step) -> Waiting:
        """Return from when a task may begin by what lies before it, and what that is."""
        held = Waiting.for_nothing(self.futures)
        if step.task.on_delivery_day:
            held.until += self.script.delivery + self.late_crates
        if step.task.on_stage:
            held.until = np.maximum(held.until, self.stage_from)
        self.wait_for(held, (*step.after, *step.clear_of))
        for pool in step.pools:
            if pool in self.taken:
                held.wait(*self.taken[pool], 0)
        return held

    def soonest(
        self, step: Step, held: Waiting, ticks: Ints, where: Mask
    ) -> tuple[Ints, Ints]:
        """Return start and end with the team that does a task; `held` waits for it too.

        Outside `where` they mean nothing.
        """
        which = np.flatnonzero(where)
        gate = held.until.copy()
        place, start, end, chosen = (self.ticks(0) for _ in range(4))
        own = self.free_from(step.teams[0], gate, which)
        place[which] = self.settled(step, step.teams[0], own, ticks, which)
        due = np.maximum(gate[which], step.planned)
        late = which[step.teams[0].time.tick(place[which]) > due]
        done = step.teams[0].time.end(place[late], step.ticks)
        for number, team in enumerate(step.teams[1:] if len(late) else (), start=1):
            there = self.free_from(team, gate, late)
            # what keeps a team back only makes it later: who isn't sooner stays out
            may = np.flatnonzero(team.time.end(there, step.ticks) < done)
            if not len(may):
                continue
            there = self.settled(step, team, there[may], ticks, late[may])
            sooner = team.time.end(there, step.ticks)
            better = sooner < done[may]
            done[may[better]] = sooner[better]
            takes = late[may[better]]
            place[takes], chosen[takes] = there[better], number
        for number in np.flatnonzero(np.bincount(chosen[which])).tolist():
            team = step.teams[number]
            mine = which[chosen[which] == number]
            start[mine] = team.time.tick(place[mine])
            end[mine] = self.done(team, place[mine], ticks[mine], mine)
            self.busy_until(step, team, mine, end, held)
            if team.time.one_go:
                past = team.time.past_hours(place[mine], ticks[mine])
                self.overtime[mine] += past * len(team.people)
        return start, end

    def done(self, team: PlayedTeam, place: Ints, ticks: Ints, futures: Ints) -> Ints:
        """Return when a team is done that rests on the days on which it isn't whole."""
        time, days = team.time, team.time.days
        end = time.end(place, ticks)
        if time.one_go:
            return end
        day, ticks = days.day[place], ticks.copy()
        left = np.flatnonzero(days.day_in(end - 1) > day)
        while len(left):
            day[left] += 1
            start = days.at[days.first[day[left]]]
            away = self.back(team, start, futures[left]) > 0
            lost = left[away]
            ticks[lost] += days.gained[day[lost] + 1] - days.gained[day[lost]]
            end[lost] = time.end(place[lost], ticks[lost])
            left = left[days.day_in(end[left] - 1) > day[left]]
        return end

    def busy_until(
        self, step: Step, team: PlayedTeam, which: Ints, end: Ints, held: Waiting
    ) -> None:
        """Keep a team busy to the end of a step, and note who of it held its start."""
        for who in team.people:
            person = self.holder(Holder.PERSON, self.script.people[who])
            held.wait(self.free[who][which], self.last[who][which], person, which)
        for who in team.people:
            self.free[who][which] = end[which]
            self.last[who][which] = self.place.get(step.task.id, -1)

    def free_from(self, team: PlayedTeam, gate: Ints, which: Ints) -> Ints:
        """Return the places of a team's first starts when all of it are free."""
        since = gate[which]
        for who in team.people:
            since = np.maximum(since, self.free[who][which])
        return team.time.begin(since)

    def settled(
        self, step: Step, team: PlayedTeam, place: Ints, ticks: Ints, which: Ints
    ) -> Ints:
        """Return the places of a task's starts if a team does it, none before `place`."""
        left = np.arange(len(which))
        for _ in range(_TRIES):
            here, futures = place[left], which[left]
            later = self.kept_back(step, team, here, ticks[futures], futures)
            moved = later > team.time.tick(here)
            if not moved.any():
                break
            left = left[moved]
            place[left] = team.time.begin(later[moved])
        return place

    def kept_back(
        self, step: Step, team: PlayedTeam, place: Ints, ticks: Ints, futures: Ints
    ) -> Ints:
        """Return from when a start may be that meets no absence, rest or bad air."""
        start = team.time.tick(place)
        later = self.back(team, start, futures)
        for who in team.people:
            if self.script.rest[who]:
                later = np.maximum(later, self.rested(who, start, futures))
        for limit in step.limits:
            end = team.time.end(place, ticks)
            later = np.maximum(later, self.better_air(limit, step, start, end, futures))
        return later

    def better_air(
        self, limit: Limit, step: Step, start: Ints, end: Ints, futures: Ints
    ) -> Ints:
        """Return from when the air is fit for a coat until it is dry; 0: it is."""
        horizon, series = self.script.horizon, self.series[futures]
        hardens = self.script.waits[limit.until]
        factor = self.draws.wait(step.task.id, hardens.product)[futures]
        over = np.minimum(hardens.over(end, factor, series), horizon)
        row = series * (horizon + 1)
        bad = limit.bad[row + over] > limit.bad[row + np.minimum(start, horizon)]
        return np.where(bad, limit.last_bad[row + over] + 1, 0)

    def rested(self, who: int, start: Ints, futures: Ints) -> Ints:
        """Return from when somebody may begin, by the rest since the last shift worked."""
        free, shift_of = self.free[who][futures], self.script.shift_of[who]
        new = shift_of[start] > shift_of[np.maximum(free - 1, 0)]
        return np.where((free > 0) & new, free + self.script.rest[who], 0)

    def back(self, team: PlayedTeam, start: Ints, futures: Ints) -> Ints:
        """Return from when a team is whole that misses somebody on the day of a start."""
        day = self.script.day_of[start]
        at = day * self.futures + futures
        away = self.away[team.people[0]].take(at)
        for who in team.people[1:]:
            away |= self.away[who].take(at)
        return np.where(away, self.script.day_begins[day + 1], 0)

    def touch_up(self, step: Step, waits: tuple[str, str]) -> None:
        """Play the touching up of joints that show through, before what follows."""
        task = step.task
        bays = self.draws.touched_up(task.id, len(task.bays), task.touch_up_frac)
        where = bays > 0
        if not where.any():
            return
        hours = bays * self.draws.spread.touch_up_h / len(step.teams[0].people)
        ticks = self.length(hours * self.draws.pace("touch-up", task.phase))
        ready = self.ends[task.id]
        place, what = self.ticks(self.place[task.id]), self.ticks(0)
        for wait in waits:  # fill and let dry; sand, prime and let dry
            held = Waiting(ready.copy(), place.copy(), what.copy())
            _, end = self.soonest(step, held, ticks, where)
            ready = end
            if wait:
                hardens = self.script.waits[wait]
                factor = self.draws.wait("touch-up", hardens.product)
                ready = hardens.over(end, factor, self.series)
        began = Waiting(ready, self.held[task.id], self.held_for[task.id])
        self.note(task.id, where, self.starts[task.id], ready, began)
