"""Bytes to calendar components (RFC 5545 §3.1, §3.4, §3.6), with nothing forgiven silently.

Why not the icalendar package here: it passes over in silence what must not be
passed over when lost lines mean free hours. It turns a fold inside a character or
a byte of another encoding into a replacement mark, lets one component's END close
another, skips a rule part that has no value, and reads a time in an unknown zone as
one without a zone. Each would need a check on the raw line, so the raw line is read.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from planner.errors import Fault
from planner.files.web.addresses import BYTES_MAX

COMPONENTS_MAX = 20_000
NESTING_MAX = 10
FAULTS_SHOWN_MAX = 50

_LINE = re.compile(
    r"""(?P<name>[A-Za-z0-9-]+)
        (?P<params>(?:;[A-Za-z0-9-]+=(?:"[^"]*"|[^";:,]*)(?:,(?:"[^"]*"|[^";:,]*))*)*)
        :(?P<value>.*)""",
    re.VERBOSE | re.DOTALL,
)
_PARAM = re.compile(r';([A-Za-z0-9-]+)=((?:"[^"]*"|[^";])*)')
_OTHER_ENCODINGS = (
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
)
_SAVE_AS_UTF8 = "save or export it as UTF-8"


class BrokenTextError(Exception):
    """The bytes aren't whole calendars; carries what is wrong, line by line."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("; ".join(map(str, faults)))
        self.faults = faults


class BadValueError(ValueError):
    """A value that can't be read: what is wrong, the value seen, what to do.

    The value seen is kept apart, for that of a private entry is never shown.
    """

    def __init__(self, message: str, *, seen: str = "", hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.seen = plain(seen)
        self.hint = hint


@dataclass(frozen=True, slots=True)
class ContentLine:
    """A content line, unfolded: NAME;PARAM=...:value, the value as written."""

    number: int  # of the first physical line
    name: str  # in capitals
    params: tuple[tuple[str, str], ...]  # names in capitals, quotes taken off
    value: str

    def param(self, name: str) -> str | None:
        """Return the first value of a parameter, or None."""
        return next((v for n, v in self.params if n == name), None)


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that is none: its number, its first word, the property it comes after.

    It may be the rest of that property's value, if a fold lost its leading blank.
    """

    number: int
    word: str  # in capitals, with the sign after it, if any
    after: str  # a name in capitals, empty at the start of a component


@dataclass(frozen=True, slots=True)
class Component:
    """What stands between a BEGIN and its END."""

    name: str
    number: int  # line of the BEGIN
    lines: Mapping[str, tuple[ContentLine, ...]]  # by name
    children: tuple["Component", ...]
    unread: tuple[Unread, ...]

    def every(self, name: str) -> tuple[ContentLine, ...]:
        """Return all lines of that name."""
        return self.lines.get(name, ())

    def value(self, name: str) -> str | None:
        """Return the value of the first line of that name, as written, or None."""
        lines = self.lines.get(name)
        return lines[0].value if lines else None

    def word(self, name: str) -> str:
        """Return the value of the first line of that name in capitals, or ""."""
        return (self.value(name) or "").strip().upper()

    def parts(self, name: str) -> tuple["Component", ...]:
        """Return the components inside that have that name."""
        return tuple(c for c in self.children if c.name == name)


@dataclass(slots=True)
class _Open:
    """A component whose END hasn't come yet."""

    name: str
    number: int
    lines: dict[str, list[ContentLine]] = field(default_factory=dict)
    children: list[Component] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)
    last: str = ""  # the property that the last line gave

    def closed(self) -> Component:
        return Component(
            self.name,
            self.number,
            {name: tuple(lines) for name, lines in self.lines.items()},
            tuple(self.children),
            tuple(self.unread),
        )


def calendars(data: bytes) -> tuple[Component, ...]:
    """Return the VCALENDAR components of a file.

    Raises
    ------
    BrokenTextError
        When the bytes aren't one or more whole calendars in UTF-8, or pass a limit.
    """
    if len(data) > BYTES_MAX:
        raise _broken(f"it is larger than {BYTES_MAX:,} bytes", "export fewer days")
    for mark, encoding in _OTHER_ENCODINGS:
        if data.startswith(mark):
            raise _broken(f"it is encoded as {encoding}", _SAVE_AS_UTF8)
    data = data.removeprefix(b"\xef\xbb\xbf")
    if not data.strip():
        raise _broken("it is empty", "export the calendar again")
    if data.lstrip().startswith(b"<"):
        raise _broken(
            "it is a web page or XML, not a calendar", "save the .ics behind the link"
        )
    if b"\r" in data and b"\n" not in data:
        raise _broken("its lines end in CR alone", "save it with CR LF line ends")
    return _tree(_decoded(data))


