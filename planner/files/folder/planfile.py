"""plan.json: the one file that all other outputs are made from, and its schema."""

import json
from functools import cache
from importlib.resources import files
from typing import Any

from pydantic import TypeAdapter

from planner.errors import PlannerError
from planner.nouns.plan import FORMAT_VERSION, Plan


@cache
def _adapter() -> TypeAdapter[Plan]:
    return TypeAdapter(Plan)


def plan_bytes(plan: Plan) -> bytes:
    """Return the plan as JSON: UTF-8, fixed order of keys, a final newline."""
    text = json.dumps(
        _adapter().dump_python(plan, mode="json"), ensure_ascii=False, indent=1
    )
    return text.encode() + b"\n"


def read_plan(data: bytes, *, file: str) -> Plan:
    """Return the plan that the bytes of a plan.json hold; `file` names it in errors.

    Raises
    ------
    PlannerError
        When the bytes are no plan, or one of a format that isn't read here.
    """
    try:
        content = json.loads(data)
        written = int(content["format_version"])
        if written == FORMAT_VERSION:
            return _adapter().validate_json(data)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise PlannerError(
            "is damaged, or is no plan of this program",
            where=file,
            hint="plan the job anew with: covetime plan JOB",
        ) from None
    if written > FORMAT_VERSION:
        hint = "use that version, or plan the job anew with: covetime plan JOB"
        by = "a later version of the program"
    else:
        hint = "plan the job anew with: covetime plan JOB"
        by = "an earlier version of the program, and doesn't say what can be promised"
    raise PlannerError(
        f"is a plan in format {written}, while this version reads format "
        f"{FORMAT_VERSION}; it was written by {by}",
        where=file,
        hint=hint,
    )


def schema() -> dict[str, Any]:
    """Return the JSON Schema of plan.json, as worked out from the records."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_adapter().json_schema(mode="serialization"),
        "title": f"covetime plan, version {FORMAT_VERSION}",
    }


def shipped_schema() -> dict[str, Any]:
    """Return the JSON Schema that ships with the package."""
    text = files("planner.files.folder").joinpath("plan.schema.json").read_text("utf-8")
    return dict(json.loads(text))
