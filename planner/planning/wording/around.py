"""What is to be done before the work and after it, with its days and amounts."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta

from planner.nouns import plan as nouns
from planner.nouns.job import Job
from planner.nouns.odds import PlannedReturn
from planner.nouns.purchase import PlannedSupply
from planner.nouns.work import ReturnKind
from planner.trade.behind import MADE_SAFE, place_words
from planner.trade.data import labour
from planner.trade.data.around import figure, reminders
from planner.trade.lifting.lifting import crates
from planner.trade.takeoff import BayKind, TakeOff

COMPOUNDS = ("setting-compound", "drying-compound", "topping", "skim")
COLOURED = ("colour", "second-colour", "spot-colour")
PAINTS = ("primer", "colour", "second-colour")


def around(
    job: Job,
    takeoff: TakeOff,
    tasks: Sequence[nouns.PlannedTask],
    supplies: Sequence[PlannedSupply],
    returns: Sequence[PlannedReturn],
    *,
    fumes: bool,
) -> tuple[nouns.Reminder, ...]:
    """Return every reminder that this plan has reason for, in the order of the data."""
    days = _days(job, tasks, returns)
    amounts: Mapping[str, str] = {
        "runs": "; ".join(
            f"{r.name} {job.units.length(r.length_mm)}" for r in job.stage.runs
        ),
        "ceiling": job.units.length(job.stage.ceiling_mm),
        "kit": _kit(takeoff),
        "lead": _lead(job),
        "behind": "; ".join(
            f"{place_words(b, job.stage, job.units)}: {MADE_SAFE[b.what]}"
            for b in job.stage.behind
        ),
        "who": _signs(job, tasks),
        "waste": "; ".join(_waste(job, takeoff, supplies, fumes=fumes)),
        "gypsum": "" if job.repaint else ". Gypsum apart from the rest",
        "holes": _holes(tasks),
    }
    return tuple(
        nouns.Reminder(
            id=r.id,
            when=r.when,
            day=days.get(r.id),
            title=r.title,
            words=job.units.text(r.words).format_map(amounts),
            source=r.source,
        )
        for r in reminders()
        if (r.repaint if job.repaint else r.id != "behind" or job.stage.behind)
    )


def _days(
    job: Job,
    tasks: Sequence[nouns.PlannedTask],
    returns: Sequence[PlannedReturn],
) -> Mapping[str, date]:
    """Return the day of each reminder that has one.

    What may stand on the floor goes by what is promised; a floor that is back later
    than the crew's plan has it also carries heavy loads later.
    """

    def day(moment: datetime) -> date:
        return moment.astimezone(job.zone).date()

    coloured = max(t.end for t in tasks if t.phase in COLOURED)
    back = {r.kind: r for r in returns}
    light, full = back[ReturnKind.LIGHT_FOOT_TRAFFIC], back[ReturnKind.FULL_SERVICE]
    heavy = coloured + timedelta(hours=figure("heavy_h"))
    out = {"protect": day(min(t.start for t in tasks if t.on_stage))}
    if light.promise is not None:
        out["feet"] = day(light.promise)
    if full.promise is not None:
        out["trolleys"] = day(full.promise)
        out["heavy"] = day(full.promise + max(heavy - full.when, timedelta(0)))
    rates = labour.rates()
    if touching := [t.start for t in tasks if rates[t.phase].at_wall]:
        out["behind"] = day(min(touching))
    if job.repaint is None:
        intake = min(t.start for t in tasks if t.phase == "intake")
        come = day(job.delivery or intake)
        out["sign"] = come
        if job.order_lead_h is not None:
            order = come - timedelta(hours=job.order_lead_h)
            out |= {"order": order, "survey": order}
    return out


def _kit(takeoff: TakeOff) -> str:
    runs, built = takeoff.of(BayKind.RUN), takeoff.built
    counts = (
        ("straight module", sum(b.modules for b in runs)),
        ("corner piece", sum(b.corner_pieces for b in built)),
        ("upright corner module", sum(b.uprights for b in built)),
        ("end piece", sum(b.free_ends for b in runs)),
    )
    return ", ".join(f"{n} {what}{'s' * (n > 1)}" for what, n in counts if n)


def _lead(job: Job) -> str:
    if job.order_lead_h is None:
        return "ask for the lead time and give it as order_lead"
    return f"{job.order_lead_h / 24:g} days before the delivery"


def _signs(job: Job, tasks: Sequence[nouns.PlannedTask]) -> str:
    """Return who signs: of those who open the crates the first who may lead."""
    intake = next((t for t in tasks if t.phase == "intake"), None)
    if intake is None:
        return ""
    names = {p.id: p.name for p in job.crew}
    trades = {p.id: set(p.trades) for p in job.crew}
    lead = next(
        (p for p in intake.team if trades[p] & set(intake.lead)), intake.team[0]
    )
    return f"{names[lead]} signs"


def _holes(tasks: Sequence[nouns.PlannedTask]) -> str:
    return str(
        sum(int(t.quantity.partition(" ")[0]) for t in tasks if t.phase == "drill")
    )


def _waste(
    job: Job,
    takeoff: TakeOff,
    supplies: Sequence[PlannedSupply],
    *,
    fumes: bool,
) -> Iterable[str]:
    """Yield what is left of the work, kind by kind, with its amount."""

    def left(*ids: str) -> float:
        own = (s for s in supplies if s.id.partition(".")[0] in ids)
        return sum(s.with_waste - s.net for s in own)

    def packs(id_: str) -> int:
        return sum(s.packs for s in supplies if s.id == id_)

    builds = job.repaint is None
    out_m2 = sum(b.opening_m2 for b in takeoff.built if builds)
    gypsum_m2 = out_m2 + left("board")
    if gypsum_m2:
        kg = gypsum_m2 * figure("board_kg_m2")
        yield f"gypsum: {job.units.area(gypsum_m2)} of board, about {kg:.0f} kg"
    if compound := left(*COMPOUNDS):
        yield f"compound from pans: about {job.units.volume(compound)}"
    if paint := left(*PAINTS):
        yield f"paint left over: about {job.units.volume(paint)}"
    if mortar := left("mortar"):
        yield f"mortar: about {job.units.volume(mortar)}"
    if cans := packs("foam"):
        yield (
            f"foam: {cans} can{'s' * (cans != 1)}, by their label, never pierced or burnt"
        )
    if fumes:
        yield (
            "rags and sleeves with solvent: into a closed metal can, off the site each "
            "day as hazardous waste"
        )
    if not builds:
        return
    width = job.kit.module_width_mm
    if cut := [c for b in takeoff.built for c in b.cut_mm]:
        rest = sum(width - c for c in cut)
        modules = f"{len(cut)} module{'s' * (len(cut) != 1)}"
        yield f"offcuts of {modules}: {job.units.length(rest)} of cove in all"
    count = len(crates(takeoff, job.kit))
    yield f"packaging: {count} crate{'s' * (count != 1)} and what is in them"
