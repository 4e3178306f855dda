"""revision.json: what a revised plan was made of, beside the plan in its folder."""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from planner.errors import PlannerError
from planner.nouns.living.earlier import EarlierPlaces, EarlierTask, Stretch

FILE = "revision.json"
_FORMAT = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """What a plan was revised by: the job as read, the events that counted, when.

    `plan` is the fingerprint of the plan that came of it, `inputs` that of job,
    calendars and readings without the log; `events` are ids; `earlier` is where tasks
    were planned that lie elsewhere now, or went otherwise.
    """

    plan: str
    inputs: str
    events: tuple[str, ...]
    now: datetime
    earlier: tuple[EarlierTask, ...] = ()

    @property
    def places(self) -> EarlierPlaces:
        """Where tasks were planned, as of the moment of the revision."""
        return EarlierPlaces(now=self.now, tasks=self.earlier)


def to_bytes(revision: Revision) -> bytes:
    """Return a revision as JSON."""
    content = {
        "format": _FORMAT,
        "plan": revision.plan,
        "inputs": revision.inputs,
        "events": list(revision.events),
        "now": revision.now.isoformat(),
        "earlier": [_told(t) for t in revision.earlier],
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
        return Revision(
            plan=str(content["plan"]),
            inputs=str(content["inputs"]),
            events=tuple(map(str, content["events"])),
            now=_moment(content["now"]),
            earlier=tuple(map(_read, content.get("earlier", ()))),
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        raise PlannerError(
            "is damaged", where=file, hint="plan the job anew, with --anew"
        ) from None


def _told(task: EarlierTask) -> dict[str, Any]:
    return {
        "task": task.task,
        "title": task.title,
        "bays": task.bays,
        "on_stage": task.on_stage,
        "spans": [[a.isoformat(), b.isoformat()] for a, b in task.spans],
        "team": task.team,
    }


def _read(told: dict[str, Any]) -> EarlierTask:
    return EarlierTask(
        task=str(told["task"]),
        title=str(told["title"]),
        bays=tuple(map(str, told["bays"])),
        on_stage=bool(told["on_stage"]),
        spans=tuple(map(_span, told["spans"])),
        team=tuple(map(str, told["team"])),
    )


def _span(told: list[str]) -> Stretch:
    start, end = map(_moment, told)
    if end <= start:
        raise ValueError("ends before it begins")
    return start, end


def _moment(told: str) -> datetime:
    moment = datetime.fromisoformat(told)
    if moment.utcoffset() is None:
        raise ValueError("no zone")
    return moment
