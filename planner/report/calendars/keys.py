"""What calendar entries share: where a stage is, and what they are known by for ever.

An entry's identity is made from its key. The words below stood in the keys of the
first calendars and never change, even where the program has other words by now.
"""

from planner.nouns.plan import PlannedStage
from planner.nouns.work import ReturnKind

_RETURNS = {
    ReturnKind.LIGHT_FOOT_TRAFFIC: "light-feet",
    ReturnKind.FULL_SERVICE: "full-service",
}
_STAGES: dict[str, str] = {ReturnKind.LIGHT_FOOT_TRAFFIC: "light feet"}


def return_key(kind: ReturnKind) -> str:
    """Return the key of the entry that marks a return to service."""
    return f"return/{_RETURNS[kind]}"


def wait_key(task: str, product: str, stage: str) -> str:
    """Return the key of the entry that shows a wait."""
    return f"wait/{task}/{product}/{_STAGES.get(stage, stage)}"


def place(stage: PlannedStage) -> str:
    """Return where a stage is, as a calendar's map can look it up."""
    return f"{stage.name}, {stage.address}" if stage.address else stage.name
