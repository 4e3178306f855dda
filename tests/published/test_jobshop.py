"""Job shops with proven optima go through the same engine, machines as pools.

Each row of the data is a job: machine and duration of its steps in order. The optimum
stands beside each; both optima and data have been printed many times over.

References
----------
H. Fisher, G. L. Thompson, "Probabilistic learning combinations of local job-shop
scheduling rules", in J. F. Muth, G. L. Thompson (eds.), *Industrial Scheduling*,
Prentice-Hall, 1963, pp. 225-251 (ft06 = 55, ft10 = 930).

S. Lawrence, *Resource Constrained Project Scheduling: an Experimental Investigation of
Heuristic Scheduling Techniques* (supplement), Carnegie-Mellon University, 1984
(la01 = 666, la02 = 655, la05 = 593, la06 = 926, la16 = 945).

Tests of planner/schedule/check/verify.py, planner/schedule/climb/solve.py,
planner/schedule/cp/rules.py.
"""

import pytest

from planner.schedule.check.verify import values, verify
from planner.schedule.climb.solve import SearchLimits, solve
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Planned
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    Closure,
    Demand,
    Link,
    Mode,
    Pool,
    Term,
)

Shop = tuple[tuple[tuple[int, int], ...], ...]

FT06: Shop = (
    ((2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)),
    ((1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)),
    ((2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)),
    ((1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)),
    ((2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)),
    ((1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)),
)
LA01: Shop = (
    ((1, 21), (0, 53), (4, 95), (3, 55), (2, 34)),
    ((0, 21), (3, 52), (4, 16), (2, 26), (1, 71)),
    ((3, 39), (4, 98), (1, 42), (2, 31), (0, 12)),
    ((1, 77), (0, 55), (4, 79), (2, 66), (3, 77)),
    ((0, 83), (3, 34), (2, 64), (1, 19), (4, 37)),
    ((1, 54), (2, 43), (4, 79), (0, 92), (3, 62)),
    ((3, 69), (4, 77), (1, 87), (2, 87), (0, 93)),
    ((2, 38), (0, 60), (1, 41), (3, 24), (4, 83)),
    ((3, 17), (1, 49), (4, 25), (0, 44), (2, 98)),
    ((4, 77), (3, 79), (2, 43), (1, 75), (0, 96)),
)
LA02: Shop = (
    ((0, 20), (3, 87), (1, 31), (4, 76), (2, 17)),
    ((4, 25), (2, 32), (0, 24), (1, 18), (3, 81)),
    ((1, 72), (2, 23), (4, 28), (0, 58), (3, 99)),
    ((2, 86), (1, 76), (4, 97), (0, 45), (3, 90)),
    ((4, 27), (0, 42), (3, 48), (2, 17), (1, 46)),
    ((1, 67), (0, 98), (4, 48), (3, 27), (2, 62)),
    ((4, 28), (1, 12), (3, 19), (0, 80), (2, 50)),
    ((1, 63), (0, 94), (2, 98), (3, 50), (4, 80)),
    ((4, 14), (0, 75), (2, 50), (1, 41), (3, 55)),
    ((4, 72), (2, 18), (1, 37), (3, 79), (0, 61)),
)
LA05: Shop = (
    ((1, 72), (0, 87), (4, 95), (2, 66), (3, 60)),
    ((4, 5), (3, 35), (0, 48), (2, 39), (1, 54)),
    ((1, 46), (3, 20), (2, 21), (0, 97), (4, 55)),
    ((0, 59), (3, 19), (4, 46), (1, 34), (2, 37)),
    ((4, 23), (2, 73), (3, 25), (1, 24), (0, 28)),
    ((3, 28), (0, 45), (4, 5), (1, 78), (2, 83)),
    ((0, 53), (3, 71), (1, 37), (4, 29), (2, 12)),
    ((4, 12), (2, 87), (3, 33), (1, 55), (0, 38)),
    ((2, 49), (3, 83), (1, 40), (0, 48), (4, 7)),
    ((2, 65), (3, 17), (0, 90), (4, 27), (1, 23)),
)
LA06: Shop = (
    ((1, 21), (2, 34), (4, 95), (0, 53), (3, 55)),
    ((3, 52), (4, 16), (1, 71), (2, 26), (0, 21)),
    ((2, 31), (0, 12), (1, 42), (3, 39), (4, 98)),
    ((3, 77), (1, 77), (4, 79), (0, 55), (2, 66)),
    ((4, 37), (3, 34), (2, 64), (1, 19), (0, 83)),
    ((2, 43), (1, 54), (0, 92), (3, 62), (4, 79)),
    ((0, 93), (3, 69), (1, 87), (4, 77), (2, 87)),
    ((0, 60), (1, 41), (2, 38), (4, 83), (3, 24)),
    ((2, 98), (3, 17), (4, 25), (0, 44), (1, 49)),
    ((0, 96), (4, 77), (3, 79), (1, 75), (2, 43)),
    ((4, 28), (2, 35), (0, 95), (3, 76), (1, 7)),
    ((0, 61), (4, 10), (2, 95), (1, 9), (3, 35)),
    ((4, 59), (3, 16), (1, 91), (2, 59), (0, 46)),
    ((4, 43), (1, 52), (0, 28), (2, 27), (3, 50)),
    ((0, 87), (1, 45), (2, 39), (4, 9), (3, 41)),
)
LA16: Shop = (
    (
        (1, 21),
        (6, 71),
        (9, 16),
        (8, 52),
        (7, 26),
        (2, 34),
        (0, 53),
        (4, 21),
        (3, 55),
        (5, 95),
    ),
    (
        (4, 55),
        (2, 31),
        (5, 98),
        (9, 79),
        (0, 12),
        (7, 66),
        (1, 42),
        (8, 77),
        (6, 77),
        (3, 39),
    ),
    (
        (3, 34),
        (2, 64),
        (8, 62),
        (1, 19),
        (4, 92),
        (9, 79),
        (7, 43),
        (6, 54),
        (0, 83),
        (5, 37),
    ),
    (
        (1, 87),
        (3, 69),
        (2, 87),
        (7, 38),
        (8, 24),
        (9, 83),
        (6, 41),
        (0, 93),
        (5, 77),
        (4, 60),
    ),
    (
        (2, 98),
        (0, 44),
        (5, 25),
        (6, 75),
        (7, 43),
        (1, 49),
        (4, 96),
        (9, 77),
        (3, 17),
        (8, 79),
    ),
    (
        (2, 35),
        (3, 76),
        (5, 28),
        (9, 10),
        (4, 61),
        (6, 9),
        (0, 95),
        (8, 35),
        (1, 7),
        (7, 95),
    ),
    (
        (3, 16),
        (2, 59),
        (0, 46),
        (1, 91),
        (9, 43),
        (8, 50),
        (6, 52),
        (5, 59),
        (4, 28),
        (7, 27),
    ),
    (
        (1, 45),
        (0, 87),
        (3, 41),
        (4, 20),
        (6, 54),
        (9, 43),
        (8, 14),
        (5, 9),
        (2, 39),
        (7, 71),
    ),
    (
        (4, 33),
        (2, 37),
        (8, 66),
        (5, 33),
        (3, 26),
        (7, 8),
        (1, 28),
        (6, 89),
        (9, 42),
        (0, 78),
    ),
    (
        (8, 69),
        (9, 81),
        (2, 94),
        (4, 96),
        (3, 27),
        (0, 69),
        (7, 45),
        (6, 78),
        (1, 74),
        (5, 84),
    ),
)
FT10: Shop = (
    (
        (0, 29),
        (1, 78),
        (2, 9),
        (3, 36),
        (4, 49),
        (5, 11),
        (6, 62),
        (7, 56),
        (8, 44),
        (9, 21),
    ),
    (
        (0, 43),
        (2, 90),
        (4, 75),
        (9, 11),
        (3, 69),
        (1, 28),
        (6, 46),
        (5, 46),
        (7, 72),
        (8, 30),
    ),
    (
        (1, 91),
        (0, 85),
        (3, 39),
        (2, 74),
        (8, 90),
        (5, 10),
        (7, 12),
        (6, 89),
        (9, 45),
        (4, 33),
    ),
    (
        (1, 81),
        (2, 95),
        (0, 71),
        (4, 99),
        (6, 9),
        (8, 52),
        (7, 85),
        (3, 98),
        (9, 22),
        (5, 43),
    ),
    (
        (2, 14),
        (0, 6),
        (1, 22),
        (5, 61),
        (3, 26),
        (4, 69),
        (8, 21),
        (7, 49),
        (9, 72),
        (6, 53),
    ),
    (
        (2, 84),
        (1, 2),
        (5, 52),
        (3, 95),
        (8, 48),
        (9, 72),
        (0, 47),
        (6, 65),
        (4, 6),
        (7, 25),
    ),
    (
        (1, 46),
        (0, 37),
        (3, 61),
        (2, 13),
        (6, 32),
        (5, 21),
        (9, 32),
        (8, 89),
        (7, 30),
        (4, 55),
    ),
    (
        (2, 31),
        (0, 86),
        (1, 46),
        (5, 74),
        (4, 32),
        (6, 88),
        (8, 19),
        (9, 48),
        (7, 36),
        (3, 79),
    ),
    (
        (0, 76),
        (1, 69),
        (3, 76),
        (5, 51),
        (2, 85),
        (9, 11),
        (6, 40),
        (7, 89),
        (4, 26),
        (8, 74),
    ),
    (
        (1, 85),
        (0, 13),
        (2, 61),
        (6, 7),
        (8, 64),
        (9, 76),
        (5, 47),
        (3, 52),
        (4, 90),
        (7, 45),
    ),
)


