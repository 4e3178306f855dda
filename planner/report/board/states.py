"""What the surface of each bay is at any moment, from as found to in service."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime

from planner.nouns.plan import PlannedTask
from planner.nouns.work import ReturnKind
from planner.report.drawing.view import View
from planner.trade.data.labour import rates

AS_FOUND, IN_SERVICE = 0, 10

STATES = (
    "as found",
    "opened",
    "backed",
    "placed",
    "anchored",
    "taped",
    "compound",
    "topped",
    "primed",
    "colour",
    "in service",
)
COATS = frozenset({6, 7, 8, 9})


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """A stretch in which a bay's surface stays what it is; `coat` counts from 1."""

    number: int
    coat: int
    start: datetime
    end: datetime
    task: PlannedTask | None

    @property
    def name(self) -> str:
        """The state in words, with its coat where there may be several."""
        coat = f", coat {self.coat}" if self.number in COATS else ""
        return f"{STATES[self.number]}{coat}"


def surfaces(
    view: View, bay: str, start: datetime, end: datetime
) -> tuple[Surface, ...]:
    """Return the states of a bay between two moments, without gaps."""
    full = view.plan.stage.returning(ReturnKind.FULL_SERVICE).when
    changes: list[tuple[datetime, int, int, PlannedTask | None]] = [
        (start, AS_FOUND, 0, None)
    ]
    leaves = {id_: STATES.index(r.leaves) for id_, r in rates().items() if r.leaves}
    coats: Counter[int] = Counter()
    done = sorted(
        (t for t in view.plan.tasks if bay in t.bays and t.phase in leaves),
        key=lambda t: (t.end, t.start, t.id),
    )
    for task in done:
        number = leaves[task.phase]
        coats[number] += 1
        if number == changes[-1][1] and number not in COATS:
            continue
        changes.append((task.end, number, coats[number], task))
    changes.append((full, IN_SERVICE, 0, None))
    out = []
    for here, after in zip(changes, [*changes[1:], None], strict=True):
        until = after[0] if after else max(end, here[0])
        if until > here[0]:
            out.append(
                Surface(
                    number=here[1], coat=here[2], start=here[0], end=until, task=here[3]
                )
            )
    return tuple(out)
