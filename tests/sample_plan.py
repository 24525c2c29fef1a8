"""Plans put together by hand, for what is stored and printed of them: no wall is run, and no figure was reckoned."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from recover.controller.instructions import instructions
from recover.controller.programme import Programme, ProgrammeRun, Refusal, RefusalReason, manual
from recover.physics.draws import Spread
from recover.physics.materials import Band
from recover.physics.wall import Step
from recover.plan import cards, replacement
from recover.plan.prices import cost
from recover.plan.whole import (
    Criterion,
    Dates,
    Day,
    Expected,
    Firing,
    JobPlan,
    KilnPlan,
    LimitKept,
    Number,
    Path,
    PathPhase,
    Request,
    TimedStep,
)
from recover.profiles import own_limits
from recover.schedule.spells import Attendance
from tests.test_programmes import controller

OPENS = datetime(2026, 4, 14, 8, 0)  # noqa: DTZ001 - by the job's own clock
ATTENDED = Attendance(8, 20)
CLOSED = ("2026-04-18/2026-04-19",)
"""A weekend on which nobody comes, in fourteen days."""

ZONE = "Europe/London"
CASING, PIECE = "wall, low down, below the water line", "the marked piece, put back in its place"
ELEMENTS, CAUGHT = "elements to casing, all joined, the kiln isolated", "caught by the dehumidifier"
HEATER_OFF = "the switched socket by the workshop door"
PRICE = Decimal("0.30")
CUTOUT_MARGIN_K = 25.0

BELOW = ((Step(60, 15, 2), Step(90, 10, 3)),)
"""Below boiling: one run, ended by itself half an hour before attendance does."""

HOLD_POINT = ((Step(60, 30, 0.5), Step(95, 20, 1)), (Step(120, 25, 1), Step(200, 40, 0.5)))
"""The day past boiling: readings, with the kiln isolated, between the two runs."""

LATER = ((Step(120, 60, 0.5), Step(200, 40, 1), Step(400, 50, 2)),)
WHOLE_F = ((Step(60, 15, 1), Step(90, 10, 4)),)
"""140 and 194 °F: whole steps of a controller that shows those."""


def spread(p50, low=0.8, high=1.3) -> Spread:
    return Spread(p50 * low, p50, p50 * high, Band(p50 * high * 0.95, p50 * high, p50 * high * 1.1))


# ---------------------------------------------------------------------------------------- moments


def moment(day: date, hour: float, zone: str = ZONE) -> datetime:
    """Return a moment of a date by the job's clock, so many hours after its midnight."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone))
    return midnight + timedelta(minutes=round(60 * hour))


def nth(number: int) -> date:
    """Return the date of a day, the first being 1."""
    return OPENS.date() + timedelta(days=number - 1)


# ---------------------------------------------------------------------------------------- days


def closed(number: int, left: float, **more) -> Day:
    """Return a day on which nobody comes and nothing heats."""
    given = {
        "number": number, "date": nth(number), "phase": "outside", "way": "enclosure", "boards": "", "waits_for": "",
        "attended_from": None, "attended_to": None, "runs_on": (), "numbers": (), "steps": (), "runs": (),
        "by_hand": False, "programme_ends": None, "top_degc": None, "cutout_degc": None, "source_of_heat": None,
        "off_switch": None, "readings": (), "left": spread(left), "litres": spread(0.3), "kwh": spread(0.0),
    }  # fmt: skip
    return Day(**(given | more))


def attended(number: int, left: float, **more) -> Day:
    """Return a day in the warm enclosure: its heater on from half an hour after the opening, and off with the day."""
    day = nth(number)
    given = {
        "attended_from": moment(day, 8), "attended_to": moment(day, 20), "programme_ends": moment(day, 19.5),
        "numbers": (
            Number("air in the enclosure", 50.0, "°C"), Number("the heater's own cut-out", 60.0, "°C"),
            Number("heater of the enclosure, with what evaporates", 2.0, "kW"),
            Number("air taken out of the enclosure, to the open", 30.0, "m³/h"),
            Number("air that leaves the room, to the open", 40.0, "m³/h"), Number("room by day", 15.0, "°C"),
            Number("room by night, at its coldest", 11.0, "°C"),
        ),
        "top_degc": 50.0, "cutout_degc": 60.0, "source_of_heat": "heater of the warm enclosure",
        "off_switch": HEATER_OFF,
        "readings": (
            *(Expected(what="exhaust", place="where the air leaves the enclosure", at=moment(day, hour), unit="%",
                      low=12.0, mid=20.0, high=31.0) for hour in range(9, 20)),
            *(Expected(what="casing", place=CASING, at=moment(day, hour), unit="°C", low=36.0, mid=41.0,
                      high=48.0, stop=55.0) for hour in (10, 12, 14, 16, 18)),
            Expected(what="piece", place=PIECE, at=moment(day, 8), unit="kg", low=1.9, mid=2.1, high=2.4),
            Expected(what="litres", place=CAUGHT, at=None, unit="l", low=0.8, mid=1.6, high=2.9),
            Expected(what="insulation", place=ELEMENTS, at=moment(day, 19.5), unit="MΩ"),
        ),
        "litres": spread(2.1), "kwh": spread(14.0),
    }  # fmt: skip
    return closed(number, left, **(given | more))


