"""Searched days: inside their limits, written in what can be set, and longer or shorter as what binds is changed.

The laws are this program's own; no kiln was measured.
"""

from dataclasses import replace
from itertools import chain, combinations, pairwise, product
from operator import itemgetter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.physics.around import Around
from recover.physics.ensemble import Standing, stretch
from recover.physics.stages import stages
from recover.physics.wall import Course, Step
from recover.profiles import own_limits
from recover.schedule.heated import live
from recover.schedule.limits import RoomCare, figures, reached
from recover.schedule.search import search
from recover.schedule.spells import HeatedRun, Spell
from tests.conftest import TIMES, cases
from tests.plans import (
    BRICK_AND_FIBRE,
    BY_HAND,
    COARSE,
    DENSE,
    ByTime,
    Fahrenheit,
    Set,
    attended,
    begin,
    found,
    kiln,
    limits,
    under,
)

NOT_HEATED_H = sum(own_limits()[name].value for name in ("plan_starts_after_h", "plan_ends_before_h"))
"""So much of an attended day nothing is on: at its opening, and before it ends."""

ROUNDING_H = 1.0
"""Days are told in half hours and set-points in 5 K: so much is no difference."""

DRIES = {
    "brick": (kiln(), 12.0, BY_HAND, (), None),
    "weekends off": (kiln(), 12.0, BY_HAND, (1, 2), None),
    "day and night": (kiln(BRICK_AND_FIBRE), 24.0, BY_HAND, (), None),
    "a coarse controller": (kiln(), 12.0, COARSE, (), None),
    "one run a day": (kiln(), 12.0, replace(BY_HAND, starts_hot=False), (), None),
    "Fahrenheit": (kiln(), 12.0, Fahrenheit(overshoot_k=15.0), (), None),
    "ramps by time": (kiln(), 12.0, ByTime(), (), None),
    "a weak supply": (kiln(power_kw=1.2), 16.0, BY_HAND, (), None),
    "a room that takes little": (kiln(), 16.0, BY_HAND, (), RoomCare(60.0)),
}


def ways():
    return pytest.mark.parametrize("way", DRIES)


def run_of(way):
    heating, hours, alphabet, off, care = DRIES[way]
    return found(heating, hours, alphabet, off, care)


def heated(one):
    return [spell for spell in one.spells if spell]


# ---------------------------------------------------------------------------------------- it keeps its limits


@ways()
def test_nine_draws_in_ten_keep_every_limit_with_all_overshoot(way):
    """Run again from day to day, every set-point overrun: what the search itself looked at is not believed."""
    heating, _, alphabet, _, care = DRIES[way]
    one, at, conditions = run_of(way), begin(heating), under(heating, care)
    standing = at.standing
    for spell in one.spells:
        if spell:
            over_k = alphabet.overshoot_k
            worst = live(at.draws, standing, conditions, spell, lambda run, *_: run, over_k=over_k, after_h=2.0)
            for name, values in reached(conditions.limits, worst.did, worst.asked_degc).items():
                assert np.quantile(values, 0.9, axis=0).max() <= conditions.limits[name].value * 1.01
        standing = live(at.draws, standing, conditions, spell, lambda run, *_: run).ends
    assert not one.broken
    assert all(peak.reached.p90 <= conditions.limits[peak.limit_id].value for peak in one.peaks)


@ways()
def test_it_ends_dry_by_its_own_days(way):
    heating = DRIES[way][0]
    one = run_of(way)
    left = one.did[-1].water_kg[:, -1] / begin(heating).first_kg

    assert one.dry
    assert len(one.spells) == len(one.did)
    assert np.quantile(left, 0.95) <= own_limits()["plan_water_left"].value + 1e-9
    assert all(did.hours[-1] == pytest.approx(24.0) for did in one.did)


@ways()
def test_nothing_is_hotter_than_below_boiling_before_the_gate_opens(way):
    """By practice's shortest hours and by the water, both on a day before; overshoot counts."""
    heating, _, alphabet, _, care = DRIES[way]
    one, gate = run_of(way), under(heating, care).boiling
    held_h, left = 0.0, 1.0
    for spell, did in zip(one.spells, one.did, strict=True):
        if spell and spell.top_degc + alphabet.overshoot_k > gate.hold_degc + 1e-6:
            assert held_h >= gate.hours - 1e-6
            assert left <= own_limits()["plan_boiling_left"].value
        held_h += spell.held_h(gate.from_degc, gate.hold_degc) if spell else 0.0
        left = np.quantile(did.water_kg[:, -1] / begin(heating).first_kg, 0.95)


