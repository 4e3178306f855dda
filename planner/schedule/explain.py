"""Why this date, how much slack, and why no plan."""

from planner.schedule.chain import held_back, holding_chain
from planner.schedule.conflict import conflict
from planner.schedule.lifting import all_facts, lift
from planner.schedule.slack import slack

__all__ = ["all_facts", "conflict", "held_back", "holding_chain", "lift", "slack"]
