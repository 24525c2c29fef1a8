"""Makes the dryings that examples play: a kiln that the planner does not see is dried by its plans, and read.

`python -m tests.logged_jobs [which]` writes them to examples/test-kiln; it takes some minutes. A change of the model or
of the search asks for that only where the days of a plan become others: tests of the examples fail then.

The truth is one draw of another seed, on finer cells and in shorter steps, with joints that leak; in one of them its
wall is of another brick as well. Read are casing, chamber, air and piece, with the errors of `twins`: one of the
campaign by place, one of the day, one of each look; the chamber is read to 1.5 K, humidity to 2 %. Insulation is no
part of the drying model: its course is INVENTED, by `insulation_megohm`, so that a log has one.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from itertools import groupby
from pathlib import Path
from typing import Any

import numpy as np

from examples.drying import KILN, VISIT, Event, happens, moment
from recover.job.folder import open_job
from recover.judged.assessment import assess
from recover.physics.air import saturation_line
from recover.physics.figures import figures
from recover.physics.lining import Lining
from recover.physics.sensitivity import deviation
from recover.plan import of_job, store
from recover.plan.cards import FiringCard
from recover.plan.clock import elapsed_h
from recover.plan.criteria import piece_left
from recover.plan.days import place_of
from recover.plan.lived import Done, LivedKiln, _on_h
from recover.plan.of_job import Taken
from recover.plan.ways import way
from recover.plan.whole import Day, KilnPlan
from recover.report.words import words
from tests.twins import TRUTHS, Errors, Truth

SEED, TRUTH = 7919, 16
"""The truth is this one of the draws of a seed with which nobody plans."""

LEAKS = 2.0
"""So many times as open are the faces of the truth."""

ROUNDS_H = {"outside": (2.0, 6.0, 10.0), "own": (3.0, 6.0, 10.0)}
"""So many hours after it is on somebody goes round, by its phase; and when the day opens, and before it ends."""

PROOF_BEGINS = "09:30"
"""When each firing of the proof is begun, of a kiln that is cold."""

COLD_DAYS = 1
"""So many days after the date on which a firing ends its kiln is cold."""

CUTOUT_ABOVE_K = 40.0
"""So far above its top the cut-out is set for a firing of the proof; on a day of the plan as its sheet says."""

RESET_MIN = 10
"""So long after a run has ended the cut-out is set for the next one, the kiln isolated, and read back."""

PROBE_K, HUMIDITY = 1.5, 2.0
"""The errors of one look at the independent probe [K] and at a hygrometer [%]."""

WARM_DEGC, WARM_AFTER_MIN = 150.0, 300
"""How warm so small a kiln still is so long after a firing, isolated, when its insulation is read: INVENTED."""

ATTENDANT, REPAIRER = "A. Tendant", "A. Repairer"
BY_ELECTRICIAN = {"by": "E. Lectrician"}
ELECTRICIAN = {**BY_ELECTRICIAN, "role": "electrician", "licence": "0001-demo"}


def insulation_megohm(near_left: float, degc: float) -> float:
    """Return an INVENTED insulation of the elements: what water beside them leaves of 60 MΩ, falling as it warms."""
    dry = 60.0 * 10 ** (-max(degc - 20.0, 0.0) / 250)
    return dry * 10 ** (-3.9 * min(near_left, 1.0) ** 0.5 * (1 + max(degc - 20.0, 0.0) / 400))


@dataclass(kw_only=True)
class DriedTruth(Truth, LivedKiln):
    """One kiln that the planner does not see, dried by the days of its plans."""


@dataclass(frozen=True)
class Told:
    """One of the dryings: on the evenings of which days it is planned again, and what makes its truth another."""

    which: str
    title: str
    plans: tuple[int, ...]
    truth: int = TRUTH
    leaks: float = LEAKS
    wall: str = ""
    ends: Callable[[Log, Day, datetime, list[str]], bool] = lambda *_: False


def _aborted(log: Log, day: Day, at: datetime, _says: list[str]) -> bool:
    """End the first day of its own elements after its first round, and with it what is told."""
    if day.phase != "own" or at == day.attended_from:
        return False
    log.does(day.number, _clock(at, 20), read=["insulation=0.08 Mohm; 500 V; 62 degC; all joined"], **BY_ELECTRICIAN)
    log.does(
        day.number, _clock(at, 35), happened="rcd_trip", by=ATTENDANT, note="As the plug went in to read the display."
    )
    log.plans(day.number, _clock(at, 90))
    return True


def _looked(log: Log, day: Day, at: datetime, says: list[str]) -> bool:
    """End a day as a reading says; on the morning after its plan somebody looks, and it is planned once more."""
    if not any(line.startswith("STOP") for line in says):
        return False
    log.does(day.number, _clock(at, 2), happened="other", by=ATTENDANT, note="Off: the casing is beyond its stop.")
    log.plans(day.number, "20:30")
    found = "A brick of the wall taken out, cold: heavy, white, of hollow grains; the wall was relined once."
    log.does(day.number + 1, "07:20", happened="looked", by=REPAIRER, note=found)
    log.plans(day.number + 1, "07:40")
    return True


def _clock(at: datetime, later_min: int) -> str:
    return f"{at + timedelta(minutes=later_min):%H:%M}"


TOLD = (
    Told("handed-over", "A test kiln, logged from strip to hand-over.", (3, 6)),
    Told("aborted", "The same kiln; insulation, then its residual-current device, end it.", (3, 6), ends=_aborted),
    Told("another-wall", "The same kiln, of which the wall is not the one that was assumed.", (3,),
         wall="bubble_alumina", ends=_looked),
)  # fmt: skip


@dataclass(frozen=True)
class Set:
    """What the cut-out is set to for a run, and the highest set-point of that [°C]; from when on."""

    top_degc: float
    cutout_degc: float
    ready: datetime | None = None

    @property
    def said(self) -> dict[str, str]:
        """What is answered of it."""
        return {"top": f"{self.top_degc:.0f} °C", "cutout": f"{self.cutout_degc:.0f} °C"}


def by_sheet(day: Day) -> list[Set]:
    """Return what the sheet of a day sets for each of its runs: the first in the morning, then when one has ended."""
    found, ended = [], None
    for number, of in groupby(day.steps, key=lambda step: step.run):
        steps = [*of]
        cutout = next((run.cutout_degc for run in day.runs if run.number == number), day.cutout_degc)
        found.append(Set(max(step.to_degc for step in steps), cutout or 0.0, ended))
        ended = steps[-1].ends
    return found


def for_firings(cards: Sequence[FiringCard]) -> Set:
    """Return what the cut-out is set to for the hottest of some firings."""
    top = max(map(_top_degc, cards))
    return Set(top, top + CUTOUT_ABOVE_K)


class Log:
    """A drying as it is told: each event happens in a job, and is kept."""

    def __init__(self, told: Told, folder: Path) -> None:
        """Begin with the visit and the first plan."""
        self.told, self.folder = told, folder
        self.events: list[Event] = []
        self.left = 1.0
        """The share of its water that the truth has after the day that was lived last."""
        self._visit()

    def does(self, day: int, at: str, **said: Any) -> list[str]:
        """Let something happen, and keep it."""
        event = Event(day=day, at=at, **said)
        self.events.append(event)
        return happens(self.folder, event, moment(event, VISIT))

    def plans(self, day: int, at: str = "20:30", left: float = 0.0) -> None:
        """Plan again; `left` of its water is what the truth still has."""
        self.does(day, at, plan=True, by=REPAIRER, left=round(left, 4))

    @property
    def kiln(self) -> KilnPlan | None:
        """The newest plan of the kiln; None before the first."""
        plan = store.newest(open_job(self.folder))
        return plan.kilns[0] if plan else None

    @property
    def days(self) -> Sequence[Day]:
        """The days of the newest plan."""
        return self.kiln.days if self.kiln else ()

    def _visit(self) -> None:
        self.does(-1, "17:05", answers="call.toml")
        self.does(0, "10:45", answers="visit.toml")
        self.does(0, "10:50", sign="hazards", by="O. Wner", role="owner")
        self.signs(0, "10:52", "hands_off", "isolated")
        self.plans(0, "11:30")

    def signs(self, day: int, at: str, *points: str) -> None:
        """Let the electrician sign hold points one after another, but for those that still stand."""
        for point in points:
            found = assess(open_job(self.folder), moment(Event(day=day, at=at), VISIT))
            if any(hold.point.id == point and hold.state != "released" for hold in found.holds):
                self.does(day, at, sign=point, **ELECTRICIAN)

    def opens(self, day: int) -> None:
        """Let it be proven dead before a hand goes in, for the piece and for insulation."""
        self.does(day, "07:40", answers="dead.toml")
        self.signs(day, "07:45", "hands_off", "isolated")

    def fits(self, day: int) -> None:
        """Let parts be looked at, cleaned and put back, the kiln dead."""
        self.does(day, "15:05", answers="parts.toml")

    def releases(self, day: int, insulation: str, set_to: Set) -> None:
        """Let the tests of the morning be done, its cut-out set for the first run of the day, and own heat be released
        by two people."""
        self.does(day, "06:40", answers="dead.toml")
        self.signs(day, "06:45", "hands_off", "isolated")
        self.does(day, "07:20", answers="tests.toml", insulation=insulation, **set_to.said)
        self.does(day, "07:35", answers="attended.toml")
        self.signs(day, "07:40", "energise", "own_heat")
        self.does(day, "07:45", sign="own_heat", by=ATTENDANT, role="attendant")

    def resets(self, day: int, at: datetime, set_to: Set) -> None:
        """Let the cut-out be set for the next run of a day, and own heat be released anew: that rested on what it was
        set to."""
        self.does(day, _clock(at, RESET_MIN), answers="cut-out.toml", **set_to.said)
        self.signs(day, _clock(at, RESET_MIN + 2), "energise", "own_heat")
        self.does(day, _clock(at, RESET_MIN + 4), sign="own_heat", by=ATTENDANT, role="attendant")


# ---------------------------------------------------------------------------------------- what is read of a truth


class Reads:
    """What somebody reads of one kiln on its way, with the errors of a campaign."""

    def __init__(self, of: Taken, truth: DriedTruth, seed: int) -> None:
        """Take the kiln as the plan knows it, the kiln as it is, and a seed for the errors."""
        self.piece, self.truth = of.piece, truth
        self.places = [place_of(wall.name) for wall in truth.stood.draws.setups[0].walls]
        self.errors = Errors.drawn(seed, [place for place in self.places if place])
        self.near_before = self._near = 1.0

    def day(self, day: Day) -> list[tuple[datetime, list[str]]]:
        """Live a day as it was planned, and return its rounds."""
        self.near_before, on_h = self._near, _on_h(day, [], [], is_open=True)
        self.truth.through([Done(day, on_h, reached=True)])
        self._near = float(self.truth.near_left()[0])
        self.today_k = self.errors.generator.normal(0, figures().casing_day_k.mid)
        return [*self._rounds(day, on_h)]

    def _rounds(self, day: Day, on_h: float) -> Iterator[tuple[datetime, list[str]]]:
        if not day.attended_from or not day.attended_to:
            return
        opening = [*self._piece(day)] + (["insulation=" + self._insulation(0.0)] if day.phase == "own" else [])
        if opening:
            yield day.attended_from, opening
        starts_h = self.truth.days[-1].starts_h
        for hour in ROUNDS_H[day.phase] if on_h else ():
            at = day.attended_from + timedelta(hours=starts_h + hour)
            if starts_h + hour <= elapsed_h(day.attended_from, day.attended_to):
                yield at, [*self._casings(hour), *self._air(day, hour), *self._holds(day, at, hour)]
        if day.phase == "outside":
            yield day.attended_to - timedelta(minutes=5), ["insulation=" + self._insulation(1.0, self._ends_degc())]

    def _ends_degc(self) -> float:
        did = self.truth.days[-1].did
        return float(np.interp(11.5, did.hours, did.chamber_degc[0]))

    def _piece(self, day: Day) -> Iterator[str]:
        """Yield the weight of the piece; on the first day it weighs what it weighed wet."""
        if any(one.what == "piece" for one in day.readings):
            yield self._weighs(float(piece_left(self.truth.days)[-2][0])) if len(self.truth.days) > 1 else "piece=1.45"

    def piece_now(self) -> str:
        """Return what the piece weighs after the day that was lived last."""
        return self._weighs(float(piece_left(self.truth.days)[-1][0]))

    def _weighs(self, left: float) -> str:
        assert self.piece
        times = self.errors.piece_times * np.exp(self._error(deviation(figures().piece_look_times)))
        return f"piece={float(self.piece.weighs(left * times)):.3f}"

    def _casings(self, hour: float) -> Iterator[str]:
        did = self.truth.days[-1].did
        for at, place in enumerate(self.places):
            if place:
                degc = np.interp(hour, did.hours, did.casing_degc[0, :, at]) + self.errors.casing_k[place]
                degc += self.today_k + self._error(figures().casing_look_k.mid)
                yield f"casing@{place.split(',')[0]}={degc:.1f}"

    def _air(self, day: Day, hour: float) -> Iterator[str]:
        did = self.truth.days[-1].did
        if day.phase == "own":
            yield self.chamber(float(np.interp(hour, did.hours, did.chamber_degc[0])))
        if any(one.what == "exhaust" for one in day.readings):
            yield f"exhaust={min(max(self._percent(hour) + self._error(HUMIDITY), 1.0), 100.0):.0f}"

    def chamber(self, degc: float) -> str:
        """Return what the independent probe shows of a temperature of the chamber."""
        return f"chamber={degc + self._error(PROBE_K):.0f}"

    def _percent(self, hour: float) -> float:
        """Return the humidity of the air that leaves."""
        one = self.truth.days[-1]
        shares = one.did.around_vapour if one.way.air == "enclosure" else one.did.chamber_vapour
        vapour, degc = (float(np.interp(hour, one.did.hours, of[0])) for of in (shares, one.did.chamber_degc))
        return 100 * vapour * one.did.setups[0].room.pressure_pa / saturation_line(degc)[0]

    def _holds(self, day: Day, at: datetime, hour: float) -> Iterator[str]:
        """Yield insulation where a run has ended for it, the kiln isolated."""
        did = self.truth.days[-1].did
        if any(step.reads and abs(elapsed_h(step.ends, at)) < 1 for step in day.steps):
            yield "insulation=" + self._insulation(hour / 12, float(np.interp(hour, did.hours, did.chamber_degc[0])))

    def warm_insulation(self, degc: float) -> str:
        """Return the insulation of the kiln as it is now, at a temperature of its lining."""
        return "insulation=" + self._insulation(1.0, degc)

    def _insulation(self, share: float, degc: float = 16.0) -> str:
        """Return insulation a share of the way through the day, at a temperature of the lining."""
        return f"{self.insulation_megohm(share, degc):.2g} Mohm; 500 V; {degc:.0f} degC; all joined"

    def insulation_megohm(self, share: float, degc: float = 16.0) -> float:
        """Return insulation a share of the way through the day that was lived last."""
        return insulation_megohm(self.near_before + share * (self._near - self.near_before), degc)

    def _error(self, deviates: float) -> float:
        return float(self.errors.generator.normal(0, deviates))


def truth_of(of: Taken, told: Told) -> DriedTruth:
    """Return the kiln that is dried."""
    assert of.heating
    heating = replace(of.heating, draws=TRUTHS, seed=SEED, lining=_other_wall(of.heating.lining, told))
    return DriedTruth(
        card=way("enclosure"), of=of, heating=heating, leaks=told.leaks, chosen=(told.truth,), recalls=False
    )


def _other_wall(lining: Lining, told: Told) -> Lining:
    """Return a lining of which the wall is of another brick than somebody said."""
    layers = tuple(replace(layer, material_id=told.wall or layer.material_id) for layer in lining.wall.layers)
    wall = replace(lining.wall, layers=layers)
    return replace(lining, stacks=tuple(wall if stack.part == "wall" else stack for stack in lining.stacks))


# ---------------------------------------------------------------------------------------- the dryings


def tell(told: Told, folder: Path) -> Log:
    """Dry the kiln by its plans, and return what was logged."""
    log = Log(told, folder)
    (of,) = of_job.taken(assess(open_job(folder), moment(log.events[-1], VISIT)))
    reads = Reads(of, truth_of(of, told), SEED)
    while len(reads.truth.days) < len(log.days):
        if _is_told(log, reads):
            return log
    _hands_over(log, reads)
    return log


def _is_told(log: Log, reads: Reads) -> bool:
    """Live the next day; say whether the drying is told no further."""
    number, told = len(reads.truth.days) + 1, log.told
    day = log.days[number - 1]
    if day.phase == "own":
        log.releases(number, f"{reads.insulation_megohm(1.0):.2g} Mohm", by_sheet(day)[0])
        day = _as_released(log, number)
    elif number > 1:
        log.opens(number)
    resets = by_sheet(day)[1:]
    for at, said in reads.day(day):
        while resets and resets[0].ready and resets[0].ready < at:
            log.resets(number, resets[0].ready, resets.pop(0))
        says = log.does(number, _clock(at, 0), read=said, by=ATTENDANT)
        if told.ends(log, day, at, says):
            return True
        if at == day.attended_from and _fits(log, day):
            log.fits(number)
    log.left = float(reads.truth.days[-1].left[0])
    sys.stderr.write(f"{told.which}, day {number} of {len(log.days)}: {log.left:.3f} left\n")
    if number in told.plans or number == len(log.days):
        log.plans(number, left=log.left)
    return False


def _as_released(log: Log, number: int) -> Day:
    """Return a day of its own elements as it stands once it is released: planned again where it was planned before."""
    if log.kiln and not log.kiln.gate_open:
        log.plans(number, "07:50", left=log.left)
    return log.days[number - 1]


def _hands_over(log: Log, reads: Reads) -> None:
    """Weigh the piece after the last day and after the proof; then let three people hand over."""
    last = len(log.days)
    log.opens(last + 1)
    log.does(last + 1, "09:00", read=[reads.piece_now()], by=ATTENDANT)
    ends = _proves(log, reads, last + 2)
    log.releases(ends, f"{reads.insulation_megohm(1.0):.2g} Mohm", for_firings(_firings(log)))
    log.does(ends, "08:00", read=[reads.piece_now()], by=ATTENDANT)
    log.does(ends, "09:10", answers="handed-over.toml")
    log.signs(ends, "09:20", "handover")
    log.does(ends, "09:30", sign="handover", by=REPAIRER, role="repairer")
    log.does(ends, "09:40", sign="handover", by="O. Wner", role="owner")


def _proves(log: Log, reads: Reads, day: int) -> int:
    """Fire the proof from a day on, its chamber read at the end of each hold; return the day on which it is cold."""
    for card in _firings(log):
        log.releases(day, f"{reads.insulation_megohm(1.0):.2g} Mohm", for_firings([card]))
        begun, hours, here = moment(Event(day=day, at=PROOF_BEGINS), VISIT), 0.0, 16.0
        for step in card.steps:
            hours += abs(step.to_degc - here) / step.ramp_k_h + step.hold_h
            here, at = step.to_degc, begun + timedelta(minutes=round(hours * 60))
            log.does((at.date() - VISIT).days, f"{at:%H:%M}", read=[reads.chamber(here)], by=ATTENDANT)
        at += timedelta(minutes=WARM_AFTER_MIN)
        warm = [reads.chamber(WARM_DEGC), reads.warm_insulation(WARM_DEGC)]
        log.does((at.date() - VISIT).days, f"{at:%H:%M}", read=warm, by=ATTENDANT)
        day = (at.date() - VISIT).days + COLD_DAYS
    return day


def _firings(log: Log) -> list[FiringCard]:
    """Return the firings of the proof, in their order."""
    return [one.card for one in (log.kiln.after if log.kiln else ()) if one.card.id in words().handover.firings]


def _top_degc(card: FiringCard) -> float:
    return max(step.to_degc for step in card.steps)


def _fits(log: Log, day: Day) -> bool:
    """Whether parts are put back on a day: nothing is on, and they were not before."""
    return not day.off_switch and not any(one.answers == "parts.toml" for one in log.events)


def main(which: Sequence[str]) -> None:
    """Write the dryings that are named; all of them where none is."""
    for told in TOLD:
        if not which or told.which in which:
            with tempfile.TemporaryDirectory() as folder:
                log = tell(told, Path(folder) / "job")
            (KILN / f"{told.which}.toml").write_text(written(told, log.events), "utf-8")


def written(told: Told, events: Sequence[Event]) -> str:
    """Return a drying as its file has it: a line for each event."""
    head = f"# Made by `python -m tests.logged_jobs {told.which}`; which errors its readings have stands there.\n"
    lines = "".join(f"  {{ {', '.join(_key(*one) for one in asdict(event).items() if one[1] or one[0] == 'day')} }},\n"
                    for event in events)  # fmt: skip
    return f'{head}format = "recover-dried"\nversion = 1\ntitle = {json.dumps(told.title)}\nevent = [\n{lines}]\n'


def _key(name: str, value: Any) -> str:
    return f"{name} = {json.dumps(value, ensure_ascii=False)}"


if __name__ == "__main__":
    main(sys.argv[1:])
