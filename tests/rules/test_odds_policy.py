"""How the crew goes on, rule by rule, in the smallest plan that shows it.

Days are 24 ticks of an hour, 8 to 12 and 13 to 17 are open. Every future is the same
but where the test says otherwise.

Tests of planner/odds/outcome.py, planner/odds/play.py, planner/odds/script.py,
planner/odds/setting.py.
"""

from dataclasses import replace
from itertools import combinations, islice, pairwise
from random import Random

import numpy as np
import pytest

from planner.hours.spans import Spans
from planner.nouns.odds import Factor, Holder, Spread, Threat
from planner.nouns.product import (
    Air,
    AirLimits,
    Hardening,
    HardeningWay,
    Product,
    Source,
)
from planner.odds.draws import Draws
from planner.odds.drying import PlayedStage, PlayedWait
from planner.odds.drying import played as hardened
from planner.odds.outcome import Played
from planner.odds.play import play
from planner.odds.script import (
    MOST_TEAMS,
    PlayedTeam,
    PlayedWindow,
    Script,
    Step,
    nearest_teams,
    shifts_called,
    stand_ins,
)
from planner.odds.setting import Limit
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import Person
from tests.support.odds import DAY, STILL, Made, World, script_of_world

DRY_6_H = (1 / 6,) * (10 * DAY)


def _open(*days: int) -> Spans:
    return Spans.of(
        s
        for d in days
        for s in ((d * DAY + 8, d * DAY + 12), (d * DAY + 13, d * DAY + 17))
    )


def _made(id_: str, *, planned: int, end: int, hours: int, **more: object) -> Made:
    usual: dict[str, object] = {
        "kind": "fix",
        "team": ("ana",),
        "bay": id_,
        "set_up": 0,
        "one_go": False,
        "after": (),
    }
    return Made(id=id_, planned=planned, end=end, hours=hours, **{**usual, **more})  # type: ignore[arg-type]


def _world(
    *tasks: Made, days: int = 10, called: tuple[tuple[str, int], ...] = ()
) -> World:
    people = {who: _open(*range(days)) for who in ("ana", "ben")}
    return World(days=days, people=people, tasks=tasks, called=frozenset(called))


def _slower(script: Script, task: str, hours: float) -> Script:
    """Return the script with a task that takes other hours than the plan expects."""
    steps = tuple(
        replace(s, hours=hours) if s.task.id == task else s for s in script.steps
    )
    return replace(script, steps=steps)


def _only(
    script: Script, spread: Spread = STILL, futures: int = 1, seed: int = 1
) -> Played:
    return play(script, Draws(spread=spread, futures=futures, series=1, seed=seed))


def _when(played: Played, task: str) -> tuple[int, int]:
    return int(played.starts[task][0]), int(played.ends[task][0])


TWO = (
    _made("one", planned=8, end=10, hours=2),
    _made("two", planned=DAY + 8, end=DAY + 10, hours=2, after=(("one", ()),)),
)


def test_nobody_comes_before_the_day_they_are_called_for() -> None:
    """All is ready on the first day; the team is called for the second."""
    script = script_of_world(_world(*TWO, called=(("ana", 0), ("ana", 1))))
    early = script_of_world(
        _world(
            *TWO[:1], replace(TWO[1], team=("ben",)), called=(("ana", 0), ("ben", 1))
        )
    )
    assert _when(_only(early), "two") == (DAY + 8, DAY + 10)
    assert _when(_only(script), "two") == (10, 12)  # ana is there anyway


def test_late_work_goes_on_in_the_next_open_hours() -> None:
    """Work of ten hours that was to take two ends on the next day."""
    script = script_of_world(_world(*TWO[:1], called=(("ana", 0),)))
    assert _when(_only(_slower(script, "one", 10.0)), "one") == (8, DAY + 10)


def test_work_in_one_go_is_begun_where_its_planned_length_fits() -> None:
    """Two hours fit before the break, three don't; what takes longer is finished."""
    coat = _made("coat", planned=10, end=12, hours=2, one_go=True)
    script = script_of_world(_world(coat))
    slow = _only(_slower(script, "coat", 3.0))
    assert _when(slow, "coat") == (10, 13)
    assert slow.overtime[0] == 1
    longer = script_of_world(_world(replace(coat, hours=3, end=16, planned=10)))
    assert _when(_only(longer), "coat") == (13, 16)


