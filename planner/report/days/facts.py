"""What holds on one day: room limits, noise and dust, how to test, what to leave alone."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from planner.languages.language import ENGLISH, Language
from planner.measures import Units
from planner.nouns.ids import bare
from planner.nouns.plan import PlannedTask, PlannedWait, Stretch
from planner.nouns.product import CLEARED, HardeningWay
from planner.nouns.used import UsedProduct
from planner.nouns.work import ReturnKind
from planner.report.drawing.view import View, minutes_between, passes
from planner.trade.data.labour import rates
from planner.trade.data.proofs import proofs

Piece = tuple[datetime, datetime, PlannedTask]
APRON = "apron"
RUNS_OUT = ("working time", "open time")


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
    return view.told(task.how.partition("; ")[2])


# ------------------------------------------------------------------- limits


def limit_words(
    product: UsedProduct, units: Units, language: Language = ENGLISH
) -> str:
    """Return the air that a product must have until it is dry; empty: any air."""
    say, parts = language.say, []
    low, high = product.min_c, product.max_c
    if low is not None and high is not None:
        parts.append(language.temperatures(low, high, units))
    elif low is not None:
        least = language.measure("temperature", low, units)
        parts.append(say("{temperature} or more", temperature=least))
    elif high is not None:
        most = language.measure("temperature", high, units)
        parts.append(say("{temperature} at most", temperature=most))
    if product.max_rh_pct is not None:
        wettest = language.number(product.max_rh_pct)
        parts.append(say("humidity at most {percent} %", percent=wettest))
    if product.dew_margin_delta_k is not None:
        margin = language.measure("kelvins", product.dew_margin_delta_k, units)
        parts.append(say("{kelvins} above the dew point", kelvins=margin))
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
                soon[product.min_c] = (task.start, view.title(task.id))
    by_words: dict[str, tuple[list[str], datetime]] = {}
    for id_, last in until.items():
        product = _product(view, id_)
        if product is not None and (words := _limits(view, product)):
            titles, latest = by_words.get(words, ([], last))
            titles = [*titles, view.told(product.title)]
            by_words[words] = (titles, max(latest, last))
    for words, (titles, latest) in by_words.items():
        yield view.say(
            "{limits}, until {when} ({products})",
            limits=words,
            when=view.when(latest),
            products="; ".join(titles),
        )
    for low, (first_at, title) in soon.items():
        yield view.say(
            "{temperature} or more, night too: {task} starts {when}",
            temperature=view.language.measure("temperature", low, view.plan.units),
            task=title,
            when=view.when(first_at),
        )


def _limits(view: View, product: UsedProduct) -> str:
    return limit_words(product, view.plan.units, view.language)


def readings(view: View, pieces: Sequence[Piece]) -> str:
    """Return when to read the air at the wall; empty where nothing is held."""
    if not pieces:
        return ""
    ends = {
        b
        for _, b, task in pieces
        if b == task.end
        and (product := _product(view, task.product)) is not None
        and _limits(view, product)
    }
    first, last = min(a for a, _, _ in pieces), max(b for _, b, _ in pieces)
    say = view.say
    parts = [say("before the start ({clock})", clock=view.clock(first))]
    if ends:
        clocks = ", ".join(view.clock(b) for b in sorted(ends))
        parts.append(say("as each coat ends ({clocks})", clocks=clocks))
    parts.append(say("at the end of the day ({clock})", clock=view.clock(last)))
    parts.append(say("about every 4 h between (MIL-HDBK-1110 §9.6.6)"))
    return ", ".join(parts)


# --------------------------------------------------------- noise, dust, fumes


def noise(view: View, pieces: Sequence[Piece]) -> Iterable[str]:
    """Yield the loud, dusty and fuming stretches of a day with clock times."""
    say = view.say

    def clocks(found: list[Stretch]) -> str:
        return ", ".join(view.clocks(a, b) for a, b in _merged(found))

    if loud := [(a, b) for a, b, t in pieces if t.loud]:
        yield say("Loud {clocks}", clocks=clocks(loud))
    if dusty := [(a, b) for a, b, t in pieces if t.dusty]:
        yield say("Dusty {clocks}", clocks=clocks(dusty))
    if fumes := [(a, b) for a, b, t in pieces if t.fumes]:
        yield say("Fumes {clocks}", clocks=clocks(fumes))


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
            what = f"{view.told(kind)}, {view.told(stage)}"
            if kind == "water":
                what = view.say("wiped, dry")
            how = f"{view.told(proof.how)} [{view.told(proof.tag)}]"
            told.setdefault(how, []).append(what)
    for how, kinds in told.items():
        what = kinds[0]
        for one in kinds[1:]:
            what = view.say("{one} and {another}", one=what, another=one)
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
        hours = view.language.duration(minutes_between(wait.begins, wait.ready))
        yield view.say(
            "{task}: {passes} {hours}, until {when}",
            task=view.title(wait.task),
            passes=view.told(passes(wait.way)),
            hours=hours,
            when=view.when(wait.ready),
        )
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
            yield view.say(
                "{task}: not fastened yet; brace it, and nobody near it until {when}",
                task=view.title(task.id),
                when=view.when(fastened),
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
        yield view.say(
            "Nobody walks on the apron until {when}",
            when=view.when(feet),
        )
    if air is not None:
        yield view.say(
            "Nobody in the room until {when}: fumes; no sparks, flames or heaters",
            when=view.when(air),
        )
    elif any(t.fumes and t.end < end < _until(view, t) for t in view.plan.tasks):
        yield view.say(
            "Nobody in the room but who lays the next coat: fumes; no sparks, flames or "
            "heaters"
        )


# ------------------------------------------------------------ other warnings


def comes_first(view: View) -> str:
    """Return what outranks every sheet, with the place whose codes the job names."""
    if view.plan.codes:
        return view.say(
            "Local codes of {place}, licensed practice and the makers' sheets come first; "
            "rules marked US are that country's",
            place=view.plan.codes,
        )
    return view.say(
        "Local codes, licensed practice and the makers' sheets come first; rules marked "
        "US are that country's"
    )


def closing(view: View, start: datetime, end: datetime) -> Iterable[str]:
    """Yield the recoat windows that close on this day or the next."""
    for window in view.plan.windows:
        if window.closes is None or window.sanded_again is not None:
            continue
        after = view.tasks[window.after]
        open_still = after.start >= start
        if open_still and start <= window.closes < end + timedelta(days=1):
            yield view.say(
                "The {latest} of {coat} closes {when}: {after} must begin by then",
                latest=view.told(window.latest),
                coat=view.title(window.before),
                when=view.when(window.closes),
                after=view.title(after.id),
            )


def if_a_joint_shows(view: View, pieces: Sequence[Piece]) -> str:
    """Return what to do and to reckon with where a check finds a joint."""
    task = next((t for _, _, t in pieces if t.touch_up_frac > 0.0), None)
    if task is None:
        return ""
    one = task.touch_up_frac
    some = 1.0 - (1.0 - one) ** max(len(task.bays), 1)
    return view.say(
        "topping on it, dry, sand, wipe, prime that bay again, then look once more. "
        "Chance {one} % for a bay, {some} % for one bay or more of {bays} (from memory, "
        "edit me); the plan holds no hours for it",
        one=view.language.number(one * 100),
        some=view.language.number(some * 100),
        bays=len(task.bays),
    )
