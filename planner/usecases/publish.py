"""The use case of `publish`: put the plan of a folder into a calendar on a server."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from planner.errors import PlannerError
from planner.files.caldav import state
from planner.files.caldav.collection import Outcome, Publishing
from planner.files.caldav.http import Collection
from planner.files.caldav.items import items_of
from planner.files.caldav.login import collection_address, login_for
from planner.files.caldav.state import Place
from planner.files.folder import outdir, planfile
from planner.files.logbook.appending import log_of, read_log
from planner.nouns.plan import Plan
from planner.report.living.note_paths import FOLDER, MANAGER, OWNER
from planner.usecases.read import read_inputs
from planner.usecases.standing import knows, revision_in

WAIT_S = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishRequest:
    """What is published where: a feed of the plan in `folder`, to an address."""

    job: Path
    folder: Path
    to: str
    feed: str = "closure"
    restore: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The plan that stands, and what there is to say of how old it is."""

    plan: Plan
    remark: str


@contextmanager
def standing(
    job: Path, folder: Path, *, tell: Callable[[str], None]
) -> Iterator[Standing]:
    """Yield the plan that stands in a folder, and keep other runs out meanwhile.

    `tell` gets a line if another run has to be waited for.

    Raises
    ------
    PlannerError
        If no plan stands there, or another run doesn't let go of the folder.
    """
    missing = PlannerError(
        "there is no plan", where=str(folder), hint=f"plan first: covetime plan {job}"
    )
    if outdir.read(folder, "plan.json") is None:
        raise missing
    with outdir.alone(folder, tell=tell):
        stored = outdir.read(folder, "plan.json")
        if stored is None:
            raise missing
        yield _standing(job, folder, stored)


def _standing(job: Path, folder: Path, stored: bytes) -> Standing:
    """Return the plan of a folder, with a remark if it is out of date."""
    plan = planfile.read_plan(stored, file=str(folder / "plan.json"))
    try:
        inputs = read_inputs(job)
        last = revision_in(folder, plan)
        fits = inputs.fingerprint == plan.fingerprint or (
            last is not None and knows(last, inputs, read_log(log_of(job)))
        )
    except PlannerError as error:
        said = error.lines()[0]
        return Standing(
            plan=plan, remark=f"whether the plan fits its inputs isn't known: {said}"
        )
    remark = "the plan is out of date: its inputs have changed since; plan again"
    return Standing(plan=plan, remark="" if fits else remark)


def publish(
    order: PublishRequest,
    plan: Plan,
    *,
    environ: Mapping[str, str],
    tell: Callable[[int, int, str], None],
    stop: Callable[[], bool],
) -> Outcome:
    """Return what was done to bring a collection to the plan that stands.

    The plan's folder is kept for this run: `standing` does so.

    Raises
    ------
    PlannerError
        If the feed, the address, the login or the server won't do. What was done till
        then is on record in the plan's folder.
    """
    address = collection_address(order.to)
    path = _path(order, plan)
    stored = outdir.read_unchanged(order.folder, path)
    if stored is None:
        raise PlannerError(
            "the plan has no such calendar yet",
            where=str(order.folder / path),
            hint=f"plan again: covetime plan {order.job}",
        )
    items = items_of(stored)
    login = login_for(address, environ)
    with Collection(address, login, wait_s=WAIT_S) as collection:
        places = state.read_places(order.folder)
        place = Place(collection=address, feed=path.removesuffix(".ics"))
        kept = places.setdefault(place, {})
        return Publishing(
            collection=collection,
            kept=kept,
            save=lambda: state.write_places(order.folder, places),
            tell=tell,
            stop=stop,
            restore=order.restore,
        ).run(items)


def _path(order: PublishRequest, plan: Plan) -> str:
    """Return the path of the calendar meant: one of the plan's, a stage's, a person's."""
    if order.feed in ("closure", "crew", "waits"):
        return f"{order.feed}.ics"
    owners = (
        *(("closure", stage.id, stage.name) for stage in plan.stages),
        *(("people", person.id, person.name) for person in plan.crew),
    )
    for folder, id_, name in owners:
        if order.feed.casefold() in (id_.casefold(), name.casefold()):
            return f"{folder}/{id_}.ics"
    people = ", ".join(id_ for _, id_, _ in owners)
    raise PlannerError(
        f'there is no calendar "{order.feed}"',
        where="--feed",
        hint=f"there are closure, crew, waits and those of {people}",
    )


def note_for(order: PublishRequest, plan: Plan) -> str:
    """Return the note that goes with the calendar meant; empty where there is none.

    The owner's goes with a closure, the manager's with what is of the whole crew.
    """
    feed = _path(order, plan).removesuffix(".ics")
    if feed.partition("/")[0] == "closure":
        name = OWNER
    else:
        name = MANAGER if feed in ("crew", "waits") else feed
    stored = outdir.read(order.folder, f"{FOLDER}/{name}.txt")
    return "" if stored is None else stored.decode()


def outcome_words(outcome: Outcome, address: str) -> str:
    """Return what was done, in words."""
    counts = (
        (len(outcome.added), "new"),
        (len(outcome.changed), "changed"),
        (len(outcome.removed), "removed"),
        (len(outcome.unchanged), "as before"),
        (len(outcome.left_alone), "left alone"),
    )
    said = ", ".join(f"{n} {word}" for n, word in counts if n) or "nothing to do"
    lines = [f"{address}: {said}"]
    for sign, titles in (
        ("+", outcome.added),
        ("~", outcome.changed),
        ("-", outcome.removed),
    ):
        lines += [f"  {sign} {title}" for title in titles]
    return "\n".join(lines) + "\n"
