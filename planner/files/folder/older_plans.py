"""Plans of earlier formats become plans of the present one, where they say enough.

Each step takes the JSON of one format to the next. In format 5 returns had a name in
place of a kind, and light foot traffic another word. Format 6 held a single stage,
whose facts stood among those of the plan and whose id stood nowhere: it is made of the
stage's name, as it is for a job file that gives none.
"""

from collections.abc import Callable, Mapping
from typing import Any

from planner.nouns.ids import id_on, slug

Content = dict[str, Any]

_OF_THE_STAGE = (
    *("closure", "returns", "return_terms", "bays", "chain", "division"),
    *("bookings", "quiet", "air"),
)
_IDS = {
    "tasks": ("id", "bays"),
    "waits": ("task",),
    "links": ("before", "after"),
    "return_terms": ("task",),
    "apart": ("task", "other"),
    "windows": ("before", "after", "sanded_again"),
    "chain": ("task",),
    "bays": ("id",),
    "tools": ("tasks",),
}
_BY_TASK = ("link", "person", "pool", "apart")


_KINDS = {"light feet": "light foot traffic"}


def _with_kinds(plan: Content) -> Content:
    """Return a plan of format 5 as one of format 6, in which returns are of a kind."""
    for back in plan["returns"]:
        name = back.pop("name")
        back["kind"] = _KINDS.get(name, name)
    rows = [
        *(row for name in ("waits", "links", "apart") for row in plan[name]),
        *(stage for product in plan["products"] for stage in product["stages"]),
        *plan["return_terms"],
    ]
    for row in rows:
        for field in ("stage", "after", "returning"):
            if row.get(field) in _KINDS:
                row[field] = _KINDS[row[field]]
    return {**plan, "format_version": 6}


def _with_stages(plan: Content) -> Content:
    """Return a plan of format 6 as one of format 7, which holds stages."""
    plan["air"].setdefault("wall_colder_delta_k", 0.0)  # not told by earlier plans
    stage = slug(plan["stage"])
    for name, fields in _IDS.items():
        for row in plan[name]:
            for field in fields:
                row[field] = _on(stage, row[field])
    for step in plan["chain"]:
        if step["cause"] in _BY_TASK:
            step["by"] = _on(stage, step["by"])
    for supply in plan["supplies"]:
        for use in supply["uses"]:
            use["task"] = _on(stage, use["task"])
    for task in plan["tasks"]:
        task["stage"] = stage
    here = {
        "id": stage,
        "job_id": plan["plan_id"],
        "name": plan["stage"],
        **{name: plan[name] for name in _OF_THE_STAGE},
        "shut": plan["stage_shut"],
    }
    left = {"stage", "stage_shut", *_OF_THE_STAGE}
    whole = {name: value for name, value in plan.items() if name not in left}
    return {**whole, "format_version": 7, "stages": [here]}


def _on(stage: str, value: Any) -> Any:
    match value:
        case None:
            return None
        case str():
            return id_on(stage, value)
        case _:
            return [_on(stage, v) for v in value]


STEPS: Mapping[int, Callable[[Content], Content]] = {
    5: _with_kinds,
    6: _with_stages,
}


def converted(plan: Content) -> Content:
    """Return the JSON of a plan in the latest format that it can be brought to.

    Raises
    ------
    KeyError, TypeError, AttributeError
        If it isn't what its format asks for.
    """
    while plan["format_version"] in STEPS:
        plan = STEPS[plan["format_version"]](plan)
    return plan
