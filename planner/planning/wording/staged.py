"""What planning knows of one stage gets the ids that it has in a plan of stages."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

from planner.nouns import plan as nouns
from planner.nouns.ids import id_on
from planner.nouns.purchase import PlannedSupply, SupplyUse, ToolDays
from planner.schedule.problem.outcome import Cause

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Row = TypeVar("Row", bound="DataclassInstance")

# The fields of each record that hold ids of tasks and bays, or records that do.
IDS: Mapping[type, tuple[str, ...]] = {
    nouns.PlannedTask: ("id", "bays"),
    nouns.PlannedBay: ("id",),
    nouns.PlannedWait: ("task",),
    nouns.PlannedLink: ("before", "after"),
    nouns.PlannedWindow: ("before", "after", "sanded_again"),
    nouns.KeptApart: ("task", "other"),
    nouns.ReturnTerm: ("task",),
    nouns.ChainStep: ("task",),
    PlannedSupply: ("uses",),
    SupplyUse: ("task",),
    ToolDays: ("tasks",),
}
BY_TASK = frozenset({Cause.LINK, Cause.PERSON, Cause.POOL, Cause.APART})


def on_stage(stage: str, rows: Iterable[Row]) -> tuple[Row, ...]:
    """Return records with the ids of their tasks and bays as those of a stage."""
    return tuple(_on(stage, row) for row in rows)


def _on(stage: str, row: Row) -> Row:
    fields = IDS[type(row)]
    if isinstance(row, nouns.ChainStep) and row.cause in BY_TASK:
        fields = (*fields, "by")
    changes: dict[str, Any] = {f: _named(stage, getattr(row, f)) for f in fields}
    return replace(row, **changes)


def _named(stage: str, value: Any) -> Any:
    match value:
        case None:
            return None
        case str():
            return id_on(stage, value)
        case tuple():
            return tuple(_named(stage, v) for v in value)
        case _:
            return _on(stage, value)
