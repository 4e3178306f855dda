"""Orders in which a pass takes the tasks: first drawn at random, then varied.

An order is a number for each task. Among the tasks that are ready, the pass takes the
one with the least number. The first order goes by the latest start that the windows
allow. A *zone* is a part of the job whose tasks are moved together in an order.
"""

from random import Random

Key = list[float]

# How far a zone's rank moves its tasks, as a share of the job's span.
WEIGHTS = (0.0, 0.05, 0.1, 0.2, 0.4, 1.0)
MANY_ZONES = 8  # with this many zones or more, ranks lie closer, so that all can matter
REACH = 2.0  # the weight of the last rank, if there are many zones
# With this many zones or more, zones begin one after another and end closer together:
# a weight for a zone's first task, and the share of it that moves its last one.
FANNED_ZONES = 24
FANS = ((0.3, 0.3), (0.25, 0.3), (0.4, 1.0), (0.2, 0.3), (0.1, 1.0), (0.3, 0.15))
# How far a single task moves at random, as a share of the job's span.
NOISES = (0.0, 0.02, 0.1)


class Orders:
    """Draws orders for tasks with a latest start and a zone each."""

    def __init__(self, late: list[int], zones: list[str]) -> None:
        self.late = [float(x) for x in late]
        self.zones = zones
        self.names = sorted(set(zones))
        self.many = len(self.names) >= MANY_ZONES
        fanned = len(self.names) >= FANNED_ZONES
        self.weights = FANS if fanned else tuple((w, 1.0) for w in WEIGHTS)
        self.span = max(self.late, default=0.0) - min(self.late, default=0.0) + 1.0
        self.ahead = self._ahead()

    def first(self) -> Key:
        """Return the order by latest start."""
        return self.late[:]

    def spread(self, number: int, random: Random) -> Key:
        """Return zones in an order drawn at random, each number with its weights."""
        names = random.sample(self.names, len(self.names))
        return self._ranked(names, *self.weights[number % len(self.weights)])

    def drawn(self, random: Random) -> Key:
        """Return an order in which zones come one after the other, more or less."""
        names = random.sample(self.names, len(self.names))
        weights = random.choice(self.weights)
        noise = random.choice(NOISES) * self.span
        return [x + noise * random.random() for x in self._ranked(names, *weights)]

    def _ranked(self, names: list[str], weight: float, last: float) -> Key:
        """Return the latest starts, each moved on by its zone's rank.

        A zone's first task is moved by the whole weight, its last by the share `last`.
        """
        step = (REACH / len(names) if self.many else 1.0) * weight * self.span
        rank = {zone: step * k for k, zone in enumerate(names)}
        rows = zip(self.late, self.zones, self.ahead, strict=True)
        return [x + rank[zone] * (last + (1 - last) * a) for x, zone, a in rows]

    def _ahead(self) -> list[float]:
        """Return how far each task lies ahead of its zone's last: 1 for the first, to 0."""
        spans: dict[str, tuple[float, float]] = {}
        for x, zone in zip(self.late, self.zones, strict=True):
            first, last = spans.get(zone, (x, x))
            spans[zone] = min(first, x), max(last, x)
        rows = ((x, *spans[z]) for x, z in zip(self.late, self.zones, strict=True))
        return [(last - x) / (last - first or 1.0) for x, first, last in rows]

    def varied(self, key: Key, random: Random) -> Key:
        """Return the order with two zones swapped, one moved, or a few tasks moved."""
        kind = random.random()
        if kind < 0.4 and len(self.names) > 1:
            one, two = random.sample(self.names, 2)
            shift = self._lead(key, two) - self._lead(key, one)
            shifts = {one: shift, two: -shift}
        elif kind < 0.6:
            shifts = {random.choice(self.names): random.gauss(0, 0.15) * self.span}
        else:
            share = random.choice((0.02, 0.05, 0.15))
            width = random.choice((0.03, 0.1)) * self.span
            return [
                k + (random.gauss(0, width) if random.random() < share else 0.0)
                for k in key
            ]
        return [
            k + shifts.get(zone, 0.0) for k, zone in zip(key, self.zones, strict=True)
        ]

    def _lead(self, key: Key, zone: str) -> float:
        """Return by how much a zone's tasks stand behind their latest starts."""
        rows = zip(key, self.late, self.zones, strict=True)
        leads = [k - x for k, x, z in rows if z == zone]
        return sum(leads) / len(leads)
