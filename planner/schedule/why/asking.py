"""Whether there is a plan if some facts are lifted, a question asked many times.

Some answers follow from earlier ones: if there is a plan, there is still one with more
facts lifted; if there is none, there is none with fewer lifted. Otherwise the windows,
and the work that must lie in them, may show that there is no plan. A few passes of the
start heuristic may find one. Only then the solver is asked.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

from planner.schedule.cp.search import Verdict, run_solver
from planner.schedule.first.greedy import first_plan
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits, StoppedError, Watch
from planner.schedule.problem.parts import LinkKind
from planner.schedule.space.bounds import Floor
from planner.schedule.space.memory import Memory
from planner.schedule.space.narrowed import Cuts, ImpossibleError
from planner.schedule.space.search_space import SearchSpace, make_space
from planner.schedule.space.windows import narrow
from planner.schedule.why.relaxing import ground_facts, lift

MOST_WORK = 0.02  # limit of solver work for one question
# Work counted for one question; building the model takes as long as solving.
LEAST_WORK = 0.25
PASSES = 16  # passes of the start heuristic for one question

Lifted = frozenset[str]


@dataclass(slots=True)
class Asker:
    """Answers whether there is a plan if some facts are lifted."""

    instance: Instance
    limits: SearchLimits
    stop: Callable[[], bool] | None
    watch: Watch = field(init=False)
    left: float = field(init=False)
    spaces: "_Grounds" = field(init=False)
    possible: set[Lifted] = field(default_factory=set)
    impossible: set[Lifted] = field(default_factory=set)
    tried: dict[Lifted, bool] = field(
        default_factory=dict
    )  # value: whether it was tried thoroughly
    roomy: set[Lifted] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.watch = Watch(self.limits, self.stop)
        self.left = self.limits.work
        self.spaces = _Grounds(self.instance, self.watch)

    def plan_without(
        self, facts: Iterable[str], *, thorough: bool = True
    ) -> bool | None:
        """Return whether there is a plan without these facts; None if that is unknown.

        The solver is asked only if the question is `thorough`.
        """
        lifted = frozenset(facts)
        answer = self._known(lifted)
        tried = self.tried.get(lifted) in {True, thorough}
        if answer is not None or tried or self.watch.over():
            return answer
        try:
            ruled_out = self._ruled_out(lifted)
            answer = False if ruled_out else self._search(lifted, thorough=thorough)
        except StoppedError:
            return None
        if answer:
            self.possible.add(lifted)
        elif answer is False:
            self.impossible.add(lifted)
        self.tried[lifted] = thorough
        return answer

    def fails(self, facts: Iterable[str]) -> bool:
        """Tell whether it is certain that there is no plan without these facts."""
        return self.plan_without(facts) is False

    def ruled_out(self, facts: Iterable[str]) -> bool:
        """Tell whether there is surely no plan without these facts, by no solver."""
        lifted = frozenset(facts)
        try:
            if self.watch.over() or not self._ruled_out(lifted):
                return False
        except StoppedError:
            return False
        self.impossible.add(lifted)
        return True

    def rule_out(self, facts: Iterable[str]) -> None:
        """Remember that there is no plan without these facts."""
        self.impossible.add(frozenset(facts))

    def _known(self, lifted: Lifted) -> bool | None:
        if any(fewer <= lifted for fewer in self.possible):
            return True
        if any(lifted <= more for more in self.impossible):
            return False
        return None

    def _ruled_out(self, lifted: Lifted) -> bool:
        """Tell whether the windows and the work in them show that there is no plan."""
        if any(fewer <= lifted for fewer in self.roomy):
            return False
        space, cuts = self.spaces.without(lifted)
        without_start = not all(space.options[t] for t in space.sure)
        if without_start or _too_short(space) or not Floor(space).possible(cuts):
            return True
        self.roomy.add(lifted)
        return False

    def _search(self, lifted: Lifted, *, thorough: bool) -> bool | None:
        """Return whether there is a plan, by looking for one."""
        try:
            windows = narrow(*self.spaces.without(lifted))
        except ImpossibleError:
            return False
        if lifted not in self.tried:
            any_value = sum(latest for _, latest in windows.returns.values())
            if first_plan(windows, passes=PASSES, floor=any_value) is not None:
                return True
        if not thorough or self.left <= 0:
            return None
        run = run_solver(
            windows,
            None,
            aim=None,
            settled=(),
            work=min(MOST_WORK, self.left) if lifted else self.left,
            watch=self.watch,
        )
        self.left -= max(run.work, LEAST_WORK)
        if run.verdict is Verdict.UNKNOWN:
            return None
        return run.verdict is not Verdict.NONE


def _too_short(space: SearchSpace) -> bool:
    """Tell whether some latest time is over before the wait is, whenever it begins."""
    waits = {
        (k.before, k.after): k
        for k in space.ties
        if k.link.kind is LinkKind.FINISH_START
    }
    for window in space.ties:
        wait = waits.get((window.before, window.after))
        if wait is None or window.link.kind is not LinkKind.LATEST:
            continue
        both = window.before in space.sure and window.after in space.sure
        if both and window.unless is None:
            in_time = wait.ready <= window.still
            if not any(
                in_time[option.ends].any() for option in space.options[window.before]
            ):
                return True
    return False


class _Grounds:
    """The space without some facts; what several of them share is made once.

    Links and due ticks are lifted from a space that is already made. If open ticks,
    blocks, holds, bookings or pins are lifted, the space is made anew.
    """

    def __init__(self, instance: Instance, watch: Watch) -> None:
        self.memory = Memory()
        self.watch = watch
        self.made: dict[Lifted, SearchSpace] = {}
        self.own = ground_facts(instance)
        self.apart = frozenset(a.fact for a in instance.apart)
        self.due = [(c.id, c.due, c.due_fact) for c in instance.closures]
        closures = tuple(replace(c, due=None) for c in instance.closures)
        self.instance = replace(instance, closures=closures, aims=())

    def without(self, lifted: Lifted) -> tuple[SearchSpace, Cuts]:
        """Return the space without these facts, and the due ticks that are left."""
        own = lifted & self.own
        if own not in self.made:
            # the first one is needed to say anything at all
            check = self.watch.check if own else lambda: None
            self.made[own] = make_space(lift(self.instance, own), self.memory, check)
        whole = self.made[own]
        instance = whole.instance
        if lifted & self.apart:
            instance = lift(instance, lifted)
        ties = tuple(k for k in whole.ties if k.link.fact not in lifted)
        due = {
            closure: tick
            for closure, tick, fact in self.due
            if tick is not None and fact not in lifted
        }
        return replace(whole, instance=instance, ties=ties), Cuts(returns=due)
