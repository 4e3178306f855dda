"""An outsider's check of plan.json: every rule again from the file alone.

Knows nothing of the program: the standard library, the file, and the rules as a
crew would state them. Returns faults in words; an empty list is a sound plan.

`planner.judge` judges each plan by the job's facts. This one shows something else: that
the file alone, which is all that others are given, is enough to check a plan.
"""

import math
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def overlap(a, b) -> bool:
    return bool(a[0] < b[1] and b[0] < a[1])


def table_h(c: float, rh: float) -> float:
    """Return the drying table's hours, by a law fitted to it from memory.

    t = 23.05 / (ps^1.037 (1 - RH)^0.900), ps by Buck 1981 in kPa.
    """
    ps = 0.61121 * math.exp(17.502 * c / (240.97 + c))
    return float(23.05 / (ps**1.037 * (1 - rh / 100) ** 0.900))


class Outsider:
    def __init__(self, plan: dict[str, Any]) -> None:
        self.plan = plan
        (self.stage,) = plan["stages"]
        self.tasks = {t["id"]: t for t in plan["tasks"]}
        self.people = {c["id"]: c for c in plan["crew"]}
        self.products = {p["id"]: p for p in plan["products"]}
        self.waits = {(w["task"], w["product"], w["stage"]): w for w in plan["waits"]}
        self.faults: list[str] = []

    def say(self, *, unless: bool, words: str) -> None:
        if not unless:
            self.faults.append(words)

    # -------------------------------------------------------------- helpers

    def span(self, task: str):
        return at(self.tasks[task]["start"]), at(self.tasks[task]["end"])

    def spans(self, pairs):
        return [(at(a), at(b)) for a, b in pairs]

    def ready(self, task: str, product: str | None, stage: str | None) -> datetime:
        if product is None:
            return at(self.tasks[task]["end"])
        return at(self.waits[(task, product, stage)]["ready"])

    def ticks(self, start: datetime, end: datetime):
        step = timedelta(minutes=self.plan["tick_minutes"])
        while start < end:
            yield start
            start += step

    def air(self, when: datetime) -> tuple[float, float]:
        air = self.stage["air"]
        step = timedelta(minutes=air["tick_minutes"])
        i = (when - at(air["start"])) // step
        return air["air_c"][i], air["humidity_pct"][i]

    def wall(self, when: datetime) -> tuple[float, float]:
        """The air at the coldest wall: the room's vapour, at the wall's temperature."""
        c, rh = self.air(when)
        cold = c - self.stage["air"]["wall_colder_delta_k"]
        magnus = math.exp(17.625 * c / (243.04 + c) - 17.625 * cold / (243.04 + cold))
        return cold, min(rh * magnus, 100.0)

    def air_changes(self, when: datetime) -> float:
        air = self.stage["air"]
        step = timedelta(minutes=air["tick_minutes"])
        return float(air["changes_per_h"][(when - at(air["start"])) // step])

    # ---------------------------------------------------------------- rules

    def check(self) -> list[str]:
        for task in self.plan["tasks"]:
            self.check_team(task)
            self.check_spans(task)
            self.check_labour(task)
            self.check_limits(task)
        self.check_one_place()
        self.check_links()
        self.check_waits()
        self.check_windows()
        self.check_trade()
        self.check_apart()
        self.check_bays()
        self.check_closure()
        return self.faults

    def check_team(self, task) -> None:
        trades = [set(self.people[p]["trades"]) for p in task["team"]]
        may = set(task["lead"]) | set(task["help"])
        self.say(unless=bool(trades), words=f"{task['id']}: nobody")
        self.say(
            unless=all(t & may for t in trades), words=f"{task['id']}: wrong trade"
        )
        self.say(
            unless=any(t & set(task["lead"]) for t in trades),
            words=f"{task['id']}: nobody of the leading trade",
        )

    def check_spans(self, task) -> None:
        spans = self.spans(task["spans"])
        start, end = self.span(task["id"])
        self.say(
            unless=spans[0][0] == start and spans[-1][1] == end,
            words=f"{task['id']}: spans don't fill start to end",
        )
        for span in spans:
            for person in task["team"]:
                opens = self.spans(self.people[person]["open"])
                self.say(
                    unless=any(a <= span[0] and span[1] <= b for a, b in opens),
                    words=f"{task['id']}: {person} is not open in {span}",
                )
            if task["on_stage"]:
                shut = self.spans(self.stage["shut"])
                self.say(
                    unless=not any(overlap(span, s) for s in shut),
                    words=f"{task['id']}: stage shut",
                )
            if task["loud"]:
                quiet = [(at(q["start"]), at(q["end"])) for q in self.stage["quiet"]]
                self.say(
                    unless=not any(overlap(span, q) for q in quiet),
                    words=f"{task['id']}: loud in quiet hours",
                )
        if task["one_go"]:
            self.say(unless=len(spans) == 1, words=f"{task['id']}: not in one go")
        for (_, a), (b, _) in pairwise(spans):
            for tick in self.ticks(a, b):
                self.say(
                    unless=not self.workable(task, tick)
                    or self.resting(task, tick)
                    or self.day_h(task, tick) <= task["set_up_h"],
                    words=f"{task['id']}: idle at {tick} though it could be worked",
                )

    def workable(self, task, tick: datetime) -> bool:
        step = timedelta(minutes=self.plan["tick_minutes"])
        now = (tick, tick + step)
        for person in task["team"]:
            opens = self.spans(self.people[person]["open"])
            if not any(a <= now[0] and now[1] <= b for a, b in opens):
                return False
        shut = self.spans(self.stage["shut"]) if task["on_stage"] else []
        if task["loud"]:
            shut += [(at(q["start"]), at(q["end"])) for q in self.stage["quiet"]]
        return not any(overlap(now, s) for s in shut)

    def resting(self, task, tick: datetime) -> bool:
        return any(
            a <= tick < b
            for person in task["team"]
            for a, b in self.spans(self.people[person]["rests"])
        )

    def day_of(self, task, tick: datetime) -> tuple[int, ...]:
        """The day of a team: in which of their shifts each of it is."""
        return tuple(
            sum(a <= tick for a, _ in self.spans(self.people[person]["shifts"]))
            for person in task["team"]
        )

    def day_h(self, task, tick: datetime) -> float:
        """The hours that the team could work in the day around a tick."""
        day = self.day_of(task, tick)
        near = timedelta(hours=24)
        ticks = [
            t
            for t in self.ticks(tick - near, tick + near)
            if self.workable(task, t)
            and not self.resting(task, t)
            and self.day_of(task, t) == day
        ]
        return float(len(ticks) * self.plan["tick_minutes"] / 60)

    def check_labour(self, task) -> None:
        """A team gives no more than its hours, and not much more than are needed.

        Each day begins with setting up, which is rounded up to whole ticks.
        """
        hours: dict[tuple[int, ...], float] = {}
        for a, b in self.spans(task["spans"]):
            day = self.day_of(task, a)
            hours[day] = hours.get(day, 0.0) + (b - a).total_seconds() / 3600
        tick_h = self.plan["tick_minutes"] / 60
        set_up = math.ceil(task["set_up_h"] / tick_h - 1e-9) * tick_h
        for given in hours.values():
            self.say(
                unless=given > set_up, words=f"{task['id']}: set up, and no more done"
            )
        people = len(task["team"])
        net = sum(given - set_up for given in hours.values()) - task["elapsed_h"]
        self.say(
            unless=net * people >= task["person_hours"] - 0.0005,  # as rounded there
            words=f"{task['id']}: {net * people} h for {task['person_hours']} h of work",
        )
        most = task["person_hours"] / people / 0.6 + self.plan["tick_minutes"] / 60
        self.say(unless=net <= most + 1e-6, words=f"{task['id']}: too long, {net} h")

    def check_limits(self, task) -> None:
        if not task["product"] or not task["dry_stage"]:
            return
        product = self.products[task["product"]]
        start, _ = self.span(task["id"])
        ready = self.ready(task["id"], task["product"], task["dry_stage"])
        for tick in self.ticks(start, ready):
            c, rh = self.air(tick)
            wall_c, _ = self.wall(tick)
            b, g = (17.625, 243.04)  # Magnus form, Alduchov and Eskridge 1996
            gamma = math.log(max(rh, 1e-6) / 100) + b * c / (g + c)
            dew = g * gamma / (b - gamma)
            fine = (
                (product["min_c"] is None or wall_c >= product["min_c"] - 1e-6)
                and (product["max_c"] is None or c <= product["max_c"] + 1e-6)
                and (
                    product["max_rh_pct"] is None or rh <= product["max_rh_pct"] + 1e-3
                )
                and (
                    product["dew_margin_delta_k"] is None
                    or wall_c - dew >= product["dew_margin_delta_k"] - 0.05
                )
            )
            self.say(unless=fine, words=f"{task['id']}: air at {tick}: {c} °C, {rh} %")
        back = timedelta(hours=product["min_c_before_h"])
        first = max(start - back, at(self.stage["air"]["start"]))
        for tick in self.ticks(first, start) if product["min_c"] is not None else ():
            self.say(
                unless=self.wall(tick)[0] >= product["min_c"] - 1e-6,
                words=f"{task['id']}: cold before, at {tick}",
            )

    def check_one_place(self) -> None:
        for person in self.people.values():
            own = sorted(
                (at(a), at(b), t["id"])
                for t in self.plan["tasks"]
                if person["id"] in t["team"]
                for a, b in t["spans"]
            )
            for (_, end, one), (start, _, two) in pairwise(own):
                self.say(
                    unless=end <= start,
                    words=f"{person['id']} in two places: {one}, {two}",
                )
            rest = timedelta(hours=person["rest_h"])
            days = [
                [(a, b) for a, b, _ in own if s <= a and b <= e]
                for s, e in self.spans(person["shifts"])
            ]
            worked = [(d[0][0], d[-1][1]) for d in days if d]
            for (_, end), (start, _) in pairwise(worked):
                self.say(
                    unless=start - end >= rest, words=f"{person['id']}: too little rest"
                )

    def check_links(self) -> None:
        for link in self.plan["links"]:
            ready = self.ready(link["before"], link["product"], link["stage"])
            start, _ = self.span(link["after"])
            self.say(
                unless=start >= ready,
                words=f"{link['after']} before {link['before']} is ready",
            )

    def check_waits(self) -> None:
        """Drying compound again by a law fitted to the drying table, within 15 %."""
        for wait in self.plan["waits"]:
            begins, ready = at(wait["begins"]), at(wait["ready"])
            self.say(
                unless=begins == self.span(wait["task"])[1],
                words=f"{wait['task']}: wait doesn't begin at its end",
            )
            self.say(
                unless=begins <= at(wait["likely"]) <= ready,
                words=f"{wait['task']}: likely later than planned",
            )
            stages = self.products[wait["product"]]["stages"]
            stage = next(s for s in stages if s["stage"] == wait["stage"])
            if stage["law"] == "airing":
                self.check_fumes(wait, stage)
            if stage["law"] == "film_cure":
                self.check_film(wait, stage)
            if stage["law"] != "drying_table" or ready == begins:
                continue
            share = 0.0
            for tick in self.ticks(begins, ready):
                hours = self.drying_h(wait["product"], stage, tick)
                for over in wait["covered_by"]:  # its own water, then theirs
                    dry = self.products[over]["stages"]
                    dry = next(s for s in dry if s["stage"] == wait["stage"])
                    hours += self.drying_h(over, dry, tick)
                share += self.plan["tick_minutes"] / 60 / hours
            self.say(
                unless=0.85 <= share <= 1.2,
                words=f"{wait['task']}: {share:.2f} of its drying when called ready",
            )

    def drying_h(self, product, stage, tick) -> float:
        """Return the hours in which a coat of compound dries in the air of a tick."""
        numbers = stage["numbers"]
        layer = numbers.get("layer_mm")
        thick = self.products[product]["thickness_mm"] or layer
        hours = table_h(*self.wall(tick))
        if "hours_h" in numbers:  # of the crew's own, longer or shorter by so much
            hours *= numbers["hours_h"] / table_h(numbers["at_c"], numbers["at_rh_pct"])
        hours *= (thick / layer if layer else 1.0) * (1 + stage["margin_frac"])
        hours *= numbers.get("ground_times", 1.0)
        hours /= 1 + 3.6 / 4 * numbers.get("air_m_s", 0.0)  # Uno's V + 4
        return float(hours)

    def check_film(self, wait, stage) -> None:
        """A film is no sooner hard than its sheet says, and later for each degree of cold.

        Nobody walks on it before it may be recoated.
        """
        begins, ready = at(wait["begins"]), at(wait["ready"])
        recoat = self.ready(wait["task"], wait["product"], stage["after"])
        numbers, share = stage["numbers"], 0.0
        rest = max(numbers["hours_h"] - numbers["water_h"], 0.0)
        for tick in self.ticks(recoat, ready) if rest else ():
            cold = (
                max(numbers["at_c"] - self.wall(tick)[0], 0.0) / numbers["doubling_k"]
            )
            share += self.plan["tick_minutes"] / 60 / (rest * 2**cold)
        self.say(
            unless=ready >= recoat and (not rest or share >= 0.995),
            words=f"{wait['task']}: {share:.2f} of its cure when called ready",
        )
        self.say(
            unless=(ready - begins).total_seconds() / 3600 >= numbers["hours_h"] * 0.97,
            words=f"{wait['task']}: sooner ready than its data sheet says",
        )

    def check_fumes(self, wait, stage) -> None:
        """Fumes decay with the air changes once the coat is dry (ASTM E741)."""
        dry = self.ready(wait["task"], wait["product"], stage["after"])
        left = 1.0
        for tick in self.ticks(dry, at(wait["ready"])):
            changes = self.air_changes(tick) / (1 + stage["margin_frac"])
            left *= math.exp(-changes * self.plan["tick_minutes"] / 60)
        most = stage["numbers"]["left_frac"]
        self.say(
            unless=left <= most * 1.001,
            words=f"{wait['task']}: {left:.3f} of the fumes left when called clear",
        )

    def check_trade(self) -> None:
        """The order of the work as a crew lead knows it, by kinds of work alone."""
        works: dict[str, list[Any]] = {}
        for task in self.plan["tasks"]:
            works.setdefault(task["phase"], []).append(task)
        for before, after, same_bay in (
            ("fur", "board", True),
            ("plug", "board", True),
            ("bed", "anchor", True),
            ("anchor", "pack", True),
            ("anchor", "foam", True),
            ("tape", "skim-coat", True),
            ("skim-coat", "rub", True),
            ("read-slab", "floor", False),
            ("scuff", "wipe", False),
            ("rub", "wipe", False),
            ("wipe", "prime", False),
        ):
            for one in works.get(before, []):
                for two in works.get(after, []):
                    near = not same_bay or set(one["bays"]) & set(two["bays"])
                    self.say(
                        unless=not near or at(one["end"]) <= at(two["start"]),
                        words=f"{two['id']} before {one['id']}",
                    )
        for corner in works.get("set-corner", []):
            self.say(
                unless=len(corner["spans"]) == 1, words=f"{corner['id']}: left loose"
            )

    def check_windows(self) -> None:
        """A coat is covered before its window closes, or sanded again in between."""
        for window in self.plan["windows"]:
            _, end = self.span(window["before"])
            start, _ = self.span(window["after"])
            if window["sanded_again"]:
                sanded = self.span(window["sanded_again"])
                self.say(
                    unless=end <= sanded[0] and sanded[1] <= start,
                    words=f"{window['sanded_again']}: not between its coats",
                )
                continue
            latest = next(
                x
                for x in self.products[window["product"]]["latest"]
                if x["name"] == window["latest"]
            )
            numbers, used = latest["numbers"], 0.0
            for tick in self.ticks(end, start):
                hours = numbers["hours_h"]
                if (
                    latest["law"] == "thermal_doubling"
                ):  # doubles with each step of cold
                    cold = numbers["at_c"] - self.air(tick)[0]
                    hours *= 2 ** (cold / numbers["doubling_k"])
                used += self.plan["tick_minutes"] / 60 / hours
            self.say(
                unless=used <= 1.001,
                words=f"{window['after']}: covers {window['before']} too late",
            )

    def check_apart(self) -> None:
        for pair in self.plan["apart"]:
            start, _ = self.span(pair["task"])
            clear = self.ready(pair["task"], pair["product"], pair["stage"])
            a, b = self.span(pair["other"])
            self.say(
                unless=b <= start or a >= clear,
                words=f"{pair['other']} beside {pair['task']}",
            )

    def check_bays(self) -> None:
        for bay in self.stage["bays"]:
            inside = sorted(
                (*self.span(t["id"]), t["id"])
                for t in self.plan["tasks"]
                if t["on_stage"] and bay["id"] in t["bays"]
            )
            for (_, end, one), (start, _, two) in pairwise(inside):
                self.say(unless=end <= start, words=f"two teams in a bay: {one}, {two}")

    def check_closure(self) -> None:
        start, end = (at(x) for x in self.stage["closure"])
        first = min(self.span(t["id"])[0] for t in self.plan["tasks"] if t["on_stage"])
        self.say(unless=start == first, words="closure doesn't start with the work")
        for returning in self.stage["returns"]:
            terms = [
                self.ready(t["task"], t["product"], t["stage"])
                for t in self.stage["return_terms"]
                if t["returning"] == returning["kind"]
            ]
            self.say(
                unless=at(returning["when"]) == max(terms),
                words=f"{returning['kind']} is not the last thing waited for",
            )
        full = next(r for r in self.stage["returns"] if r["kind"] == "full service")
        self.say(unless=at(full["when"]) == end, words="closure doesn't end in service")
        for booking in self.stage["bookings"]:
            taken = (at(booking["start"]), at(booking["end"]))
            self.say(
                unless=not overlap((start, end), taken),
                words=f"closure over booking {booking['reason']}",
            )
        parts = sum(s["minutes"] for s in self.stage["division"])
        self.say(
            unless=parts * 60 == (end - start).total_seconds(),
            words="the closure's parts don't add up",
        )


def faults_of(plan: dict[str, Any]) -> list[str]:
    """Return every fault that the plan's own file shows."""
    return Outsider(plan).check()
