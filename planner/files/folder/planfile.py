"""plan.json: the one file that all other outputs are made from, and its schema."""

import json
from functools import cache
from importlib.resources import files
from typing import Any

from pydantic import TypeAdapter, ValidationError

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
        When the bytes are not a plan of this version.
    """
    try:
        return _adapter().validate_json(data)
    except ValidationError:
        raise PlannerError(
            "is not a plan of this version of the program",
            where=file,
            hint="plan the job anew with: covetime plan JOB",
        ) from None


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
