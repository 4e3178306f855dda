"""The lint finds each kind of damage: one rule broken at a time in a good file.

Tests of planner/files/ics_out/lint.py, planner/files/ics_out/lint_lines.py,
planner/files/ics_out/lint_zones.py.
"""

import subprocess
import sys
from datetime import UTC, date, datetime, timedelta

import pytest

from planner.files.ics_out import lint as at_run
from planner.files.ics_out.calendar import write
from planner.files.ics_out.components import uid_of
from planner.files.ics_out.published import PublishedState
from planner.nouns.feed import AllDay, Feed, FeedEntry, FollowOn, Timed
from tests.support.calendar_lint import lint

TAPE, PAINT, CLOSED = (uid_of("demo", "crew", k) for k in ("tape", "paint", "closed"))


def at(day: int, hour: int) -> datetime:
    return datetime(2026, 3, day, hour, tzinfo=UTC)


def good() -> bytes:
    """Return a calendar that has one of everything."""
    made = Feed(
        seed="crew",
        name="Crew",
        color="teal",
        refresh_h=6,
        description="as of Monday",
        source_url="https://example.org/crew.ics",
        entries=(
            FeedEntry(
                key="tape",
                title="Tape, corner",
                when=Timed(start=at(6, 14), end=at(6, 18)),
                busy=True,
                description="Bring: mixer\nSee that all is dry " + "and é clean " * 9,
                location="Stage 2",
                categories=("compound", "corner"),
                follow_ons=(FollowOn(key="paint", gap=timedelta(hours=24)),),
            ),
            FeedEntry(
                key="paint",
                title="Paint",
                when=Timed(start=at(7, 18), end=at(7, 22)),
                busy=True,
            ),
            FeedEntry(
                key="closed",
                title="Closed",
                when=AllDay(first=date(2026, 3, 6), last=date(2026, 3, 8)),
                busy=True,
                tentative=True,
            ),
        ),
    )
    state = PublishedState()
    return write(made, plan_id="demo", state=state, now=at(1, 12), links=True)[0]


def test_a_good_file_has_no_faults():
    assert lint(good()) == ()
    assert good().decode().count("\r\n ") > 2  # folded pieces are in it


ZONE = (
    "BEGIN:VTIMEZONE\r\nTZID:America/Halifax\r\nBEGIN:STANDARD\r\n"
    "DTSTART:20241103T020000\r\nTZOFFSETFROM:-0300\r\nTZOFFSETTO:-0400\r\n"
    "RRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=1SU\r\nEND:STANDARD\r\n"
    "BEGIN:DAYLIGHT\r\n"
    "DTSTART:20250309T020000\r\nTZOFFSETFROM:-0400\r\nTZOFFSETTO:-0300\r\n"
    "RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=2SU\r\nEND:DAYLIGHT\r\nEND:VTIMEZONE\r\n"
)
LOCAL = "DTSTART;TZID=America/Halifax:20260306T100000\r\n"
LOCAL_END = "DTEND;TZID=America/Halifax:20260306T140000\r\n"
START, END = "DTSTART:20260306T140000Z\r\n", "DTEND:20260306T180000Z\r\n"
LINK = f"RELATED-TO;RELTYPE=FINISHTOSTART;GAP=PT24H:{PAINT}\r\n"

