"""A day of a plan in words: what every paper of that day prints, each of its numbers in one place and in one form.

What a day may tell is said here too, for every paper. None has a date while a hazard shuts its way, or a hold point is
closed that its work needs, nor has a day after one that has none (`dated`, `may_be_told`). None has an hour or a
temperature on which nothing is to be set (`unset`): its way is shut, or own heat is not open. A day from outside that
waits for its lock is told by the clock alone, for those who release it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Literal
from zoneinfo import ZoneInfo

from recover.base.addresses import JOB
from recover.base.measures import SYMBOLS, as_read, show_hours_minutes, show_number, show_quantity
from recover.controller.capability import Degrees
from recover.controller.programme import shown, shown_k_h
from recover.judged.assessment import Assessment
from recover.judged.dry import least_for_dry
from recover.plan.installed import controller_of
from recover.plan.kinds import as_told, figure, kinds
from recover.plan.log import begun, halted, log_of, shut, wetted
from recover.plan.of_job import GATE, HANDED_OVER
from recover.plan.ways import WayCard, ways
from recover.report.paper import View, capital, percent, share
from recover.report.words import ShutWhy, words

if TYPE_CHECKING:
    from recover.judged.standing import Hold
    from recover.physics.draws import Spread
    from recover.plan.whole import Criterion, Day, Expected, JobPlan, KilnPlan, Number, Opens, TimedStep

AT_THE_KILN = ("hands_off", "isolated")
"""The hold points that must be released before anybody works at a kiln that is dried from outside: it is isolated,
locked off and proven dead all the while."""

INSIDE = AT_THE_KILN[-1]
"""The hold point after which a hand goes inside, or a cover comes off."""

HANDOVER_POINT = HANDED_OVER
"""The hold point after which the owner uses a kiln again."""

BOARDS_WAIT = {"out": ("hazards", "isolated", "consent"), "in": ("isolated",)}
"""The hold points that must be released before boards come out, or go in."""

FORBIDS = ("closed", "suspended")
"""How a hold point stands that no name alone would release."""


def day_view(found: Assessment, plan: JobPlan, kiln: KilnPlan, day: Day) -> View:
    """Return a day in words. What it has not is empty, and so is `date` where it may have none (see `dated`), and all
    hours and temperatures where nothing is to be set (see `unset`)."""
    told, stays = as_it_may_be_set(found, kiln, day), unset(found, kiln, day)
    say, of = words().day, _Shown(told, ZoneInfo(plan.zone), _degrees(found, kiln, told))
    return {
        "number": day.number, "name": words().plan.day(day=day.number), "of": say.of(days=len(kiln.days)),
        "date": day_text(day.date) if dated(found, kiln, day) else "", "after": after_release(found, kiln, day),
        "holds": _titles(_at_the_kiln(found, kiln, day)), "waits": _waits(found, kiln, day),
        "gate": own_heat(day) and (not kiln.gate_open or bool(awaited(found, kiln, day))),
        "phase": say.phase[day.phase],
        "way": way_of(day), "boards": _boards(found, kiln, day),
        "attended": "" if stays and day.attended_from else of.attended,
        "ends": of.ends, "runs_on": runs_on(day), "by_hand": day.by_hand,
        "source": capital(day.source_of_heat or ""), "off": (day.off_switch or "").rstrip("."),
        "top": of.degc(told.top_degc), "cutout": of.cutout,
        "numbers": [_number(one) for one in told.numbers], "beside": [_number(one) for one in _beside(told)],
        "steps": list(of.steps()), "runs": list(of.runs()),
        "readings": [of.reading(one) for one in sorted(told.readings, key=_when)],
        "left": share(day.left), "litres": spanned(day.litres, "litre"), "kwh": spanned(day.kwh, "kWh"),
    }  # fmt: skip


# ---------------------------------------------------------------------------------------- may it have a date


def own_heat(day: Day) -> bool:
    """Whether a day is heated with the kiln's own elements, or waits for what opens them."""
    return day.phase != "outside" or day.waits_for == GATE