@ways()
def test_no_programme_runs_when_whoever_attends_leaves(way):
    _, hours, _, off, _ = DRIES[way]
    for number, spell in enumerate(run_of(way).spells):
        there = attended(hours, off)(number)
        assert spell is None or spell.hours <= there - NOT_HEATED_H + 1e-6
        assert there or spell is None


@ways()
def test_everything_is_in_what_can_be_set(way):
    _, _, alphabet, _, _ = DRIES[way]
    for run in (run for spell in heated(run_of(way)) for run in spell.runs):
        here = run.from_degc
        for step in run.steps:
            assert alphabet.set_degc(step.to_degc + 1e-6) == pytest.approx(step.to_degc, abs=1e-6)
            assert step.to_degc >= alphabet.least_degc
            ramp = alphabet.ramp_k_h(step.ramp_k_h + 1e-9, max(abs(step.to_degc - here), 1.0))
            assert ramp == pytest.approx(step.ramp_k_h)
            assert step.hold_h / alphabet.hold_step_h == pytest.approx(round(step.hold_h / alphabet.hold_step_h))
            here = step.to_degc
        assert len(run.steps) <= alphabet.steps
        assert all(after.to_degc >= before.to_degc for before, after in pairwise(run.steps))


@ways()
def test_a_ramp_is_that_of_the_lining_and_back_to_where_it_was_that_of_reheating(way):
    heating = DRIES[way][0]
    first, again = limits(heating)["plan_ramp"].value, own_limits()["plan_reheat_k_h"].value
    reached_degc = -np.inf
    for spell in heated(run_of(way)):
        for run in spell.runs:
            for step in run.steps:
                assert step.ramp_k_h <= (again if step.to_degc <= reached_degc - 10 + 1e-6 else first) + 1e-6
            reached_degc = max(reached_degc, run.top_degc)
        reached_degc = spell.top_degc


@ways()
def test_no_hold_point_is_passed_without_its_readings(way):
    """The heater is off for half an hour, and what the chamber cools by is in the next run."""
    heating, _, alphabet, _, _ = DRIES[way]
    stops = [alphabet.set_degc(one - alphabet.overshoot_k) for one in under(heating).hold_points_degc]
    read = set()
    for spell in heated(run_of(way)):
        assert spell.off_h == own_limits()["plan_hold_h"].value
        assert alphabet.starts_hot or len(spell.runs) == 1
        for run in spell.runs:
            assert all(any(abs(stop - one) < 1e-6 for one in read) for stop in stops if stop < run.top_degc - 1e-6)
            read |= {run.top_degc} if run.reads else set()
        for before, after in pairwise(spell.runs):
            assert before.reads
            assert after.from_degc < before.top_degc


def test_a_day_on_which_nobody_comes_is_a_night_of_24_hours():
    one = run_of("weekends off")
    off = [did for spell, did in zip(one.spells, one.did, strict=True) if spell is None]

    assert len(off) >= 2
    assert all(np.all(did.heater_kwh[:, -1] == 0) for did in off)


# ---------------------------------------------------------------------------------------- the gate


def test_what_is_nearly_dry_when_it_begins_is_held_below_boiling_no_longer_than_practice_does():
    """Eight times as much as now was there before: eight hours are held all the same, and no second day of them."""
    at = begin(kiln())
    nearly = search(replace(at, first_kg=8 * at.first_kg), under(kiln()), BY_HAND, attended(), lambda *_: None)

    assert nearly.spells[0].top_degc <= 90
    assert nearly.spells[0].held_h(60.0, 95.0) >= 8
    assert nearly.spells[1].top_degc > 90


def test_what_keeps_its_water_below_boiling_is_not_heated_past_it_and_does_not_end():
    """Dense castable, day and night: one draw in twenty keeps more than half of its water for all its days."""
    one = found(kiln(DENSE), 24.0)

    assert max(spell.top_degc for spell in heated(one)) <= 90
    assert not one.dry
    assert set(one.broken) == {"plan_days", "plan_water_left"}
    assert "plan_boiling_left" in one.holds_up


