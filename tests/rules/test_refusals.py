"""What no plan can do, told before the search: each in the smallest case, by hand.

A tick is a quarter of an hour from midnight of Monday 8 February 2027 in Halifax.

Tests of planner/planning/refusals/air_limits.py, planner/planning/refusals/too_few.py,
planner/planning/refusals/too_long.py, planner/planning/refusals/too_short.py,
planner/planning/refusals/unmanned.py, planner/planning/refusals/even_longest.py.
"""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pytest

from planner.errors import NoPlanError
from planner.hours.grid import Grid
from planner.hours.open import OpenHours
from planner.measures import Units
from planner.planning.problem import Problem
from planner.planning.refusals import too_few
from planner.planning.refusals.air_limits import never_kept
from planner.planning.refusals.too_few import _helps, _short, _words
from planner.planning.refusals.too_long import refuse
from planner.planning.refusals.too_short import refuse_short_days
from planner.planning.refusals.unmanned import refuse_unmanned, unmanned
from planner.schedule.problem.parts import Hold, Mode
from planner.trade.lifting.lifting import Lift
from tests.support.ics import HALIFAX
from tests.support.schedule import block, closure, instance, person, spans, task, wait

PAINTERS = (
    person("ann", (0, 8), (9, 12)),
    person("bo", (2, 7), (10, 20)),
)
NAMES = {"ann": "Ann", "bo": "Bo", "cy": "Cy"}


def problem(*tasks, people=PAINTERS, phases=(), bays=("wall", "apron"), **more: Any):
    """Return what a refusal looks at: tasks of one phase each, the rest made up."""
    work = [
        SimpleNamespace(
            id=t.id,
            title=f"Title of {t.id}",
            phase=dict(phases).get(t.id, "colour"),
            quantity="20 m²",
            lead=("painter",),
            help=("labourer", "painter"),
            bays=bays,
        )
        for t in tasks
    ]
    made = SimpleNamespace(
        work=SimpleNamespace(tasks=work),
        instance=instance(*tasks, people=people, **more),
        grid=Grid.from_day(date(2027, 2, 8), days=1, tick_minutes=15, zone=HALIFAX),
        open={p.id: OpenHours(open=p.open, shifts=p.shifts, taken=()) for p in people},
        job=SimpleNamespace(
            crew=[
                SimpleNamespace(id=p.id, name=NAMES[p.id], trades=("carpenter",))
                for p in people
            ]
        ),
        facts={f"nobody:{t.id}": f"nobody for {t.id}" for t in tasks}
        | {"cold": "5 °C or more", "damp": "90 % or less"},
    )
    return cast(Problem, made)


def refused(made: Problem) -> NoPlanError:
    with pytest.raises(NoPlanError) as caught:
        refuse(made, lambda: made)
    return caught.value


def coat(name: str, *modes: tuple[int, int], **more: Any):
    """Return a coat in one go, for teams of a size with their ticks."""
    more.setdefault("one_go", True)
    sizes = tuple(Mode(size=size, ticks=ticks) for size, ticks in modes)
    return task(name, 1, "ann", "bo", modes=sizes, **more)


# ------------------------------------------------------------- work that is too long


def test_work_that_fits_no_span_is_told_by_team_with_what_would_help():
    error = refused(problem(coat("colour-1", (1, 10), (2, 6), set_up=1)))
    # 11 ticks alone, Bo's longest span is 10, from 10 on; 7 by both, who share 2 to 7
    assert error.conflict == (
        '"Title of colour-1", 20 m², takes 2 h 45 min by 1 person where the longest open span '
        "is 2 h 30 min (Bo, Mon 8 Feb 2027, 02:30); 1 h 45 min by 2 people where the longest "
        "open span is 1 h 15 min (Ann, Bo, Mon 8 Feb 2027, 00:30); colour isn't split "
        "anywhere: a lap shows",
    )
    assert error.helps == (
        'for "Title of colour-1", a longer shift: 1 h 45 min without a break for 2 at '
        "once",
    )


@pytest.mark.parametrize(
    ("modes", "more"),
    [
        (((1, 10),), {}),  # Bo's ten ticks on the dot
        (((1, 9),), {"set_up": 1}),
        (((1, 11), (2, 5)), {}),  # both together from 2 to 7
        (((1, 11),), {"one_go": False}),
        (((1, 11),), {"optional": True}),
        (((1, 11),), {"leads": ()}),  # refused for that, elsewhere
    ],
)
def test_what_fits_or_may_pause_or_be_left_out_is_not_refused(modes, more):
    plain = task("other", 2, "ann")
    made = problem(coat("colour-1", *modes, **more), plain)
    refuse(made, lambda: pytest.fail("the longest grid isn't asked for"))