# What is replaced, by what, and what the lint should say of it. Texts are unfolded
# before and folded again after, so that each change breaks one rule only.
CHANGES = [
    # RFC 5545 §3.4, §3.6: the calendar as a whole
    ("VERSION:2.0\r\n", "", "has no VERSION"),
    ("VERSION:2.0", "VERSION:1.0", "VERSION is '1.0'"),
    ("VERSION:2.0\r\n", "VERSION:2.0\r\nVERSION:2.0\r\n", "has 2 VERSION"),
    ("PRODID:-//covetime//planner//EN\r\n", "", "has no PRODID"),
    ("CALSCALE:GREGORIAN", "CALSCALE:JULIAN", "CALSCALE is 'JULIAN'"),
    ("NAME:Crew\r\nX-", "METHOD:PUBLISH\r\nNAME:Crew\r\nX-", "METHOD may not stand"),
    ("END:VCALENDAR\r\n", "", "BEGIN:VCALENDAR is never ended"),
    ("END:VCALENDAR\r\n", "END:VEVENT\r\n", "END:VEVENT closes nothing"),
    ("END:VCALENDAR", "END:VCALENDAR\r\nX-MORE:1", "stands outside the calendar"),
    (
        "END:VCALENDAR",
        "END:VCALENDAR\r\nBEGIN:VCALENDAR\r\nEND:VCALENDAR",
        "exactly one VCALENDAR",
    ),
    ("BEGIN:VCALENDAR", "X-FIRST:1\r\nBEGIN:VCALENDAR", "stands outside"),
    # RFC 7986 and what receivers read beside it
    ("X-WR-CALNAME:Crew", "X-WR-CALNAME:Else", "don't say the same"),
    ("X-WR-CALDESC:as of", "X-WR-CALDESC:of", "don't say the same"),
    ("X-PUBLISHED-TTL:PT6H", "X-PUBLISHED-TTL:PT7H", "don't say the same"),
    ("REFRESH-INTERVAL;VALUE=DURATION:", "REFRESH-INTERVAL:", "lacks VALUE=DURATION"),
    ("SOURCE;VALUE=URI:", "SOURCE:", "SOURCE lacks VALUE=URI"),
    ("SOURCE;VALUE=URI:https://", "SOURCE;VALUE=URI:", "not a web address"),
    ("COLOR:teal", "COLOR:#008080", "not the name of a colour"),
    ("COLOR:teal", "COLOR;X-SHADE=dark:teal", "COLOR may not have X-SHADE"),
    # entries: RFC 5545 §3.6.1, §3.8.4.7
    (f"UID:{PAINT}\r\n", "", "the VEVENT has no UID"),
    (f"UID:{CLOSED}", f"UID:{TAPE}", "the UID stands on line"),
    (
        f"UID:{CLOSED}",
        f"UID:{uid_of('demo', 'crew')}",
        "the UID stands on line",
    ),
    ("SUMMARY:Paint\r\n", "", "the VEVENT has no SUMMARY"),
    ("SUMMARY:Paint", "SUMMARY:", "SUMMARY is empty"),
    ("SUMMARY:Paint", "SUMMARY:a\r\nSUMMARY:b", "has 2 SUMMARY"),
    ("SUMMARY:Paint", "SUMMARY:a,b", "not escaped as text"),
    ("SUMMARY:Paint", "SUMMARY:a;b", "not escaped as text"),
    ("SUMMARY:Paint", "SUMMARY:a\\b", "not escaped as text"),
    ("SUMMARY:Paint", "SUMMARY:a\\", "not escaped as text"),
    ("SUMMARY:Paint", "SUMMARY;LANGUAGE=en:a", "SUMMARY may not have LANGUAGE"),
    ("CATEGORIES:compound,corner", "CATEGORIES:a\\,b", "a category has a comma"),
    ("CATEGORIES:compound,corner", "CATEGORIES:a,,b", "an empty or badly escaped"),
    ("CATEGORIES:compound,corner", "CATEGORIES:a,", "an empty or badly escaped"),
    ("CATEGORIES:compound,corner", "CATEGORIES:a;b", "an empty or badly escaped"),
    *(
        ("SUMMARY:Paint", f"SUMMARY:Paint\r\n{line}", f"{name} may not stand")
        for name, line in (
            ("RRULE", "RRULE:FREQ=DAILY"),
            ("RDATE", "RDATE:20260308T180000Z"),
            ("EXDATE", "EXDATE:20260308T180000Z"),
            ("DURATION", "DURATION:PT4H"),
            ("ORGANIZER", "ORGANIZER:mailto:a@example.org"),
            ("ATTENDEE", "ATTENDEE:mailto:a@example.org"),
            ("RECURRENCE-ID", "RECURRENCE-ID:20260307T180000Z"),
            ("X-ALT-DESC", "X-ALT-DESC;FMTTYPE=text/html:<b>a</b>"),
            ("VALARM", "BEGIN:VALARM\r\nACTION:DISPLAY\r\nEND:VALARM"),
        )
    ),
    ("SUMMARY:Paint", "SUMMARY:P\r\nBEGIN:VEVENT\r\nEND:VEVENT", "VEVENT may not"),
    ("BEGIN:VEVENT", "BEGIN:VTODO\r\nEND:VTODO\r\nBEGIN:VEVENT", "VTODO may not stand"),
    # stamps and sequence: §3.8.7
    ("DTSTAMP:20260301T120000Z\r\n", "", "has no DTSTAMP"),
    ("DTSTAMP:20260301T120000Z", "DTSTAMP:20260301T120000", "is not a UTC instant"),
    ("DTSTAMP:20260301T120000Z", "DTSTAMP:20260230T120000Z", "is not a UTC instant"),
    ("LAST-MODIFIED:20260301T120000Z", "LAST-MODIFIED:20260301", "not a UTC instant"),
    ("SEQUENCE:36676800", "SEQUENCE:-1", "SEQUENCE '-1' is not"),
    ("SEQUENCE:36676800", "SEQUENCE:2147483648", "is not 0 to 2147483647"),
    ("SEQUENCE:36676800", "SEQUENCE:1.0", "SEQUENCE '1.0' is not"),
    # times: §3.3.4, §3.3.5, §3.8.2
    (END, "", "has no DTEND"),
    (END, "DTEND:20260306T140000Z\r\n", "DTEND is not after DTSTART"),
    (END, "DTEND:20260306T130000Z\r\n", "DTEND is not after DTSTART"),
    (END, "DTEND;VALUE=DATE:20260307\r\n", "not of the same form"),
    (END, "DTEND:20260306T250000Z\r\n", "neither day nor time"),
    (END, "DTEND:20260306T180000-0400\r\n", "neither day nor time"),
    (END, "DTEND;VALUE=DATE:20260306T180000Z\r\n", "needs another VALUE"),
    ("DTEND;VALUE=DATE:20260309", "DTEND:20260309", "needs another VALUE"),
    ("DTEND;VALUE=DATE:20260309", "DTEND;VALUE=DATE:20260306", "not after DTSTART"),
    (START, "DTSTART:20260306T140000\r\n", "floats: no zone is named"),
    (START, LOCAL, "the zone 'America/Halifax' is not defined"),
    (START, "DTSTART;TZID=America/Halifax:20260306T140000Z\r\n", "may not name a zone"),
    # busy and free
    ("STATUS:TENTATIVE", "STATUS:CONFIRMED", "don't go together"),
    ("STATUS:TENTATIVE", "STATUS:CANCELLED", "don't go together"),
    ("STATUS:TENTATIVE", "STATUS:MAYBE", "don't go together"),
    ("TRANSP:OPAQUE", "TRANSP:TRANSPARENT", "don't go together"),
    ("BUSYSTATUS:TENTATIVE", "BUSYSTATUS:FREE", "don't go together"),
    ("BUSYSTATUS:TENTATIVE", "BUSYSTATUS:OOF", "don't go together"),
    ("X-MICROSOFT-CDO-BUSYSTATUS:TENTATIVE\r\n", "", "has no X-MICROSOFT"),
    # links: RFC 9253
    (LINK, LINK.replace("FINISHTOSTART", "DEPENDS-ON"), "RELTYPE DEPENDS-ON is none"),
    (LINK, LINK.replace("FINISHTOSTART", "PARENT"), "RELTYPE PARENT is none"),
    (LINK, LINK.replace("RELTYPE=FINISHTOSTART;", ""), "RELTYPE None is none"),
    (LINK, LINK.replace("PT24H", "P1D"), "GAP 'P1D' is not hours"),
    (LINK, LINK.replace("PT24H", "PT"), "GAP 'PT' is not hours"),
    (LINK, LINK.replace("PT24H", "PT1H5S"), "GAP 'PT1H5S' is not hours"),
    (LINK, LINK.replace("PT24H", "24"), "GAP '24' is not hours"),
    (LINK, LINK.replace("PT24H", "PT24H1M"), "times don't keep the link"),
    (LINK, LINK.replace("FINISHTOSTART", "STARTTOFINISH;GAP=PT1H"), "there twice"),
    (LINK, LINK.replace(PAINT, "nowhere"), "leads to no other entry"),
    (LINK, LINK.replace(PAINT, TAPE), "leads to no other entry"),
    (LINK, LINK * 2, "the link stands there twice"),
    (
        "SUMMARY:Paint\r\n",
        f"SUMMARY:Paint\r\nRELATED-TO;RELTYPE=STARTTOFINISH;GAP=-PT48H:{TAPE}\r\n",
        "the link leads both ways",
    ),
    # lines: §3.1
    ("COLOR:teal", "color:teal", "is not NAME;PARAMETER=value:value"),
    ("COLOR:teal", "COLOR", "is not NAME;PARAMETER=value:value"),
    ("COLOR:teal", "COLOR;:teal", "is not NAME;PARAMETER=value:value"),
    ("COLOR:teal", "COLOR:teal\r\n\r\nX:1", "shows nothing"),
    ("SUMMARY:Paint", "SUMMARY:Pa\x07int", "has the character '\\x07'"),
    ("SUMMARY:Paint", "SUMMARY:Pa\x00int", "has the character '\\x00'"),
    ("SUMMARY:Paint", "SUMMARY:Pa\x7fint", "has the character '\\x7f'"),
    ("SUMMARY:Paint", "SUMMARY:Pa\x85int", "has the character '\\x85'"),
    ("SUMMARY:Paint", "SUMMARY:Pa\u2028int", "has the character '\\u2028'"),
    ("SUMMARY:Paint", "SUMMARY:Pa\ufeffint", "has the character '\\ufeff'"),
]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    CHANGES,
    ids=[f"{number} {change[2]}" for number, change in enumerate(CHANGES)],
)
def test_a_broken_rule_is_found(old, new, message):
    text = good().decode().replace("\r\n ", "")
    assert old in text
    data = folded(text.replace(old, new, 1))
    assert message in " / ".join(map(str, lint(data))), lint(data)


