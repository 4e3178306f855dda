"""Why this date, how much slack, and why no plan."""

from planner.schedule.chain import binding_chain, held_back
from planner.schedule.conflict import conflict
from planner.schedule.lifting import all_facts, lift
from planner.schedule.slack import slack

__all__ = ["all_facts", "binding_chain", "conflict", "held_back", "lift", "slack"]
