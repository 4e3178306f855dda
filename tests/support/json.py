"""The instance as JSON and back: every record is an object, every tuple a list."""

from dataclasses import MISSING, fields, is_dataclass
from enum import StrEnum
from types import UnionType
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from planner.hours.spans import Spans
from planner.schedule.problem.instance import Instance

T = TypeVar("T")


def plain(record: Any) -> Any:
    """Return `record` as JSON values; fields that hold their default are left out."""
    if isinstance(record, Spans):
        return [list(span) for span in record]
    if is_dataclass(record):
        return {
            f.name: plain(value)
            for f in fields(record)
            if (value := getattr(record, f.name)) != _default(f)
        }
    if isinstance(record, tuple):
        return [plain(item) for item in record]
    if isinstance(record, StrEnum):
        return str(record)
    return record


def build(kind: type[T], data: Any) -> T:
    """Return the record of `kind` that `data` describes.

    Raises
    ------
    ValueError
        When a key is unknown or missing, or a value is of the wrong type.
    """
    made: T = _made(kind, data, kind.__name__)
    return made


def _default(f: Any) -> Any:
    if f.default is not MISSING:
        return f.default
    return f.default_factory() if f.default_factory is not MISSING else MISSING


def _made(kind: Any, data: Any, where: str) -> Any:
    origin = get_origin(kind)
    if origin is tuple:
        return _made_tuple(get_args(kind), data, where)
    if origin is UnionType:
        inner = next(k for k in get_args(kind) if k is not type(None))
        return None if data is None else _made(inner, data, where)
    if kind is Spans:
        pairs = _made(tuple[tuple[int, int], ...], data, where)
        return Spans(pairs)
    if is_dataclass(kind):
        return _made_record(kind, data, where)
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return kind(data)
    if type(data) is not kind:
        raise ValueError(f"{where}: {data!r} is not of type {kind.__name__}")
    return data


def _made_tuple(inner: tuple[Any, ...], data: Any, where: str) -> tuple[Any, ...]:
    if not isinstance(data, list):
        raise ValueError(f"{where}: {data!r} is not a list")
    if len(inner) == 2 and inner[1] is Ellipsis:
        if inner[0] is int and all(type(item) is int for item in data):
            return tuple(data)
        return tuple(_made(inner[0], v, f"{where}.{i}") for i, v in enumerate(data))
    if len(data) != len(inner):
        raise ValueError(f"{where}: {data!r} does not have {len(inner)} entries")
    pairs = zip(inner, data, strict=True)
    return tuple(_made(k, v, f"{where}.{i}") for i, (k, v) in enumerate(pairs))


def _made_record(kind: Any, data: Any, where: str) -> Any:
    if not isinstance(data, dict):
        raise ValueError(f"{where}: {data!r} is not an object")
    hints = get_type_hints(kind)
    known = {f.name for f in fields(kind)}
    if unknown := sorted(set(data) - known):
        raise ValueError(f"{where}: unknown key {unknown[0]!r}")
    needed = {f.name for f in fields(kind) if _default(f) is MISSING}
    if missing := sorted(needed - set(data)):
        raise ValueError(f"{where}: key {missing[0]!r} is missing")
    values = {k: _made(hints[k], v, f"{where}.{k}") for k, v in data.items()}
    return kind(**values)


def to_json(instance: Instance) -> dict[str, Any]:
    """Return an instance as plain JSON values."""
    data: dict[str, Any] = plain(instance)
    return data


def from_json(data: dict[str, Any]) -> Instance:
    """Return the instance that `to_json` wrote; refuses keys it doesn't know."""
    return build(Instance, data)