def folded(text: str) -> bytes:
    pieces = []
    for line in text.split("\r\n"):
        rest = line.encode()
        while len(rest) > 75:
            cut = next(n for n in range(75, 0, -1) if rest[n] & 0xC0 != 0x80)
            pieces.append(rest[:cut])
            rest = b" " + rest[cut:]
        pieces.append(rest)
    return b"\r\n".join(pieces)


# What a text, a key or the zone can break is found before each file is put in place.
BY_TEXTS = (
    *("has the character", "not escaped as text", "is empty", "a category has a comma"),
    *("an empty or badly escaped", "the UID stands on line", "shows nothing"),
)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [c for c in CHANGES if c[2].startswith(BY_TEXTS) or c[2].endswith(BY_TEXTS)],
)
def test_what_a_text_can_break_is_found_at_each_run(old, new, message):
    text = good().decode().replace("\r\n ", "").replace(old, new, 1)
    assert message in " / ".join(map(str, at_run.lint(folded(text))))


def test_folding_in_this_test_alone_breaks_nothing():
    assert lint(folded(good().decode().replace("\r\n ", ""))) == ()


@pytest.mark.parametrize(
    ("damage", "message"),
    [
        pytest.param(
            lambda d: b"\xef\xbb\xbf" + d, "a byte-order mark", id="byte-order mark"
        ),
        pytest.param(lambda d: d[:-2], "the last line isn't ended", id="cut off"),
        pytest.param(lambda d: d[:500], "never ended", id="cut short"),
        pytest.param(
            lambda d: d.replace(b"\r\n", b"\n"), "isn't CRLF", id="line feeds only"
        ),
        pytest.param(
            lambda d: d.replace(b"\r\n", b"\r"), "isn't CRLF", id="returns only"
        ),
        pytest.param(
            lambda d: d.replace(b"COLOR:teal\r\n", b"COLOR:teal\n"),
            "isn't CRLF",
            id="one line feed",
        ),
        pytest.param(lambda d: d.replace(b"\r\n ", b""), "octets long", id="unfolded"),
        pytest.param(
            lambda d: d.replace("é".encode(), b"\xc3\r\n \xa9", 1),
            "cut within a character",
            id="character cut",
        ),
        pytest.param(
            lambda d: d.decode().encode("latin-1"), "isn't UTF-8", id="Latin-1"
        ),
        pytest.param(lambda d: d.decode().encode("utf-16"), "isn't UTF-8", id="UTF-16"),
        pytest.param(lambda d: b" " + d, "a line that isn't there", id="first folded"),
        pytest.param(lambda d: d + b"\r\n", "shows nothing", id="blank at the end"),
        pytest.param(lambda d: b"", "isn't ended by CRLF", id="nothing"),
        pytest.param(
            lambda d: b"<html></html>\r\n", "is not NAME;PARAMETER", id="a page"
        ),
        pytest.param(lambda d: d + d, "exactly one VCALENDAR", id="two files"),
        pytest.param(
            lambda d: d[: d.index(b"BEGIN:VEVENT")] + b"END:VCALENDAR\r\n",
            "holds no component",
            id="no component",
        ),
    ],
)
def test_damaged_bytes_are_found(damage, message):
    faults = " / ".join(map(str, lint(damage(good()))))
    assert message in faults


