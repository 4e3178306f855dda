"""Entries of a plan put into a calendar collection, and nothing else touched there.

What lies on the server is compared with the record of what was put there last:

- an entry that is as it was put is replaced if the plan has changed it, and removed
  if the plan has it no more;
- one whose tag is another is read: if its seal is intact it is ours all the same (an
  answer was lost, or the record); if not, somebody changed it, and it is kept;
- one that somebody deleted stays away;
- names that aren't of this calendar are never asked for.

The record is written after each entry, so it may break off anywhere.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial

from planner.files.caldav.http import (
    CalendarServerError,
    ChangedMeanwhileError,
    Collection,
    LiesElsewhereError,
)
from planner.files.caldav.items import FoundItem, Item, Items, found_in
from planner.files.caldav.state import ServerEntry

_ELSEWHERE = (
    "lies there under another name, imported from a file perhaps: delete that one, and "
    "publish again"
)
_TRIES = 3  # at an entry that changes while it is looked at


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftAlone:
    """An entry that isn't as the plan has it, and why."""

    title: str
    why: str


@dataclass(slots=True, kw_only=True)
class Outcome:
    """What was done, by titles; `stopped` if entries are still to be done."""

    added: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
    left_alone: list[LeftAlone] = field(default_factory=list)
    stopped: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """What is done with one name, given its tag on the server."""

    title: str
    name: str
    act: Callable[[str | None], None]


@dataclass(slots=True, kw_only=True)
class Publishing:
    """One publishing of a calendar into a collection.

    `kept` is the record by uid, changed in place; `save` is called after each change
    of it. `tell` gets number, count and title before each entry. With `restore`
    entries that were changed or deleted by hand are put back as planned.
    """

    collection: Collection
    kept: dict[str, ServerEntry]
    save: Callable[[], None]
    tell: Callable[[int, int, str], None]
    stop: Callable[[], bool]
    restore: bool = False
    outcome: Outcome = field(default_factory=Outcome)

    def run(self, items: Items) -> Outcome:
        """Return what was done to bring the collection to these entries.

        Raises
        ------
        CalendarServerError
            If the server can't be used; what was done till then is on record.
        """
        tags = self.collection.look()
        steps = self._steps(items, tags)
        for number, step in enumerate(steps, start=1):
            if self.stop():
                self.outcome.stopped = True
                break
            self.tell(number, len(steps), step.title)
            self._done(step, tags.get(step.name))
        return self.outcome

    def _steps(self, items: Items, tags: dict[str, str]) -> list[_Step]:
        """Return what is to be done: present entries, removed ones, forgotten ones."""
        steps = [
            _Step(title=i.title, name=i.name, act=partial(self._bring, i))
            for i in items.items
        ]
        present = {item.uid for item in items.items}
        steps += [
            _Step(title=k.title, name=k.name, act=partial(self._take, k))
            for uid, k in sorted(self.kept.items())
            if uid not in present
        ]
        known = {step.name for step in steps}
        steps += [
            _Step(title=name, name=name, act=partial(self._take_stray, name))
            for name in sorted(tags)
            if name.startswith(items.prefix) and name not in known
        ]
        return steps

    def _done(self, step: _Step, tag: str | None) -> None:
        for _ in range(_TRIES):
            try:
                step.act(tag)
            except LiesElsewhereError:
                self._leave(step.title, _ELSEWHERE)
                return
            except ChangedMeanwhileError:
                got = self.collection.get(step.name)
                tag = got[0] if got else None
            else:
                return
        raise CalendarServerError(
            f"an entry doesn't stay as it is looked at: {step.title}",
            where=self.collection.address,
            hint="wait until others have done with it, and publish again",
        )

    # ------------------------------------------------------------- one entry

    def _bring(self, item: Item, tag: str | None) -> None:
        """Bring an entry of the plan to what the plan says."""
        record = self.kept.get(item.uid)
        if tag is None:
            if record and not record.going and not self.restore:
                self._leave(
                    item.title,
                    "somebody deleted it there, so it isn't put back (--restore does so)",
                )
                return
            self._put(item, None)
            self.outcome.added.append(item.title)
            return
        said = record.seal if record and record.etag == tag else ""
        if not said:
            tag, found = self._seen(item.name)
            if found.uid != item.uid or not (found.intact or self.restore):
                self._leave(
                    item.title,
                    "somebody changed it there, so it is left as it is (--restore brings the plan's)",
                )
                return
            said = found.seal if found.intact else ""
        if said == item.seal:
            self._note(item, tag)
            self.outcome.unchanged.append(item.title)
        else:
            self._put(item, tag)
            self.outcome.changed.append(item.title)

    def _take(self, record: ServerEntry, tag: str | None) -> None:
        """Remove an entry that the plan has no more."""
        if tag is not None and tag != record.etag:
            tag, found = self._seen(record.name)
            if found.uid != record.uid or not (found.intact or self.restore):
                self._leave(
                    record.title,
                    "the plan has it no more, but somebody changed it there, so it is left",
                )
                return
        if tag is not None:
            self.kept[record.uid] = replace(record, going=True)
            self.save()
            self.collection.delete(record.name, tag=tag)
            self.outcome.removed.append(record.title)
        del self.kept[record.uid]
        self.save()

    def _take_stray(self, name: str, tag: str | None) -> None:
        """Remove an entry of ours that no record tells of and the plan doesn't have."""
        if tag is None:
            return
        tag, found = self._seen(name)
        if not found.intact or not name.endswith(f"-{found.uid}.ics"):
            self._leave(
                found.title or name,
                "the plan doesn't have it, but it isn't as this program wrote it, so it is left",
            )
            return
        self.collection.delete(name, tag=tag)
        self.outcome.removed.append(found.title)

    def _seen(self, name: str) -> tuple[str, FoundItem]:
        """Return the tag and the content of what lies under a name now."""
        got = self.collection.get(name)
        if got is None:
            raise ChangedMeanwhileError
        return got[0], found_in(got[1])

    def _put(self, item: Item, replaces: str | None) -> None:
        tag = self.collection.put(item.name, item.data, replaces=replaces)
        if tag is None:  # the server may lay lines out anew (RFC 4791 §5.3.4)
            tag, found = self._seen(item.name)
            if found.seal != item.seal:
                raise ChangedMeanwhileError
        self._note(item, tag)

    def _note(self, item: Item, tag: str) -> None:
        record = ServerEntry(
            uid=item.uid, name=item.name, etag=tag, seal=item.seal, title=item.title
        )
        if self.kept.get(item.uid) != record:
            self.kept[item.uid] = record
            self.save()

    def _leave(self, title: str, why: str) -> None:
        self.outcome.left_alone.append(LeftAlone(title=title, why=why))
