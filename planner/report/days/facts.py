"""What holds on one day: room limits, noise and dust, how to test, what to leave alone."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from planner.measures import Units
from planner.nouns.ids import bare
from planner.nouns.plan import Plan, PlannedTask, PlannedWait, Stretch
from planner.nouns.product import CLEARED, HardeningWay
from planner.nouns.used import UsedProduct
from planner.nouns.work import ReturnKind
from planner.report.drawing.view import View, minutes_between, passes
from planner.trade.data.labour import rates
from planner.trade.data.proofs import proofs
from planner.units import duration_words

Piece = tuple[datetime, datetime, PlannedTask]
APRON = "apron"
RUNS_OUT = ("working time", "open time")
FUMES = "fumes; no sparks, flames or heaters"


def _product(view: View, id_: str | None) -> UsedProduct | None:
    return next((p for p in view.plan.products if p.id == id_), None)


def _until(view: View, task: PlannedTask) -> datetime:
    """Return until when the air must be kept for what a task has laid."""
    wait = view.waits.get((task.id, task.product or "", task.dry_stage or ""))
    return max(task.end, wait.ready) if wait else task.end


def batches(view: View, task: PlannedTask) -> str:
    """Return in which portions a task is done, where what it lays runs out."""
    product = _product(view, task.product)
    if product is None or not any(x.name in RUNS_OUT for x in product.latest):
        return ""
    return task.how.partition("; ")[2]


# ------------------------------------------------------------------- limits


def limit_words(product: UsedProduct, units: Units) -> str:
    """Return the air that a product must have until it is dry; empty: any air."""
    parts = []
    low, high = product.min_c, product.max_c
    if low is not None and high is not None:
        parts.append(units.temperatures(low, high))
    elif low is not None:
        parts.append(f"{units.temperature(low)} or more")
    elif high is not None:
        parts.append(f"{units.temperature(high)} at most")
    if product.max_rh_pct is not None:
        parts.append(f"humidity at most {product.max_rh_pct:.0f} %")
    if product.dew_margin_delta_k is not None:
        parts.append(f"{units.kelvins(product.dew_margin_delta_k)} above the dew point")
    return ", ".join(parts)


def holds(view: View, start: datetime, end: datetime) -> Iterable[str]:
    """Yield the limits of the air that a day has to keep, and until when."""
    until: dict[str, datetime] = {}
    soon: dict[float, tuple[datetime, str]] = {}
    for task in view.plan.tasks:
        product = _product(view, task.product)
        if product is None:
            continue
        last = _until(view, task)
        if task.start < end and last > start:
            until[product.id] = max(last, until.get(product.id, last))
        before = timedelta(hours=product.min_c_before_h)
        if product.min_c is not None and task.start - before < end <= task.start:
            first = soon.get(product.min_c)
            if first is None or task.start < first[0]:
                soon[product.min_c] = (task.start, task.title)
    by_words: dict[str, tuple[list[str], datetime]] = {}
    for id_, last in until.items():
        product = _product(view, id_)
        if product is not None and (words := limit_words(product, view.plan.units)):
            titles, latest = by_words.get(words, ([], last))
            by_words[words] = ([*titles, product.title], max(latest, last))
    for words, (titles, latest) in by_words.items():
        yield f"{words}, until {view.when(latest)} ({'; '.join(titles)})"
    for low, (first_at, title) in soon.items():
        yield (
            f"{view.plan.units.temperature(low)} or more, night too: {title} starts "
            f"{view.when(first_at)}"
        )


def readings(view: View, pieces: Sequence[Piece]) -> str:
    """Return when to read the air at the wall; empty where nothing is held."""
    if not pieces:
        return ""
    ends = {
        b
        for _, b, task in pieces
        if b == task.end
        and (product := _product(view, task.product)) is not None
        and limit_words(product, view.plan.units)
    }
    first, last = min(a for a, _, _ in pieces), max(b for _, b, _ in pieces)
    parts = [f"before the start ({view.when(first)[-5:]})"]
    if ends:
        clocks = ", ".join(view.when(b)[-5:] for b in sorted(ends))
        parts.append(f"as each coat ends ({clocks})")
    parts.append(f"at the end of the day ({view.when(last)[-5:]})")
    parts.append("about every 4 h between (MIL-HDBK-1110 §9.6.6)")
    return ", ".join(parts)


# --------------------------------------------------------- noise, dust, fumes


def noise(view: View, pieces: Sequence[Piece]) -> Iterable[str]:
    """Yield the loud, dusty and fuming stretches of a day with clock times."""
    for word, found in (
        ("Loud", [(a, b) for a, b, t in pieces if t.loud]),
        ("Dusty", [(a, b) for a, b, t in pieces if t.dusty]),
        ("Fumes", [(a, b) for a, b, t in pieces if t.fumes]),
    ):
        if found:
            clocks = ", ".join(
                f"{view.when(a)[-5:]} to {view.when(b)[-5:]}" for a, b in _merged(found)
            )
            yield f"{word} {clocks}"


def _merged(spans: Iterable[Stretch]) -> list[Stretch]:
    out: list[Stretch] = []
    for a, b in sorted(spans):
        if out and a <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return out


# --------------------------------------------------------------- dry or not


def awaited(view: View, task: PlannedTask) -> list[PlannedWait]:
    """Return the waits that must be over before a task, without those of no time."""
    found = []
    for link in view.plan.links:
        if link.after != task.id or link.product is None or link.stage is None:
            continue
        wait = view.waits[(link.before, link.product, link.stage)]
        if wait.ready > wait.begins:
            found.append(wait)
    return found


def how_to_tell(view: View, pieces: Sequence[Piece]) -> Iterable[tuple[str, str]]:
    """Yield how to tell that what a day's work waits for is ready, each kind once."""
    seen: dict[tuple[str, str], None] = {}
    for a, _, task in pieces:
        if a == task.start:
            for wait in awaited(view, task):
                product = _product(view, wait.product)
                if product is not None:
                    seen.setdefault((product.kind, wait.stage))
    told: dict[str, list[str]] = {}
    for kind, stage in seen:
        proof = proofs().get((kind, stage))
        if proof is not None:
            what = "wiped, dry" if kind == "water" else f"{kind}, {stage}"
            told.setdefault(f"{proof.how} [{proof.tag}]", []).append(what)
    for how, kinds in told.items():
        what = " and ".join(kinds)
        yield what[:1].upper() + what[1:], how


