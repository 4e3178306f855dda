"""Changes as they are said on the command line: one alternative, its parts joined by ;.

A part is an address and a value, as in the job file, or a file of changes::

    methods.primer_coats=1
    methods.fill=foam; crew.Hedda.rest=9 h
    drier.toml; methods.primer_in=bays

A value that isn't one of TOML is taken as text, so that a shell may eat the quotes.
"""

import re
import tomllib
from pathlib import Path

from planner.errors import Fault, JobFileError
from planner.files.job.changes import Changes, changes_from, changes_of
from planner.files.job.text import BYTES_MAX
from planner.files.plain import PlainFileError, read_plain

_PART = re.compile(r""" (?: "(?:\\.|[^"\\])*" | '[^']*' | [^;] )+ """, re.VERBOSE)
_AROUND = re.compile(
    r"""( (?: "(?:\\.|[^"\\])*" | '[^']*' | [^="'] )+ ) = (.*)""", re.X
)


def changes_said(said: str, label: str) -> tuple[Changes, ...]:
    """Return the changes of one alternative, in the order in which they are said.

    Raises
    ------
    JobFileError
        When a part is neither an address with a value nor a file of changes.
    """
    parts = [part.strip() for part in _PART.findall(said)]
    found = [_one(part, label) for part in parts if part]
    if not found:
        raise _wrong(label, "says no change")
    return tuple(found)


def _one(part: str, label: str) -> Changes:
    match = _AROUND.fullmatch(part)
    if match is not None:
        return changes_from({match[1].strip(): _value(match[2].strip())}, label)
    if not part.endswith(".toml"):
        raise _wrong(label, f'"{part}" is neither key=value nor a file of changes')
    try:
        return changes_of(read_plain(Path(part), most=BYTES_MAX), part)
    except PlainFileError as error:
        raise _wrong(part, str(error)) from None


def _wrong(where: str, message: str) -> JobFileError:
    hint = "write --change methods.primer_coats=1, or name a file such as drier.toml"
    fault = Fault(where=where, message=message, hint=hint)
    return JobFileError((fault,), file=where)


def _value(text: str) -> object:
    """Return a value of TOML, or the text where it is none."""
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (tomllib.TOMLDecodeError, ValueError, RecursionError):
        return text