def test_a_zone_that_is_defined_may_be_named():
    text = good().decode().replace("\r\n ", "").replace(LINK, "")
    text = text.replace(START, LOCAL).replace(END, LOCAL_END)
    text = text.replace("BEGIN:VEVENT", ZONE + "BEGIN:VEVENT", 1)
    assert lint(folded(text)) == ()
    other = text.replace("TZID:America/Halifax", "TZID:America/Chicago")
    assert "is not defined" in " / ".join(map(str, lint(folded(other))))
    broken = text.replace("TZOFFSETFROM:-0300\r\n", "")
    assert "has no TZOFFSETFROM" in " / ".join(map(str, lint(folded(broken))))


def test_a_link_to_a_cancelled_entry_is_found():
    text = good().decode().replace("\r\n ", "")
    start = text.index(f"UID:{PAINT}")
    paint = text[start:]
    for old, new in (
        ("STATUS:CONFIRMED", "STATUS:CANCELLED"),
        ("TRANSP:OPAQUE", "TRANSP:TRANSPARENT"),
        ("BUSYSTATUS:BUSY", "BUSYSTATUS:FREE"),
    ):
        paint = paint.replace(old, new, 1)
    faults = lint(folded(text[:start] + paint))
    assert [fault.message for fault in faults] == [
        "the link ties an entry that is cancelled"
    ]