@pytest.mark.parametrize(
    "more",
    [
        {"leads": ("ann",)},  # whose longest span is 8
        {"no_work": (block("quiet", (15, 16)),)},
    ],
)
def test_only_spans_of_teams_that_may_do_it_count(more):
    assert refused(problem(coat("colour-1", (1, 9), **more))).conflict


def test_bookings_close_spans_of_what_is_done_on_the_stage_alone():
    booked = (closure("other", booked=(block("shoot", (12, 15)),)),)
    plain = task("other", 2, "ann")
    made = problem(coat("colour-1", (1, 9)), plain, closures=booked)
    refuse(made, lambda: pytest.fail("it isn't done on the stage"))
    booked = (closure("other", "colour-1", booked=(block("shoot", (12, 15)),)),)
    made = problem(coat("colour-1", (1, 9)), plain, closures=booked)
    # left are Ann's 0 to 8: 2 h
    assert "span is 2 h (Ann, Mon 8 Feb 2027, 00:00)" in refused(made).conflict[0]


def test_a_job_that_fits_on_the_longest_grid_is_not_refused():
    short = problem(coat("colour-1", (1, 11)))
    later = (person("ann", (0, 11)), person("bo", (2, 7)))
    refuse(short, lambda: problem(coat("colour-1", (1, 11)), people=later))


def test_a_kind_of_work_is_told_once_and_primer_may_go_bay_by_bay():
    phases = {"p-1": "prime", "p-2": "prime", "p-3": "prime", "c-1": "colour"}
    tasks = [coat(name, (1, 12)) for name in phases]
    error = refused(problem(*tasks, phases=phases.items()))
    assert [c.split(", ")[0] for c in error.conflict] == [
        '"Title of p-1" and 2 more like it',
        '"Title of c-1"',
    ]
    by_bay = [h for h in error.helps if "bay by bay" in h]
    assert len(by_bay) == 1
    assert by_bay[0].startswith('for "Title of p-1", bay by bay')
    one = refused(
        problem(coat("p-1", (1, 12)), phases={"p-1": "prime"}.items(), bays=("wall",))
    )
    assert not any("bay by bay" in h for h in one.helps)
    assert "a lap shows" not in one.conflict[0]


@pytest.mark.parametrize(
    ("ticks", "words"),
    [
        (10, "3 (painter, labourer) take 2 h 30 min"),
        (11, "3 (painter, labourer) take 2 h 45 min, and a longer shift with it"),
    ],
)
def test_a_bigger_team_than_the_crew_has_may_help(ticks, words):
    error = refused(problem(coat("colour-1", (1, 12), (3, ticks))))
    assert error.helps[-1] == f'for "Title of colour-1", a bigger team: {words}'
    assert "by 3" not in error.conflict[0]
    none = refused(problem(coat("colour-1", (3, 4))))
    assert "takes a team that the crew can not form" in none.conflict[0]
    assert not any("a longer shift:" in h for h in none.helps)


# ---------------------------------------------------------------- nobody, too few


# ----------------------------------------------------------- days that are too short


def pausing(name="tape-1", ticks=3, size=1, **more: Any):
    """Return work that may pause, set up anew each day, for Ann, Bo or both."""
    mode = (Mode(size=size, ticks=ticks),)
    return task(name, ticks, "ann", "bo", modes=mode, **more)


def short_days(made: Problem) -> NoPlanError:
    with pytest.raises(NoPlanError) as error:
        refuse_short_days(made, lambda: made)
    return error.value


def test_work_whose_set_up_fills_every_day_is_refused_with_both():
    """Ann's longest day has eight ticks, Bo's ten, and setting up takes ten."""
    tasks = pausing(set_up=10), pausing("tape-2", set_up=10)
    phases = (("tape-1", "tape"), ("tape-2", "tape"))
    error = short_days(problem(*tasks, phases=phases))
    assert error.message == (
        "no day of the crew is longer than setting up takes for some of the work"
    )
    assert error.conflict == (
        '"Title of tape-1" and 1 more like it is set up anew each day, which takes '
        "2 h 30 min; the longest day: 2 h 30 min open (Bo, Mon 8 Feb 2027, 02:30)",
    )
    assert error.helps == (
        'for "Title of tape-1", a longer shift: more than 2 h 30 min in a day',
        'for "Title of tape-1", a quicker set-up, if the crew has one: set_up in a '
        '[[labour]] section with work = "tape"',
    )


@pytest.mark.parametrize(
    "more",
    [
        {"set_up": 8, "leads": ("ann",)},  # Bo's ten ticks don't lead
        {"set_up": 8, "size": 2},  # Ann's eight aren't more
        {"set_up": 9, "no_work": (block("quiet", (15, 16)),)},  # nine are left of Bo's
    ],
)
def test_days_count_of_all_that_are_needed_and_of_one_who_leads(more):
    assert short_days(problem(pausing(**more))).conflict