def _with_stand_in(script: Script, task: str) -> Script:
    """Return the script with a task that ben may do as well, once it is due."""

    def wider(step: Step) -> Step:
        if step.task.id != task:
            return step
        own = step.teams[0]
        may = np.where(
            np.arange(script.horizon) >= step.planned, own.time.start[:-1], 0
        )
        late = np.where(may > 0, may, own.time.start[step.planned])
        time = replace(own.time, start=np.append(late, own.time.start[-1]))
        return replace(step, teams=(own, PlayedTeam(people=(1,), time=time)))

    return replace(script, steps=tuple(wider(s) for s in script.steps))


BUSY = (
    _made("first", planned=8, end=10, hours=2),
    _made("second", planned=10, end=12, hours=2),
)


def test_somebody_steps_in_for_one_who_is_busy_but_not_before_the_task_is_due() -> None:
    """The first task takes six hours, so ana isn't free when the second is due."""
    script = script_of_world(_world(*BUSY, called=(("ana", 0),)))
    alone = _only(_slower(script, "first", 6.0))
    assert _when(alone, "second") == (15, 17)
    helped = _only(_slower(_with_stand_in(script, "second"), "first", 6.0))
    assert _when(helped, "second") == (10, 12)
    as_planned = _only(_with_stand_in(script, "second"))
    assert _when(as_planned, "second") == (10, 12)
    assert as_planned.held_by["second"][0] == 0  # ana did it, after the first


@pytest.mark.parametrize("size", range(5))
@pytest.mark.parametrize("own", ["", "c", "ce", "ace", "xy"])
def test_those_nearest_to_a_team_step_in_first(own: str, size: int) -> None:
    people = "abcdef"
    every = sorted(
        combinations(people, size), key=lambda team: (-len(set(own) & set(team)), team)
    )
    assert list(nearest_teams(own, people, size)) == every


def test_of_a_large_crew_no_more_teams_are_made_than_are_asked_for() -> None:
    """Twenty of two hundred make more teams than could ever be listed."""
    crew = [f"{n:03}" for n in range(200)]
    first, second = islice(nearest_teams(crew[:20], crew, 20), 2)
    assert first == tuple(crew[:20])
    assert second == (*crew[:19], "020")


def test_those_who_stand_in_are_the_nearest_teams_that_somebody_can_lead():
    crew = tuple("abcdefg")
    every = list(nearest_teams(("a", "b"), crew, 2))
    led = [team for team in every if set(team) & {"b", "g"}]
    assert stand_ins(("a", "b"), crew, 2, ("b", "g")) == tuple(led[:MOST_TEAMS])
    assert len(led) < len(every)
    assert stand_ins(("a", "b"), crew, 2, None) == tuple(every[:MOST_TEAMS])
    assert stand_ins((), (), 0, ("b",)) == ((),)  # what needs nobody needs no leader


@pytest.mark.parametrize("seed", range(20))
def test_people_are_called_to_the_shifts_in_which_the_plan_has_them_work(seed):
    draw = Random(seed)
    cuts = sorted(draw.sample(range(200), 20))
    shifts = list(pairwise(cuts))[::2]
    person = Person(id="ana", open=Spans.of(shifts), shifts=Spans.of(shifts))
    placements = []
    for number in range(draw.randrange(1, 6)):
        start = draw.randrange(195)
        worked = Spans.of([(start, start + draw.randrange(1, 5))])
        team = draw.choice((("ana",), ("bo",), ("ana", "bo")))
        placements.append(
            Placement(
                task=str(number), team=team, start=start, end=start + 5, worked=worked
            )
        )
    busy = {
        t
        for p in placements
        if "ana" in p.team
        for a, b in p.worked
        for t in range(a, b)
    }
    expected = [s for s in shifts if busy & set(range(*s))]
    assert list(shifts_called(person, placements)) == expected