def idle(day: Day) -> bool:
    """Whether nothing is switched on at all on a day, as when boards come out or go in."""
    return not (day.source_of_heat or day.off_switch or day.runs_on)


def why_shut(found: Assessment, kiln: KilnPlan, day: Day) -> dict[ShutWhy, tuple[str, ...]]:
    """Return what shuts the way of a day as things stand now, by its kind: water that came again, a stop whose cause
    nobody has logged, readings that no draw shows, one that is to come; hazards or standing water in the room."""
    way = "own" if own_heat(day) else day.way
    learnt = kiln.learnt if kiln.learnt and kiln.learnt.shut and day.number >= kiln.learnt.goes_on else None
    by: dict[ShutWhy, tuple[str, ...]] = {
        "water": wetted(kiln, found.answers, day.date), "stop": halted(kiln, found.answers, day.date),
        "misfit": learnt.misfits if learnt else (),
        "room": tuple(line for one in found.shut if (one.kiln, one.way) == (kiln.kiln, way) for line in one.because),
    }  # fmt: skip
    return {why: lines for why, lines in by.items() if lines}


def shut_by(found: Assessment, kiln: KilnPlan, day: Day) -> list[str]:
    """Return why the way of a day is shut, whatever shuts it; empty where nothing does."""
    return [line for lines in why_shut(found, kiln, day).values() for line in lines]


def withdrawn(found: Assessment, kiln: KilnPlan) -> tuple[str, ...]:
    """Return why nothing holds any more that a plan tells of its end; empty where it holds."""
    learnt = kiln.learnt if kiln.learnt and kiln.learnt.shut else None
    return (*shut(kiln, found.answers, date.max), *(learnt.misfits if learnt else ()))


def gate(found: Assessment, kiln: KilnPlan) -> Hold:
    """Return the hold point before a kiln is heated with its own elements."""
    return found.hold(GATE, kiln.kiln)


def awaited(found: Assessment, kiln: KilnPlan, day: Day) -> list[Hold]:
    """Return the hold points that the work of a day needs and that are not released, in the order of release.

    Nothing is done on a day on which nobody comes, from outside. A hand inside that has only aged holds up no day on
    which nobody puts one in (`aged_inside`).
    """
    if own_heat(day):
        return [hold for hold in (gate(found, kiln),) if hold.stands != "released"]
    if day.attended_from is None:
        return []
    needed = (*AT_THE_KILN, *(BOARDS_WAIT[day.boards] if day.boards else ()))
    aged = aged_inside(found, kiln, day)
    return [
        one for one in found.holds
        if one.point.id in needed and one.at in (kiln.kiln, JOB) and one.stands != "released" and one not in aged
    ]  # fmt: skip


def aged_inside(found: Assessment, kiln: KilnPlan, day: Day) -> list[Hold]:
    """Return the hold point of a hand inside, where it has only aged since a drying was begun under it and no board
    comes out or goes in on a day from outside: the lock hangs, and nobody reaches in."""
    if own_heat(day) or day.boards or day.attended_from is None:
        return []
    hold = found.hold(INSIDE, kiln.kiln)
    ended = min((one.ended_at for one in hold.signatures if one.aged and one.ended_at), default=None)
    log = [one for one in log_of(found.answers, kiln.kiln) if ended and one.measured < ended]
    return [hold] if hold.aged and begun(kiln, log) else []


def forbidden(found: Assessment, kiln: KilnPlan, day: Day) -> bool:
    """Whether a hold point that the work of a day needs is closed or suspended: no name alone would release it."""
    lacks = own_heat(day) and not kiln.gate_open
    return lacks or any(one.stands in FORBIDS for one in awaited(found, kiln, day))


def unset(found: Assessment, kiln: KilnPlan, day: Day) -> bool:
    """Whether nothing is to be set on a day as things stand: a hazard shuts its way, or something forbids it."""
    return bool(shut_by(found, kiln, day)) or (own_heat(day) and forbidden(found, kiln, day))