@pytest.mark.parametrize(
    "more",
    [
        {"set_up": 9},  # Bo's tenth tick gets on with it
        {"set_up": 7, "size": 2},
        {"set_up": 0},
        {"set_up": 10, "optional": True},
        {"set_up": 10, "one_go": True},  # told as work that is too long
        {"set_up": 10, "leads": ()},
    ],
)
def test_work_that_some_day_gets_on_with_is_not_refused(more):
    made = problem(pausing(**more), task("other", 2, "ann"))
    refuse_short_days(made, lambda: pytest.fail("the longest grid isn't asked for"))


def test_a_break_within_a_shift_makes_no_new_day_and_a_booking_takes_of_it():
    shift = spans((0, 12))
    ann = person("ann", (0, 4), (6, 12), shifts=shift)
    cut = (closure("tape-1", booked=(block("shoot", (8, 12)),)),)
    one = task("tape-1", 3, "ann", set_up=9)
    refuse_short_days(
        problem(one, people=(ann,)), lambda: pytest.fail("ten ticks are more than nine")
    )
    found = short_days(problem(one, people=(ann,), closures=cut)).conflict[0]
    assert "the longest day: 1 h 30 min open (Ann, Mon 8 Feb 2027, 00:00)" in found


def test_where_a_longer_grid_has_a_day_that_is_long_enough_nothing_is_refused():
    made, longer = problem(pausing(set_up=10)), problem(pausing(set_up=9))
    refuse_short_days(made, lambda: longer)


def test_work_that_nobody_may_lead_or_that_takes_more_than_may_join_is_refused():
    sizes = (Mode(size=3, ticks=2), Mode(size=2, ticks=3))
    made = problem(
        task("led", 2, "ann"),
        task("unled", 2, "ann", leads=()),
        task("left", 2, "ann", leads=(), optional=True),
        task("two", 2, "ann", "bo", modes=sizes),
        task("alone", 2, "ann", modes=sizes),
    )
    assert unmanned(made) == ("unled", "alone")
    with pytest.raises(NoPlanError) as caught:
        refuse_unmanned(made, lambda: made)
    assert caught.value.conflict == (
        '"Title of unled" needs a painter; nobody of the crew is one',
        '"Title of alone" needs a painter in a team of 2; nobody of the crew is one',
    )
    fine = problem(task("led", 2, "ann"))
    refuse_unmanned(fine, lambda: pytest.fail("the longest grid isn't asked for"))


def test_who_is_never_there_does_no_work_and_is_named():
    """Ann is away for as far as is looked at; on a longer grid she would be back."""
    away = (person("ann"), person("bo", (2, 7)))
    away = (replace(away[0], open=spans(), shifts=spans()), away[1])
    tasks = task("a", 2, "ann"), task("b", 2, "ann"), task("c", 2, "ann", "bo")
    made = problem(*tasks, people=away)
    assert unmanned(made) == ("a", "b")
    with pytest.raises(NoPlanError) as caught:
        refuse_unmanned(made, lambda: made)
    assert caught.value.conflict == (
        '"Title of a", "Title of b" need a painter; Ann isn\'t open on any day until '
        "Tue 9 Feb 2027",
    )
    refuse_unmanned(made, lambda: problem(*tasks))


def test_work_whose_hours_are_all_shut_says_by_what():
    """Loud work is shut in all of Ann's and Bo's hours; for other work some are left."""
    hush = block("quiet:next-door.ics", (0, 20))
    tasks = (
        task("loud", 2, "ann", "bo", no_work=(hush,)),
        task("soft", 2, "ann", no_work=(block("quiet:next-door.ics", (0, 3)),)),
    )
    made = problem(*tasks)
    facts = {"quiet:next-door.ics": "no loud work in the quiet hours of next-door.ics"}
    made = cast(Problem, SimpleNamespace(**vars(made) | {"facts": facts}))
    assert unmanned(made) == ("loud",)
    with pytest.raises(NoPlanError) as caught:
        refuse_unmanned(made, lambda: made)
    assert caught.value.conflict == (
        '"Title of loud" needs a painter; no hour of Ann and Bo until Tue 9 Feb 2027 is '
        "left by: no loud work in the quiet hours of next-door.ics",
    )
    assert caught.value.facts == (
        "nobody",
        "quiet:next-door.ics",
        "person:ann",
        "person:bo",
    )


def lift(people: int | None, mass_kg: float = 60.0, what: str = "an upright") -> Lift:
    return Lift(
        what=what,
        count=1,
        mass_kg=mass_kg,
        held="by hand",
        limit_kg=23.0,
        people=people,
        phases=("set", "join-uprights"),
        bays=("wall",),
    )