def test_where_it_goes_on_from_is_where_a_search_begins():
    """The rest of a drying, searched from its third morning, is the rest that was found, within rounding."""
    heating = kiln(BRICK_AND_FIBRE)
    whole, at, conditions = found(heating, 24.0), begin(heating), under(heating)
    standing = at.standing
    for spell in whole.spells[:2]:
        standing = live(at.draws, standing, conditions, spell, lambda run, *_: run).ends
    boiling = replace(conditions.boiling, hours=0.0)  # it was held for them
    rest = search(replace(at, standing=standing), replace(conditions, boiling=boiling), BY_HAND, attended(24.0), _quiet)

    assert rest.dry
    assert rest.hours <= whole.hours - 48 + 24  # hold points are read once more


def _quiet(*_):
    pass


# ---------------------------------------------------------------------------------------- what cannot be


def test_a_controller_whose_slowest_ramp_is_too_steep_is_told_and_nothing_is_planned():
    one = found(kiln(), 12.0, Set(ramps_k_h=(80.0, 100.0)))

    assert one.broken == ("plan_ramp",)
    assert not one.spells


def test_a_controller_that_cannot_hold_below_boiling_is_told():
    one = found(kiln(), 12.0, Set(least_degc=100.0))

    assert one.broken == ("plan_boiling_left",)
    assert not one.dry


def test_what_does_not_dry_in_time_says_so():
    one = found(kiln(BRICK_AND_FIBRE), 12.0, plan_days=3)

    assert not one.dry
    assert set(one.broken) == {"plan_days", "plan_water_left"}
    assert len(one.spells) == 3
    assert "plan_attendance" in one.holds_up


def test_days_on_which_nobody_comes_are_none_of_its_days_and_it_ends_by_the_calendar_all_the_same():
    """Two of seven are off: three days heated come within five. One of seven is on: no more than seven weeks."""
    weekdays = found(kiln(BRICK_AND_FIBRE), 12.0, BY_HAND, (1, 2), plan_days=3)
    mondays = found(kiln(DENSE), 6.0, BY_HAND, (1, 2, 3, 4, 5, 6))

    assert [bool(spell) for spell in weekdays.spells] == [True, False, False, True, True]
    assert not mondays.dry
    assert len(mondays.spells) == figures().within_days.value


# ---------------------------------------------------------------------------------------- never longer


@pytest.mark.parametrize(
    ("tight", "loose"),
    [
        ((kiln(), 12.0), (kiln(), 16.0)),
        ((kiln(), 12.0, BY_HAND, (1, 2)), (kiln(), 12.0)),
        ((kiln(room_vapour=0.02), 12.0), (kiln(), 12.0)),
        ((kiln(power_kw=1.2), 16.0), (kiln(power_kw=2.0), 16.0)),
        ((kiln(), 16.0, BY_HAND, (), RoomCare(60.0)), (kiln(), 16.0, BY_HAND, (), RoomCare(120.0))),
        ((kiln(), 12.0, COARSE), (kiln(), 12.0)),
    ],
    ids=["more attendance", "no days off", "drier air", "more power", "a room that takes more", "finer control"],
)  # fmt: skip
def test_what_eases_drying_never_lengthens_it(tight, loose):
    assert found(*loose).hours <= found(*tight).hours + ROUNDING_H


@pytest.mark.parametrize(("way", "named"), [
    ("a room that takes little", "plan_room"), ("a weak supply", "plan_power"), ("brick", "plan_terminal_degc"),
    ("brick", "plan_boiling_left"), ("brick", "plan_attendance"),
])  # fmt: skip
def test_what_refused_anything_faster_is_named(way, named):
    assert named in run_of(way).holds_up


def test_what_refused_nothing_is_not_named():
    assert {"plan_room", "plan_demand", "plan_casing_degc", "plan_power"}.isdisjoint(run_of("brick").holds_up)


# ---------------------------------------------------------------------------------------- near the best there is