def as_it_may_be_set(found: Assessment, kiln: KilnPlan, day: Day) -> Day:
    """Return a day as every paper may tell it: without an hour, a step and what is set or read where nothing is to be.

    What was assumed of equipment and room stays, for the appendix and whoever reads it by program.
    """
    if not unset(found, kiln, day):
        return day
    return replace(
        day, attended_from=None, attended_to=None, steps=(), runs=(), top_degc=None, cutout_degc=None,
        programme_ends=None, readings=(), numbers=_beside(day),
    )  # fmt: skip


def _beside(day: Day) -> tuple[Number, ...]:
    """Return the numbers of a day that are not what it is set to at most, or its cut-out, under another name."""
    said = (day.top_degc, day.cutout_degc)
    return tuple(one for one in day.numbers if not (one.unit == "°C" and one.value in said))


def _number(one: Number) -> View:
    return {"what": capital(one.what), "value": show_quantity(one.value, one.unit)}


def clock_of(moment: datetime, day: Day, zone: ZoneInfo) -> str:
    """Print a moment of a day by the clock of the place; past the midnight of the day, that it is the next one."""
    local = moment.astimezone(zone)
    return f"{local:%H:%M}" if local.date() == day.date else words().day.next_day(at=f"{local:%H:%M}")


def dated(found: Assessment, kiln: KilnPlan, day: Day) -> bool:
    """Whether a day has a date: nothing forbids it, nor a day before it: how long that takes nobody knows.

    A date releases nothing: named people do, on the day.
    """
    first = _first_undated(found, kiln)
    return first is None or day.number < first


def _first_undated(found: Assessment, kiln: KilnPlan) -> int | None:
    waits = (one.number for one in _to_come(found, kiln) if shut_by(found, kiln, one) or forbidden(found, kiln, one))
    return next(waits, None)


def may_be_told(found: Assessment, kiln: KilnPlan, on: date) -> bool:
    """Whether a date of a plan may be printed, of a phase or of any path: no day without a date comes before it, and
    where all days have theirs, nothing has come that shuts what is planned after them."""
    first = _first_undated(found, kiln)
    if first is not None:
        return on < next(day.date for day in kiln.days if day.number == first)
    return not kiln.days or on <= kiln.days[-1].date or not withdrawn(found, kiln)


def _to_come(found: Assessment, kiln: KilnPlan) -> list[Day]:
    """Return the days from today on; all of them, until a drying was begun: a day that nobody worked still waits."""
    if not begun(kiln, log_of(found.answers, kiln.kiln)):
        return list(kiln.days)
    return [day for day in kiln.days if day.date >= found.answers.now.date()]


def after_release(found: Assessment, kiln: KilnPlan, day: Day) -> int:
    """Return which day after a release one without a date is; those of own elements count from their own; else 0."""
    first = _first_undated(found, kiln)
    if first is None or day.number < first:
        return 0
    if own_heat(day) and forbidden(found, kiln, day):
        first = max(first, next(one.number for one in kiln.days if own_heat(one)))
    return day.number - first + 1


def why_undated(found: Assessment, plan: JobPlan) -> str:
    """Return for each kiln why none of its days can be dated."""
    return " ".join(f"{kiln.label}: {' '.join(_reasons(found, kiln))}" for kiln in plan.kilns)


def _reasons(found: Assessment, kiln: KilnPlan) -> Iterator[str]:
    yield from kiln.missing
    if not kiln.days:
        yield from filter(None, [kiln.because or words().day.undated["none"]])
    shuts = dict.fromkeys(line for day in kiln.days for line in shut_by(found, kiln, day))
    first = next((day for day in _to_come(found, kiln) if forbidden(found, kiln, day)), None)
    if shuts or first is None:
        yield from shuts
    elif own_heat(first):
        yield words().day.undated["gate"]
    else:
        yield words().day.waits(holds=", ".join(_titles(awaited(found, kiln, first))))


