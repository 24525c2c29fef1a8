"""Plans put together by hand, for what is printed of them: no wall is run, and no figure here was reckoned."""

from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

from recover.controller.capability import Ramps
from recover.controller.compile import programme
from recover.controller.programme import Programme
from recover.physics.draws import Spread
from recover.physics.materials import Band
from recover.physics.wall import Step
from recover.plan import cards, replacement
from recover.plan.prices import cost
from recover.plan.strategies import Comparison, Strategy
from recover.plan.strategies import cards as ways
from recover.plan.whole import Firing, Followed, JobPlan, KilnPlan, Request
from recover.schedule.fixed import FixedRun
from recover.schedule.search import Binding, Plan
from recover.schedule.spells import Attendance, Day, Schedule
from recover.schedule.verify import Peak, Proof, _StepEnd
from tests.plans import BRICK_AND_FIBRE, kiln, limits
from tests.test_programmes import controller

OPENS = datetime(2026, 4, 14, 8, 0)  # noqa: DTZ001 - by the job's own clock
ATTENDED = Attendance(8, 20)
HEATING = kiln(BRICK_AND_FIBRE)
LIMITS = limits(HEATING, ATTENDED.hours)
FIRST = (Step(60, 15, 4), Step(95, 10, 1.5))
SECOND = (Step(95, 25, 2), Step(120, 15, 2), Step(200, 40, 0.5))
LATER = (Step(120, 40, 1.5), Step(200, 40, 1), Step(400, 50, 0.5))
LONG = tuple(Step(35 + 5 * number, 10, 0.5) for number in range(6))
"""More steps than most days have."""


def spread(p50, low=0.8, high=1.3) -> Spread:
    return Spread(p50 * low, p50, p50 * high, Band(p50 * high * 0.95, p50 * high, p50 * high * 1.1))


def proof(days, end_left=0.035, broken=()) -> Proof:
    """Return a proof whose water leaves evenly."""
    schedule = Schedule(tuple(Day(15, steps) for steps in days), ATTENDED)
    steps = tuple(
        _StepEnd(day, step, spread(1 - (1 - end_left) * ends_h / schedule.hours), spread(20 + ends_h / 2))
        for day, step, ends_h in schedule.steps()
    )
    peaks = (
        Peak("plan_demand", spread(0.02)), Peak("plan_steam_share", spread(0.4)), Peak("plan_casing_degc", spread(84))
    )  # fmt: skip
    return Proof(
        schedule=schedule, draws=64, left=spread(end_left), energy_kwh=spread(61), vapour_kg_h=spread(1.4), peaks=peaks,
        broken=broken, steps=steps, curve_h=(), left_curve=(), casing_curve=(),
    )  # fmt: skip


def own_plan(days=(FIRST, SECOND, LATER, LATER), broken=()) -> Plan:
    binding = (Binding(LIMITS.attendance, 24.0), Binding(LIMITS.ramp, 3.5))
    proven = proof(days, 0.2 if broken else 0.035, tuple(limit.id for limit in broken))
    return Plan(
        heating=HEATING, limits=LIMITS, objective="elapsed", proof=proven, binding=binding, broken=broken
    )  # fmt: skip


def compared(recommended="enclosure", gate_open=True) -> Comparison:
    """Return all ways: stripping and the workshop are closed, moving air is not done in time."""
    days = {"enclosure": 6.4, "small_heater": 11.0, "air": None, "own": 3.4}
    closed = {"strip": "nothing_to_strip", "workshop": "no_workshop"}
    found = []
    for card in ways().strategy:
        if card.id in closed:
            found.append(Strategy(card, (card.not_if[closed[card.id]],)))
            continue
        waits = card.id == "own" and not gate_open
        found.append(Strategy(
            card, unknown_before=waits, days=days[card.id],
            attended_h=0.0 if card.id == "air" else 24.0 * days[card.id] / 2, kwh=spread(88), price=Decimal("34.30"),
            left=spread(0.04 if days[card.id] else 0.3), fired_again=None if waits else date(2026, 5, 2),
        ))  # fmt: skip
    chosen = next((one for one in found if one.card.id == recommended), None)
    why = {"enclosure": "earliest", "own": "own"}.get(recommended, "none")
    return Comparison(tuple(found), chosen, ways().reason[why])


