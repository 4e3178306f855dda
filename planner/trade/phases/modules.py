"""Trimming, putting the modules together and setting them in place."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from planner.nouns.told.saying import marked, saying, text, told
from planner.nouns.work import Task
from planner.trade.lifting.lifting import SINGLY
from planner.trade.parts import After, Leads, Part, Site, follow, found, pieces, task_of
from planner.trade.takeoff import Bay, BayKind

CLEAR = "nobody works beside a corner that stands unfastened"


def modules(site: Site, leads: Leads) -> Part:
    """Return trimming, assembly and setting; the corner leads, the runs follow.

    From a corner's setting on nothing but setting and fastening is left beside it: the
    walls on both sides are ready, and their modules bolted together.
    """
    takeoff = site.takeoff
    corners = {b.id: _corner(site, leads, b) for b in takeoff.of(BayKind.CORNER)}
    cut = _cut(site, leads)
    runs = {
        b.id: _run(site, {**leads, **cut.leads}, b, corners)
        for b in takeoff.of(BayKind.RUN)
    }
    parts = (*corners.values(), cut, *runs.values())
    placed = {id_: part.tasks[-1].id for id_, part in {**corners, **runs}.items()}
    out: dict[str, tuple[After, ...]] = dict(leads)
    for bay in takeoff.built:
        own = After(
            task=placed[bay.id], reason="the pieces stand where they are fastened"
        )
        reason = "the runs are bolted to the corner before it is fastened"
        others = (After(task=placed[b], reason=reason) for b in bay.beside)
        out[bay.id] = (own, *others)
    return Part(
        tasks=tuple(t for part in parts for t in part.tasks),
        links=tuple(x for part in parts for x in part.links),
        leads=out,
    )


def _corner(site: Site, leads: Leads, bay: Bay) -> Part:
    """Return a corner's work on its pieces; setting it comes last."""
    raised = _uprights(site, leads, bay)
    amount = bay.uprights + bay.modules
    place = task_of(site, "set-corner", bay=bay, amount=amount)
    if bay.uprights and site.methods.lifting == SINGLY:
        place = _bolted_on_the_wall(site, bay, place)
    ready = raised.leads[pieces(bay)]
    return Part(
        tasks=(*raised.tasks, place),
        links=(*raised.links, *follow(place, *ready, *leads[bay.id])),
        leads={},
    )


def _uprights(site: Site, leads: Leads, bay: Bay) -> Part:
    """Return trimming a corner's uprights, and bolting those that go up together."""
    if not bay.uprights:
        return Part(tasks=(), links=(), leads={pieces(bay): leads[pieces(bay)]})
    trim = task_of(site, "trim", bay=bay, amount=1)
    known = follow(trim, *leads[found(bay)], *leads[pieces(bay)])
    if site.methods.lifting == SINGLY:
        reason = "the upper module is trimmed before it goes up"
        ready = After(task=trim.id, reason=reason)
        return Part(tasks=(trim,), links=known, leads={pieces(bay): (ready,)})
    join = task_of(site, "join-uprights", bay=bay, amount=max(bay.uprights - 1, 1))
    trimmed = After(task=trim.id, reason="the upper module is trimmed before bolting")
    ready = After(task=join.id, reason="the uprights go up bolted together")
    return Part(
        tasks=(trim, join),
        links=(*known, *follow(join, trimmed, *leads[pieces(bay)])),
        leads={pieces(bay): (ready,)},
    )


def _run(site: Site, leads: Leads, bay: Bay, corners: Mapping[str, Part]) -> Part:
    """Return a run's work on its modules; setting it, after its corners, comes last."""
    join = task_of(site, "join", bay=bay, amount=max(bay.modules - 1, 0))
    place = task_of(site, "set", bay=bay, amount=bay.modules)
    bolted = After(task=join.id, reason="the modules are bolted together first")
    reason = "straight modules are pushed home to the corner piece"
    beside = [
        corners[c.id].tasks[-1]
        for c in site.takeoff.of(BayKind.CORNER)
        if bay.id in c.beside
    ]
    clear = [
        After(task=task, reason=CLEAR)
        for task in (join.id, *(lead.task for lead in leads[bay.id]))
    ]
    home = (After(task=corner.id, reason=reason) for corner in beside)
    return Part(
        tasks=(join, place),
        links=(
            *follow(join, *leads[pieces(bay)]),
            *(link for corner in beside for link in follow(corner, *clear)),
            *follow(place, bolted, *leads[bay.id], *home),
        ),
        leads={},
    )


def _cut(site: Site, leads: Leads) -> Part:
    """Return the cutting of straight modules, all of it at once, off the stage."""
    runs = [b for b in site.takeoff.of(BayKind.RUN) if b.cut_mm]
    if not runs:
        return Part(tasks=(), links=(), leads={})
    cut = task_of(
        site,
        "cut",
        bays=tuple(b.id for b in runs),
        amount=sum(len(b.cut_mm) for b in runs),
    )
    cut = _with_cuts(cut, runs)
    known = [a for b in runs for a in (*leads[found(b)], *leads[pieces(b)])]
    done = After(task=cut.id, reason="the modules are cut before they go together")
    return Part(
        tasks=(cut,),
        links=follow(cut, *known),
        leads={pieces(b): (done,) for b in runs},
    )


def _with_cuts(task: Task, runs: Sequence[Bay]) -> Task:
    """Return the cutting with what is cut, run by run, before how it is done."""
    cut = [b.cut for b in runs if b.cut is not None]
    of_run = [
        saying("{run}: {cut}", told("run", b.named), told("cut", b.cut))
        for b in runs
        if b.cut is not None
    ]
    listed = of_run[:1]
    for one in of_run[1:]:
        pair = told("one", listed[-1]), told("more", one)
        listed.append(saying("{one}; {more}", *pair))
    how = saying("{cuts}. {how}", told("cuts", listed[-1]), text("how", task.how))
    sayings = (*task.sayings, *cut, *of_run, *listed, how)
    return replace(task, how=how.text, sayings=sayings)


def _bolted_on_the_wall(site: Site, bay: Bay, place: Task) -> Task:
    """Return setting a corner whose uprights go up one by one, bolted as they stand."""
    joints = max(bay.uprights - 1, 0)
    rate = site.rates["join-uprights"]
    return replace(
        place,
        how=marked(
            "The corner piece, then each upright lifted onto it and bolted: quarter-inch "
            "bolts, washers both sides, flush by straight-edge before tightening"
        ),
        person_hours=place.person_hours + rate.laying_h(joints, high=0.0, curved=0.0),
        bring=tuple(
            dict.fromkeys((*place.bring, *rate.bring, marked("working platform")))
        ),
    )