def _titles(holds: Iterable[Hold]) -> list[str]:
    return [f"“{one.point.title}”" for one in holds]


def _at_the_kiln(found: Assessment, kiln: KilnPlan, day: Day) -> list[Hold]:
    """Return what every day from outside waits for, whatever else is done on it."""
    return [one for one in awaited(found, kiln, day) if one.point.id in AT_THE_KILN]


def _waits(found: Assessment, kiln: KilnPlan, day: Day) -> str:
    """Say which hold points a day from outside waits for as they stand now, as every such day does; of one that has
    only aged, what is not done before it is signed anew."""
    holds, aged = _titles(_at_the_kiln(found, kiln, day)), _titles(aged_inside(found, kiln, day))
    waits = [words().day.waits(holds=", ".join(holds))] if holds else []
    return " ".join([*waits, *(words().day.aged(hold=one) for one in aged), *(_reads_inside(day) if aged else ())])


def _reads_inside(day: Day) -> Iterator[str]:
    """Yield what of a day is not read before a hand may go in, or a cover come off; nothing where nothing is."""
    read = {one.what for one in day.readings}
    if inside := [kind.label for kind in kinds().values() if kind.inside and kind.id in read]:
        yield words().day.aged_reads(readings=", ".join(inside))


def _boards(found: Assessment, kiln: KilnPlan, day: Day) -> str:
    """Say that boards come out or go in, and which hold points that waits for as they stand now."""
    if not day.boards:
        return ""
    say, wanted = words().day, [
        one for one in awaited(found, kiln, day) if one.point.id in BOARDS_WAIT[day.boards]
    ]  # fmt: skip
    waits = [say.boards_wait(holds=", ".join(_titles(wanted)))] if wanted else []
    return " ".join([say.boards[day.boards], *waits])


# ---------------------------------------------------------------------------------------- words that papers share


def way_card(way: str) -> WayCard | None:
    """Return the card of a way to dry; None for a day of the proof, which has none."""
    return next((card for card in ways().way if card.id == way), None)


def card_of(day: Day) -> WayCard | None:
    """Return what is done on a day, and when it stops: by its way, the proof by own elements.

    Where nothing is switched on it is what every way from outside has in common, and no rule names a switch.
    """
    card, shared = way_card("own" if own_heat(day) else day.way), ways().shared
    if card is None or not idle(day):
        return card
    parts = (shared["every"], shared["external"])
    stop = [line for part in parts for line in part.stop if "{off}" not in line]
    return replace(card, routine=[check for part in parts for check in part.routine], stop=stop, go_on="")


def way_title(way: str) -> str:
    """Return the title of a way to dry; nothing for a day of the proof."""
    card = way_card(way)
    return card.title if card else ""


def way_of(day: Day) -> str:
    """Return the way of a day as it is headed: that nothing is switched on, where somebody comes and nothing is."""
    idles = idle(day) and day.attended_from is not None and not day.boards
    return words().day.idle if idles else way_title(day.way)


def day_text(day: date) -> str:
    """Print a date for people who are there: `Mon 30 Nov 2026`."""
    return f"{day:%a} {day.day} {day:%b %Y}"


def spanned(value: Spread, unit: str) -> str:
    """Print what was reckoned by draws: the middle one, and between which nine in ten and one in ten lie."""
    low, mid, high = (show_number(one, 2) for one in (value.p10, value.p50, value.p90))
    middle = show_quantity(value.p50, unit, figures=2)
    return middle if low == mid == high else f"{middle} ({words().span(first=low, last=high)})"


def runs_on(day: Day) -> str:
    """Say what runs with nobody there after a day: nothing, unless that was agreed."""
    say = words().day
    return say.runs_on(what=", ".join(day.runs_on)) if day.runs_on else say.nothing_runs


def criteria(kiln: KilnPlan, opens: Opens) -> list[Criterion]:
    """Return the readings that open the way past boiling, or end the drying: all of them are to be so."""
    return [one for one in kiln.criteria if one.opens == opens]


