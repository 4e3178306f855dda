"""What one of the crew is told in another language, and the judge of their calendar.

Tests of planner/judge/calendars/feeds.py, planner/judge/calendars/tongue.py,
planner/nouns/told/saying.py, planner/report/calendars/plan_feeds.py,
planner/report/days/facts.py, planner/report/days/people.py,
planner/report/days/sheets.py, planner/report/days/text.py,
planner/report/drawing/telling.py, planner/report/living/notes.py,
planner/report/living/teller.py, planner/report/living/today_text.py,
planner/report/page/crew.py, planner/report/page/frame.py.
"""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest

from planner.errors import JobFileError, ProgramFaultError
from planner.files.ics_out.published import PublishedState
from planner.files.job.jobfile import read_job
from planner.judge import calendars_judged
from planner.judge.calendars.tongue import words
from planner.languages.catalogues import NAMES, language_of
from planner.languages.language import ENGLISH
from planner.languages.translated import catalogue_of
from planner.living.changed import changes
from planner.measures import Units
from planner.nouns.plan import Plan
from planner.nouns.told.saying import (
    PlaceKind,
    Saying,
    alone,
    counting,
    each_once,
    measured,
    name,
    number_of,
    saying,
    text,
    told,
)
from planner.report.calendars.plan_feeds import crew_feed, person_feed
from planner.report.days.text import COLUMN, day_sheets_text
from planner.report.drawing.telling import Telling, unchecked
from planner.report.living.notes import News, note_page, note_text, notes
from planner.report.living.today_text import today_text
from planner.report.page.crew import crew_page, crew_page_in
from planner.report.page.frame import PAGES
from planner.usecases.write import outputs, paths_of
from tests.languages.test_language import plain
from tests.support.plans import made_plan
from tests.support.values import kit

NOW = datetime(2027, 1, 9, 12, tzinfo=UTC)
SPANISH, FRENCH = language_of("es"), language_of("fr")


def told_plan(*tags: str) -> Plan:
    """A made plan whose crew is told in these languages, its titles put together."""
    plan = made_plan(bays=("Tape", "corner"))  # a run of a name that is also a work
    bays = {b.id: b.name for b in plan.stage.bays}
    tasks, sayings = [], [saying("corner")]
    for task in plan.tasks:
        work = task.title.rpartition(", ")[0]
        work = {"Set the modules": "Set the straight modules"}.get(work, work)
        title = saying(
            "{work} {number}, {bay}",
            text("work", work),
            number_of("number", 2),
            told("bay", bays[task.bays[0]]),
        )
        tasks.append(
            replace(
                task,
                title=title.text,
                how="Sand the dry joints under raking light",
                cautions=("Wear a dust mask and eye protection",),
            )
        )
        sayings.append(title)
    crew = tuple(
        replace(person, language=(*tags, *[ENGLISH.tag] * 9)[n])
        for n, person in enumerate(plan.crew)
    )
    return replace(plan, tasks=tuple(tasks), crew=crew, sayings=each_once(sayings))


def written(plan: Plan) -> dict[str, bytes]:
    return outputs(plan, state=PublishedState(), now=NOW)


# ------------------------------------------------------------------- sayings


def test_a_saying_is_told_with_its_places_each_in_its_own_way():
    where = saying("corner {one}/{two}", name("one", "north"), name("two", "east"))
    title = saying("{work} {number}, {bay}", text("work", "Topping"),
                   number_of("number", 2), told("bay", where))  # fmt: skip
    area = measured("area", PlaceKind.AREA, 10.0, Units.METRIC)
    amount = saying("{area} of joint", area)
    holes = counting("{count} hole", "{count} holes", number_of("count", 24))
    sayings = (where, title, amount, holes)
    assert [s.text for s in sayings] == [
        "corner north/east", "Topping 2, corner north/east",
        "10.0 m² (108 ft²) of joint", "24 holes",
    ]  # fmt: skip
    tell = Telling(Units.METRIC, sayings, SPANISH).told
    assert [plain(tell(s.text)) for s in sayings] == [
        "rincón north/east", "Pasta de acabado 2, rincón north/east",
        "10,0 m² (108 ft²) de junta", "24 agujeros",
    ]  # fmt: skip
    told_english = Telling(Units.METRIC, sayings, ENGLISH).told
    assert [told_english(s.text) for s in sayings] == [s.text for s in sayings]


