"""Why this date, how much slack, and why no plan."""

from planner.schedule.why.chain import held_back, holding_chain
from planner.schedule.why.conflict import conflict
from planner.schedule.why.relaxing import all_facts, lift
from planner.schedule.why.slack import slack

__all__ = ["all_facts", "conflict", "held_back", "holding_chain", "lift", "slack"]