def test_a_day_that_limits_hold_back_is_near_the_best_of_all_that_can_be_set():
    """A room that takes 0.3 kg/h: of every day of two set-points and two ramps none takes out 3 % more.

    Where the slowest ramps to two set-points break a limit, no faster ones are tried: they are no milder.
    """
    heating, care = kiln(), RoomCare(60.0)
    at, conditions = begin(heating), under(heating, RoomCare(60.0))
    one = found(heating, 12.0, BY_HAND, (), care, plan_days=1)
    slowest, *faster = product((10.0, 20.0, 30.0, 50.0), repeat=2)

    def gone(set_points, ramps):
        steps = tuple(Step(*step) for step in zip(set_points, ramps, (5.0, 0.0), strict=True))
        return _gone(at, conditions, _spell(15.0, steps, 12.0 - NOT_HEATED_H))

    every = list(combinations((40.0, 45.0, 50.0, 55.0, 60.0, 65.0, 70.0, 80.0, 90.0), 2))
    kept = {set_points: first for set_points in every if (first := gone(set_points, slowest))}
    best = max(chain(kept.values(), (gone(set_points, ramps) for set_points in kept for ramps in faster)))

    assert 0 < len(kept) < len(every)
    assert _gone(at, conditions, one.spells[0]) >= 0.97 * best


