"""A team for a task, with the starts that it allows."""

from dataclasses import dataclass
from typing import Any

from planner.schedule.space.days import Ints, Mask


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TeamOption:
    """A team for a task, with the start indices it allows and the end index of each.

    Both starts and ends rise; where they wouldn't, the team gets several options.
    `team` holds pairs (group, how many of it); `ticks` is the least number of ticks
    that the task works. `workable` is a mask by tick, in which days that are too short
    are left out; `rests` is as in `Courses`, by start.
    """

    team: tuple[tuple[int, int], ...]
    size: int
    ticks: int
    workable: Mask
    starts: Ints
    ends: Ints
    rests: Ints | None = None

    def cut(self, keep: Any) -> "TeamOption":
        """Return the option with only some of its starts."""
        return TeamOption(
            team=self.team,
            size=self.size,
            ticks=self.ticks,
            workable=self.workable,
            starts=self.starts[keep],
            ends=self.ends[keep],
            rests=None if self.rests is None else self.rests[keep],
        )
