"""The judge's rules one by one, on plans of a few tasks that are made up.

Tests of planner/judge/case.py, planner/judge/crew.py, planner/judge/calendars/feeds.py,
planner/judge/promise.py, planner/judge/returns.py,
planner/judge/sequence.py, planner/judge/stage.py, planner/judge/told.py,
planner/judge/windows.py.
"""

from collections import Counter
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from planner.judge import promise, returns, stage, told, windows
from planner.judge.calendars import feeds
from planner.judge.case import JudgedPlan
from planner.judge.crew import Crew
from planner.judge.methods import Room
from planner.judge.sequence import OPEN_TO_ALL, Order
from planner.nouns.product import CLEARED, RECOAT_WINDOW
from planner.nouns.work import ReturnKind
from tests.support.ics import utc

NOON = utc(2027, 4, 5, 12)


def stage_of(coat: Any, then: str) -> str:
    """Return the stage of a coat after which all may come in; no other is asked for."""
    assert then == OPEN_TO_ALL
    assert coat.id
    return "recoat"


def h(hours: float):
    return NOON + timedelta(hours=hours)


def task(phase: str, number: int = 0, *bays: str, start=0.0, end=1.0, **more: Any):
    """Return a task of a kind of work, at hours from noon."""
    tail = f"-{number}" if number else ""
    usual = {"product": None, "dry_stage": None, "on_stage": True, "dusty": False}
    return SimpleNamespace(
        id=f"s:{phase}{tail}", title=f"{phase}{tail}", phase=phase, bays=bays,
        start=h(start), end=h(end), **usual | more,
    )  # fmt: skip


def product(*stages: str, kind="colour", fumes=False, latest=()):
    return SimpleNamespace(
        stages=[SimpleNamespace(stage=s) for s in stages],
        kind=kind,
        fumes=fumes,
        latest=latest,
    )


def case(*tasks, products=None, **more: Any) -> Any:
    """Return what the judge looks at, with ticks of an hour from noon."""
    plan = SimpleNamespace(tasks=tasks, apart=(), windows=())
    return SimpleNamespace(
        plan=plan,
        tasks={t.id: t for t in tasks},
        inputs=SimpleNamespace(products=products or {}, hours=None, readings=()),
        own=lambda name: f"s:{name}",
        tick=lambda when: round((when - NOON) / timedelta(hours=1)),
        at=lambda when: round((when - NOON).total_seconds()),
        moment=lambda s: NOON + timedelta(seconds=s),
        of_tick=h,
        when=lambda when: f"{when:%H:%M}",
        span=lambda s: f"{s[0]:%H:%M} to {s[1]:%H:%M}",
        happened=lambda task: False,
        now=None,
        past={},
        step=3600,
        ticks=24,
        start=NOON,
        **more,
    )


# ------------------------------------------------------------------------- returns


def ordered(second: Any, *tasks, **products):
    methods = SimpleNamespace(
        colour_coats=2, colour="paint", second_colour=second,
        adhesive="glue", mortar="mortar", foam="foam",
    )  # fmt: skip
    return case(
        *tasks, products=products, job=SimpleNamespace(methods=methods, repaint=None)
    )


def test_returns_wait_for_the_last_coat_of_each_colour_and_for_its_fumes():
    tasks = (
        *(task("colour", n) for n in (1, 2)),
        *(task("second-colour", n) for n in (1, 2)),
        *(task(p) for p in ("handover", "anchor", "bed", "pack", "foam", "rub")),
    )
    second = SimpleNamespace(coats=1, product="oil", bays=("e",))
    oil, paint = product(CLEARED, fumes=True), product("recoat")
    found = ordered(second, *tasks, oil=oil, paint=paint)
    light = {
        ("s:handover", None, None),
        ("s:colour-2", "paint", "light foot traffic"),
        ("s:second-colour-1", "oil", "light foot traffic"),
        ("s:second-colour-1", "oil", CLEARED),
    }
    assert returns.terms(found, ReturnKind.LIGHT_FOOT_TRAFFIC) == light
    full = {(t, p, s and s.replace("light foot traffic", "full service"))
            for t, p, s in light}  # fmt: skip
    assert returns.terms(found, ReturnKind.FULL_SERVICE) == full | {
        ("s:anchor", "glue", "full"),
        ("s:bed", "mortar", "load"),
        ("s:pack", "mortar", "load"),
        ("s:foam", "foam", "full"),
    }
    again = task("spot-colour", 1, "s:e")
    found = ordered(second, *tasks, again, oil=oil, paint=paint)
    assert returns.terms(found, ReturnKind.LIGHT_FOOT_TRAFFIC) == light | {
        (again.id, "oil", "light foot traffic"),
        (again.id, "oil", CLEARED),
    }
    none = ordered(None, *tasks, oil=oil, paint=paint)
    assert not any(
        "second" in t for t, _, _ in returns.terms(none, ReturnKind.FULL_SERVICE)
    )


