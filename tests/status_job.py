"""A glance at a job in each of its states: a sample plan, what was assessed, what was logged, a moment of its days."""

from copy import copy
from dataclasses import replace
from functools import cache

from recover.asked.told import Logged
from recover.judged.assessment import _Shut
from recover.judged.signatures import Signature
from recover.plan.whole import Learnt
from recover.report.status_view import look_at
from tests import sample_plan
from tests.sample_plan import CASING, ELEMENTS, PIECE, moment, nth
from tests.test_plan_papers import found, opened, signed, unreleased

EXHAUST, PROBE = "where the air leaves the enclosure", "independent probe"


def at(day, hour):
    """The moment of a day of the sample plans, by the clock of the place."""
    return moment(nth(day), hour)


def read(what, value, when, place="", unit="°C", **more):
    """A reading of the log of kiln 1."""
    told = {"line": 900, "by": "A. Tendant", "kiln": "kiln/1", "what": what, "measured": when, "place": place}
    return Logged(**(told | {"value": value, "unit": unit} | more))


def round_of(day, casing=41.0):
    """The readings of a morning in the enclosure: a weighing, the casing at ten and noon, the air that leaves."""
    return [
        read("piece", 2.3 - 0.1 * day, at(day, 8), PIECE, "kg"), read("casing", casing - 2, at(day, 10), CASING),
        read("casing", casing, at(day, 12), CASING), read("exhaust", 22.0, at(day, 12), EXHAUST, "%"),
    ]  # fmt: skip


def own_round(day=1, casing=33.0, when=None):
    """What is read at an hour of its own heat."""
    when = when or at(day, 10)
    return [read("chamber", 44.0, when, PROBE), read("casing", casing, when, CASING)]


def logged(of, *lines):
    """An assessment, with a log."""
    answers = copy(of.answers)
    answers.logged = list(lines)
    answers.__dict__.pop("log_by_kiln", None)  # what the copied ones had put in order was their own log
    return replace(of, answers=answers)


def glance(of, plan, now, *lines, **more):
    """A glance at a job whose plan still holds, unless it is said what has changed."""
    return look_at(logged(of, *lines), plan, now, **({"changed": ()} | more))


def outside(**more):
    return sample_plan.job_plan(sample_plan.planned(**more))


def own(**more):
    return sample_plan.job_plan(sample_plan.by_own(**more))


def through(days):
    """The rounds of the first days, but for those on which nobody comes; insulation on evenings but the last."""
    there = [day for day in range(1, days + 1) if day not in (5, 6)]
    return [one for day in there for one in (*round_of(day), *([evening(day)] if day < days else []))]


def evening(day, megohm=0.4):
    """Insulation of a day from outside, when whoever attends leaves."""
    return read("insulation", megohm, at(day, 19.5), ELEMENTS, "MΩ")


@cache
def dry():
    """What was logged of four days of its own heat, the piece weighed at its target after the last."""
    rounds = [one for day in (1, 2, 3, 4) for one in own_round(day)]
    return [*rounds, weighed(1.3)]


def weighed(kg):
    """The marked piece, weighed after the last day of its own heat."""
    return read("piece", kg, at(4, 19.9), PIECE, "kg")


def suspended():
    """Own heat was released, and what it rests on went out of date."""
    ended = Signature(signed("attend", 900).release, "slate 160 was out of date at 2026-04-13 20:00 BST")

    def one(hold):
        if hold.point.id != "own_heat":
            return hold
        return replace(hold, signatures=(ended,), wanted=tuple(hold.point.signatures), until=None)

    of = opened(by=())
    return replace(of, holds=tuple(map(one, of.holds)))


MISFIT = "This is not the kiln that was assumed: lid, the casing was read 9 K hotter than any draw has it. Look."


def under_way(goes_on, lines, misfits=()):
    """The plan of a drying that goes on with a day by what was read of it."""
    left = sample_plan.spread(0.7)
    learnt = Learnt(
        goes_on=goes_on, lines=lines, readings=lines, not_run=(), effective=40.0, assumed=left, left=left,
        at_first=None, misfits=tuple(misfits), shut=bool(misfits),
    )  # fmt: skip
    return outside(learnt=learnt)


def sewage(of):
    why = _Shut(
        kiln="kiln/1", way="enclosure", by=("sewage",), because=("Sewage: nothing is warmed before it is washed.",)
    )
    return replace(of, shut=(why,))


STATES = {
    "no plan": lambda: glance(found(), None, at(1, 9)),
    "unread plan": lambda: glance(found(), None, at(1, 9), no_plan="plans/plan-01.json: is not a plan"),
    "before its hold points": lambda: glance(unreleased(), outside(), at(1, 7)),
    "outside, open": lambda: glance(opened(), outside(), at(3, 14.1), *through(3)),
    "outside, at night": lambda: glance(opened(), outside(gate_open=True), at(3, 22), *through(3), evening(3)),
    "outside, nobody comes": lambda: glance(opened(), outside(), at(5, 12), *through(4)),
    "outside, by its dates": lambda: glance(opened(), outside(gate_open=True), at(3, 14.1), *through(3)),
    "waits for own heat": lambda: glance(found(), outside(), at(9, 22), *through(9)),
    "own heat, to be signed": lambda: glance(opened(by=()), own(), at(1, 7)),
    "own heat, out of date": lambda: glance(suspended(), own(), at(1, 7)),
    "own heat, open": lambda: glance(opened(), own(), at(1, 10.7), *own_round()),
    "own heat, beyond its stop": lambda: glance(opened(), own(), at(1, 10.1), *own_round(casing=47.0)),
    "overtaken": lambda: glance(opened(), outside(), at(3, 14), *through(3), changed=["kiln/1, wall: 64 → 76", "b"]),
    "shut by a hazard": lambda: glance(sewage(opened()), outside(), at(3, 9), *through(2)),
    "not the wall that was assumed": lambda: glance(opened(), under_way(3, 8, [MISFIT]), at(3, 9.2), *through(2)),
    "nothing logged": lambda: glance(opened(), outside(), at(4, 9)),
    "days over, not dry": lambda: glance(opened(), own(), at(5, 9), *own_round(4), weighed(1.5)),
    "days over, not weighed": lambda: glance(opened(), own(), at(5, 9), *own_round(4)),
    "at its weight": lambda: glance(opened(), own(), at(4, 21), *dry()),
    "two kilns": lambda: glance(opened(), sample_plan.job_plan(*two()), at(1, 9.2)),
    "nothing planned": lambda: glance(opened(), sample_plan.job_plan(sample_plan.nothing()), at(1, 9)),
    "no path": lambda: glance(opened(), sample_plan.job_plan(sample_plan.no_open_path()), at(1, 9)),
}  # fmt: skip
"""A glance at each state of a job, by a short name."""


def two():
    """Two kilns of one job, both dried from outside."""
    return sample_plan.planned(), sample_plan.planned(label="The other")