def left_alone(view: View, end: datetime) -> Iterable[str]:
    """Yield what is still wet, setting or curing when the day ends, bay by bay.

    Of several coats in a bay the one that is ready last.
    """
    seen: dict[tuple[str, ...], PlannedWait] = {}
    for wait in view.plan.waits:
        if wait.begins < end < wait.ready and view.gates(wait):
            where = view.tasks[wait.task].bays
            known = seen.get(where)
            if known is None or wait.ready > known.ready:
                seen[where] = wait
    for wait in seen.values():
        task = view.tasks[wait.task]
        hours = duration_words(minutes_between(wait.begins, wait.ready))
        yield f"{task.title}: {passes(wait.way)} {hours}, until {view.when(wait.ready)}"
    yield from _kept_off(view, end)
    yield from _standing_loose(view, end)


def _standing_loose(view: View, end: datetime) -> Iterable[str]:
    """Yield the modules that stand set tonight, and aren't fastened to the wall yet."""
    loose = {id_ for id_, rate in rates().items() if rate.loose}
    fastens = {id_ for id_, rate in rates().items() if rate.fastens}
    for task in view.plan.tasks:
        if task.phase not in loose or task.end > end:
            continue
        fastened = min(
            (
                t.start
                for t in view.plan.tasks
                if t.phase in fastens and t.bays == task.bays
            ),
            default=end,
        )
        if fastened >= end:
            yield (
                f"{task.title}: not fastened yet; brace it, and nobody near it until "
                f"{view.when(fastened)}"
            )


def _kept_off(view: View, end: datetime) -> Iterable[str]:
    """Yield who must keep off the apron and out of the room tonight, until when."""
    feet: datetime | None = None
    air: datetime | None = None
    for wait in view.plan.waits:
        task = view.tasks[wait.task]
        if not wait.begins < end < wait.ready:
            continue
        if wait.stage == CLEARED:
            air = max(wait.ready, air or wait.ready)
        stages = (task.dry_stage, ReturnKind.LIGHT_FOOT_TRAFFIC)
        laid = wait.way != HardeningWay.LIES  # beside a test one may walk
        if laid and APRON in map(bare, task.bays) and wait.stage in stages:
            feet = max(wait.ready, feet or wait.ready)
    if feet is not None:
        yield f"Nobody walks on the apron until {view.when(feet)}"
    if air is not None:
        yield f"Nobody in the room until {view.when(air)}: {FUMES}"
    elif any(t.fumes and t.end < end < _until(view, t) for t in view.plan.tasks):
        yield f"Nobody in the room but who lays the next coat: {FUMES}"


# ------------------------------------------------------------ other warnings


def comes_first(plan: Plan) -> str:
    """Return what outranks every sheet, with the place whose codes the job names."""
    of = f" of {plan.codes}" if plan.codes else ""
    return (
        f"Local codes{of}, licensed practice and the makers' sheets come first; rules "
        "marked US are that country's"
    )


def closing(view: View, start: datetime, end: datetime) -> Iterable[str]:
    """Yield the recoat windows that close on this day or the next."""
    for window in view.plan.windows:
        if window.closes is None or window.sanded_again is not None:
            continue
        after = view.tasks[window.after]
        open_still = after.start >= start
        if open_still and start <= window.closes < end + timedelta(days=1):
            yield (
                f"The {window.latest} of {view.tasks[window.before].title} closes "
                f"{view.when(window.closes)}: {after.title} must begin by then"
            )


def if_a_joint_shows(pieces: Sequence[Piece]) -> str:
    """Return what to do and to reckon with where a check finds a joint."""
    task = next((t for _, _, t in pieces if t.touch_up_frac > 0.0), None)
    if task is None:
        return ""
    one = task.touch_up_frac
    some = 1.0 - (1.0 - one) ** max(len(task.bays), 1)
    return (
        "topping on it, dry, sand, wipe, prime that bay again, then look once more. "
        f"Chance {one * 100:.0f} % for a bay, {some * 100:.0f} % for one bay or more "
        f"of {len(task.bays)} (from memory, edit me); the plan holds no hours for it"
    )