def heated(number: int, left: float, by_day=BELOW, **more) -> Day:
    """Return a day of its own elements, its runs one after the other with half an hour for readings in between."""
    day = nth(number)
    steps = timed(day, by_day)
    top = max(step.to_degc for step in steps)
    given = {
        "phase": "own", "way": "own", "waits_for": "own_heat", "attended_from": moment(day, 8),
        "attended_to": moment(day, 20), "programme_ends": steps[-1].ends, "steps": steps, "runs": typed(by_day),
        "top_degc": top, "cutout_degc": top + CUTOUT_MARGIN_K, "source_of_heat": "the kiln's own elements",
        "off_switch": "the kiln's isolator",
        "numbers": (
            Number("power of the elements", 6.0, "kW"), Number("air through the chamber", 4.0, "m³/h"),
            Number("room by day", 15.0, "°C"), Number("air that leaves the room, to the open", 40.0, "m³/h"),
        ),
        "readings": (
            *(one for hour in range(9, 20) for one in _by_the_hour(day, hour)),
            Expected(what="piece", place=PIECE, at=moment(day, 8), unit="kg", low=1.4, mid=1.5, high=1.7),
            Expected(what="litres", place=CAUGHT, at=None, unit="l", low=0.2, mid=0.6, high=1.1, stop=1.8),
            *(Expected(what="insulation", place=ELEMENTS, at=step.ends, unit="MΩ")
              for step in steps if step.reads),
        ),
        "litres": spread(1.2), "kwh": spread(17.0),
    }  # fmt: skip
    return closed(number, left, **(given | more))


def _by_the_hour(day: date, hour: float) -> tuple[Expected, ...]:
    at = moment(day, hour)
    return (
        Expected(what="chamber", place="independent probe", at=at, unit="°C", low=40.0, mid=44.0, high=49.0, stop=60.0),
        Expected(what="casing", place=CASING, at=at, unit="°C", low=28.0, mid=33.0, high=39.0, stop=46.0),
    )  # fmt: skip


def timed(day: date, runs, from_h: float = 8.0, from_degc: float = 15.0, off_h: float = 0.5) -> tuple[TimedStep, ...]:
    """Return the steps of a day by the clock; the last of every run but the last ends in readings."""
    made, hour, degc = [], from_h, from_degc
    for number, run in enumerate(runs, start=1):
        for step in run:
            held_h = hour + abs(step.to_degc - degc) / step.ramp_k_h
            ends_h = held_h + step.hold_h
            made.append(TimedStep(
                run=number, begins=moment(day, hour), hold_from=moment(day, held_h), ends=moment(day, ends_h),
                ramp_k_h=step.ramp_k_h, to_degc=step.to_degc,
                reads=step is run[-1] and run is not runs[-1],
            ))  # fmt: skip
            hour, degc = ends_h, step.to_degc
        hour, degc = hour + off_h, degc - 10
    return tuple(made)


def typed(runs, runs_on=None, from_degc: float = 15.0) -> tuple[ProgrammeRun, ...]:
    """Return what is typed in of these runs; the second begins where the chamber has cooled to."""
    runs_on, made, degc = runs_on or controller(cutout_margin_k=CUTOUT_MARGIN_K), [], from_degc
    for number, run in enumerate(runs, start=1):
        cutout_degc = max(step.to_degc for step in run) + CUTOUT_MARGIN_K
        made.append(ProgrammeRun(number, degc, run, run is not runs[-1], cutout_degc))
        degc = run[-1].to_degc - 10
    said = instructions(Programme(from_degc, runs_on, tuple(made)))
    return tuple(replace(run, said=one) for run, one in zip(made, said, strict=True))


# ---------------------------------------------------------------------------------------- paths


def path(path_id="enclosure", **more) -> Path:
    """Return a path that is open and ends in a fired kiln: outside until day 9, own elements, the proof."""
    given = {
        "id": path_id, "title": "Warm enclosure around the kiln", "open": True, "closed_because": (),
        "would_open": "",
        "needs": ("a rigid enclosure that cannot fall on the heater", "somebody there while it is warm"),
        "against": ("New electrical parts are fitted afterwards, not before.",), "finishes": True,
        "phases": (
            PathPhase(name="outside", way="enclosure", first=nth(1), last=nth(9)),
            PathPhase(name="own", way="own", first=nth(10), last=nth(14)),
            PathPhase(name="proof", way="", first=nth(15), last=nth(17)),
        ),
        "first_firing": Dates(nth(16), nth(18)), "attended_hours": 144.0, "visits": 12, "kwh": 196.3,
        "kwh_span": spread(151.0), "cost": Decimal("2218.90"), "with_attendance": True, "left": spread(0.035),
    }  # fmt: skip
    return Path(**(given | more))


