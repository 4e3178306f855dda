"""`covetime publish` as a user runs it, against a real calendar server.

Tests of planner/commands/planning.py, planner/files/caldav/collection.py,
planner/files/caldav/login.py, planner/files/caldav/state.py,
planner/usecases/publish.py, planner/usecases/standing.py.
"""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

import pytest

from planner.files.folder import outdir
from planner.living.changed import changes
from planner.report.living.notes import News
from planner.usecases.read import read_inputs
from tests.support.caldav import (
    PASSWORD,
    USER,
    Answer,
    Asked,
    Server,
    passed_on,
    radicale,
    stub,
)
from tests.support.command import Ran, covetime, covetime_process
from tests.support.places import ROOT
from tests.support.plans import changed, made_plan
from tests.support.values import STRAIGHT, job_file, put

LOGIN = {"COVETIME_USER": USER, "COVETIME_PASSWORD": PASSWORD}
NOW = datetime(2027, 1, 15, 9, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def server(tmp_path_factory) -> Iterator[Server]:
    with radicale(tmp_path_factory.mktemp("radicale")) as running:
        yield running


@pytest.fixture
def url(server, request) -> str:
    name = "".join(c if c.isalnum() else "-" for c in request.node.name)
    return str(server.calendar(name))


@pytest.fixture
def job(tmp_path) -> Path:
    """A job with a plan beside it that fits its inputs."""
    made = job_file(tmp_path, STRAIGHT)
    put(plan_for(made), tmp_path / "plan", now=NOW)
    return made


def plan_for(job: Path):
    return replace(made_plan(), fingerprint=read_inputs(job).fingerprint)


def publish(job: Path, url: str, *args: str, **env: str) -> Ran:
    nothing = {"COVETIME_USER": None, "COVETIME_PASSWORD": None}
    words = ("publish", str(job), "--to", url, *args)
    return covetime(*words, env={**nothing, **(env or LOGIN)})


def test_the_closure_is_published_and_then_stands(server, job, url):
    ran = covetime_process("publish", str(job), "--to", url, env=LOGIN)
    assert ran.returncode == 0, ran.stderr
    # the closure, the two returns, and after the promise the days it may not be back
    assert ran.stdout.splitlines()[0] == f"{url}: 4 new"
    assert ran.stderr.splitlines()[0].startswith("1 of 4  Tern Street Stage: ")
    assert server.titles(url) == [
        "Tern Street Stage: closed for the backdrop",
        "Tern Street Stage: full service from here on",
        "Tern Street Stage: light foot traffic from here on",
        "Tern Street Stage: may not be back yet",
    ]
    again = publish(job, url)
    assert again.returncode == 0
    assert again.stdout == f"{url}: 4 as before\n"
    assert server.asked(url)["PUT"] == 4


def test_each_feed_can_be_published(server, job, url):
    plan = made_plan()
    counts = {
        "crew": len(plan.tasks),
        "Marisol": sum("p0" in t.team for t in plan.tasks),
        "p1": sum("p1" in t.team for t in plan.tasks),
    }
    done = 0
    for feed, count in counts.items():
        ran = publish(job, url, "--feed", feed)
        assert ran.returncode == 0, ran.stderr
        assert ran.stdout.startswith(f"{url}: {count} new\n")
        done += count
    assert len(server.held(url)) == done
    ran = publish(job, url, "--feed", "waits")
    assert "may be coated from" in ran.stdout


def test_the_note_that_goes_with_a_calendar_is_printed(server, job, url):
    """What changed for a person is sent with that person's calendar, and only then."""
    plan = plan_for(job)
    folder = job.parent / "plan"
    last = max(plan.tasks, key=lambda t: t.start)
    moved = replace(
        plan,
        tasks=tuple(
            replace(
                t,
                start=t.start + 7 * DAY,
                end=t.end + 7 * DAY,
                spans=tuple((a + 7 * DAY, b + 7 * DAY) for a, b in t.spans),
            )
            if t.id == last.id
            else t
            for t in plan.tasks
        ),
    )
    news = News(
        before=plan,
        after=moved,
        now=NOW,
        people=changes(plan, moved, now=NOW),
        why=("a shoot came",),
    )
    put(moved, folder, now=NOW, news=news)
    (who,) = last.team
    for feed, note in ((who, f"people/{who}"), ("crew", "manager")):
        ran = publish(job, url, "--feed", feed)
        assert ran.returncode == 0, ran.stderr
        said = (folder / "changes" / f"{note}.txt").read_text("utf-8")
        assert ran.stdout.endswith(f"\n\n{said}")
    assert "what changes" not in publish(job, url, "--feed", "closure").stdout


def test_a_plan_that_is_replaced_leaves_exactly_its_own_entries(server, job, url):
    publish(job, url, "--feed", "crew")
    slower = replace(made_plan(slow=2.0), fingerprint=read_inputs(job).fingerprint)
    marked = {t.id for t in slower.tasks if t.phase == "mark"}  # no longer needed
    fewer = changed(
        slower,
        tasks=tuple(t for t in slower.tasks if t.id not in marked),
        links=tuple(x for x in slower.links if x.before not in marked),
        chain=tuple(c for c in slower.stage.chain if not {c.task, c.by} & marked),
    )
    put(fewer, job.parent / "plan", now=NOW)
    ran = publish(job, url, "--feed", "crew")
    assert ran.returncode == 0, ran.stderr
    held = server.held(url)
    assert sorted(
        (e["DTSTART"].dt.astimezone(UTC), e["DTEND"].dt.astimezone(UTC))
        for e in held.values()
    ) == sorted(s for t in fewer.tasks for s in t.spans)
    assert "3 removed" in ran.stdout


def test_an_entry_changed_by_hand_is_told_of(server, job, url):
    publish(job, url)
    name = next(iter(server.names(url)))
    body = server.client.get(url + name).text
    server.client.put(url + name, content=body.replace("SUMMARY:", "SUMMARY:My "))
    ran = publish(job, url)
    assert ran.returncode == 0
    assert "3 as before, 1 left alone" in ran.stdout
    assert (
        "somebody changed it there, so it is left as it is (--restore brings the plan's)"
        in ran.stderr
    )
    assert any(title.startswith("My ") for title in server.titles(url))
    assert "1 changed" in publish(job, url, "--restore").stdout
    assert not any(title.startswith("My ") for title in server.titles(url))


def test_a_plan_that_is_out_of_date_is_published_and_said_to_be(server, job, url):
    job.write_text(job.read_text("utf-8") + "\n# a thought\n")
    ran = publish(job, url)
    assert ran.returncode == 0
    assert "out of date: its inputs have changed since; plan again" in ran.stderr
    assert len(server.held(url)) == 4
    job.write_text("[job")
    ran = publish(job, url)
    assert ran.returncode == 0
    assert "whether the plan fits its inputs isn't known: " in ran.stderr
    assert "job.toml: " in ran.stderr


@pytest.mark.parametrize(
    ("env", "words"),
    [
        ({"COVETIME_USER": USER, "COVETIME_PASSWORD": "wr0ng"}, "HTTP 401"),
        ({"COVETIME_USER": USER, "COVETIME_PASSWORD": ""}, "there is no password"),
        ({"COVETIME_PASSWORD": "wr0ng"}, "COVETIME_USER isn't"),
        ({"NOTHING": "1"}, "asks for a name and a password"),
    ],
    ids=["wrong", "no password", "no user", "neither"],
)
def test_a_login_that_wont_do_ends_with_a_clear_word(server, job, url, env, words):
    ran = publish(job, url, **env)
    assert ran.returncode == 2
    assert words in ran.stderr
    assert "wr0ng" not in ran.stdout + ran.stderr
    assert "Traceback" not in ran.stderr
    assert server.held(url) == {}


def test_a_job_without_a_plan_is_told_to_plan_first(tmp_path, server, url):
    ran = publish(job_file(tmp_path, STRAIGHT), url)
    assert ran.returncode == 2
    assert "there is no plan" in ran.stderr
    assert "covetime plan" in ran.stderr


def test_a_feed_that_is_not_there_names_those_that_are(job, url):
    ran = publish(job, url, "--feed", "nobody")
    assert ran.returncode == 2
    assert "closure, crew, waits and those of tern-street, p0, p1" in ran.stderr


@pytest.mark.parametrize(
    ("old", "new"), [(b"SUMMARY", b"SUMARY"), (b"closed for the", b"open for the")]
)
def test_a_calendar_file_that_was_edited_is_not_published(job, server, url, old, new):
    path = job.parent / "plan" / "closure.ics"
    assert old in path.read_bytes()
    path.write_bytes(path.read_bytes().replace(old, new))
    ran = publish(job, url)
    assert ran.returncode == 2
    assert "is not as this program wrote it" in ran.stderr
    assert server.held(url) == {}


def test_an_open_line_to_elsewhere_gets_no_password(job):
    ran = publish(job, "http://cal.example.org/ana/stage/")
    assert ran.returncode == 2
    assert "others can read" in ran.stderr
    assert PASSWORD not in ran.stderr


def test_the_record_outlives_a_new_plan_and_is_kept_where_the_plan_is(server, job, url):
    publish(job, url)
    folder = job.parent / "plan"
    record = (folder / "caldav.json").read_bytes()
    assert PASSWORD.encode() not in record
    other = replace(made_plan(slow=2.0), fingerprint="1" * 64)
    put(other, folder, now=NOW)
    assert (folder / "caldav.json").read_bytes() == record


@pytest.mark.slow
def test_ctrl_c_stops_after_an_entry_and_is_gone_on_from(server, job, url):
    def slow(asked: Asked) -> Answer:
        if asked.method == "PUT":
            time.sleep(0.2)
        return passed_on(server, asked)

    with stub(slow) as line:
        through = url.replace(server.url, line.url)
        args = ["publish", str(job), "--to", through, "--feed", "crew"]
        with subprocess.Popen(
            [sys.executable, "-m", "planner.cli", *args],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT,
            env={**os.environ, **LOGIN},
        ) as run:  # fmt: skip
            assert run.stderr is not None
            for said in run.stderr:
                if said.startswith("4 of "):
                    break
            run.send_signal(signal.SIGINT)
            out, err = run.communicate(timeout=60)
        assert run.returncode == 130, err
        assert "stopped; publish again to go on" in err
        assert "Traceback" not in err
        some = len(server.held(url))
        assert 3 <= some < len(made_plan().tasks)
        assert f"{some} new" in out
        again = publish(job, through, "--feed", "crew")
    assert again.returncode == 0, again.stderr
    assert f"{some} as before" in again.stdout
    assert len(server.held(url)) == len(made_plan().tasks)


def test_no_two_runs_write_at_once(server, job, url):
    alone = partial(outdir.alone, wait_s=0.2)
    with outdir.alone(job.parent / "plan"), pytest.MonkeyPatch.context() as patch:
        patch.setattr(outdir, "alone", alone)
        ran = publish(job, url)
    assert ran.returncode == 2
    assert "another run is at work there; waiting" in ran.stderr
    assert "another run has been at work there for 0.2 s" in ran.stderr
    assert server.held(url) == {}


def test_help_shows_an_example():
    ran = covetime("publish", "--help")
    assert "Example: covetime publish" in " ".join(ran.stdout.split())
