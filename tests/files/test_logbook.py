"""The log of a job as a file: nothing is lost, nothing is half written, nothing mended.

Tests of planner/files/logbook/lines.py, planner/files/logbook/appending.py,
planner/nouns/happened.py.
"""

import errno
import multiprocessing
import os
import signal
import subprocess
import sys
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import OutputError
from planner.files.logbook import appending
from planner.files.logbook.appending import append, log_of, read_log
from planner.files.logbook.lines import (
    TITLE,
    line_of,
    logbook_of,
    retaken,
    with_id,
)
from planner.nouns.happened import Happening, What

AT = datetime.fromisoformat("2027-02-16T14:15-04:00")
DONE = with_id(
    Happening(
        id="", what=What.DONE, at=AT, logged=AT, about="mill:prime-1", by=("ana",)
    )
)


@given(
    words=st.text(max_size=60),
    left=st.none() | st.integers(0, 400).map(lambda n: n / 4),
    by=st.lists(st.sampled_from(["ana", "bo", "cy"]), max_size=3, unique=True),
    what=st.sampled_from([What.DONE, What.NOTE, What.SHOWS, What.STOPPED]),
    after=st.integers(-500, 500),
)
def test_an_event_is_read_back_as_it_was_written(words, left, by, what, after):
    event = with_id(
        Happening(
            id="",
            what=what,
            at=AT + timedelta(minutes=after),
            logged=AT,
            about="mill:wall",
            by=tuple(by),
            left_h=left,
            words=words,
        )
    )
    assert "\n" not in line_of(event)
    assert event.words == " ".join(words.split())
    book = logbook_of(f"{TITLE}\n{line_of(event)}\n".encode())
    assert book.events == (event,)
    assert book.broken == ()


def test_stretches_air_and_offsets_are_read_back():
    away = with_id(
        Happening(
            id="",
            what=What.AWAY,
            at=AT,
            logged=AT,
            about="bo",
            start=AT,
            until=datetime.fromisoformat("2027-03-16T14:15-03:00"),
        )
    )
    air = with_id(
        Happening(id="", what=What.AIR, at=AT, logged=AT, air_c=17.8, humidity_pct=58.0)
    )
    found = logbook_of(f"{line_of(away)}\n{line_of(air)}\n".encode()).events
    assert found == (away, air)
    assert found[0].until is not None
    assert found[0].until.utcoffset() == timedelta(hours=-3)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"at": datetime(2027, 2, 16)}, "no zone"),  # noqa: DTZ001
        ({"start": AT, "until": AT}, "not before"),
        ({"what": What.AWAY}, "from when until when"),
        ({"what": What.AIR, "air_c": 18.0}, "both needed"),
        ({"what": What.LATE}, "until when"),
        ({"left_h": -1.0}, "less than nothing"),
    ],
)
def test_an_event_that_says_too_little_is_none(changes, why):
    with pytest.raises(ValueError, match=why):
        replace(DONE, **changes)


# ---------------------------------------------------------------- broken lines


def test_a_line_cut_off_anywhere_is_named_and_the_rest_stands():
    line = line_of(DONE)
    other = with_id(replace(DONE, about="mill:prime-2"))
    for cut in range(1, len(line)):
        book = logbook_of(f"{line[:cut]}\n{line_of(other)}\n".encode())
        assert book.events == (other,), line[:cut]
        assert [b.number for b in book.broken] == [1]


def test_every_change_of_one_character_is_noticed():
    line = line_of(DONE)
    for place in range(len(line)):
        changed = (
            f"{line[:place]}{'7' if line[place] != '7' else '8'}{line[place + 1 :]}"
        )
        book = logbook_of(changed.encode())
        assert book.events == ()
        assert book.broken[0].text == changed


def test_a_broken_line_is_named_by_its_number_in_the_file():
    text = f"{TITLE}\n\n{line_of(DONE)}\nonce upon a time\n".encode() + b"\xff\xfe\n"
    book = logbook_of(text)
    assert [(b.number, b.why) for b in book.broken] == [
        (4, "it is cut off, or was never a line of this log"),
        (5, "it isn't text (UTF-8)"),
    ]
    assert book.events == (DONE,)


def test_two_copies_of_a_log_put_together_say_each_event_once():
    mine = with_id(replace(DONE, about="mill:prime-2"))
    one = f"{TITLE}\n{line_of(DONE)}\n{line_of(mine)}\n"
    two = f"{TITLE}\r\n{line_of(DONE)}\r\n"  # it went through another system
    assert logbook_of((one + two).encode()).events == (DONE, mine)


# ------------------------------------------------------------------ undoing


def test_an_undo_takes_back_and_can_be_taken_back():
    later = AT + timedelta(minutes=1)
    undo = retaken(DONE, DONE.id, later, ())
    redo = retaken(undo, undo.id, later + timedelta(minutes=1), ())

    def counting(*events):
        data = "".join(f"{line_of(e)}\n" for e in events).encode()
        return logbook_of(data).in_time

    assert counting(DONE) == (DONE,)
    assert counting(DONE, undo) == ()
    assert counting(DONE, undo, redo) == (DONE,)
    assert counting(redo, undo, DONE) == (DONE,)  # merged in another order