def shut(path_id="workshop", **more) -> Path:
    """Return a path that is closed, and what would open it."""
    none = {
        "title": "Take it to a dry workshop in sections", "open": False,
        "closed_because": ("There is no dry workshop, or nobody has named one.",), "finishes": None, "phases": (),
        "would_open": "A dry workshop that is named.", "first_firing": None, "attended_hours": None, "visits": None,
        "kwh": None, "kwh_span": None, "cost": None, "with_attendance": False, "left": None,
    }  # fmt: skip
    return path(path_id, **(none | more))


def paths() -> tuple[Path, ...]:
    """Return three that nothing beats, one that does not finish, one that is closed."""
    air = {
        "title": "Moving room air only", "first_firing": Dates(nth(40), nth(57)), "visits": 34,
        "attended_hours": 71.0, "kwh": 143.0, "cost": Decimal("1107.40"),
        "phases": (
            PathPhase(name="outside", way="air", first=nth(1), last=nth(33)),
            PathPhase(name="own", way="own", first=nth(34), last=nth(38)),
            PathPhase(name="proof", way="", first=nth(39), last=nth(41)),
        ),
    }  # fmt: skip
    stays_wet = {
        "title": "Small separate heater inside the vented chamber",
        "finishes": False,
        "first_firing": None,
        "left": spread(0.31),
        "phases": (PathPhase(name="outside", way="small_heater", first=nth(1), last=nth(28)),),
        "would_open": "Its own elements after it.",
    }
    return path(), path("air", **air), path("small_heater", **stays_wet), shut()


# ---------------------------------------------------------------------------------------- kilns


def firings() -> tuple[Firing, ...]:
    energy = Band(20, 31, 45)
    return tuple(
        Firing(
            card, energy if card.steps else None, cost(energy, PRICE) if card.steps else None,
            tuple(
                cards.TopCost(
                    degc=top.degc, says=top.says, kwh=energy, cost=cost(energy, PRICE), strain="Little.", life=1.0
                )
                for top in card.tops
            ),
        )
        for card in cards.cards()
    )  # fmt: skip


def criteria() -> tuple[Criterion, ...]:
    of = {"opens": "boiling", "left": 0.25, "false_share": 0.03}
    done = {"opens": "done", "left": 0.05, "false_share": 0.05, "from_degc": 399.0}
    return (
        Criterion(**of, what="piece", at="most", value=1.5, unit="kg"),
        Criterion(**(of | {"left": 0.62}), what="hold", at="least", value=72.0, unit="h", at_degc=80.0),
        Criterion(**done, what="piece", at="most", value=1.32, unit="kg"),
    )


def kept() -> tuple[LimitKept, ...]:
    limits = own_limits()
    return (
        LimitKept(limits["plan_steam_share"], spread(0.23), binds=True),
        LimitKept(limits["plan_casing_degc"], spread(64.0), binds=False),
    )


def outside_days() -> tuple[Day, ...]:
    """Return fourteen days: boards out on the first, a weekend off, boards in on the ninth, own elements after it."""
    boards, weekend = {1: "out", 9: "in"}, (5, 6)
    outside = [
        (closed if number in weekend else attended)(number, 1.0 - 0.08 * number, boards=boards.get(number, ""))
        for number in range(1, 10)
    ]
    own = [
        heated(10, 0.22), heated(11, 0.16), heated(12, 0.1, HOLD_POINT, waits_for="boiling"),
        heated(13, 0.05, LATER), heated(14, 0.035, LATER),
    ]  # fmt: skip
    return (*outside, *own)


def planned(**more) -> KilnPlan:
    """Return a kiln that is dried in an enclosure, its boards out, and then by its own elements, still closed."""
    given = {
        "kiln": "kiln/1", "label": "Kiln 1", "missing": (), "gate_open": False, "recommended": "enclosure",
        "because": "It is fired again first, on 29 April in half of the draws, for 144 attended hours.",
        "followed": "enclosure", "refused": (), "paths": paths(), "days": outside_days(), "criteria": criteria(),
        "kept": kept(), "refusal": None, "match": replacement.match("R", ["K"], [95, 200, 600]),
        "match_ways": replacement.ways("R", ["K"], 1280, Band(20, 31, 45), PRICE), "after": firings(),
        "rechecks": cards.rechecks([5]),
    }  # fmt: skip
    return KilnPlan(**(given | more))