def _spell(from_degc, steps, ends_h):
    run = HeatedRun(from_degc, steps)
    left_h = ends_h - run.hours
    hold_h = max(steps[-1].hold_h + left_h // 0.5 * 0.5, 0.0)
    return Spell((replace(run, steps=(*steps[:-1], replace(steps[-1], hold_h=hold_h))),), 0.5)


def _gone(at, conditions, spell, standing=None):
    """Return the water that the p95 of the draws loses in a day [share]; 0 where a limit is not kept."""
    standing = standing or at.standing
    worst = live(at.draws, standing, conditions, spell, lambda run, *_: run, over_k=5.0, after_h=2.0)
    for name, values in reached(conditions.limits, worst.did, worst.asked_degc).items():
        if np.quantile(values, 0.9, axis=0).max() > conditions.limits[name].value:
            return 0.0
    left = worst.did.water_kg / at.first_kg[:, None]
    return float(np.quantile(left[:, 0], 0.95) - np.quantile(left[:, -1], 0.95))


@pytest.mark.parametrize("way", ["brick", "a room that takes little"])
def test_random_days_restarted_are_never_three_in_a_hundred_sooner(way):
    """Each day the best of eight random ones that keep the limits; they read where a day ends."""
    heating, hours, _, _, care = DRIES[way]
    seeds = range(1, 1 + max(TIMES, 1))
    randoms = map(np.random.default_rng, seeds)
    soonest = min(_at_random(begin(heating), under(heating, care), hours, rng) for rng in randoms)

    assert run_of(way).hours <= 1.03 * soonest


def _at_random(at, conditions, hours, rng):
    """Return the hours until 95 draws in 100 are dry."""
    standing, below_h, reached_degc, opened = at.standing, conditions.boiling.hours, 15.0, False
    half = own_limits()["plan_boiling_left"].value
    stops = [195.0, 395.0, 5.0 * (conditions.top[0] // 5 - 1)]
    left = np.ones(1)
    for number in range(12):
        opened = opened or (below_h <= 0 and left[-1] <= half)
        top = stops[0] if opened else 90.0
        tried = [_random_spell(standing, top, reached_degc, hours - NOT_HEATED_H, rng) for _ in range(8)]
        gone, spell = max(((_gone(at, conditions, one, standing), one) for one in tried), key=itemgetter(0))
        legal = gone > 0
        lived = live(at.draws, standing, conditions, spell if legal else None, lambda run, *_: run)
        left = np.quantile(lived.did.water_kg / at.first_kg[:, None], 0.95, axis=0)
        if left[-1] <= 0.05:
            return 24 * number + min(lived.did.hours[np.flatnonzero(left > 0.05)[-1] + 1], spell.hours)
        standing, below_h = lived.ends, below_h - (spell.held_h(60.0, 95.0) if legal else 0)
        reached_degc = spell.top_degc if legal else reached_degc
        stops = stops[1:] if legal and reached_degc == stops[0] and len(stops) > 1 else stops
    return np.inf


def _random_spell(standing, top, reached_degc, ends_h, rng):
    """Return a day back to where it was, and by one or two set-points on towards the top."""
    here = from_degc = float(np.floor(standing.held[:, 0].min()))
    last = top if rng.random() < 0.5 else 5.0 * rng.integers(6, top // 5 + 1)
    again = np.floor((min(reached_degc - 10, last)) / 5) * 5
    steps = [Step(again, 60.0)] if again > here + 5 else []
    here = max(here, again)
    if last - here > 20:
        middle = here + 5.0 * rng.integers(1, (last - here) // 5)
        steps.append(Step(middle, float(rng.choice([20, 30, 50])), 0.5 * rng.integers(0, 10)))
    if not steps or last > steps[-1].to_degc:
        steps.append(Step(max(last, here + 1), float(rng.choice([20, 30, 50]))))
    cut = Course.of(from_degc, tuple(steps))
    while cut.end_h > ends_h and len(steps) > 1:
        steps = steps[:-1]
        cut = Course.of(from_degc, tuple(steps))
    return _spell(from_degc, tuple(steps), max(ends_h, cut.end_h))


# ---------------------------------------------------------------------------------------- parts of it


@given(
    st.lists(st.tuples(st.floats(5, 80), st.sampled_from((10.0, 25.0, 50.0, 60.0)), st.floats(0, 4)), min_size=1,
             max_size=5),
    st.floats(1, 25),
)  # fmt: skip
@cases(100)
def test_the_worst_of_a_run_is_nowhere_cooler_or_more_than_its_overshoot_hotter(rises, over_k):
    steps, degc = [], 15.0
    for rise, ramp, hold_h in rises:
        degc += rise
        steps.append(Step(degc, ramp, hold_h))
    run = HeatedRun(15.0, tuple(steps))
    hours = np.linspace(0, run.hours, 200)
    as_set = np.interp(hours, run.course.hours, run.course.degc)
    worst = np.interp(hours, run.worst(over_k).hours, run.worst(over_k).degc)

    assert np.all(worst >= as_set - 1e-6)
    assert np.all(worst <= as_set + over_k + 1e-6)
    assert all(after >= before for before, after in pairwise(run.worst(over_k).hours))


def test_hours_held_are_those_between_two_temperatures():
    """By hand: 60 to 90 at 30 K/h is an hour, and the hold."""
    run = HeatedRun(15.0, (Step(90.0, 30.0, 4.0), Step(190.0, 50.0, 2.0)))

    assert run.held_h(60.0, 95.0) == pytest.approx(1.0 + 4.0 + 0.1)


def test_a_spell_of_two_runs_counts_its_readings():
    """By hand: 2 h and 1 h, half an hour apart."""
    spell = Spell((HeatedRun(15.0, (Step(65.0, 50.0, 1.0),), reads=True), HeatedRun(40.0, (Step(90.0, 50.0),))), 0.5)

    assert spell.begins_h == pytest.approx((0.0, 2.5))
    assert spell.hours == pytest.approx(3.5)
    assert spell.top_degc == 90


def test_a_day_is_lived_like_one_stretch_of_air():
    """Two runs and a night one by one are the same draws in the same air."""
    at, conditions = begin(kiln()), under(kiln())
    spell = Spell((HeatedRun(15.0, (Step(90.0, 50.0, 8.0),)),), 0.5)
    lived = live(at.draws, at.standing, conditions, spell, lambda run, *_: run)
    day = replace(conditions.day, chamber_degc=spell.runs[0].course)
    _, there = stretch(at.draws, at.standing, day, [0.0, spell.hours])
    night = Around(room_degc=Course.steady(15.0), room_vapour=0.0115)
    _, ends = stretch(at.draws, there, night, [0.0, 24 - spell.hours])

    assert isinstance(ends, Standing)
    assert lived.ends.unknowns == pytest.approx(ends.unknowns, rel=1e-3, abs=1e-3)


def test_in_the_mountains_it_holds_below_the_boiling_point_of_the_place():
    """At 3,000 m water boils at 90.0 °C: with 5 K of overshoot the first readings are taken at 80."""
    high = replace(kiln(), height_m=3000.0, stages=stages("ifb_thin", 3000.0))
    one = found(high)

    assert one.dry
    assert heated(one)[0].top_degc == 80