def test_what_counts_comes_in_order_of_time():
    early = with_id(replace(DONE, at=AT - timedelta(hours=2), about="mill:a"))
    data = f"{line_of(DONE)}\n{line_of(early)}\n".encode()
    assert logbook_of(data).in_time == (early, DONE)


# ------------------------------------------------------------------ appending


def test_a_line_is_added_and_what_stood_before_stays_byte_for_byte(tmp_path):
    path = log_of(tmp_path / "mill.toml")
    assert path.name == "mill-log.txt"
    assert read_log(path).events == ()
    append(path, line_of(DONE))
    first = path.read_bytes()
    assert first == f"{TITLE}\n{line_of(DONE)}\n".encode()
    append(path, line_of(with_id(replace(DONE, about="mill:prime-2"))))
    assert path.read_bytes().startswith(first)
    assert len(read_log(path).events) == 2


def test_after_a_line_cut_off_by_a_kill_the_next_begins_anew(tmp_path):
    path = tmp_path / "job-log.txt"
    append(path, line_of(DONE))
    whole = path.read_bytes()
    path.write_bytes(whole + b"2027-02-16 15:00 -0400 | do")
    other = with_id(replace(DONE, about="mill:prime-2"))
    append(path, line_of(other))
    book = read_log(path)
    assert book.events == (DONE, other)
    assert [b.number for b in book.broken] == [3]
    assert path.read_bytes().startswith(whole + b"2027-02-16 15:00 -0400 | do")


def test_if_the_disk_takes_a_part_only_nothing_was_logged(tmp_path, monkeypatch):
    path = tmp_path / "job-log.txt"
    append(path, line_of(DONE))
    before = path.read_bytes()
    real = os.write
    monkeypatch.setattr(os, "write", lambda h, data: real(h, data[:9]))
    with pytest.raises(OutputError, match="nothing was logged: No space left"):
        append(path, line_of(DONE))
    monkeypatch.undo()
    assert path.read_bytes() == before


@pytest.mark.parametrize("code", [errno.EIO, errno.EDQUOT])
def test_if_the_disk_fails_to_keep_it_nothing_was_logged(tmp_path, monkeypatch, code):
    path = tmp_path / "job-log.txt"
    append(path, line_of(DONE))
    before = path.read_bytes()

    def fails(handle):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, "fsync", fails)
    with pytest.raises(OutputError, match="nothing was logged"):
        append(path, line_of(DONE))
    monkeypatch.undo()
    assert path.read_bytes() == before


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs /dev/full")  # noqa: PTH110
def test_a_full_disk_is_told_as_one(tmp_path):
    path = tmp_path / "job-log.txt"
    path.symlink_to("/dev/full")
    with pytest.raises(OutputError, match="No space left") as told:
        append(path, line_of(DONE))
    assert told.value.hint.startswith("free some space")


def test_what_is_no_file_is_no_log(tmp_path):
    (tmp_path / "job-log.txt").mkdir()
    with pytest.raises(OutputError, match="is a folder"):
        read_log(tmp_path / "job-log.txt")
    with pytest.raises(OutputError, match="nothing was logged"):
        append(tmp_path / "job-log.txt", line_of(DONE))


def many(path, name, count):
    for number in range(count):
        event = Happening(
            id="",
            what=What.NOTE,
            at=AT,
            logged=AT,
            words=f"{name} {number}" + "x" * 900,
        )
        append(path, line_of(event))


def test_of_two_who_log_at_once_no_event_is_lost(tmp_path):
    path = tmp_path / "job-log.txt"
    context = multiprocessing.get_context("fork")
    writers = [
        context.Process(target=many, args=(path, n, 40)) for n in ("a", "b", "c")
    ]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
    book = read_log(path)
    assert book.broken == ()
    said = {e.words.rstrip("x") for e in book.events}
    assert said == {f"{n} {i}" for n in "abc" for i in range(40)}
    assert path.read_bytes().count(TITLE.encode()) == 1


LOGGING = """
import sys
from pathlib import Path
from tests.files.test_logbook import many
print("begins", flush=True)
many(Path(sys.argv[1]), "k", 100000)
"""


def test_a_kill_leaves_whole_lines_and_the_lock_free(tmp_path):
    path = tmp_path / "job-log.txt"
    with subprocess.Popen(
        [sys.executable, "-c", LOGGING, str(path)], stdout=subprocess.PIPE
    ) as child:
        assert child.stdout is not None
        child.stdout.readline()
        while not path.exists() or path.stat().st_size < 20_000:
            assert child.poll() is None
        child.send_signal(signal.SIGKILL)
    book = read_log(path)
    numbers = [int(e.words.rstrip("x").split()[1]) for e in book.events]
    assert numbers == list(range(len(numbers)))
    assert len(book.broken) <= 1
    append(path, line_of(DONE))
    assert read_log(path).events[-1] == DONE


def test_who_waits_too_long_for_the_lock_is_told(tmp_path, monkeypatch):
    fcntl = pytest.importorskip("fcntl")
    path = tmp_path / "job-log.txt"
    append(path, line_of(DONE))
    before = path.read_bytes()
    monkeypatch.setattr(appending, "WAIT_S", 0.05)
    with path.open("rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        with pytest.raises(OutputError, match="somebody else has held it"):
            append(path, line_of(DONE))
    assert path.read_bytes() == before
