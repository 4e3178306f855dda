"""What a log may speak of: tasks, bays and people of a job, by the ids of a plan."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date
from zoneinfo import ZoneInfo

from planner.living.shown import PATCHES, numbered
from planner.measures import Units
from planner.nouns.happened import OF_BAYS, OF_TASKS, Happening, Logbook, What
from planner.nouns.ids import find_id, id_on
from planner.nouns.job import Job
from planner.nouns.work import Work


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownTask:
    """A task as a log speaks of it: what it lays, and which coats it goes over.

    `over` are the tasks whose coat has to harden before this one begins; `after` are
    all that it follows.
    """

    title: str
    product: str | None
    over: tuple[str, ...] = ()
    after: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """The tasks, bays and people of a job; ids of tasks and bays begin with the stage."""

    zone: ZoneInfo
    earliest: date
    tasks: Mapping[str, KnownTask]
    bays: tuple[str, ...]
    people: Mapping[str, str]  # id → name
    units: Units = Units.US  # the measures that readers are shown first
    without_joints: frozenset[str] = frozenset()  # bays that no compound is laid in

    def names_for(self, what: What) -> Collection[str]:
        """Return the ids that an event of a kind may be about; none: it names nothing."""
        if what in OF_TASKS:
            return self.tasks
        if what in OF_BAYS or what is What.MOISTURE:
            return self.bays
        return self.people if what is What.AWAY else ()

    def meant(self, what: What, said: str) -> str | None:
        """Return the id that somebody meant, in any case, or by a person's name."""
        names = self.names_for(what)
        by_name = {n.casefold(): id_ for id_, n in self.people.items()}
        if what is What.AWAY and said.casefold() in by_name:
            return by_name[said.casefold()]
        return find_id(said.casefold(), names) or find_id(said, names)

    def is_gone(self, event: Happening) -> bool:
        """Tell whether an event is about something that the job has no longer."""
        named = event.what in OF_TASKS | OF_BAYS or event.what is What.AWAY
        return named and event.about not in self.names_for(event.what)

    @property
    def titles(self) -> Mapping[str, str]:
        """The titles of tasks and the names of people, by their ids."""
        return {**{i: t.title for i, t in self.tasks.items()}, **self.people}

    def title(self, task: str) -> str:
        """Return a task's title, its id where the job has none such."""
        return self.tasks[task].title if task in self.tasks else task


def with_patches(known: Known, book: Logbook) -> Known:
    """Return what a log may speak of with the work at joints that were logged to show."""
    more = {}
    for number, event in numbered(book):
        stage, _, bay = event.about.partition(":")
        for work in PATCHES:
            title = f"{work.replace('-', ' ')} {number}, {bay}"
            product = None if work == "spot-sand" else work
            more[id_on(stage, f"{work}-{number}.{bay}")] = KnownTask(
                title=title, product=product
            )
    return replace(known, tasks={**known.tasks, **more})


def known_of(job: Job, work: Work) -> Known:
    """Return what a log of a job may speak of."""
    stage = job.stage.id
    over: dict[str, list[str]] = {}
    after: dict[str, list[str]] = {}
    for link in work.links:
        after.setdefault(link.after, []).append(id_on(stage, link.before))
        if link.wait is not None:
            over.setdefault(link.after, []).append(id_on(stage, link.before))
    jointed = {b for t in work.tasks if t.phase == "tape" for b in t.bays}
    return Known(
        zone=job.zone,
        earliest=job.earliest,
        tasks={
            id_on(stage, t.id): KnownTask(
                title=t.title,
                product=t.product,
                over=tuple(over.get(t.id, ())),
                after=tuple(after.get(t.id, ())),
            )
            for t in work.tasks
        },
        bays=tuple(id_on(stage, b) for b in work.bays),
        without_joints=frozenset(
            id_on(stage, b) for b in work.bays if b not in jointed and jointed
        ),
        people={p.id: p.name for p in job.crew},
        units=job.units,
    )
