"""The remarks on a plan whose coats change the air that they dry in."""

from planner.nouns.plan import OWN_AIR
from planner.planning.answer import Answer
from planner.planning.inside import gives_water
from planner.planning.problem import Problem


def own_air_words(problem: Problem, answer: Answer) -> tuple[str, ...]:
    """Return in one line which air the plan has, and why it took rounds.

    Nothing where wet work changes nothing in the air. `problem` is in the plan's air.
    """
    if not answer.rounds:
        return ()
    wet = gives_water(problem.work, problem.products)
    begins = min((p.start for p in answer.placements if p.task in wet), default=0)
    ends = max(p.end for p in answer.placements)
    dampest = float(problem.air.humidity_pct[begins:ends].max())
    took = (
        "this took one round"
        if answer.rounds == 1
        else f"this took {answer.rounds} rounds, as every plan makes an air of its own"
    )
    return (
        f"{OWN_AIR}its coats dampen the room to {dampest:.0f} % at most, and every "
        f"wait and limit is kept in that air; {took}",
    )