# ------------------------------------------------------------------------- windows

WINDOW = SimpleNamespace(name=RECOAT_WINDOW)
OTHER = SimpleNamespace(name="open time")


def test_a_coat_with_a_window_is_covered_by_the_next_over_each_of_its_bays():
    coats = (
        task("prime", 1, "n", "e", product="primer"),
        task("prime", 2, "n", product="primer"),
        task("colour", 1, "n", "e", product="paint"),
        task("second-colour", 1, "e", product="paint"),
        task("tape", 1, "n", product="primer"),
    )
    products = {
        "primer": product(latest=(OTHER, WINDOW)),
        "paint": product(latest=(OTHER,)),
    }
    found: list[Any] = [
        (a.title, b.title, x) for a, b, x in windows._covered(case(*coats, products=products))
    ]  # fmt: skip
    assert found == [
        ("prime-1", "prime-2", WINDOW),
        ("prime-1", "colour-1", WINDOW),
        ("prime-2", "colour-1", WINDOW),
    ]


@pytest.mark.parametrize(
    ("bays", "start", "end", "kept"),
    [
        (("n", "e"), 3.0, 5.0, True),
        (("n", "e", "w"), 4.0, 4.5, True),
        (("n",), 3.0, 5.0, False),
        (("n", "e"), 2.0, 5.0, False),  # the coat may be touched from 3
        (("n", "e"), 3.0, 6.0, False),  # the next begins at 5
    ],
)
def test_sanding_again_counts_over_all_of_a_coat_and_between_the_two(
    bays, start, end, kept
):
    coat = task("prime", 1, "n", "e", product="primer", end=1.0)
    after = task("prime", 2, "n", "e", start=5.0)
    again = task("sand-again", 1, *bays, start=start, end=end)
    rub = task("rub", 1, "n", "e", start=3.0, end=4.0)
    waits: Any = SimpleNamespace(least=lambda *_: 3)
    order: Any = SimpleNamespace(stage_of=stage_of)
    found = windows._sanded_again(case(rub, again), waits, order, coat, after)
    assert (found is again) is kept
    assert kept or found is None


@pytest.mark.parametrize(
    ("again", "said", "faults"),
    [
        (True, "s:sand-again-1", []),
        (True, None, ["whether it is sanded again is told wrong"]),
        (False, None, ["and nobody sands it again"]),
        (
            False,
            "s:sand-again-1",
            ["and nobody sands it again", "whether it is sanded again is told wrong"],
        ),
    ],
)
def test_a_coat_covered_too_late_is_sanded_again_between_and_told_so(
    monkeypatch, again, said, faults
):
    coat = task("prime", 1, "n", product="primer", end=1.0)
    after = task("prime", 2, "n", start=9.0, end=10.0)
    sanding = task("sand-again", 1, "n", start=4.0, end=5.0)
    tasks = (coat, after, sanding) if again else (coat, after)
    made = case(*tasks, products={"primer": product(latest=(WINDOW,))})
    made.of = lambda *_: []
    told = SimpleNamespace(
        before=coat.id, after=after.id, closes=h(6), sanded_again=said
    )
    made.plan.windows = (told,)
    monkeypatch.setattr(windows, "_closes", lambda *_: 6)
    waits: Any = SimpleNamespace(least=lambda *_: 3)
    order: Any = SimpleNamespace(stage_of=stage_of)
    found = list(windows.faults(made, waits, order))
    assert len(found) == len(faults)
    assert all(f.endswith(words) for f, words in zip(found, faults, strict=True))
    # one that is told and isn't, and one that is and isn't told
    made.plan.windows = (SimpleNamespace(before="x", after="y"),)
    found = list(windows.faults(made, waits, order))
    assert found[-1] == "the plan tells a window from x to y: there is none"
    assert any("doesn't tell the window of" in f for f in found)


