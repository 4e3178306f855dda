"""What changes for a person, in words of the language that they are told things in."""

from collections.abc import Sequence
from typing import Protocol
from zoneinfo import ZoneInfo

from planner.languages.language import Language
from planner.nouns.ids import bare
from planner.nouns.living.changed import ChangedDay, ChangedTask, Stretch
from planner.nouns.plan import Plan
from planner.report.drawing.telling import Telling


class PlanChange(Protocol):
    """The step from one plan of a job to the next."""

    @property
    def before(self) -> Plan:
        """The plan that stood."""

    @property
    def after(self) -> Plan:
        """The plan that takes its place."""


class ChangeTeller:
    """Words days and tasks that changed, for a reader of one language."""

    def __init__(self, step: PlanChange, language: Language) -> None:
        before, after = step.before, step.after
        self.language, self.say = language, language.say
        self._zone = ZoneInfo(after.zone)
        self._names = {p.id: p.name for p in (*before.crew, *after.crew)}
        sayings = (*before.sayings, *after.sayings)
        self._told = Telling(after.units, sayings, language).told

    def day(self, day: ChangedDay) -> str:
        """Return a day on which a person is called otherwise than before."""
        if day.before is None:
            assert day.after is not None
            return self.say("Come also on {span}", span=self.span(day.after))
        if day.after is None:
            gone = self.language.day(day.before[0], self._zone)
            return self.say("Don't come on {day}", day=gone)
        return self.say(
            "{span}, not {clocks}",
            span=self.span(day.after),
            clocks=self._clocks(day.before),
        )

    def task(self, task: ChangedTask) -> str:
        """Return a task of a person that lies otherwise, or has other people."""
        say, title = self.say, self._told(task.title)
        named = say("{task} ({id})", task=title, id=bare(task.id))
        was, is_ = (
            "; ".join(map(self.span, spans)) for spans in (task.before, task.after)
        )
        if not task.after and task.is_done:
            return say("{task}: it is done (was {was})", task=named, was=was)
        if not task.after:
            return say("{task}: not yours any more (was {was})", task=named, was=was)
        whom = self._with(task.with_after)
        if not task.before:
            new = {"task": named, "spans": is_, "whom": whom}
            return say("{task}: new for you, {spans}, {whom}", **new)
        spans = is_
        if task.before != task.after:
            spans = say("{spans}, not {was}", spans=is_, was=was)
        if tuple(task.with_before) == tuple(task.with_after):
            return say("{task}: {what}", task=named, what=spans)
        return say(
            "{task}: {what}; {whom} instead of {earlier}",
            task=named,
            what=spans,
            whom=whom,
            earlier=self._people(task.with_before) or say("alone"),
        )

    def _with(self, people: Sequence[str]) -> str:
        if not people:
            return self.say("alone")
        return self.say("with {people}", people=self._people(people))

    def _people(self, people: Sequence[str]) -> str:
        """Return names, joined by "and"; nothing for nobody."""
        names = [self._names.get(p, p) for p in people]
        said = names[0] if names else ""
        for another in names[1:]:
            said = self.say("{one} and {another}", one=said, another=another)
        return said

    def span(self, span: Stretch) -> str:
        """Return a stretch, the last day said only where it is another one."""
        start = self.language.moment(span[0], self._zone)
        return self.say("{start} to {end}", start=start, end=self._until(span))

    def _clocks(self, span: Stretch) -> str:
        start = self.language.clock(span[0], self._zone)
        return self.say("{start} to {end}", start=start, end=self._until(span))

    def _until(self, span: Stretch) -> str:
        days = [self.language.day(moment, self._zone) for moment in span]
        if days[0] == days[1]:
            return self.language.clock(span[1], self._zone)
        return self.language.moment(span[1], self._zone)
