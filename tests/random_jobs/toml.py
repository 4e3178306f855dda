"""A job file's tables as TOML text."""

import json
from datetime import date
from typing import Any

Table = dict[str, Any]


def toml(table: Table) -> str:
    """Return the text of a table of tables, lists of tables and values."""
    return "\n".join(_lines(table, ())) + "\n"


def _lines(table: Table, place: tuple[str, ...]) -> list[str]:
    """Return the lines of a table: its values first, then the tables in it."""
    out = [f"{k} = {_value(v)}" for k, v in table.items() if not _is_nested(v)]
    for key, value in table.items():
        if not _is_nested(value):
            continue
        inner = (*place, key)
        rows: list[Table] = [value] if isinstance(value, dict) else value
        head = "[{}]" if isinstance(value, dict) else "[[{}]]"
        for row in rows:
            out += ["", head.format(".".join(inner)), *_lines(row, inner)]
    return out


def _is_nested(value: object) -> bool:
    if isinstance(value, list):
        return bool(value) and isinstance(value[0], dict)
    return isinstance(value, dict)


def _value(value: object) -> str:
    if isinstance(value, date):  # a datetime too
        return value.isoformat()
    if isinstance(value, list):
        return f"[{', '.join(_value(v) for v in value)}]"
    return json.dumps(value, ensure_ascii=False)