def target(one: Criterion) -> str:
    """Print a reading with its target."""
    say = words().day.criterion
    value = say.at[one.at](value=show_quantity(one.value, one.unit, figures=as_read(one.value, one.unit)))
    if one.at_degc is None:
        return say.what[one.what](value=value)
    return say.held(value=value, degc=show_quantity(one.at_degc, "degC"))


def may_pass(kiln: KilnPlan) -> list[str]:
    """Return the readings that open the way past boiling, each with how much water may be left then."""
    say = words().day.criterion
    return [say.may_be_left(what=target(one), left=percent(one.left)) for one in criteria(kiln, "boiling")]


def before_boiling(kiln: KilnPlan) -> str:
    """Say what is read and signed before a day that passes boiling begins."""
    say, found = words().day.criterion, may_pass(kiln)
    return say.first(readings="; ".join(found)) if found else say.nothing["boiling"]


def counts_towards_done(kiln: KilnPlan, day: Day) -> bool:
    """Whether what is read on a day may say that it is dry: one of own elements, or of a path that has none."""
    return not idle(day) and (own_heat(day) or not any(map(own_heat, kiln.days)))


def handed_over_on(found: Assessment, kiln: KilnPlan) -> date | None:
    """Return when a kiln was signed over since its plan begins, whatever ended that; None where it was not."""
    hold = next((one for one in found.holds if (one.point.id, one.at) == (HANDOVER_POINT, kiln.kiln)), None)
    signed = hold.signed_on if hold else None
    return signed if signed and kiln.days and signed >= kiln.days[0].date else None


def dry_when(kiln: KilnPlan, day: Day) -> list[str]:
    """Return what must be so on a day for the kiln to be dry; that nothing says so, where nothing that is read does."""
    found = criteria(kiln, "done")
    if not counts_towards_done(kiln, day):
        return []
    if not found:
        return [words().day.criterion.nothing["done"]]
    return [of_five(one) for one in found if (day.top_degc or 0.0) >= one.from_degc]


def of_five(one: Criterion) -> str:
    """Print a reading that says dry with its target, and what it takes besides: it is no more than one of the five."""
    agree, hot = least_for_dry()
    return words().day.criterion.of_five(reading=target(one), agree=agree, degc=show_quantity(hot, "degC"))


def _degrees(found: Assessment, kiln: KilnPlan, day: Day) -> Degrees:
    """Return the degrees in which a day's heat is set: those of the controller that runs it, else °C."""
    return controller_of(found.answers, kiln.kiln).degrees if day.runs and not day.by_hand else "C"


# ---------------------------------------------------------------------------------------- one day