def test_what_holds_a_start_is_a_person_still_busy_or_a_coat_still_wet() -> None:
    """Whichever ends last; the bay that both lie in is neither."""
    script = script_of_world(_world(*BUSY, called=(("ana", 0),)))
    busy = _only(_slower(script, "first", 6.0))
    assert busy.holders[busy.held_for["second"][0]] == (Holder.PERSON, "ana")
    assert busy.holders[busy.held_for["first"][0]] == (Holder.OTHER, "")
    wet = (
        _made("coat", planned=8, end=9, hours=1, bay="north"),
        _made(
            "next",
            planned=15,
            end=16,
            hours=1,
            after=(("coat", DRY_6_H),),
            bay="north",
            team=("ben",),
        ),
    )
    played = _only(script_of_world(_world(*wet, called=(("ana", 0),))))
    assert played.holders[played.held_for["next"][0]] == (Holder.WAIT, "wait-0")
    apart = (wet[0], replace(wet[1], after=()))
    played = _only(script_of_world(_world(*apart, called=(("ana", 0),))))
    assert played.held_by["next"][0] == 0
    assert played.holders[played.held_for["next"][0]] == (Holder.OTHER, "")
    assert played.last[0] == 1
    assert played.holders[played.last_for[0]] == (Holder.OTHER, "")


def test_who_is_away_begins_nothing_on_that_day() -> None:
    """About the chance's share of futures begin a day later, or more."""
    script = script_of_world(_world(*TWO[:1], called=(("ana", 0),), days=10))
    played = _only(script, replace(STILL, away_chance=0.3), futures=4000)
    share = float(np.mean(played.starts["one"] >= DAY))
    assert share == pytest.approx(0.3, abs=0.03)
    two = float(np.mean(played.starts["one"] >= 2 * DAY))
    assert two == pytest.approx(0.09, abs=0.02)


def test_who_worked_late_begins_the_next_shift_rested() -> None:
    """Done at 17:00, 16 hours of rest: 9:00 on the next day. After 15 it is 8:00."""
    whole_day = _made("one", planned=8, end=17, hours=8)
    next_day = _made("two", planned=DAY + 8, end=DAY + 10, hours=2)
    script = script_of_world(
        _world(whole_day, next_day, called=(("ana", 0), ("ana", 1)))
    )
    assert _when(_only(script), "two") == (DAY + 8, DAY + 10)
    near = replace(script, rest=(16, 0))
    assert _when(_only(near), "two") == (DAY + 9, DAY + 11)
    just = replace(script, rest=(15, 0))
    assert _when(_only(just), "two") == (DAY + 8, DAY + 10)


def test_a_bay_is_left_before_the_next_task_begins_in_it() -> None:
    """Two people, one bay: the second task waits for the first to end."""
    tasks = (
        _made("first", planned=8, end=10, hours=2, bay="north"),
        _made("second", planned=10, end=12, hours=2, bay="north", team=("ben",)),
    )
    script = script_of_world(_world(*tasks, called=(("ana", 0), ("ben", 0))))
    assert _when(_only(_slower(script, "first", 3.0)), "second") == (11, 14)


def test_what_follows_waits_until_the_coat_is_dry_by_its_own_factor() -> None:
    """A coat that needs six hours takes longer by the factor drawn for it, rounded up."""
    tasks = (
        _made("coat", planned=8, end=9, hours=1),
        _made("next", planned=15, end=16, hours=1, after=(("coat", DRY_6_H),)),
    )
    script = script_of_world(_world(*tasks, called=(("ana", 0),)))
    draws = Draws(
        spread=replace(STILL, waits_job=Factor(frac=0.2)), futures=500, series=1, seed=3
    )
    played = play(script, draws)
    dry = 9 + np.ceil(6 * draws.wait("coat", "") - 1e-6)
    assert (played.starts["next"] >= dry).all()
    today = dry < 17
    assert (played.starts["next"][today] == np.where(dry == 12, 13, dry)[today]).all()


@pytest.mark.parametrize("way", HardeningWay)
def test_only_what_dries_or_clears_takes_less_than_its_sheet_says(
    way: HardeningWay,
) -> None:
    """Ten hours by the sheet; half of them by the factor drawn, and twice as many."""
    stage = Hardening(
        stage="ready",
        way=way,
        law="fixed",
        numbers=(("hours_h", 10.0),),
        error_frac=0.0,
        source=Source(text="the test", tag="assumption"),
    )
    air = Air(
        tick_minutes=60,
        air_c=np.full(10 * DAY, 20.0),
        humidity_pct=np.full(10 * DAY, 50.0),
    )
    product = Product(
        id="stuff", title="Stuff", kind="mortar", stages=(stage,), limits=AirLimits()
    )
    wait = hardened(stage, (air,), product)
    end, series = np.array([5, 5, 5]), np.zeros(3, dtype=np.int64)
    soon = 5 if way in (HardeningWay.DRIES, HardeningWay.CLEARS) else 10
    over = wait.over(end, np.array([0.5, 1.0, 2.0]), series)
    assert over.tolist() == [5 + soon, 15, 25]
    assert wait.product == "stuff"