def _broken(message: str, hint: str, where: str = "the file") -> BrokenTextError:
    return BrokenTextError((Fault(where=where, message=message, hint=hint),))


def _unfolded(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield line numbers and logical lines; a fold may split a UTF-8 character."""
    pieces: list[bytes] = []
    first = 1
    for number, raw in enumerate(data.split(b"\n"), start=1):
        line = raw.rstrip(b"\r")
        if not line:
            continue
        if line[:1] in (b" ", b"\t") and pieces:
            pieces.append(line[1:])
            continue
        if pieces:
            yield first, b"".join(pieces)
        first, pieces = number, [line]
    if pieces:
        yield first, b"".join(pieces)


def _decoded(data: bytes) -> list[tuple[int, str]]:
    lines: list[tuple[int, str]] = []
    faults: list[Fault] = []
    for number, raw in _unfolded(data):
        try:
            lines.append((number, raw.decode("utf-8")))
        except UnicodeDecodeError as error:
            byte = f"0x{raw[error.start]:02X}"
            faults.append(
                Fault(
                    where=f"line {number}",
                    message=f"byte {byte} is not UTF-8",
                    hint=_SAVE_AS_UTF8,
                )
            )
    if faults:
        raise BrokenTextError(tuple(faults[:FAULTS_SHOWN_MAX]))
    return lines


def _content_line(number: int, text: str) -> ContentLine | None:
    found = _LINE.fullmatch(text)
    if found is None:
        return None
    params = tuple(
        (name.upper(), value.replace('"', ""))
        for name, value in _PARAM.findall(found["params"])
    )
    return ContentLine(number, found["name"].upper(), params, found["value"])


def _tree(lines: list[tuple[int, str]]) -> tuple[Component, ...]:
    done: list[Component] = []
    stack: list[_Open] = []
    count = 0
    for number, text in lines:
        line = _content_line(number, text)
        if line is not None and line.name == "BEGIN":
            count += 1
            if stack:
                stack[-1].last = ""
            stack.append(_opened(line, stack, count))
        elif line is not None and line.name == "END":
            whole = _shut(line, stack)
            (stack[-1].children if stack else done).append(whole)
        elif line is not None and not stack and line.name.startswith("X-"):
            continue  # what a server that hands the file on has to say
        elif not stack:
            raise _broken(
                "text stands outside BEGIN:VCALENDAR and END:VCALENDAR",
                "export the calendar again",
                f"line {number}",
            )
        elif line is None:
            name = re.match(r"([A-Za-z0-9-]+)[:;=]?", text)
            word = name[0].upper() if name else ""
            stack[-1].unread.append(Unread(number, word, stack[-1].last))
        else:
            stack[-1].last = line.name
            stack[-1].lines.setdefault(line.name, []).append(line)
    if stack:
        raise _broken(
            f"it ends too early: there is no END:{stack[-1].name}"
            f" for the BEGIN in line {stack[-1].number}",
            "download or export the calendar again",
        )
    return tuple(done)


def _opened(line: ContentLine, stack: list[_Open], count: int) -> _Open:
    name, where = line.value.strip().upper(), f"line {line.number}"
    if not stack and name != "VCALENDAR":
        shown = re.sub(r"[^A-Z0-9-]", "", name)[:30]
        raise _broken(f"a calendar begins with VCALENDAR, not {shown}", "", where)
    if len(stack) >= NESTING_MAX:
        raise _broken(f"components are nested deeper than {NESTING_MAX}", "", where)
    if count > COMPONENTS_MAX:
        raise _broken(f"more than {COMPONENTS_MAX:,} components", "export fewer days")
    return _Open(name, line.number)


def _shut(line: ContentLine, stack: list[_Open]) -> Component:
    name, where = line.value.strip().upper(), f"line {line.number}"
    shown = re.sub(r"[^A-Z0-9-]", "", name)[:30]
    if not stack:
        raise _broken(f"END:{shown} without a BEGIN", "", where)
    if stack[-1].name != name:
        raise _broken(
            f"END:{shown} where END:{stack[-1].name} should stand"
            f" (its BEGIN is in line {stack[-1].number})",
            "export the calendar again",
            where,
        )
    return stack.pop().closed()


def plain(text: str, longest: int = 80) -> str:
    """Return a text as it may be printed: escapes undone, no control characters."""
    if "\\" in text:
        text = re.sub(r"\\([nN,;\\])", lambda m: " " if m[1] in "nN" else m[1], text)
    if not text.isprintable():
        text = "".join(c if c.isprintable() else " " for c in text)
    text = " ".join(text.split())
    return text if len(text) <= longest else text[: longest - 1] + "…"
