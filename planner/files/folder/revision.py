"""revision.json: what a revised plan was made of, beside the plan in its folder."""

import json
from dataclasses import dataclass
from datetime import datetime

from planner.errors import PlannerError

FILE = "revision.json"
_FORMAT = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """What a plan was revised by: the job as read, the events that counted, when.

    `plan` is the fingerprint of the plan that came of it, `inputs` that of job,
    calendars and readings without the log; `events` are ids.
    """

    plan: str
    inputs: str
    events: tuple[str, ...]
    now: datetime


def to_bytes(revision: Revision) -> bytes:
    """Return a revision as JSON."""
    content = {
        "format": _FORMAT,
        "plan": revision.plan,
        "inputs": revision.inputs,
        "events": list(revision.events),
        "now": revision.now.isoformat(),
    }
    return json.dumps(content, indent=1).encode() + b"\n"


def from_bytes(data: bytes, *, file: str) -> Revision:
    """Return the revision that bytes hold; `file` names it in errors.

    Raises
    ------
    PlannerError
        When they hold none.
    """
    try:
        content = json.loads(data)
        if content["format"] != _FORMAT:
            raise ValueError("another format")
        now = datetime.fromisoformat(content["now"])
        if now.utcoffset() is None:
            raise ValueError("no zone")
        return Revision(
            plan=str(content["plan"]),
            inputs=str(content["inputs"]),
            events=tuple(map(str, content["events"])),
            now=now,
        )
    except (ValueError, KeyError, TypeError):
        raise PlannerError(
            "is damaged", where=file, hint="plan the job anew, with --anew"
        ) from None