def own_days() -> tuple[Day, ...]:
    return (
        heated(1, 0.5), heated(2, 0.25), heated(3, 0.12, HOLD_POINT, waits_for="boiling"),
        heated(4, 0.035, LATER),
    )  # fmt: skip


def _own_path() -> Path:
    return path(
        "own", title="The kiln's own elements", needs=("somebody there in every heated hour",),
        against=("A wet lining conducts: it trips its protection.",),
        phases=(
            PathPhase(name="own", way="own", first=nth(1), last=nth(4)),
            PathPhase(name="proof", way="", first=nth(5), last=nth(7)),
        ),
        first_firing=Dates(nth(6), nth(7)), attended_hours=48.0, visits=4, kwh=71.0, cost=Decimal("741.30"),
    )  # fmt: skip


def by_own(**more) -> KilnPlan:
    """Return a kiln dried by its own elements, run by its controller; two runs on the day of the hold point."""
    given = {
        "gate_open": True, "recommended": "own", "followed": "own", "paths": (_own_path(), *paths()),
        "because": "A logged reading has opened the gate to its own elements, and by them it is fired again first.",
        "days": own_days(), "match": replacement.match("K", ["K"], [95, 200, 400]), "match_ways": (),
    }  # fmt: skip
    return planned(**(given | more))


def by_hand(**more) -> KilnPlan:
    """Return a kiln whose controller has no cut-out of its own and no ramp: it is heated by hand."""
    reasons = (
        RefusalReason("no_ramp", "It has no ramps, or nobody knows how they are set."),
        RefusalReason("cutout", "There is no over-temperature cut-out with a probe of its own."),
    )
    refusal = Refusal(reasons, manual(), ("Control from 55 °C.",))
    days = tuple(replace(day, runs=(), by_hand=True, cutout_degc=None) for day in own_days())
    return by_own(**({"days": days, "refusal": refusal} | more))


def in_fahrenheit(**more) -> KilnPlan:
    """Return a kiln whose controller shows °F: each set-point is a whole one, 140 and 194 °F."""
    runs = typed(WHOLE_F, controller(degrees="F", cutout_margin_k=CUTOUT_MARGIN_K))
    days = tuple(heated(number, left, WHOLE_F, runs=runs) for number, left in ((1, 0.5), (2, 0.25)))
    return by_own(**({"days": days, "label": "Kiln in °F"} | more))


def nothing(**more) -> KilnPlan:
    """Return a kiln of which too little is known."""
    unknown = {
        "missing": ("Not known, and needed to plan for the lining: its layers.",), "recommended": "", "because": "",
        "followed": "", "paths": (), "days": (), "criteria": (), "kept": (), "match": None, "match_ways": (),
        "after": (),
    }  # fmt: skip
    return planned(**(unknown | more))


def no_open_path(**more) -> KilnPlan:
    """Return a kiln of which every path is closed, each with the one thing that would open it."""
    none = {
        "recommended": "", "followed": "", "because": "No path is open as things stand.", "days": (), "criteria": (),
        "kept": (), "paths": (
            shut(), shut("enclosure", title="Warm enclosure around the kiln",
                         closed_because=("It takes more power than the supply that may be used gives.",),
                         would_open="A supply of 2.1 kW or more."),
        ),
    }  # fmt: skip
    return planned(**(none | more))


def salted(**more) -> KilnPlan:
    """Return a kiln that stood in brackish water: no path is recommended, whichever is open."""
    salt = "Salt does not leave with the water: it stays, draws damp and attacks new elements."
    none = {"because": salt, "paths": tuple(replace(one, finishes=False) if one.open else one for one in paths())}
    return no_open_path(**(none | more))


KILNS = {
    "outside": planned, "own": by_own, "by_hand": by_hand, "fahrenheit": in_fahrenheit, "nothing": nothing,
    "closed": no_open_path, "salted": salted,
}  # fmt: skip
"""Every sample of a kiln, by a short name."""


def two_kilns() -> tuple[KilnPlan, KilnPlan]:
    """Return two kilns of one job: one from outside, one by its own elements."""
    return planned(), by_own(kiln="kiln/2", label="Kiln 2")


def job_plan(*kilns, opens=OPENS, there=ATTENDED, closed=CLOSED, path="", number=1) -> JobPlan:
    return JobPlan(
        number=number, made="2026-04-13T17:00:00+00:00", program="recover 0.2.0", head="0" * 64,
        inputs={"profile": "uk", "kiln/1, power": "6 kW"}, fingerprint="2" * 64, seed=1, draws=64, zone=ZONE,
        request=Request(opens, there, closed, path), kilns=kilns or (planned(),),
    )  # fmt: skip