def test_a_name_that_somebody_gave_stays_even_where_it_is_a_word_of_the_trade():
    title = saying("{work}, {bay}", text("work", "Tape"), told("bay", "Tape"))
    telling = Telling(Units.US, (title,), SPANISH)
    assert telling.told(title.text) == "Cinta de juntas, Tape"
    assert telling.named("Tape") == "Tape"


def test_what_is_alone_in_a_saying_is_not_kept_as_one():
    assert each_once((alone(text("work", "Tape")), saying("apron"))) == (
        Saying(text="apron", english="apron"),
    )


# -------------------------------------------------------- what people are told


def test_a_person_s_calendar_is_in_their_language_and_everybody_s_in_english():
    plan = told_plan("es", "en")
    spanish, english = (person_feed(plan, c) for c in plan.crew)
    titles = {e.title for e in spanish.entries}
    assert "Anclaje al suelo 2, Tape" in titles
    assert "Cinta de juntas 2, rincón" in titles
    assert {e.title for e in english.entries} <= {t.title for t in plan.tasks}
    assert all("Translat" not in e.description for e in english.entries)
    assert any(e.title.startswith("Tape 2, Tape (") for e in crew_feed(plan).entries)
    minded = [e for e in spanish.entries if "Cuidado:" in e.description]
    assert all(unchecked(SPANISH) in e.description for e in minded)
    assert unchecked(SPANISH) in spanish.description


def test_the_same_entries_stand_in_a_calendar_whatever_its_language():
    def entries(tag: str) -> list[tuple[object, ...]]:
        plan = told_plan(tag)
        feed = person_feed(plan, plan.crew[0])
        return [(e.key, e.when, e.busy, e.categories) for e in feed.entries]

    assert entries("en") == entries("es") == entries("fr")


@pytest.mark.parametrize("tag", ["es", "fr"])
def test_day_sheets_come_in_every_language_of_the_crew(tag):
    plan, language = told_plan(tag), language_of(tag)
    files = written(plan)
    sheets = files[f"day-sheets.{tag}.txt"].decode()
    first = {"es": "lunes, 8 de febrero de 2027", "fr": "lundi 8 février 2027"}[tag]
    assert plain(sheets).startswith(f"{first}: Tern Street Stage\n")
    assert sheets.count("\f") == day_sheets_text(plan).count("\f")
    said = " ".join(plain(unchecked(language)).split())
    assert " ".join(plain(sheets).split()).count(said) == sheets.count("\f") + 1
    assert all(len(line) <= 80 for line in sheets.splitlines())
    assert "day-sheets.en.txt" not in files
    assert set(files) - set(written(told_plan())) == {
        f"day-sheets.{tag}.txt", f"crew.{tag}.html",
    }  # fmt: skip


@pytest.mark.parametrize("tag", ["es", "fr"])
def test_a_heading_of_a_day_sheet_fits_beside_its_text(tag):
    heads = (
        "Comes", "Loud, dusty", "How to tell", "If a joint shows", "Closing",
        "Keep the air", "Read the air", "Leave overnight", "Bring", "Mind", "Air expected",
    )  # fmt: skip
    say = language_of(tag).say
    assert [h for h in heads if len(say(h)) >= COLUMN] == []


ENGLISH_WORDS = re.compile(
    r"\b(the|until|with|before|and|nobody|work|shift|needed|day|who|check|mind)\b", re.I
)


