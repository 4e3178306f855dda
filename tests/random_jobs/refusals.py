"""Whether a refusal is true: the facts it names clash, and giving way leaves a plan."""

from collections.abc import Collection
from copy import deepcopy
from dataclasses import replace
from pathlib import Path

from planner.nouns.ids import slug
from planner.planning.least import OWN_DAMP, least
from planner.planning.posing import problem_of
from planner.planning.refusals.no_plan import EXPLAINED_WEEKS
from planner.schedule.check.verify import verify
from planner.schedule.climb.solve import solve
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import Planned
from planner.schedule.why.explain import all_facts, conflict, lift
from planner.usecases.read import read_inputs
from tests.random_jobs.jobs import RandomJob
from tests.random_jobs.toml import Table

WORK = 0.2  # of the solver, for each question


def faults_of(path: Path) -> tuple[list[str], tuple[tuple[str, ...], ...]]:
    """Return what is untrue of a refusal, and the sets of facts that leave a plan.

    It is asked of the clash as the command names it. Nothing is found where there is
    no clash to name: no painter, say, or a coat that no span of the crew holds.
    """
    inputs = read_inputs(path)
    problem = problem_of(inputs, weeks=EXPLAINED_WEEKS)
    if inputs.job.climate is not None:  # each coat makes its own damp, at least
        problem = least(inputs, problem)
    instance = problem.instance
    clash = conflict(instance, limits=SearchLimits(work=WORK), certain=True)
    if clash is None or not set(clash.facts) <= set(all_facts(instance)):
        return [], ()
    out: list[str] = []
    rest = set(all_facts(instance)) - set(clash.facts) - held_by(instance, clash.facts)
    if _has_plan(lift(instance, rest)):
        out.append(f"there is a plan with all that is said to clash: {clash.facts}")
    for facts in clash.enough:
        if _has_plan(lift(instance, facts)) is False:
            out.append(f"giving way on {facts} leaves no plan")
    return out, clash.enough


def held_by(instance: Instance, facts: Collection[str]) -> set[str]:
    """Return the facts that must stay for some facts to mean what they say.

    What a coat's own water rules out is worked out for the hours in which it can be
    laid; with other hours there would be starts that nobody has looked at.
    """
    if not any(f.startswith(OWN_DAMP) for f in facts):
        return set()
    hours = {p.fact for p in instance.people}
    return hours | {b.fact for t in instance.tasks for b in t.no_work}


def _has_plan(instance: Instance) -> bool | None:
    """Tell whether there is a plan that passes the checker; None where it isn't known."""
    bare = replace(instance, aims=())
    found = solve(bare, limits=SearchLimits(work=WORK), explain=False)
    if isinstance(found, Planned):
        return not verify(bare, found.placements)
    return None if type(found).__name__ == "TimeUp" else False


def given_way(job: RandomJob, facts: tuple[str, ...]) -> RandomJob | None:
    """Return the job as its owner would change it to give way; None for a fact of the air."""
    table = deepcopy(job.table)
    for fact in facts:
        if not _give_way(table, fact):
            return None
    crew = zip(table["crew"], job.mates, strict=True)
    mates = tuple(replace(m, table=t) for t, m in crew)
    return replace(job, table=table, mates=mates)


def _give_way(table: Table, fact: str) -> bool:
    kind, _, name = fact.partition(":")
    stage = table["stage"]
    if kind == "booking":
        return bool(stage.pop("bookings", None))
    if kind == "quiet":
        return bool(stage.pop("quiet", None))
    if kind == "stage-hours":
        return bool(stage.pop("hours", None))
    if kind == "delivery":
        return bool(table["job"].pop("delivery", None))
    if kind != "person":
        return False
    (mate,) = (m for m in table["crew"] if slug(m["name"]) == name)
    mate |= {"shifts": ["Mon-Sun 00:00-24:00"], "rest": "0 h"}
    mate.pop("calendar", None)
    stage.pop("holidays", None)
    return True