def test_a_fault_says_on_which_line_of_the_file_it_is():
    data = good()
    number = data[: data.index(b"SUMMARY:Paint")].count(b"\r\n") + 1
    (fault,) = lint(data.replace(b"SUMMARY:Paint", b"SUMMARY:a;b"))
    assert fault.where == f"line {number}"


def test_the_lint_shares_no_code_with_the_writer():
    script = (
        "import sys, planner.files.ics_out.lint\n"
        "print(*(m for m in sys.modules if m.split('.')[0] in"
        " ('planner', 'icalendar', 'ical', 'vobject')))"
    )
    run = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, check=True, text=True
    )
    assert set(run.stdout.split()) == {
        "planner",
        "planner.errors",
        "planner.files",
        "planner.files.ics_out",
        "planner.files.ics_out.lint",
        "planner.files.ics_out.lint_lines",
        "planner.files.ics_out.lint_zones",
    }


def test_the_writer_doesnt_let_a_bad_file_out(monkeypatch):
    monkeypatch.setattr(
        "planner.files.ics_out.components._CANCELLED", "Cancelled\x07: "
    )
    made = Feed(
        seed="crew",
        name="Crew",
        color="teal",
        refresh_h=6,
        entries=(
            FeedEntry(
                key="a",
                title="A",
                when=Timed(start=at(6, 14), end=at(6, 18)),
                busy=True,
            ),
        ),
    )
    _, state = write(made, plan_id="demo", state=PublishedState(), now=at(1, 12))
    empty = Feed(seed="crew", name="Crew", color="teal", refresh_h=6, entries=())
    with pytest.raises(RuntimeError, match=r"crew: line .* has the character"):
        write(empty, plan_id="demo", state=state, now=at(2, 12))
