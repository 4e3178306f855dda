"""The program's own records in a plan's folder: JSON, read as typed models.

A damaged record is refused with its first fault, never guessed at.
"""

import json
from typing import TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

R = TypeVar("R", bound="Record")


class Record(BaseModel):
    """A record's model: every key known, every value of its type."""

    model_config = ConfigDict(
        extra="forbid", strict=True, frozen=True, defer_build=True
    )


def read_record(kind: type[R], data: bytes) -> R:
    """Return the record that a file's bytes hold.

    Raises
    ------
    ValueError
        With the place and the fault, if the bytes aren't such a record.
    """
    try:
        return kind.model_validate_json(data)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False)[0]
        place = ".".join(map(str, first["loc"])) or "the file"
        raise ValueError(f"{place}: {first['msg']}") from None


def record_bytes(record: Record) -> bytes:
    """Return a record as the bytes of its file; equal records give equal bytes."""
    content = record.model_dump(mode="json", by_alias=True)
    return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()