@dataclass(frozen=True)
class _Shown:
    """A day, where its clock hangs, and the degrees in which its heat is set."""

    day: Day
    zone: ZoneInfo
    degrees: Degrees

    def degc(self, value: float | None) -> str:
        """Print a temperature that is set, in the degrees of what it is set at, °C beside them."""
        return "" if value is None else shown(value, self.degrees)

    @property
    def cutout(self) -> str:
        """Print what the cut-out is set to; each run's own, where they differ."""
        runs = [run for run in self.day.runs if run.cutout_degc is not None]
        if len({run.cutout_degc for run in runs}) < 2:
            return self.degc(self.day.cutout_degc)
        return ", ".join(words().day.of_run(run=run.number, what=self.degc(run.cutout_degc)) for run in runs)

    def at(self, moment: datetime) -> str:
        """Print a moment by the clock of the place."""
        return clock_of(moment, self.day, self.zone)

    @property
    def attended(self) -> str:
        """From when to when somebody is there, by the clock of the place."""
        opens, closes, say = self.day.attended_from, self.day.attended_to, words().day
        if opens is None or closes is None:
            return say.nobody
        zones = [f"{moment.astimezone(self.zone):%Z}" for moment in (opens, closes)]
        changed = "" if zones[0] == zones[1] else f" {zones[0]}"
        return words().span(first=f"{self.at(opens)}{changed}", last=f"{self.at(closes)} {zones[1]}")

    @property
    def ends(self) -> str:
        """When the heat ends, and how."""
        if self.day.programme_ends is None:
            return ""
        how: Literal["hand", "programme", "heater"] = (
            "hand" if self.day.by_hand else "programme" if own_heat(self.day) else "heater"
        )
        return words().day.ends[how](at=self.at(self.day.programme_ends))

    def steps(self) -> Iterator[View]:
        """Yield the steps by the clock, where a run ends for readings a row of its own, and the end of the day.

        What is switched by hand is off before anybody reads.
        """
        say, before, off = words().day.step, 0, self.day.programme_ends
        several = len({step.run for step in self.day.steps}) > 1
        yield from self._opens()
        for step in self.day.steps:
            said = self._step(step)
            first, before = several and step.run != before, step.run
            yield self._row(step.begins, say.first(run=step.run, say=said) if first else said, "step", step.run)
            if self.day.by_hand and off and step is self.day.steps[-1]:
                yield self._row(off, say.hand_off, "off", before)
            if step.reads:
                yield self._row(step.ends, say.reads(run=step.run), "reads", step.run)
        if self.day.steps and off and not self.day.by_hand:
            yield self._row(off, say.off, "off", before)

    def _opens(self) -> Iterator[View]:
        """Yield what is done from the opening on, before the first step, and until when that may be begun."""
        opens, closes, ends = self.day.attended_from, self.day.attended_to, self.day.programme_ends
        if self.day.steps and opens and closes and ends and opens < self.day.steps[0].begins:
            latest = self.day.steps[0].begins + (closes.astimezone(UTC) - ends.astimezone(UTC)) / 2
            say = words().day.step
            opening = say.opens_by_hand if self.day.by_hand else say.opens
            yield self._row(opens, opening(latest=self.at(latest)), "opens", 0)

    def _row(self, at: datetime, say: str, kind: str, run: int) -> View:
        return {"at": self.at(at), "say": say, "kind": kind, "run": run}

    def _step(self, step: TimedStep) -> str:
        say = words().day.step
        degc, by, ends = self.degc(step.to_degc), self.at(step.hold_from), self.at(step.ends)
        if step.ramp_k_h is None:
            return say.stays(degc=degc, ends=ends)
        ramp = shown_k_h(step.ramp_k_h, self.degrees)
        if step.hold_from == step.ends:
            return say.climbs(ramp=ramp, degc=degc, by=by)
        held = show_hours_minutes((step.ends.astimezone(UTC) - step.hold_from.astimezone(UTC)) / timedelta(hours=1))
        return say.holds(ramp=ramp, degc=degc, by=by, hold=held, ends=ends)

    def runs(self) -> Iterator[View]:
        """Yield the runs as they are typed in, each with what is said of it."""
        for run in self.day.runs:
            yield {
                "name": words().day.run(run=run.number), "begins": self.degc(run.begins_degc),
                "cutout": self.degc(run.cutout_degc), "said": asdict(run.said) if run.said else None,
            }  # fmt: skip

    def reading(self, one: Expected) -> View:
        """Return a reading: what, where, when, its band with the middle, and where the day ends."""
        low, mid, high = (figure(value, one.unit) for value in (one.low, one.mid, one.high))
        stop = figure(as_told(one.stop, one.unit, down=True), one.unit)
        least = words().day.least(low=low) if low else ""
        return {
            "what": one.what, "label": ", ".join(filter(None, (words().day.read[one.what], one.place))),
            "unit": SYMBOLS.get(one.unit, one.unit), "at": self.at(one.at) if one.at else "",
            "band": f"{words().span(first=low, last=high)} ({mid})" if high else least,
            "short": f"{low}–{high}" if high else least, "stop": stop,
        }  # fmt: skip


def _when(one: Expected) -> tuple[bool, float]:
    """Order readings by the clock; what is read over the whole day comes last."""
    return one.at is None, one.at.timestamp() if one.at else 0.0
