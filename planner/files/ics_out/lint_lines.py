"""The raw bytes of a calendar file taken apart for the lint, and what is wrong with them.

Own code, shared with neither the writer nor the reader of calendars (RFC 5545 §3.1).
"""

import re
from dataclasses import dataclass, field

from planner.errors import Fault

PIECE_OCTETS = 75
# Control characters, and what some readers take for a line end though it is none.
_CONTROL = re.compile("[\x00-\x08\x0a-\x1f\x7f-\x9f\u2028\u2029\ufeff]")
_PARAM = r'[A-Z0-9-]+=(?:"[^"]*"|[^";:,]*)'
_LINE = re.compile(rf"([A-Z0-9-]+)((?:;{_PARAM})*):(.*)", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class RawLine:
    """A content line, put together again; `number` is that of its first piece."""

    number: int
    name: str
    params: tuple[tuple[str, str], ...]
    value: str


@dataclass(slots=True, kw_only=True)
class RawPart:
    """A component: its own lines and the components within it."""

    name: str
    number: int
    lines: list[RawLine] = field(default_factory=list)
    parts: list["RawPart"] = field(default_factory=list)

    def all(self, name: str) -> list[RawLine]:
        """Return the lines of a property."""
        return [line for line in self.lines if line.name == name]

    def value(self, name: str) -> str | None:
        """Return the value of a property that stands there exactly once."""
        found = self.all(name)
        return found[0].value if len(found) == 1 else None


def at(number: int, message: str) -> Fault:
    """Return a fault of a line."""
    return Fault(where=f"line {number}", message=message)


def take_apart(data: bytes) -> tuple[RawPart | None, tuple[Fault, ...]]:
    """Return the calendar of a file, if it has one, and what is wrong with its lines."""
    faults: list[Fault] = []
    calendar = _tree(_lines(_pieces(data, faults), faults), faults)
    return calendar, tuple(faults)


def _pieces(data: bytes, faults: list[Fault]) -> list[tuple[int, str]]:
    """Return the numbered pieces between line breaks, as text."""
    if data.startswith(b"\xef\xbb\xbf"):
        faults.append(at(1, "begins with a byte-order mark"))
        data = data[3:]
    if not data.endswith(b"\r\n"):
        faults.append(at(data.count(b"\n") + 1, "the last line isn't ended by CRLF"))
    pieces = []
    for number, raw in enumerate(data.removesuffix(b"\r\n").split(b"\r\n"), start=1):
        if b"\r" in raw or b"\n" in raw:
            faults.append(at(number, "has a line break that isn't CRLF"))
        if len(raw) > PIECE_OCTETS:
            faults.append(at(number, f"is {len(raw)} octets long, not at most 75"))
        try:
            text = raw.decode("utf-8")
        except UnicodeDecodeError:
            faults.append(at(number, "isn't UTF-8, or is cut within a character"))
            text = raw.decode("utf-8", errors="replace")
        if not text.strip():
            faults.append(at(number, "shows nothing"))
        control = _CONTROL.search(text.replace("\r", "").replace("\n", ""))
        if control:
            faults.append(at(number, f"has the character {control[0]!r}"))
        pieces.append((number, text))
    return pieces


def _lines(pieces: list[tuple[int, str]], faults: list[Fault]) -> list[RawLine]:
    """Return the content lines, pieces put together again and taken apart by §3.1."""
    joined: list[tuple[int, str]] = []
    for number, text in pieces:
        if text[:1] not in (" ", "\t"):
            joined.append((number, text))
        elif joined:
            joined[-1] = (joined[-1][0], joined[-1][1] + text[1:])
        else:
            faults.append(at(number, "goes on from a line that isn't there"))
    lines = []
    for number, text in joined:
        match = _LINE.fullmatch(text)
        if match is None:
            faults.append(at(number, f"is not NAME;PARAMETER=value:value: {text!r}"))
            continue
        pairs = [piece.split("=", 1) for piece in re.findall(_PARAM, match[2])]
        params = tuple((name, value.strip('"')) for name, value in pairs)
        lines.append(
            RawLine(number=number, name=match[1], params=params, value=match[3])
        )
    return lines


def _tree(lines: list[RawLine], faults: list[Fault]) -> RawPart | None:
    """Return the one calendar of the file, if its BEGIN and END lines agree."""
    root = RawPart(name="", number=0)
    stack = [root]
    for line in lines:
        if line.name == "BEGIN":
            part = RawPart(name=line.value, number=line.number)
            stack[-1].parts.append(part)
            stack.append(part)
        elif line.name == "END":
            if stack[-1].name != line.value:
                faults.append(at(line.number, f"END:{line.value} closes nothing"))
                return None
            stack.pop()
        elif len(stack) == 1:
            faults.append(at(line.number, f"{line.name} stands outside the calendar"))
        else:
            stack[-1].lines.append(line)
    if len(stack) > 1:
        faults.append(at(stack[-1].number, f"BEGIN:{stack[-1].name} is never ended"))
        return None
    if [part.name for part in root.parts] != ["VCALENDAR"]:
        faults.append(at(1, "the file isn't exactly one VCALENDAR"))
        return None
    return root.parts[0]