# -------------------------------------------------------------------------- order


def pieces(phase: str, number: int, *bays: str):
    """Return a task of a kind of work in each bay."""
    out = [task(phase, number, bay) for bay in bays]
    for one in out:
        one.id += f".{one.bays[0]}"
    return out


def order_of(*tasks) -> Order:
    room = Room(runs=("n", "e", "w"), corners=(("c", ("n", "e")),), apron="apron")
    waits: Any = None
    methods = SimpleNamespace(next_coat_after="set", tape="mesh")
    job = SimpleNamespace(methods=methods, repaint=None, shows=())
    made = case(*tasks, job=job, of=lambda *_: [])
    return Order(made, waits, room)


def ids(pairs) -> set[tuple[str, str]]:
    return {
        (one.id.partition(":")[2], two.id.partition(":")[2]) for one, two, _ in pairs
    }


def test_a_coat_follows_the_one_below_and_those_next_to_it():
    bays = ("n", "c", "e", "w")
    made = order_of(*(x for k in (1, 2, 3) for x in pieces("prime", k, *bays)))
    next_to = {("n", "c"), ("c", "n"), ("c", "e"), ("e", "c")} | {(b, b) for b in bays}
    assert ids(made._coats("prime")) == {
        (f"prime-{k}.{a}", f"prime-{k + 1}.{b}") for k in (1, 2) for a, b in next_to
    }
    assert {stage for *_, stage in made._coats("prime")} == {"recoat"}


def test_the_last_coats_come_before_the_first_of_the_next():
    made = order_of(
        *(x for k in (1, 2) for x in pieces("prime", k, "n", "e")),
        *(task("colour", k, "n", "e") for k in (1, 2)),
    )
    assert ids(made._overall("prime", "colour", None)) == {
        ("prime-2.n", "colour-1"),
        ("prime-2.e", "colour-1"),
    }
    assert ids(made._overall("rub", "colour", None)) == set()


def test_a_corner_and_the_runs_beside_it_wait_for_each_other():
    bays = ("n", "c", "e", "w")
    works = ("mark", "set", "set-corner", "fasten", "drill")
    made = order_of(*(x for w in works for x in pieces(w, 0, *bays)))
    found = ids(made.needed())
    assert ("set-corner.c", "set.n") in found
    assert ("set-corner.c", "set.e") in found
    assert ("fasten.n", "drill.c") in found
    assert not any("w" in (a[-1], b[-1]) and a[-1] != b[-1] for a, b in found)


# --------------------------------------------------------------------------- rest


@pytest.mark.parametrize(
    ("start", "end", "faults"),
    [
        (10.0, 16.0, []),  # follows work
        (12.0, 18.0, []),  # leads to it
        (11.0, 17.0, ["neither follows work nor leads to it"]),
        (10.0, 15.0, ["is over no night", "is no rest of 6 h"]),
        (2.0, 16.0, ["is no rest of 6 h", "is worked in"]),  # twice as long and more
        (9.5, 16.0, ["is worked in", "neither follows work nor leads to it"]),
        (1.0, 7.0, ["is over no night", "is worked in",
                    "neither follows work nor leads to it"]),
    ],
)  # fmt: skip
def test_a_rest_lies_over_a_short_night_and_touches_work(start, end, faults):
    def work(a: float, b: float):
        return (round(a * 3600), round(b * 3600), None)

    own = [work(0, 2), work(6, 10), work(18, 20)]
    # shifts from 0 to 12 and from 16 to 28: a night of four hours
    crew: Any = SimpleNamespace(
        case=case(seconds=lambda rests: [
            (round(a * 3600), round(b * 3600)) for a, b in rests
        ]),
        worked=lambda _: own,
        shifts={"ann": [(0, 12 * 3600), (16 * 3600, 28 * 3600)]},
    )  # fmt: skip
    ann: Any = SimpleNamespace(id="ann", name="Ann", rest_h=6.0)
    mate: Any = SimpleNamespace(rests=[(start, end)])
    found = list(Crew._rests_said(crew, ann, mate))
    assert len(found) == len(faults)
    assert all(f.endswith(words) for f, words in zip(found, faults, strict=True))


