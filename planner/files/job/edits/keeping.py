"""A job file with changes kept in it: comments, order and spelling of the rest stay.

The file's text is brought to what it says with the changes laid over it. What came of
that is read back, so a file that says anything else is never returned.
"""

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any, TypeGuard

import tomlkit
from tomlkit.items import AoT, Table

from planner.errors import ProgramFaultError
from planner.files.job.changes import NAMES, Changes, laid
from planner.files.job.faults import SectionReader

Values = Mapping[str, Any]


def job_with(data: bytes, changes: Sequence[Changes]) -> bytes:
    """Return the bytes of a job file with changes kept in it.

    The changes have been read with the file before, so that none is at fault.

    Raises
    ------
    ProgramFaultError
        When what came of it doesn't say what the file says with the changes.
    """
    text = data.decode("utf-8-sig")
    old = tomllib.loads(text)
    new = laid(SectionReader("the job file"), old, changes)
    document = tomlkit.parse(text)
    _bring(document, old, new)
    said = tomlkit.dumps(document).rstrip("\n") + "\n"
    if tomllib.loads(said) != new:
        raise ProgramFaultError("the changed job file says something else")
    return said.encode()


def _bring(table: Any, old: Values, new: Values) -> None:
    """Bring a table to its new values; what stays the same isn't touched."""
    for key in [k for k in old if k not in new]:
        del table[key]
    for key, value in new.items():
        before = old.get(key)
        if key in old and value == before:
            continue
        if isinstance(before, dict) and isinstance(value, dict):
            _bring(table[key], before, value)
        elif _tables(before) and _tables(value) and isinstance(table[key], AoT):
            _bring_list(table[key], before, value)
        elif key not in old and _tables(value):
            table[key] = _list_of_tables(value)
        elif key not in old and isinstance(value, dict):
            table[key] = _table(value)
        else:
            table[key] = value


def _bring_list(items: AoT, old: Sequence[Values], new: Sequence[Values]) -> None:
    """Bring a list of tables to its new items: some are gone, changed or added."""
    left = list(range(len(old)))
    pairs: list[tuple[int, Values]] = []
    added: list[Values] = []
    for value in new:
        same = [n for n in left if old[n] == value] or [
            n for n in left if _called(old[n]) & _called(value)
        ]
        if same:
            pairs.append((same[0], value))
            left.remove(same[0])
        else:
            added.append(value)
    for number, value in pairs:
        _bring(items[number], old[number], value)
    for number in reversed(left):
        del items[number]
    for value in added:
        items.append(_table(value))


def _called(item: Values) -> set[tuple[str, str]]:
    """Return what an item of a list is called by."""
    return {(key, str(item[key])) for key in NAMES if key in item}


def _tables(value: object) -> TypeGuard[list[Values]]:
    return (
        isinstance(value, list)
        and bool(value)
        and all(isinstance(v, dict) for v in value)
    )


def _list_of_tables(values: Sequence[Values]) -> AoT:
    made = tomlkit.aot()
    for value in values:
        made.append(_table(value))
    return made


def _table(values: Values) -> Table:
    """Return a table; tables within it are written on its lines."""
    made = tomlkit.table()
    for key, value in values.items():
        made[key] = _inline(value) if isinstance(value, dict) else value
    made.add(tomlkit.nl())
    return made


def _inline(values: Values) -> Any:
    made = tomlkit.inline_table()
    made.update(values)
    return made
