"""Day sheets against the plan: every stretch, wait and limit on the sheet of its day.

The plan is a real one; what must stand on a sheet is worked out here from its times.

Tests of planner/report/days/facts.py, planner/report/days/people.py,
planner/report/days/sheets.py, planner/report/days/text.py,
planner/trade/data/proofs.py.
"""

import html
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.nouns.plan import Plan
from planner.report.days.facts import left_alone
from planner.report.days.sheets import day_sheets
from planner.report.days.text import day_sheets_text
from planner.report.drawing.view import View, passes
from planner.report.page.crew import crew_page
from planner.trade.data import materials
from planner.trade.data.proofs import proofs
from tests.support.finished import plan_of
from tests.support.values import STRAIGHT, changed, job_file

ZONE = ZoneInfo("America/Halifax")
TEXT = changed(
    STRAIGHT,
    ('"5 m"', '"3 m"'),
    (
        "[stage]",
        '[methods]\nfill = "foam"\nprimer = "solvent-primer"\n[stage]',
    ),
)


@pytest.fixture(scope="module")
def plan(tmp_path_factory) -> Plan:
    path = job_file(tmp_path_factory.mktemp("sheets"), TEXT)
    return plan_of(path, 0.3)


@pytest.fixture(scope="module")
def sheets(plan) -> dict[str, str]:
    """Each day's sheet as running text, by its date."""
    named = [s.id.removeprefix("day-") for s in day_sheets(View(plan))]
    around = bool(plan.reminders)  # a sheet before those of the days
    texts = day_sheets_text(plan).split("\f")[around:]
    return {d: " ".join(t.split()) for d, t in zip(named, texts, strict=True)}


def test_a_heading_has_one_name_on_the_sheet_and_on_the_crew_s_page(plan):
    page = crew_page(plan).decode()
    on_page = set(re.findall(r"<p><b>([^<]*)</b>", page))
    heads = re.findall(r"^([A-Z][a-z, ]+?)  +\S", day_sheets_text(plan), re.M)
    shared = {
        "Leave overnight",
        "Air expected",
        "Keep the air",
        "Read the air",
        "Bring",
    }
    assert shared <= on_page
    assert shared <= set(heads)
    shorter = {"Loud, dusty, fumes": "Loud, dusty", "Closing windows": "Closing"}
    assert {shorter.get(head, head) for head in on_page} <= {*heads, "Closing"}


# Up to the ceiling, whatever the room: common practice, no source.
TO_THE_CEILING = ("prime", "shadow", "colour", "skim-coat", "fur", "board")


def test_every_sheet_with_work_above_reach_has_the_ladder_line(plan, sheets):
    high = {day(a) for t in plan.tasks for a, _ in t.spans if t.phase in TO_THE_CEILING}
    assert high
    for name in high:
        assert "Ladder or scaffold above 1.8 m" in sheets[name], name
    # 2.9 m of ceiling, modules of 0.95 m: at the floor nobody needs one
    low = set(sheets) - high
    assert any("Ladder or scaffold" not in sheets[name] for name in low)


def day(moment: datetime) -> str:
    return f"{moment.astimezone(ZONE):%Y-%m-%d}"


def clock(moment: datetime) -> str:
    return f"{moment.astimezone(ZONE):%H:%M}"


def said(moment: datetime) -> str:
    at = moment.astimezone(ZONE)
    name = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[at.weekday()]
    month = ("Jan", "Feb", "Mar", "Apr")[at.month - 1]
    return f"{name} {at.day} {month}, {clock(moment)}"  # a sheet's head says the year


def night_after(date: str) -> datetime:
    start = datetime.fromisoformat(f"{date}T00:00").replace(tzinfo=ZONE)
    return (start + timedelta(days=1)).astimezone(UTC)


def test_there_is_a_sheet_for_each_day_worked_and_each_return(plan, sheets):
    worked = {day(a) for t in plan.tasks for a, _ in t.spans}
    assert set(sheets) == worked | {day(r.when) for r in plan.stage.returns}
    assert list(sheets) == sorted(sheets)


def test_the_text_keeps_to_eighty_columns_and_a_page_a_day(plan, sheets):
    text = day_sheets_text(plan)
    assert max(map(len, text.splitlines())) <= 80
    assert text.count("\f") == len(sheets) - 1 + bool(plan.reminders)