# -------------------------------------------------------------------------- stage


def test_two_teams_in_a_bay_are_named_with_who_is_there_still():
    long = task("long", 0, "n", start=0.0, end=5.0)
    short = task("short", 0, "n", "e", start=1.0, end=2.0)
    later = task("later", 0, "n", start=4.0, end=6.0)
    away = task("away", 0, "n", start=0.0, end=6.0, on_stage=False)
    next_to = task("next", 0, "e", start=2.0, end=3.0)
    found = list(stage._bays(case(later, away, short, long, next_to)))
    assert found == [
        'two teams in bay n: "long" and "short"',
        'two teams in bay n: "long" and "later"',
    ]


def near(*tasks, **products):
    found = stage._near(case(*tasks, products=products))
    return [(c.title, o.title, until, why.split()[0]) for c, o, until, why in found]


def test_what_keeps_away_from_a_coat_and_until_when():
    wall = task("coat", 1, "n", product="p", dry_stage="recoat")
    floor = task("coat", 2, "s", "apron", product="p", dry_stage="recoat")
    floor.bays = ("s:apron",)
    sand, sweep = task("sand", dusty=True), task("sweep")
    off = task("off", dusty=True, on_stage=False)
    plain = product("recoat")
    assert near(wall, sand, sweep, off, p=plain) == [
        ("coat-1", "sand", "recoat", "dust")
    ]
    assert near(floor, sand, sweep, p=plain) == [
        ("coat-2", "sand", "recoat", "crosses"),
        ("coat-2", "sweep", "recoat", "crosses"),
    ]
    # no coat, however wet; nothing laid; nothing known of it
    assert near(wall, sand, p=product("recoat", kind="adhesive")) == []
    assert near(task("coat", 1, product="p"), sand, p=plain) == []
    assert near(wall, sand) == []


def test_fumes_keep_everybody_away_but_those_who_lay_the_next_coat_of_it():
    one = task("prime", 1, product="p", dry_stage="recoat")
    two = task("prime", 2, product="p", dry_stage="recoat")
    other, sweep = task("colour", 1, product="q"), task("sweep")
    oil = product("recoat", CLEARED, kind="primer", fumes=True)
    assert near(one, two, other, sweep, p=oil) == [
        ("prime-1", "colour-1", CLEARED, "in"),
        ("prime-1", "sweep", CLEARED, "in"),
        ("prime-2", "prime-1", CLEARED, "in"),
        ("prime-2", "colour-1", CLEARED, "in"),
        ("prime-2", "sweep", CLEARED, "in"),
    ]
    bare = product("recoat", kind="primer", fumes=True)
    assert near(one, sweep, p=bare) == [("prime-1", "sweep", "recoat", "in")]


# --------------------------------------------------------------------------- told


@pytest.mark.parametrize(
    ("words", "unit", "amount"),
    [
        ("24 ft (7.3 m) of wall", "m", (7.3, 0.06)),
        ("7.3 m (24 ft) of wall", "m", (7.3, 0.06)),
        ("10.0 m² (108 ft²) of face", "m² of face", (10.0, 0.06)),
        ("90 sq ft (8.36 m²)", "m2", (8.36, 0.006)),
        ("24 ft (7 m)", "m", (7.0, 0.6)),
        ("3 modules (7.3 m)", "piece", (3.0, told.SHOWN_M)),
        ("12.5 m of it", "m", (12.5, told.SHOWN_M)),
        ("some", "m", None),
    ],
)
def test_an_amount_is_read_in_metres_with_how_far_it_may_be_rounded(
    words, unit, amount
):
    found = told._amount(words, unit)
    assert found == (None if amount is None else pytest.approx(amount))


def taken(start: float, end: float):
    return SimpleNamespace(start=h(start), end=h(end))


def test_entries_within_the_plans_days_are_told_as_the_calendars_say():
    read: Any = (
        taken(-2, 0), taken(-1, 1), taken(2, 3), taken(23, 30), taken(24, 25), taken(5, 5)
    )  # fmt: skip
    shown: Any = (taken(-1, 1), taken(2, 3), taken(23, 30))
    assert list(told._entries(case(), "quiet", shown, read)) == []
    (less,) = told._entries(case(), "quiet", shown[1:], read)
    assert less.endswith("otherwise than the calendars, 11:00 to 13:00")
    (more,) = told._entries(case(), "quiet", (*shown, taken(6, 7)), read)
    assert more.endswith("18:00 to 19:00")


