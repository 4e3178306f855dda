"""The problem without its people, whose bounds hold whoever does the work.

It is used where there are too many teams to consider them all. In it each task needs
nobody. It works only in ticks in which enough of the people who may do it are open, is
set up once, and takes no longer than with its quickest team. So every plan of the real
problem can be turned into a plan of this one whose returns are no later, by ending each
task as early as this one allows. Latest times are left out: with an earlier end they
could be broken.
"""

from dataclasses import replace

import numpy as np

from planner.hours.spans import Spans
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import Activity, ClosedTicks, LinkKind, Mode, Pin
from planner.schedule.space.days import Mask


def without_people(instance: Instance) -> Instance:
    """Return the instance without people, teams, latest times and what names people."""
    horizon = instance.horizon
    opens = {p.id: p.open.mask(horizon)[:horizon] for p in instance.people}
    return replace(
        instance,
        tasks=tuple(_unmanned(t, opens, horizon) for t in instance.tasks),
        people=(),
        links=tuple(k for k in instance.links if k.kind is not LinkKind.LATEST),
        pins=tuple(Pin(task=p.task, start=p.start) for p in instance.pins),
        agreed=(),
    )


def _unmanned(task: Activity, opens: dict[str, Mask], horizon: int) -> Activity:
    least = min(m.size for m in task.modes)
    there = np.zeros(horizon, dtype=np.int64)
    for person in task.eligible:
        there += opens[person]
    shut = ClosedTicks(fact="", ticks=Spans.from_mask(there < least))
    return replace(
        task,
        modes=(Mode(size=0, ticks=min(m.ticks for m in task.modes)),),
        eligible=(),
        leads=None,
        no_work=(*task.no_work, shut),
    )