def lifted(*trades: tuple[str, ...], lifting: str = "by hand") -> tuple[Any, Any]:
    """Return a job whose crew has these trades, and a task that carpenters lead."""
    crew = [
        SimpleNamespace(name=name, trades=t)
        for name, t in zip(NAMES.values(), trades, strict=False)
    ]
    methods = SimpleNamespace(lifting=lifting)
    job = SimpleNamespace(crew=crew, methods=methods, units=Units.US)
    work = SimpleNamespace(
        title="Set the wall",
        phase="set",
        bays=("wall",),
        lead=("carpenter",),
        help=("labourer",),
    )
    return job, work


def test_a_lift_needs_as_many_as_may_do_its_task():
    job, work = lifted(("carpenter",), ("labourer",), ("painter",))
    # a painter may neither lead it nor help
    assert not _short(job, work, (lift(2),))
    assert _short(job, work, (lift(2), lift(3)))
    assert not _short(job, work, ())
    assert _short(job, work, (lift(None),))
    assert _short(job, work, (lift(2), lift(None)))
    job, work = lifted(("labourer",), ("carpenter",))
    assert _short(job, work, (lift(3),))  # whoever of the crew may lead it
    job, work = lifted(("labourer",), ("labourer",))
    assert not _short(job, work, (lift(3),))  # refused for its lead instead


def test_a_lift_is_told_with_who_may_do_it_and_what_would_help():
    job, work = lifted(("carpenter",), ("labourer",), ("painter",))
    said = _words(job, work, (lift(2), lift(3, what="a long upright")))
    assert said.startswith('"Set the wall" lifts a long upright')
    assert said.endswith("2 of the crew may do it (Ann, Bo)")
    ways: dict[str, tuple[Lift, ...]]
    ways = {"by hand": (lift(3),), "singly": (lift(2),), "hoist": (lift(3),)}
    singly, people = _helps(job, [work], lambda way: ways[way])
    assert singly.startswith('[methods] lifting = "singly"')
    assert people == "3 people with one of these trades: carpenter, labourer"
    # where no team can lift it by hand, more people aren't offered
    ways = {"by hand": (lift(3), lift(None)), "singly": (lift(3),), "hoist": (lift(2),)}
    (hoist,) = _helps(job, [work], lambda way: ways[way])
    assert hoist.startswith('[methods] lifting = "hoist"')


def test_a_job_is_refused_with_every_lift_that_is_too_much_and_no_other(monkeypatch):
    job, work = lifted(("carpenter",), ("labourer",))
    other = SimpleNamespace(**vars(work) | {"phase": "join-uprights", "title": "Join"})
    light = SimpleNamespace(**vars(work) | {"phase": "count", "title": "Count"})
    job.kit = "kit"

    def lifts(takeoff, kit, lifting):
        assert (takeoff, kit) == ("takeoff", "kit")
        return (lift(3 if lifting == "by hand" else 2),)

    monkeypatch.setattr(too_few, "lifts", lifts)
    tasks = cast(Any, (light, work, other))
    with pytest.raises(NoPlanError) as caught:
        too_few.refuse_lifts(job, cast(Any, "takeoff"), tasks)
    titles = [c.split('"')[1] for c in caught.value.conflict]
    assert titles == ["Set the wall", "Join"]
    assert [h.split(":")[0] for h in caught.value.helps] == [
        '[methods] lifting = "singly"',
        '[methods] lifting = "hoist"',
        "3 people with one of these trades",
    ]
    too_few.refuse_lifts(job, cast(Any, "takeoff"), cast(Any, (light,)))


# ---------------------------------------------------------------- air that never is


@pytest.mark.parametrize(
    ("bad", "kept"),
    [
        # 2 ticks of work after 1 of setting up, dry 4 later: 7 good ticks are needed
        (((0, 6), (13, 20)), True),
        (((0, 6), (12, 20)), False),
        (((0, 13),), True),  # the last seven of the grid's 20
        (((0, 14),), False),
    ],
)
def test_a_limit_that_no_start_keeps_until_the_coat_is_dry_is_named(bad, kept):
    def made(**more):
        hold = Hold(fact="cold", bad=spans(*bad), until="dry")
        coat = task("a", 2, "ann", set_up=1, holds=(hold,), **more)
        found = problem(
            coat,
            task("b", 1, "ann"),
            people=(person("ann"),),
            lookups=(wait("dry", 4),),
        )
        short = Grid(start=found.grid.start, tick_minutes=15, ticks=20, zone=HALIFAX)
        return cast(Problem, SimpleNamespace(**{**vars(found), "grid": short}))

    assert never_kept(made()) == (() if kept else ("cold",))
    assert never_kept(made(optional=True)) == ()
