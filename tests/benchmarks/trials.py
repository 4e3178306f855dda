"""Which runs make up a set: what is generated, read or written down, and by whom solved."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, partial

from planner.schedule.climb.solve import solve
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import Planned
from planner.schedule.problem.parts import AimKind
from tests.benchmarks.clashes import CLASHES
from tests.benchmarks.jobs import ALL_AIMS, ONE_AIM, SIZES, made_job
from tests.benchmarks.measure import (
    AMPLE_WORK,
    ENGINE,
    Row,
    Stop,
    Tell,
    measure_clash,
    measure_peer,
    measure_plan,
)
from tests.benchmarks.peers import PEERS
from tests.benchmarks.projects import Project, as_instance, shop_project
from tests.benchmarks.whole import (
    CHANGES,
    COMMAND,
    COMMANDS,
    EXAMPLES,
    measure_answer,
    measure_command,
    measure_near,
)
from tests.published import test_jobshop as classics

AIMS_SIZE = CLASH_SIZE = "45"
WHOLE_SETS = ("answers", "near", "commands")
OWN_SETS = (*SIZES, "aims", "clash", *WHOLE_SETS)

# Fisher and Thompson 1963, Lawrence 1984; the full references stand beside the data.
SHOPS = (
    ("ft06", classics.FT06, 55),
    ("la01", classics.LA01, 666),
    ("la02", classics.LA02, 655),
    ("la05", classics.LA05, 593),
    ("la06", classics.LA06, 926),
    ("la16", classics.LA16, 945),
    ("ft10", classics.FT10, 930),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One run that is to be made."""

    set: str
    instance: str
    solver: str
    run: Callable[[Stop, Tell], Row]


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What all runs of a call have in common; `work` is the engine's limit of work.

    Where `work` is None, one aim alone is limited by the clock, and several have the
    engine's own limit besides.
    """

    clock_s: float
    work: float | None = None
    peers: tuple[str, ...] = tuple(PEERS)


def own_trials(group: str, seeds: Sequence[int], terms: Terms) -> list[Trial]:
    """Return the runs of a set of generated jobs or of the examples.

    The examples hang on no seed.
    """
    if group in WHOLE_SETS:
        return whole_trials(group, terms)
    if group == "clash":
        return [
            Trial(
                set=f"{group} {case}",
                instance=f"seed {seed}",
                solver=ENGINE,
                run=partial(_clash, case, seed, terms),
            )
            for seed in seeds
            for case in CLASHES
        ]
    size, aims = (AIMS_SIZE, ALL_AIMS) if group == "aims" else (group, ONE_AIM)
    return [
        Trial(
            set=group,
            instance=f"seed {seed}",
            solver=ENGINE,
            run=partial(_job, group, size, seed, aims, terms),
        )
        for seed in seeds
    ]


def whole_trials(group: str, terms: Terms) -> list[Trial]:
    """Return the runs of the examples: answers, near ones, or commands."""

    clock_s = terms.clock_s
    runs: dict[str, tuple[str, Sequence[str], Callable[[str, Stop], Row]]] = {
        "answers": (ENGINE, EXAMPLES, partial(measure_answer, clock_s=clock_s)),
        "near": (ENGINE, tuple(CHANGES), partial(measure_near, clock_s=clock_s)),
        "commands": (
            COMMAND,
            tuple(COMMANDS),
            lambda name, _: measure_command(name, clock_s),
        ),
    }
    solver, names, run = runs[group]
    return [
        Trial(set=group, instance=n, solver=solver, run=partial(_whole, run, n))
        for n in names
    ]


def _whole(run: Callable[[str, Stop], Row], name: str, stop: Stop, _: Tell) -> Row:
    return run(name, stop)


def published_trials(projects: Sequence[Project], terms: Terms) -> list[Trial]:
    """Return the runs of projects: each through every solver before the next."""
    return [
        Trial(
            set=project.set,
            instance=project.name,
            solver=solver,
            run=partial(_project, project, solver, terms),
        )
        for project in projects
        for solver in (ENGINE, *terms.peers)
    ]


def shop_projects() -> tuple[Project, ...]:
    """Return the small classics as projects, with their proven optima."""
    return tuple(
        shop_project(name, shop, best_known=best) for name, shop, best in SHOPS
    )


def _job(
    group: str,
    size: str,
    seed: int,
    aims: tuple[AimKind, ...],
    terms: Terms,
    stop: Stop,
    tell: Tell,
) -> Row:
    default = AMPLE_WORK if len(aims) == 1 else SearchLimits().work
    return measure_plan(
        group,
        f"seed {seed}",
        made_job(SIZES[size], seed, aims=aims),
        clock_s=terms.clock_s,
        work=terms.work or default,
        stop=stop,
        tell=tell,
    )


def _project(
    project: Project, solver: str, terms: Terms, stop: Stop, tell: Tell
) -> Row:
    if solver != ENGINE:
        return measure_peer(project, solver, clock_s=terms.clock_s, stop=stop)
    return measure_plan(
        project.set,
        project.name,
        as_instance(project),
        clock_s=terms.clock_s,
        work=terms.work or AMPLE_WORK,
        stop=stop,
        tell=tell,
        best_known=project.best_known,
    )


def _clash(case: str, seed: int, terms: Terms, stop: Stop, tell: Tell) -> Row:
    job = made_job(SIZES[CLASH_SIZE], seed)
    instance = CLASHES[case](job, _best(seed))
    return measure_clash(
        f"clash {case}",
        f"seed {seed}",
        instance,
        clock_s=terms.clock_s,
        work=terms.work,
        stop=stop,
    )


@cache
def _best(seed: int) -> int:
    """Return the best return of a job of the size that clashes are made from."""
    job: Instance = made_job(SIZES[CLASH_SIZE], seed)
    outcome = solve(job, limits=SearchLimits(work=AMPLE_WORK, clock_s=60))
    if not isinstance(outcome, Planned) or not outcome.aims[0].proven:
        raise AssertionError(f"seed {seed}: not proven best in a minute")
    return outcome.aims[0].value