@pytest.mark.parametrize("tag", ["es", "fr"])
def test_no_english_is_left_in_what_a_person_is_told(tag):
    plan = told_plan(tag)
    mine = plan.crew[0].id
    page = re.sub(r"<style>.*?</style>|<script>.*?</script>|<svg.*?</svg>", "",
                  crew_page_in(plan, language_of(tag)).decode(), flags=re.S)  # fmt: skip
    shown = re.sub(r"<[^>]*>", " ", page)
    now = plan.tasks[3].start
    today = today_text(plan, now, who=mine, language=language_of(tag))
    sheets = day_sheets_text(plan, language_of(tag))
    feed = person_feed(plan, plan.crew[0])
    entries = "\n".join(f"{e.title}\n{e.description}" for e in feed.entries)
    for said in (shown, today, sheets, entries):
        assert len(said) > 300
        assert ENGLISH_WORDS.findall(said) == []


@pytest.mark.parametrize(("tag", "nothing"), [("es", "nada"), ("fr", "rien")])
def test_nothing_now_and_nothing_next_are_said_in_the_person_s_language(tag, nothing):
    plan, language = told_plan(tag), language_of(tag)
    after = max(t.end for t in plan.tasks)
    lines = today_text(plan, after, who="p0", language=language).splitlines()
    for head in ("Now", "Next"):
        assert lines[lines.index(language.say(head).upper()) + 1] == f"  {nothing}"


def test_what_is_to_be_decided_in_english_has_a_heading_that_says_so():
    plan = told_plan("es")
    now, decide = plan.tasks[3].start, ["revise it"]
    told = today_text(plan, now, who="p0", decide=decide, language=SPANISH)
    assert "\nDECIDIR (EN INGLÉS)\n  revise it\n" in told
    own = today_text(plan, now, who="p0", language=SPANISH)
    assert "INGLÉS" not in own
    assert "\nDECIDE\n  revise it\n" in today_text(plan, now, decide=decide)


@pytest.mark.parametrize("tag", ["es", "fr"])
def test_the_links_of_a_page_are_in_its_language_and_say_where_english_begins(tag):
    plan, language = told_plan(tag), language_of(tag)
    page = crew_page_in(plan, language).decode()
    links = re.findall(r'<a href="(\w+\.html)"([^>]*)>([^<]*)</a>', page)
    assert {file for file, _, _ in links} == {p.file for p in PAGES}
    for file, marks, words_ in links:
        title = next(language.say(p.title) for p in PAGES if p.file == file)
        assert marks == ' hreflang="en"'
        assert unescape(words_) == language.say("{what} (in English)", what=title)
        assert ENGLISH_WORDS.findall(words_) == []


def test_each_part_of_a_page_says_in_which_language_it_is():
    plan = told_plan("es", "en")
    page = crew_page(plan).decode()
    assert '<html lang="en">' in page
    assert '<article class="person" id="person-p0" lang="es">' in page
    assert '<article class="person" id="person-p1">' in page
    link = '<a href="crew.es.html" lang="es" hreflang="es">El equipo (español)</a>'
    assert link in page
    other = crew_page_in(plan, SPANISH).decode()
    assert '<html lang="es">' in other
    assert '<b aria-current="page">El equipo (español)</b>' in other
    closure = '<a href="plan.html" hreflang="en">El cierre (en inglés)</a>'
    assert closure in other
    assert other.count(unchecked(SPANISH)) == 2  # at its head and at its foot
    assert unchecked(SPANISH) not in page


def test_every_name_is_known_before_there_is_a_plan():
    plan = told_plan("es", "fr")
    crew = [c.id for c in plan.crew]
    tags = [c.language for c in plan.crew]
    known = paths_of(plan.stage.id, crew, PublishedState(), tags)
    assert set(written(plan)) <= set(known)
    assert "crew.es.html" not in paths_of(plan.stage.id, crew, PublishedState())


def test_english_alone_writes_no_other_files_and_keeps_no_sayings():
    files = written(made_plan())
    assert not [p for p in files if re.search(r"\.(es|fr)\.", p)]


