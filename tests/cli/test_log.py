"""`covetime log` as it is printed: what was understood, and what is asked back.

Tests of planner/commands/living.py, planner/usecases/living/log.py,
planner/report/living/log_text.py.
"""

import pytest

from tests.support.command import covetime
from tests.support.values import STRAIGHT, changed, job_file

NOW = "2027-02-17T18:20:00Z"  # Wed 14:20 in Halifax


@pytest.fixture
def job(tmp_path):
    return job_file(tmp_path, STRAIGHT)


def log(job, *words: str, now: str = NOW):
    return covetime("log", str(job), *words, "--now", now)


def lines(job) -> list[str]:
    return str((job.parent / "job-log.txt").read_text("utf-8")).splitlines()


def test_what_was_understood_is_said_in_full_with_the_zone(job):
    ran = log(job, "done", "prime-1", "--at", "yesterday 16:30", "--by", "Ana, Bo")
    assert ran.returncode == 0, ran.stderr
    first, second = ran.stdout.splitlines()
    assert first == f"logged in {job.parent}/job-log.txt:"
    assert second.startswith(
        "  Tue 16 Feb 2027, 16:30 AST (UTC-04:00); done: Primer coat 1 (prime-1); "
        "by Ana and Bo ["
    )
    assert lines(job)[1].startswith(
        "2027-02-16 16:30 -0400 | done | the-stage:prime-1 | by ana, bo | "
        "logged 2027-02-17 14:20:00 -0400 | "
    )


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        (["begun", "prime-1"], "| begun | the-stage:prime-1 |"),
        (["stopped", "prime-1", "--left", "90 min"], "| left 1.5 h |"),
        (["wet", "prime-1"], "| wet | the-stage:prime-1 |"),
        (["shows", "wall", "--says", "third joint"], "| says third joint |"),
        (
            ["damaged", "wall", "--until", "Fri 10:00"],
            "| until 2027-02-19 10:00 -0400 |",
        ),
        (["away", "bo", "--from", "Thu", "--until", "Fri"], "| until 2027-02-20 00:00"),
        (["late", "--until", "tomorrow 7:30"], "| late | - | until 2027-02-18 07:30"),
        (
            ["booked", "a shoot", "--from", "Sat 8:00", "--until", "Sat 18:00"],
            "| from 2027-02-20 08:00 -0400 | until 2027-02-20 18:00 -0400 | says a shoot",
        ),
        (["quiet", "--from", "Thu 9:00", "--until", "11:00"], "until 2027-02-18 11:00"),
        (["air", "--temp", "64 F", "--rh", "58 %"], "| air 17.8 C | humidity 58 % |"),
        (["moisture", "slab 82 % RH"], "| moisture | - | says slab 82 % RH |"),
        (["note", "the | lift"], "| note | - | says the \\p lift |"),
    ],
)
def test_every_kind_of_event_is_kept(job, words, kept):
    ran = log(job, *words)
    assert ran.returncode == 0, ran.stderr
    assert kept in lines(job)[1]


@pytest.mark.parametrize(
    ("words", "said", "hint"),
    [
        (["dune", "prime-1"], '"dune" is no kind of event', 'did you mean "done"?'),
        (["undo", "x"], '"undo" is no kind of event', "there are: begun, stopped"),
        (["done", "prime-9"], 'done: there is no task "prime-9"', "prime-1"),
        (["done"], 'done: there is no task ""', "there: "),
        (["shows", "wal"], 'shows: there is no bay "wal"', "did you mean wall?"),
        (
            ["away", "Cy", "--from", "Thu", "--until", "Fri"],
            'away: there is no person "Cy"',
            "there: ana, bo",
        ),
        (["done", "prime-1", "--by", "Cy"], 'nobody of the crew is called "Cy"', "Ana"),
        (["done", "prime-1", "--at", "Tue"], "at what hour?", "wasn't"),
        (["late"], "late: late: until when isn't said", ""),
        (["away", "bo"], "--from, --until: from when until when? Say both", ""),
        (["air", "--temp", "64 F"], "air: temperature and humidity are both", ""),
        (["air", "--temp", "64", "--rh", "5 %"], "--temp: ", ""),
        (["stopped", "prime-1", "--left", "soon"], "--left: ", ""),
        (["note"], "note: says nothing", "such as"),
        (["note", "x", "--undo", "last"], "--undo: undoes one event", ""),
    ],
)
def test_what_cant_be_understood_is_asked_back_and_not_logged(job, words, said, hint):
    ran = log(job, *words)
    assert ran.returncode == 2
    assert said in ran.stderr
    assert hint in ran.stderr or "at what hour" in said
    assert ran.stdout == ""
    assert not (job.parent / "job-log.txt").exists()