def test_bad_air_moves_a_coat_on_until_it_can_dry_in_good_air() -> None:
    """The coat needs six hours; the 13th hour of the first day is too damp."""
    script = script_of_world(
        _world(
            _made("coat", planned=8, end=9, hours=1, one_go=True),
            _made(
                "next",
                planned=DAY + 8,
                end=DAY + 9,
                hours=1,
                after=(("coat", DRY_6_H),),
            ),
            called=(("ana", 0), ("ana", 1)),
        )
    )
    bad = np.zeros(script.horizon, dtype=np.bool_)
    bad[13] = True
    limit = Limit(
        bad=np.concatenate(([0], np.cumsum(bad))),
        last_bad=np.concatenate(
            ([-1], np.maximum.accumulate(np.where(bad, np.arange(len(bad)), -1)))
        ),
        until="wait-0",
    )
    first = replace(script.steps[0], limits=(limit,))
    played = _only(replace(script, steps=(first, *script.steps[1:])))
    assert _when(played, "coat") == (14, 15)


def test_each_future_meets_the_air_of_its_own_series() -> None:
    """Of two series the first is the plan's own; in the second the 13th hour is too damp.

    In the second a coat also needs twice as long: twelve hours instead of six.
    """
    script = script_of_world(
        _world(
            _made("coat", planned=8, end=9, hours=1, one_go=True),
            _made(
                "next",
                planned=DAY + 8,
                end=DAY + 9,
                hours=1,
                after=(("coat", DRY_6_H),),
            ),
            called=(("ana", 0), ("ana", 1)),
        )
    )
    ticks = script.horizon
    bad = np.zeros((2, ticks + 1), dtype=np.int64)
    bad[1, 14:] = 1
    last_bad = np.where(bad, 13, -1)
    done = np.concatenate([np.arange(ticks + 1) / 6, 1000 + np.arange(ticks + 1) / 12])
    wait = PlayedWait(ticks=ticks, stages=(PlayedStage(done=done, shortens=True),))
    limit = Limit(bad=bad.ravel(), last_bad=last_bad.ravel(), until="wait-0")
    coat, following = script.steps
    script = replace(
        script,
        steps=(replace(coat, limits=(limit,)), following),
        waits={"wait-0": wait},
    )
    draws = Draws(spread=STILL, futures=3, series=2, seed=1)
    assert set(play(script, draws).starts["coat"]) == {14}
    assert set(play(script, draws).starts["next"]) == {DAY + 8}
    quick = np.concatenate([np.arange(ticks + 1) / 6, 1000 + np.arange(ticks + 1) / 4])
    just = PlayedWait(ticks=ticks, stages=(PlayedStage(done=quick, shortens=True),))
    in_time = play(replace(script, waits={"wait-0": just}), draws)
    assert set(in_time.starts["coat"]) == {8}  # dry at 13, as the damp hour begins
    own = play(script, draws.as_planned(Threat.AIR))
    assert set(own.starts["coat"]) == {8}
    assert set(own.starts["next"]) == {15}


def test_a_coat_that_missed_its_window_is_sanded_again() -> None:
    """Covered within 20 hours, or sanded again first: two hours more work."""
    tasks = (
        _made("coat", planned=8, end=9, hours=1),
        _made("block", planned=9, end=10, hours=1),
        _made(
            "cover", planned=10, end=11, hours=1, after=(("coat", ()), ("block", ()))
        ),
    )
    spare = _made("sand", planned=0, end=0, hours=2, after=(("coat", ()),))
    world = _world(*tasks, called=(("ana", 0), ("ana", 1)))
    script = script_of_world(world)
    sand = script_of_world(replace(world, tasks=(*tasks, spare))).steps[-1]
    cover = replace(
        script.steps[-1],
        after=(*script.steps[-1].after, ("sand", "")),
        latest=(PlayedWindow(before="coat", wait="window", unless="sand"),),
    )
    script = replace(
        script,
        steps=(*script.steps[:-1], cover),
        spare={"sand": sand},
        windows={"window": np.arange(script.horizon + 1) + 20},
    )
    in_time = _only(script)
    assert _when(in_time, "cover") == (10, 11)
    assert in_time.starts.get("sand") is None
    late = _only(_slower(script, "block", 12.0))  # ends at 13 on the next day
    assert _when(late, "sand") == (DAY + 14, DAY + 16)
    assert _when(late, "cover") == (DAY + 16, DAY + 17)