@pytest.mark.parametrize("tag", ["es", "fr"])
def test_a_note_of_what_changes_is_in_the_language_of_the_person(tag):
    before = told_plan(tag, "en")
    task = next(t for t in before.tasks if "p0" in t.team)
    other = next(t for t in before.tasks if "p1" in t.team)
    day = timedelta(days=1)
    later = replace(task, spans=tuple((a + day, b + day) for a, b in task.spans))
    given = replace(other, team=("p0", "p1"))
    tasks = tuple({task.id: later, other.id: given}.get(t.id, t) for t in before.tasks)
    after = replace(before, tasks=tasks)
    people = changes(before, after, now=NOW)
    news = News(before=before, after=after, now=NOW, people=people, why=())
    mine, hers = (
        next(n for n in notes(news) if n.path.endswith(p)) for p in ("p0", "p1")
    )
    lines = [line for _, said in mine.parts for line in said]
    assert len(lines) > 2
    assert ENGLISH_WORDS.findall(" ".join((mine.title, *lines))) == []
    assert f'<html lang="{tag}">' in note_page(mine)
    assert unchecked(language_of(tag)) in unescape(note_page(mine))
    warned = " ".join(note_text(mine).split())
    assert " ".join(unchecked(language_of(tag)).split()) in warned
    assert '<html lang="en">' in note_page(hers)
    assert hers.warning == ""
    assert "with Marisol" in " ".join(note_text(hers).split())


# ------------------------------------------------------------------ the judge


def test_the_judge_reads_the_catalogues_as_the_program_does():
    for tag in ("es", "fr"):
        catalogue = catalogue_of(tag)
        single = {m.id: m.string for m in catalogue if isinstance(m.id, str) and m.id}
        own = words(tag)
        assert {k: own.get(k) for k in single} == single
        assert len(single) > 500


@pytest.mark.parametrize("tag", ["es", "fr", "es-MX"])
def test_the_judge_passes_calendars_in_the_language_of_each(tag):
    plan = told_plan(tag)
    assert calendars_judged(plan, written(plan)) == ()


@pytest.mark.parametrize(
    ("wrong", "by"),
    [
        ("Cinta de juntas 2", "Pasta de acabado 2"),  # another work
        ("Cinta de juntas 2", "Cinta de juntas 3"),  # another coat
        ("Cinta de juntas 2\\, rinc", "Cinta de juntas 2\\, Tape\\, rinc"),
        ("Cinta de juntas", "Tape"),  # not in the language of the person
    ],
)
def test_the_judge_finds_a_wrong_title(wrong, by):
    plan = told_plan("es", "es")
    files = written(plan)
    path = next(
        p for p in files if p.startswith("people/") and wrong.encode() in files[p]
    )
    files[path] = files[path].replace(
        f"SUMMARY:{wrong}".encode(), f"SUMMARY:{by}".encode()
    )
    found = " ".join(calendars_judged(plan, files))
    assert f"{path}: " in found
    assert "is not what the plan says" in found


def test_the_judge_finds_a_calendar_in_the_language_of_somebody_else():
    plan = told_plan("es", "en")
    files = written(told_plan("fr", "en"))
    assert "is not what the plan says" in " ".join(calendars_judged(plan, files))


def test_a_plan_that_lost_its_sayings_is_never_written():
    with pytest.raises(ProgramFaultError, match="don't say what the plan says"):
        written(replace(told_plan("es"), sayings=()))


# ------------------------------------------------------------------- the job file


def test_a_job_file_says_which_languages_there_are(tmp_path):
    file = tmp_path / "job.toml"
    file.write_text(
        '[job]\nname = "x"\ntime_zone = "Europe/Madrid"\nearliest = 2027-02-08\n'
        f'{kit()}[stage]\nceiling = "4 m"\n[[stage.run]]\nname = "north"\nlength = "6 m"\n'
        '[[crew]]\nname = "Ana"\ntrades = ["painter"]\nlanguage = "de"\n'
        '[[crew]]\nname = "Bo"\ntrades = ["painter"]\nlanguage = "es-mx"\n'
    )
    with pytest.raises(JobFileError) as refused:
        read_job(file)
    said = " ".join(refused.value.lines())
    assert 'crew.1.language: "de" is no language' in said
    for tag, own in NAMES.items():
        assert f'"{tag}" ({own})' in said
    file.write_text(file.read_text().replace('"de"', '"fr"'))
    assert [p.language for p in read_job(file).crew] == ["fr", "es-MX"]