def test_every_stretch_stands_with_its_quantity_team_and_hours(plan, sheets):
    names = {c.id: c.name for c in plan.crew}
    for task in plan.tasks:
        for a, b in task.spans:
            sheet = sheets[day(a)]
            assert f"{clock(a)}-{clock(b)} {task.title}" in sheet
            team = ", ".join(names[p] for p in task.team)
            hours, minutes = divmod((b - a).seconds // 60 * len(task.team), 60)
            labour = " ".join(
                w for w in (f"{hours} h" * bool(hours),
                            f"{minutes:02d} min" * bool(minutes and hours),
                            f"{minutes} min" * bool(minutes and not hours)) if w
            )  # fmt: skip
            whole = " in all" if len(task.spans) > 1 else ""
            assert f"{team}: {task.quantity}{whole}, {labour} booked" in sheet
            for thing in (*task.bring, *task.cautions):
                assert " ".join(thing.split()) in sheet


def test_everybody_comes_from_the_first_to_the_last_stretch(plan, sheets):
    for person in plan.crew:
        for date, sheet in sheets.items():
            own = [(a, b) for t in plan.tasks if person.id in t.team
                   for a, b in t.spans if day(a) == date]  # fmt: skip
            came = re.search(rf"{person.name} (\d\d:\d\d) to (\d\d:\d\d)", sheet)
            if not own:
                assert came is None
                continue
            first, last = min(a for a, _ in own), max(b for _, b in own)
            assert came is not None
            assert came.groups() == (clock(first), clock(last))


def test_what_must_be_ready_is_to_be_checked_and_how(plan, sheets):
    kinds = {p.id: p.kind for p in plan.products}
    waits = {(w.task, w.product, w.stage): w for w in plan.waits}
    checked = 0
    for link in plan.links:
        if link.product is None or link.stage is None:
            continue
        wait = waits[(link.before, link.product, link.stage)]
        if wait.ready == wait.begins:
            continue
        sheet = sheets[day(plan.task(link.after).start)]
        title = plan.task(link.before).title
        assert (
            f"[ ] check: {title}: {passes(wait.way)} until {said(wait.ready)} ({link.stage})"
            in sheet
        )
        proof = proofs()[(kinds[link.product], link.stage)]
        assert proof.how in sheet
        checked += 1
    assert checked > 8


def test_limits_stand_until_the_coat_is_dry(plan, sheets):
    # ISO 12944-7 as summarised, MIL-HDBK-1110 §7.4.1, ASTM C840 §4.1: 10 to 32.2 °C,
    # 85 %, 3 °C (5.4 °F) above the dew point
    primed = plan.task("prime-1")
    wait = next(w for w in plan.waits if w.task == primed.id and w.stage == "recoat")
    sheet = sheets[day(primed.start)]
    limits = "10 to 32 °C (50 to 90 °F), humidity at most 85 %, 3.0 °C (5.4 °F) above"
    assert limits in sheet
    assert f"until {said(wait.ready)} (" in sheet
    assert f"as each coat ends ({clock(primed.end)}" in sheet
    # 48 h before the first compound the room must be warm (ASTM C840 §4.1)
    kept_warm = {p.id for p in plan.products if p.min_c_before_h > 0.0}
    laid = (t for t in plan.tasks if t.product in kept_warm)
    first = min(laid, key=lambda t: t.start)
    warm = [s for d, s in sheets.items() if "night too" in s and d < day(first.start)]
    assert warm


def test_loud_and_dusty_stretches_have_their_clock_times(plan, sheets):
    for date, sheet in sheets.items():
        for word, found in (
            ("Loud", [s for t in plan.tasks if t.loud for s in t.spans]),
            ("Dusty", [s for t in plan.tasks if t.dusty for s in t.spans]),
            ("Fumes", [s for t in plan.tasks if t.fumes for s in t.spans]),
        ):
            own = [(a, b) for a, b in found if day(a) == date]
            line = re.search(rf"{word} (\d\d:\d\d to \d\d:\d\d(?:, [\d:]+ to [\d:]+)*)",
                             sheet)  # fmt: skip
            assert bool(line) == bool(own), (date, word)
            if line is None:
                continue
            minutes = set()
            for stretch in line.group(1).split(", "):
                a, b = (int(c[:2]) * 60 + int(c[3:]) for c in stretch.split(" to "))
                minutes |= set(range(a, b))
            wanted = set()
            for a, b in own:
                start = a.astimezone(ZONE).hour * 60 + a.astimezone(ZONE).minute
                wanted |= set(range(start, start + (b - a).seconds // 60))
            assert minutes == wanted


def test_nobody_walks_on_the_apron_until_it_bears_feet(plan, sheets):
    last = plan.task("colour-2")
    feet = next(
        w for w in plan.waits if w.task == last.id and w.stage == "light foot traffic"
    )
    night = night_after(day(last.end))
    assert feet.ready > night
    words = f"Nobody walks on the apron until {said(feet.ready)}"
    assert words in sheets[day(last.end)]
    before = [s for d, s in sheets.items() if d < day(plan.task("colour-1").start)]
    assert not any("walks on the apron" in s for s in before)


def test_nobody_enters_until_the_fumes_have_cleared(plan, sheets):
    coat = plan.task("prime-2")
    clear = next(
        w for w in plan.waits if w.task == coat.id and w.stage == "free of fumes"
    )
    assert clear.ready > night_after(day(coat.end))
    assert f"Nobody in the room until {said(clear.ready)}" in sheets[day(coat.end)]
    first = plan.task("prime-1")
    words = "Nobody in the room but who lays the next coat: fumes"
    assert words in sheets[day(first.end)]


def test_a_window_that_closes_is_named_on_its_day_and_the_day_before(plan, sheets):
    seen = 0
    for window in plan.windows:
        if window.closes is None or window.sanded_again is not None:
            continue
        for date, sheet in sheets.items():
            start = night_after(date) - timedelta(days=1)
            near = start <= window.closes < night_after(date) + timedelta(days=1)
            still_open = plan.task(window.after).start >= start
            words = f"closes {said(window.closes)}: {plan.task(window.after).title}"
            assert (words in sheet) == (near and still_open)
            seen += near
    assert seen or not plan.windows


def test_a_joint_that_shows_has_its_chance_on_the_sheet_of_the_check(plan, sheets):
    check = plan.task("shadow")
    # one bay at 0.15 (from memory): 15 % for a bay, 15 % for one or more of one
    words = sheets[day(check.start)]
    assert "Chance 15 % for a bay, 15 % for one bay or more of 1" in words
    assert sum("If a joint shows" in s for s in sheets.values()) == len(
        {day(a) for a, _ in check.spans}
    )


def test_there_is_a_proof_for_every_stage_that_work_can_wait_for():
    """By kind and stage; the floor edge that holds at once needs no test."""
    for product in materials.load().values():
        for stage in product.stages:
            if stage.stage != "hold":
                proof = proofs()[(product.kind, stage.stage)]
                assert proof.source
                assert proof.tag in ("read", "from memory", "common practice")


def test_local_codes_come_first_wherever_there_are_cautions(plan, sheets):
    for date, sheet in sheets.items():
        any_work = any(day(a) == date for t in plan.tasks for a, _ in t.spans)
        assert ("Local codes, licensed practice" in sheet) == any_work


def test_the_place_whose_codes_come_first_is_named(plan):
    text = " ".join(day_sheets_text(replace(plan, codes="Nova Scotia")).split())
    assert "Local codes of Nova Scotia, licensed practice" in text
    assert "rules marked US are that country's" in text


def test_the_page_says_the_same_as_the_text(plan, sheets):
    page = " ".join(
        html.unescape(re.sub(r"<[^>]+>", "", crew_page(plan).decode())).split()
    )
    for sheet in day_sheets(View(plan, year_said=True)):
        for words in (
            *sheet.hold, *sheet.noise, *sheet.waits, *sheet.closing, sheet.readings,
            sheet.joint, *(how for _, how in sheet.tests),
        ):  # fmt: skip
            assert " ".join(words.split()) in page
            assert " ".join(words.split()) in sheets[sheet.id.removeprefix("day-")]


def test_modules_that_stand_loose_overnight_are_named_until_they_are_fastened(plan):
    # a wall that is set on one day and fastened days later
    set_ = next(t for t in plan.tasks if t.phase == "set")
    fasten = next(t for t in plan.tasks if t.phase == "fasten")
    late = replace(
        fasten, start=set_.end + timedelta(days=3), end=set_.end + timedelta(days=3.1)
    )
    loose = replace(
        plan, tasks=tuple(late if t.id == fasten.id else t for t in plan.tasks)
    )
    said = f"{set_.title}: not fastened yet; brace it"

    def tonight(of, after: timedelta) -> bool:
        return any(said in x for x in left_alone(View(of), set_.end + after))

    assert tonight(loose, timedelta(hours=8))
    assert not tonight(loose, timedelta(days=4))
    assert not tonight(loose, timedelta(hours=-8))
    assert not tonight(plan, fasten.end - set_.end + timedelta(hours=1))