def test_joints_that_show_through_are_filled_dried_and_primed_again() -> None:
    """With one bay and a chance of 1, two hours and six, and the same again."""
    tasks = (
        _made("check", planned=8, end=9, hours=1),
        _made("colour", planned=9, end=10, hours=1, after=(("check", ()),)),
        _made("dry", planned=10, end=11, hours=1, after=(("check", DRY_6_H),)),
    )
    script = script_of_world(_world(*tasks, called=(("ana", 0), ("ana", 1))))
    check = script.steps[0]
    seen = replace(
        check,
        task=replace(check.task, touch_up_frac=1.0),
        touch_up=("wait-0", "wait-0"),
    )
    script = replace(script, steps=(seen, *script.steps[1:]))
    played = _only(script)
    # 9-11 filled, dry at 17; next day 8-10 sanded and primed, dry at 16
    assert played.starts["colour"][0] == DAY + 16
    without = _only(script, replace(STILL, touch_ups=False))
    assert _when(without, "colour") == (9, 10)


def test_crates_that_come_late_hold_back_what_needs_them() -> None:
    """The share that is late, and by whole days of at least one."""
    script = script_of_world(_world(*TWO[:1], called=(("ana", 0),), days=30))
    step = script.steps[0]
    crates = replace(step, task=replace(step.task, on_delivery_day=True))
    script = replace(script, steps=(crates,), delivery=8)
    played = _only(script, replace(STILL, late_chance=0.4, late_h=24.0), futures=4000)
    late = played.starts["one"] > 8
    assert float(late.mean()) == pytest.approx(0.4, abs=0.03)
    assert set(played.starts["one"] % DAY) == {8}


def test_a_kit_with_a_damaged_piece_is_waited_for_before_the_stage_is_closed() -> None:
    """By whole days from the count on, in the share of futures that the job gives."""
    script = script_of_world(
        replace(_world(*TWO, days=60, called=(("ana", 0), ("ana", 1))), counts="one")
    )
    spread = replace(STILL, damaged_chance=0.3, replaced_h=48.0)
    played = _only(script, spread, futures=4000)
    assert set(played.ends["one"]) == {10}
    days = (played.starts["two"] - 10) // DAY
    assert float((days > 0).mean()) == pytest.approx(0.3, abs=0.03)
    # whole days of an exponential mean m are 1 / (1 - exp(-1 / m)) on average
    waited = days[days > 0].mean()
    assert float(waited) == pytest.approx(1 / (1 - np.exp(-1 / 2)), abs=0.15)
    went = script_of_world(_world(*TWO, days=60, called=(("ana", 0), ("ana", 1))))
    assert set(_only(went, spread, futures=400).starts["two"]) == {10}


def test_a_booking_that_ends_late_holds_what_is_done_on_the_stage_only() -> None:
    """The booking is to end at 9; how late it does is not a matter of whole days."""
    two = replace(TWO[1], after=(), planned=10, end=12, team=("ben",))
    one = replace(TWO[0], bay="stage")
    world = _world(one, two, days=30, called=(("ana", 0), ("ben", 0)))
    script = script_of_world(replace(world, stage="stage", stage_from=8))
    spread = replace(STILL, overrun_chance=0.4, overrun_h=3.0)
    played = _only(script, spread, futures=4000)
    assert float((played.starts["one"] > 8).mean()) == pytest.approx(0.4, abs=0.03)
    draws = Draws(spread=spread, futures=4000, series=1, seed=1)
    soon = (played.starts["one"] > 8) & (played.starts["one"] < 12)
    assert soon.any()
    late = np.ceil(draws.overrun_h())
    assert (played.starts["one"][soon] == 8 + late[soon]).all()
    assert set(played.starts["two"]) == {8}
    on_time = draws.as_planned(Threat.BOOKING)
    assert set(play(script, on_time).starts["one"]) == {8}
