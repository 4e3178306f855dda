"""An instance refuses what can't be, and survives a trip through JSON.

Tests of planner/schedule/check/verify.py, planner/schedule/problem/consistency.py,
planner/schedule/problem/instance.py, planner/schedule/problem/parts.py.
"""

import json
from dataclasses import replace

import pytest

from planner.errors import CycleError
from planner.hours.spans import Spans
from planner.schedule.problem.parts import (
    Apart,
    Before,
    Branch,
    Closure,
    Demand,
    Hold,
    Link,
    LinkKind,
    Lookup,
    Mode,
    Pin,
    Pool,
    Term,
)
from tests.support.json import from_json, to_json
from tests.support.schedule import block, closure, instance, person, spans, task, wait
from tests.support.small import small_instance

SOUND = instance(task("a", 1, "ann"), task("b", 1, "ann"), people=(person("ann"),))


def faulty(**changes):
    with pytest.raises(ValueError, match=r"\w") as caught:
        replace(SOUND, **changes)
    return str(caught.value)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"horizon": 0}, "horizon: 0 is not positive"),
        ({"people": ()}, "task a: unknown person 'ann'"),
        ({"links": (Link(before="a", after="x"),)}, "link a to x: unknown task 'x'"),
        ({"links": (Link(before="a", after="b", wait="dry"),)}, "unknown lookup 'dry'"),
        ({"links": (Link(before="a", after="b", unless="x"),)}, "unknown task 'x'"),
        ({"lookups": (wait("dry", 1, 5),)}, "lookup dry: 6 entries, not 21"),
        ({"apart": (Apart(task="a", others=("x",)),)}, "apart a: unknown task 'x'"),
        ({"apart": (Apart(task="a", others=("a",)),)}, "apart from itself"),
        ({"pins": (Pin(task="x"),)}, "pin: unknown task 'x'"),
        ({"agreed": (Before(task="a", start=0, team=("x",)),)}, "unknown person 'x'"),
        ({"branches": (Branch(id="m", options=(("x",),)),)}, "unknown task 'x'"),
        ({"branches": (Branch(id="m", options=()),)}, "branch m: no options"),
        ({"tasks": (*SOUND.tasks, task("a", 1, "ann"))}, "task 'a' stands 2 times"),
        ({"tasks": (task("a", 1, "ann", modes=()), task("b", 1))}, "task a: no mode"),
        (
            {"tasks": (task("a", 1, modes=(Mode(size=1, ticks=2),) * 2), task("b", 1))},
            "two modes of one size",
        ),
        (
            {"tasks": (task("a", 1, demands=(Demand(pool="x"),)), task("b", 1))},
            "unknown pool 'x'",
        ),
        (
            {
                "tasks": (
                    task("a", 1, holds=(Hold(fact="", bad=Spans(), until="x"),)),
                    task("b", 1),
                )
            },
            "unknown lookup 'x'",
        ),
        ({"tasks": (task("a", 1, pays=-1), task("b", 1))}, "pays -1 is below 0"),
        ({"people": (person("ann", price=-1),)}, "a price or rest below 0"),
        ({"people": (person("ann", (0, 99)),)}, "open outside the horizon"),
        ({"people": (person("ann", shifts=spans((0, 9))),)}, "outside every shift"),
        ({"people": (person("ann", (0, 9), dear=spans((9, 11))),)}, "aren't open"),
        ({"pools": (Pool(id="bay", capacity=-1),)}, "pool bay: capacity"),
        ({"pools": (Pool(id="bay", less=((3, 3, 0),)),)}, "pool bay: less (3, 3, 0)"),
        ({"closures": (closure("a", due=99),)}, "due 99 is not within 0..20"),
        ({"closures": (closure("x"),)}, "closure stage: unknown task 'x'"),
        ({"closures": (closure("a", soft=((4, 2, 1),)),)}, "ends before it starts"),
        (
            {
                "closures": (
                    Closure(id="c", tasks=("a",), terms=(Term(task="a", wait="x"),)),
                )
            },
            "unknown lookup 'x'",
        ),
        (
            {"closures": (Closure(id="c", tasks=("a",), terms=()),)},
            "closure c: none of its terms is always carried out",
        ),
        ({"days": spans((0, 99))}, "days: outside the horizon"),
    ],
)
def test_a_fault_is_named_with_its_place(changes, words):
    assert words in faulty(**changes)


def test_all_faults_are_named_together():
    words = faulty(horizon=10, days=spans((0, 99)), pools=(Pool(id="p", capacity=-1),))
    assert "days" in words
    assert "pool p" in words


def test_a_task_in_two_branches_is_a_fault():
    branches = (
        Branch(id="m", options=(("a",), ())),
        Branch(id="n", options=(("a",), ())),
    )
    assert "task a: in branches m and n" in faulty(branches=branches)


def test_a_loop_is_shown():
    links = (
        Link(before="a", after="b"),
        Link(before="b", after="c", kind=LinkKind.START_START),
        Link(before="c", after="a"),
    )
    tasks = (*SOUND.tasks, task("c", 1, "ann"))
    with pytest.raises(CycleError, match=r"loop: \w → \w → \w → \w"):
        replace(SOUND, tasks=tasks, links=links)


def test_a_latest_link_back_is_no_loop():
    links = (
        Link(before="a", after="b"),
        Link(before="b", after="a", kind=LinkKind.LATEST),
    )
    assert replace(SOUND, links=links).links == links


def test_a_loop_through_two_options_of_a_branch_binds_nobody():
    links = (Link(before="a", after="b"), Link(before="b", after="a"))
    branches = (Branch(id="m", options=(("a",), ("b",))),)
    closures = (closure("c"),)
    tasks = (*SOUND.tasks, task("c", 1, "ann"))
    made = replace(
        SOUND, tasks=tasks, branches=branches, closures=closures, links=links
    )
    assert made.links == links


@pytest.mark.parametrize("over", [(0, 0, 2), (0, 2, 1), (1, 1, 1)])
def test_a_lookup_never_falls_and_never_ends_before_it_begins(over):
    with pytest.raises(ValueError, match="early"):
        Lookup(name="dry", over=over)


@pytest.mark.parametrize("size_ticks", [(-1, 1), (1, 0)])
def test_a_mode_has_a_size_and_some_work(size_ticks):
    with pytest.raises(ValueError, match="mode"):
        Mode(size=size_ticks[0], ticks=size_ticks[1])


@pytest.mark.parametrize("seed", range(20))
def test_json_and_back_is_the_same_instance(seed):
    made = small_instance(seed)
    text = json.dumps(to_json(made))
    assert from_json(json.loads(text)) == made


def test_json_with_an_unknown_key_is_refused():
    data = {**to_json(SOUND), "horizon_ticks": 3}
    with pytest.raises(ValueError, match="unknown key 'horizon_ticks'"):
        from_json(data)


def test_json_without_a_needed_key_is_refused():
    data = to_json(SOUND)
    del data["tasks"][0]["modes"][0]["ticks"]
    with pytest.raises(ValueError, match=r"tasks\.0\.modes\.0: key 'ticks' is missing"):
        from_json(data)


def test_json_of_the_wrong_type_is_refused():
    data = {**to_json(SOUND), "horizon": "20"}
    with pytest.raises(ValueError, match="'20' is not of type int"):
        from_json(data)


def test_blocks_survive_json():
    made = instance(
        task("a", 1, "ann", no_work=(block("quiet", (1, 3), (5, 6)),)),
        people=(person("ann"),),
    )
    assert from_json(to_json(made)) == made