def test_what_cant_be_is_questioned_kept_when_insisted_on_and_shown(job):
    log(job, "wet", "prime-1")
    asked = log(job, "begun", "prime-2")
    assert asked.returncode == 2
    assert "begun prime-2: this can't be, so it wasn't logged: \"Primer coat 1\"" in (
        asked.stderr
    )
    assert "log it all the same with --anyway" in asked.stderr
    assert len(lines(job)) == 2
    kept = log(job, "begun", "prime-2", "--anyway")
    assert kept.returncode == 0
    assert '    kept though questioned: "Primer coat 1" below it' in kept.stdout
    assert "| kept though questioned |" in lines(job)[2]
    assert '    kept though questioned: "Primer coat 1" below it' in log(job).stdout


def test_the_log_is_shown_in_order_of_time_with_what_was_undone(job):
    log(job, "done", "prime-1")
    log(job, "begun", "prime-1", "--at", "9:00")
    assert log(job, "--undo", "last").returncode == 0
    shown = log(job).stdout.splitlines()
    assert shown[0].endswith("job-log.txt: 3 events")
    assert [line.strip().startswith("undone: Wed") for line in shown[1:]] == [
        True, False, False,
    ]  # fmt: skip
    done = shown[2].rpartition("[")[2].removesuffix("]")
    assert log(job, "--undo", done, now="2027-02-17T18:21:00Z").returncode == 0
    again = log(job, "--undo", done, now="2027-02-17T18:22:00Z")
    assert again.returncode == 2
    assert "there is no such event that counts" in again.stderr


def test_with_nothing_logged_there_is_nothing_to_undo(job):
    assert "nothing is logged yet" in log(job, "--undo", "last").stderr
    assert log(job).stdout.startswith("nothing is logged yet; ")
    assert not (job.parent / "job-log.txt").exists()


def test_an_event_whose_task_is_gone_is_named_and_kept(job):
    log(job, "done", "prime-2")
    one_coat = changed(STRAIGHT, ("[stage]", "[methods]\nprimer_coats = 1\n[stage]"))
    job_file(job.parent, one_coat)
    shown = log(job).stdout
    assert "done: prime-2" in shown
    assert "    the job has no prime-2 any more; the event is kept" in shown


def test_a_broken_line_is_named_whenever_the_log_is_used(job):
    log(job, "note", "one")
    path = job.parent / "job-log.txt"
    path.write_bytes(path.read_bytes() + b"2027-02-16 16:30 -0400 | do")
    ran = log(job, "note", "two")
    assert ran.returncode == 0
    assert f"{path}: line 3 can't be used: it is cut off" in ran.stderr
    shown = log(job).stdout
    assert "2 events" in shown
    assert "  line 3 can't be used: it is cut off" in shown
    assert "    2027-02-16 16:30 -0400 | do" in shown


def test_a_calendar_that_cant_be_read_keeps_nobody_from_logging(job):
    text = changed(STRAIGHT, ('name = "Bo"', 'name = "Bo"\ncalendar = "bo.ics"'))
    job_file(job.parent, text)
    (job.parent / "bo.ics").write_text("no calendar", encoding="utf-8")
    assert covetime("check", str(job)).returncode == 2
    assert log(job, "done", "prime-1").returncode == 0
