"""Trimming, putting the modules together and setting them in place."""

from dataclasses import replace

from planner.nouns.work import Task, TaskLink
from planner.trade.lifting.lifting import SINGLY
from planner.trade.parts import After, Leads, Part, Site, follow, found, pieces, task_of
from planner.trade.takeoff import Bay, BayKind

CLEAR = "nobody works beside a corner that stands unfastened"


def modules(site: Site, leads: Leads) -> Part:
    """Return trimming, assembly and setting; the corner leads, the runs follow.

    From a corner's setting on nothing but setting and fastening is left beside it: the
    walls on both sides are ready, and their modules bolted together.
    """
    rates, takeoff = site.rates, site.takeoff
    tasks: list[Task] = []
    links: list[TaskLink] = []
    out: dict[str, tuple[After, ...]] = dict(leads)
    placed: dict[str, Task] = {}
    for bay in takeoff.of(BayKind.CORNER):
        ready = [*leads[pieces(bay)]]
        if bay.uprights and site.methods.lifting == SINGLY:
            trim = task_of(rates["trim"], bay=bay, amount=1)
            links += follow(trim, *leads[found(bay)], *leads[pieces(bay)])
            tasks.append(trim)
            reason = "the upper module is trimmed before it goes up"
            ready = [After(task=trim.id, reason=reason)]
        elif bay.uprights:
            trim = task_of(rates["trim"], bay=bay, amount=1)
            join = task_of(
                rates["join-uprights"], bay=bay, amount=max(bay.uprights - 1, 1)
            )
            links += follow(trim, *leads[found(bay)], *leads[pieces(bay)])
            links += follow(
                join,
                After(
                    task=trim.id, reason="the upper module is trimmed before bolting"
                ),
                *leads[pieces(bay)],
            )
            tasks += [trim, join]
            ready = [After(task=join.id, reason="the uprights go up bolted together")]
        place = task_of(rates["set-corner"], bay=bay, amount=bay.uprights + bay.modules)
        if bay.uprights and site.methods.lifting == SINGLY:
            place = _bolted_on_the_wall(site, bay, place)
        links += follow(place, *ready, *leads[bay.id])
        tasks.append(place)
        placed[bay.id] = place
    cut = _cut(site, leads)
    tasks += cut.tasks
    links += cut.links
    for bay in takeoff.of(BayKind.RUN):
        loose = cut.leads.get(pieces(bay), leads[pieces(bay)])
        join = task_of(rates["join"], bay=bay, amount=max(bay.modules - 1, 0))
        place = task_of(rates["set"], bay=bay, amount=bay.modules)
        corners = [
            After(
                task=placed[c.id].id,
                reason="straight modules are pushed home to the corner piece",
            )
            for c in takeoff.of(BayKind.CORNER)
            if bay.id in c.beside
        ]
        links += follow(join, *loose)
        for corner in takeoff.of(BayKind.CORNER):
            if bay.id in corner.beside:
                links += follow(
                    placed[corner.id],
                    After(task=join.id, reason=CLEAR),
                    *(After(task=a.task, reason=CLEAR) for a in leads[bay.id]),
                )
        links += follow(
            place,
            After(task=join.id, reason="the modules are bolted together first"),
            *leads[bay.id],
            *corners,
        )
        tasks += [join, place]
        placed[bay.id] = place
    for bay in takeoff.built:
        own = After(
            task=placed[bay.id].id, reason="the pieces stand where they are fastened"
        )
        others = [
            After(
                task=placed[b].id,
                reason="the runs are bolted to the corner before it is fastened",
            )
            for b in bay.beside
        ]
        out[bay.id] = (own, *others)
    return Part(tasks=tuple(tasks), links=tuple(links), leads=out)


def _cut(site: Site, leads: Leads) -> Part:
    """Return the cutting of straight modules, all of it at once, off the stage."""
    runs = [b for b in site.takeoff.of(BayKind.RUN) if b.cut_mm]
    if not runs:
        return Part(tasks=(), links=(), leads={})
    cut = task_of(
        site.rates["cut"],
        bays=tuple(b.id for b in runs),
        amount=sum(len(b.cut_mm) for b in runs),
    )
    pieces_cut = "; ".join(f"{b.name}: {b.cut_words}" for b in runs)
    cut = replace(cut, how=f"{pieces_cut}. {cut.how}")
    known = [a for b in runs for a in (*leads[found(b)], *leads[pieces(b)])]
    done = After(task=cut.id, reason="the modules are cut before they go together")
    return Part(
        tasks=(cut,),
        links=follow(cut, *known),
        leads={pieces(b): (done,) for b in runs},
    )


def _bolted_on_the_wall(site: Site, bay: Bay, place: Task) -> Task:
    """Return setting a corner whose uprights go up one by one, bolted as they stand."""
    joints = max(bay.uprights - 1, 0)
    rate = site.rates["join-uprights"]
    return replace(
        place,
        how="The corner piece, then each upright lifted onto it and bolted: quarter-inch "
        "bolts, washers both sides, flush by straight-edge before tightening",
        person_hours=place.person_hours + rate.laying_h(joints, high=0.0, curved=0.0),
        bring=tuple(dict.fromkeys((*place.bring, *rate.bring, "working platform"))),
    )