def as_instance(shop: Shop, horizon: int) -> Instance:
    """Return the shop as an instance in which nobody is needed."""
    tasks, links = [], []
    for j, job in enumerate(shop):
        for k, (machine, ticks) in enumerate(job):
            tasks.append(
                Activity(
                    id=f"j{j:02d}-{k:02d}",
                    modes=(Mode(size=0, ticks=ticks),),
                    demands=(Demand(pool=f"m{machine}"),),
                )
            )
            if k:
                links.append(Link(before=f"j{j:02d}-{k - 1:02d}", after=tasks[-1].id))
    machines = sorted({machine for job in shop for machine, _ in job})
    return Instance(
        horizon=horizon,
        tasks=tuple(tasks),
        pools=tuple(Pool(id=f"m{m}") for m in machines),
        links=tuple(links),
        closures=(
            Closure(
                id="shop",
                tasks=tuple(t.id for t in tasks),
                terms=tuple(
                    Term(task=f"j{j:02d}-{len(s) - 1:02d}") for j, s in enumerate(shop)
                ),
            ),
        ),
        aims=(AimKind.LAST_RETURN,),
    )


def proven_length(shop: Shop) -> int:
    """Return the length of the best plan; fails where it isn't proven best."""
    horizon = sum(ticks for job in shop for _, ticks in job)
    instance = as_instance(shop, horizon)
    outcome = solve(instance, limits=SearchLimits(work=60.0))
    assert isinstance(outcome, Planned)
    assert verify(instance, outcome.placements) == ()
    assert outcome.aims[0].proven
    length = values(instance, outcome.placements)[AimKind.LAST_RETURN]
    assert length == outcome.aims[0].value
    return length


@pytest.mark.parametrize(
    ("shop", "optimum"),
    [(FT06, 55), (LA01, 666), (LA02, 655), (LA05, 593), (LA06, 926)],
    ids=["ft06", "la01", "la02", "la05", "la06"],
)
def test_small_shop_is_proven_best(shop, optimum):
    assert proven_length(shop) == optimum


@pytest.mark.slow
@pytest.mark.parametrize(
    ("shop", "optimum"), [(LA16, 945), (FT10, 930)], ids=["la16", "ft10"]
)
def test_ten_by_ten_shop_is_proven_best(shop, optimum):
    assert proven_length(shop) == optimum