def followed(runs_on=None, days=(FIRST, SECOND, LATER, LATER), broken=()) -> Followed:
    runs_on = runs_on or controller()
    made = tuple(programme(15, steps, runs_on, "K") for steps in days)
    ran = [one.steps if isinstance(one, Programme) else steps for one, steps in zip(made, days, strict=True)]
    there = [Day(15, steps).until(ATTENDED.hours).steps for steps in ran]
    return Followed(made, proof(there), (Peak("plan_casing_degc", spread(88)),), broken)


def firings() -> tuple[Firing, ...]:
    energy, price = Band(20, 31, 45), Decimal("0.30")
    return tuple(
        Firing(
            card, energy if card.steps else None, cost(energy, price) if card.steps else None,
            cards.against_top(card, HEATING.lining, 15, price),
        )
        for card in cards.cards()
    )  # fmt: skip


def planned(**more) -> KilnPlan:
    """Return a framed kiln: an enclosure is recommended and followed, own elements are to follow later."""
    given = {
        "kiln": "kiln/1", "label": "Kiln 1", "missing": (), "gate_open": False, "way": "enclosure", "refused": (),
        "comparison": compared(gate_open=False), "own": own_plan(),
        "beside": (
            FixedRun(
                title="Castable by thickness: 56 K/h, holds at 200 and 540 °C", hours=22.0, left_p90=0.08,
                broken=("plan_ramp",), beats=False,
            ),
            FixedRun(
                title="Process heaters: 30 to 40 K/h, holds at 120, 260, 370 and 538 °C", hours=18.0, left_p90=0.03,
                broken=(), beats=True,
            ),
        ),
        "followed": followed(), "match": replacement.match("R", ["K"], [95, 200, 600]),
        "match_ways": replacement.ways("R", ["K"], 1280, Band(20, 31, 45), Decimal("0.30")),
        "after": firings(), "rechecks": cards.rechecks([5]),
    }  # fmt: skip
    return KilnPlan(**(given | more))


def by_own(**more) -> KilnPlan:
    """Return a kiln that is dried by its own elements, run by its controller."""
    return planned(**({"gate_open": True, "way": "own", "comparison": compared("own")} | more))


def refused(**more) -> KilnPlan:
    """Return a kiln whose controller has no cut-out of its own and no ramp: it is heated by hand."""
    return by_own(followed=followed(controller(cutout="none", ramps=Ramps("none"))), **more)


def nothing(**more) -> KilnPlan:
    """Return a kiln of which too little is known."""
    unknown = {
        "missing": ("Not known, and needed to plan for the lining: its layers.",), "gate_open": False, "way": "",
        "comparison": None, "own": None, "beside": (), "followed": None, "match": None, "match_ways": (), "after": (),
    }  # fmt: skip
    return planned(**(unknown | more))


def salted(**more) -> KilnPlan:
    """Return a kiln for which no way is recommended, and of whose schedules none keeps its limits."""
    none = {"way": "", "comparison": compared(""), "own": own_plan(broken=(LIMITS.days, LIMITS.water_left))}
    return planned(**(none | {"followed": None} | more))


def job_plan(*kilns, opens=OPENS, there=ATTENDED, way="") -> JobPlan:
    return JobPlan(
        number=1, made="2026-04-13T17:00:00+00:00", program="recover 0.2.0", head="0" * 64, inputs="1" * 64,
        rules="2" * 64, seed=1, draws=64, zone="Europe/London", request=Request(opens, there, way=way),
        kilns=kilns or (planned(),),
    )  # fmt: skip


def with_many_steps() -> KilnPlan:
    """Return a kiln of whose first day nearly every hour has a step of its own."""
    return by_own(own=own_plan((LONG, LATER)), followed=followed(days=(LONG, LATER)))


def with_runs() -> KilnPlan:
    """Return a kiln whose controller keeps four steps to a programme."""
    runs_on = replace(controller(), steps=2, after_power_cut="goes_on", waits_for_kiln=False, cycle_s=None)
    return by_own(followed=followed(runs_on))