@pytest.mark.parametrize(("count", "faulty"), [(2, False), (1, True), (3, True)])
def test_the_readings_in_the_plans_air_are_all_told(count, faulty):
    found = case()
    found.inputs.readings = [SimpleNamespace(when=h(x)) for x in (-1, 0, 3.5, 4, 9)]
    air = SimpleNamespace(air_c=np.zeros(4), readings=("r",) * count)
    found.plan.stage = SimpleNamespace(air=air)
    assert bool(list(told._readings(found))) is faulty


# -------------------------------------------------------------------------- feeds


def test_a_calendar_has_each_entry_of_the_plan_once_and_no_other():
    plan: Any = SimpleNamespace(zone="UTC")

    def event(
        title: str, start: float, *, text="by hand", busy=True, tentative=False
    ) -> Any:
        return SimpleNamespace(
            title=title, start=h(start), end=h(start + 1), text=text, busy=busy,
            tentative=tentative,
        )  # fmt: skip

    def wanted(*entries: tuple[str, float]) -> Counter[Any]:
        return Counter([((h(s), h(s + 1), True, False), t, "hand") for t, s in entries])

    two = wanted(("tape", 0), ("tape", 0), ("rub", 2))
    right = (event("Do: tape", 0), event("tape it", 0), event("rub", 2))
    assert list(feeds._compared(plan, "x.ics", two, right)) == []
    (missing,) = feeds._compared(plan, "x.ics", two, right[1:])
    assert missing.startswith('x.ics: "tape", ')
    assert missing.endswith("is missing")
    other = event("rub", 2, text="by plane")
    unsaid, missing = feeds._compared(plan, "x.ics", two, (*right[:2], other))
    assert unsaid.endswith("is not what the plan says")
    assert missing.startswith('x.ics: "rub", ')
    wrong = (
        event("rub", 3), event("sand", 2), event("rub", 2, busy=False),
        event("rub", 2, tentative=True), event("rub", 2),
    )  # fmt: skip
    found = list(feeds._compared(plan, "x.ics", two, (*right, *wrong)))
    assert len(found) == len(wrong)
    assert all("not what the plan says" in words for words in found)


def test_who_is_of_the_crew_is_named_and_a_stranger_by_the_id():
    made: Any = SimpleNamespace(people={"ann": SimpleNamespace(name="Ann")})
    assert [JudgedPlan.name(made, p) for p in ("ann", "zoe")] == ["Ann", "zoe"]


# ------------------------------------------------------------------------ promise


@pytest.mark.parametrize(
    ("promised", "tentative", "often", "words"),
    [
        (0, 3, 0.8, ""),  # just as often as was asked
        (0, 3, 0.79, "its promise is kept too seldom"),
        (2, 3, 0.81, "kept more often than its promise"),  # that day could be promised
        (2, 3, 0.8, ""),  # chances are rounded
        (0, 0, 0.95, ""),
        (0, 0, 0.94, "its tentative date is kept too seldom"),
        (-1, 3, 0.8, "its promise lies before"),
        (3, 2, 0.7, "its tentative date lies before"),
        (None, None, 0.7, ""),
        (2, None, 0.7, ""),
        (None, 3, 0.7, "its tentative date lies before"),
        (2.5, 3, 0.7, "its promise is no moment"),
        (2, 11, 0.7, "its tentative date is no moment"),  # nobody looked so far
    ],
)
def test_dates_of_a_return_are_kept_as_often_as_they_say(
    promised, tentative, often, words
):
    """Of a hundred futures 80 for the promise, 95 for the tentative date, by hours."""

    def when(hours: float | None):
        return None if hours is None else h(hours)

    back: Any = SimpleNamespace(
        kind=ReturnKind.FULL_SERVICE,
        when=h(0),
        promise=when(promised),
        tentative_until=when(tentative),
        kept_frac=often,
    )
    sure = SimpleNamespace(sure_percent=80, tentative_percent=95, looked_until=h(10))
    there: Any = SimpleNamespace(sureness=sure, returns=(back,))
    found = list(promise._return(case(), there, back))
    assert bool(found) is bool(words), found
    assert all(words in fault for fault in found[:1])
