"""How early a stage can be back if it is closed after a moment, whatever the plan."""

from datetime import datetime, time

from planner.nouns.case import Case, ClosureWindow
from planner.nouns.inputs import Inputs
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.least import least
from planner.planning.posing import posed


def not_before(inputs: Inputs) -> datetime | None:
    """Return a moment before which no plan of a job has the stage back; see below."""
    job = inputs.job
    return least_return(inputs, datetime.combine(job.earliest, time(), tzinfo=job.zone))


def least_return(inputs: Inputs, not_before: datetime) -> datetime | None:
    """Return a moment before which full service can't be, however the work is planned.

    Shown without a search: the windows that the rules leave to each task, and the hours
    that people are open, with coats that dry as if nothing else were wet. None where no
    grid holds a plan. Where the crew makes more teams than can be weighed, nothing is
    shown, and it is `not_before`.
    """
    # loaded here: whoever looks without planning needn't wait for it
    from planner.schedule.problem.parts import AimKind
    from planner.schedule.space.bounds import Floor, least_at_once
    from planner.schedule.space.narrowed import Cuts, ImpossibleError
    from planner.schedule.space.search_space import make_space
    from planner.schedule.space.windows import narrow

    case = Case(inputs=inputs, window=ClosureWindow(not_before=not_before))
    for weeks in HORIZON_WEEKS:
        problem = posed(case, weeks=weeks)
        if inputs.job.climate is not None:
            problem = least(inputs, problem)
        space = make_space(problem.instance)
        if space.some_teams:
            return not_before
        try:
            low = least_at_once(narrow(space), AimKind.LAST_RETURN)
        except ImpossibleError:
            continue
        high = problem.grid.ticks
        early = Floor(space).least(Cuts(), AimKind.LAST_RETURN, low, high)
        return problem.grid.instant(early)
    return None
