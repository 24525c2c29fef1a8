"""Programmes: what a controller can run of a schedule.

The worked outputs are own computations: a second program's compiler, whose hours and steps are met exactly. Its lead was
sampled every quarter of a kelvin; here the least is exact, so it may only be smaller.
"""

from dataclasses import replace
from math import inf

import pytest

from recover.physics.wall import Step
from recover.plan.compile import rules
from recover.plan.controller import Ramps, learnt
from recover.plan.programme import Programme, Refusal, programme
from recover.plan.proof import lead_h, prove
from recover.plan.timeline import Timeline

SCHEDULE = (Step(60, 15, 4), Step(95, 10, 6), Step(120, 10, 8), Step(200, 20, 4), Step(600, 50, 1), Step(900, 100, 0.5))
COARSE = Ramps("list", listed_k_h=(25, 50, 80, 150, 220))


def controller(**known):
    known = {
        "letters": ("K",), "programmes": 9, "steps": 8, "ramps": Ramps("rate", 1, 999), "temperature_step": 1,
        "least_degc": 0, "hold_step_min": 1, "longest_hold_h": inf, "waits_for_kiln": True, "starts_from": "present",
        "starts_hot": True, "delays_start": False, "ramps_to_degc": inf, "overshoot_k": 5, "cycle_s": 20,
        "after_power_cut": "stops", "cutout": "own_probe", "degrees": "C",
    } | known  # fmt: skip
    return learnt("papers", **known)


A = controller()
B = controller(
    steps=1, ramps=COARSE, hold_step_min=20, longest_hold_h=2, temperature_step=10, overshoot_k=15,
    ramps_to_degc=540, full_power_k_h=200,
)  # fmt: skip
C = controller(steps=4, ramps=Ramps("rate", 5, 500, 5), hold_step_min=5, longest_hold_h=10, least_degc=50)
D = controller(least_degc=100, temperature_step=10)
E = controller(steps=16, ramps=COARSE, hold_step_min=5)
F = controller(steps=2, starts_hot=False)


def made(of, **rule):
    return programme(20, SCHEDULE, of, "K", allowed=replace(rules(), **rule))


def sampled_lead_h(found):
    """The least lead at every quarter of a kelvin, as the other program took it."""
    asked, ran = Timeline.of(20, found.schedule), Timeline.of(20, found.steps)
    return min(ran.left_h(20 + n / 4) - asked.left_h(20 + n / 4) for n in range(4 * 380))


def test_controller_a_runs_it_in_one_run_as_the_worked_output_has_it():
    found = made(A)
    steps = [(step.ramp_k_h, step.to_degc, round(step.hold_h, 6)) for step in found.steps]
    assert steps == [(15, 55, 4), (10, 90, 6), (10, 115, 8.25), (20, 195, 4.15), (50, 600, 1), (100, 900, 0.5)]
    assert len(found.runs) == 1
    assert found.hours == pytest.approx(47.333, abs=5e-4)
    assert found.proof.lead_h == pytest.approx(0, abs=5e-3)


def test_b_restarts_too_often_and_with_sixty_allowed_stops_where_it_cannot_ramp():
    refused = made(B, gap_k=20)
    assert [one.id for one in refused.reasons] == ["restarts"]
    assert "28 restarts" in refused.reasons[0].says
    found = made(B, gap_k=20, restarts=60)  # the other program climbs the whole 20 K above a lowered hold at once
    assert (len(found.runs), found.stops_degc) == (29, 540)
    assert found.hours == pytest.approx(44.60, abs=5e-3)
    assert sampled_lead_h(found) == pytest.approx(0.073, abs=5e-4)
    assert found.proof.lead_h == pytest.approx(1 / 15, abs=1e-6)


def test_b_within_our_own_rules_takes_two_runs_more_since_twenty_kelvin_are_split_off():
    assert [one.id for one in made(B).reasons] == ["restarts"]
    found = made(B, restarts=60)
    assert found.proof.holds
    assert len(found.runs) > 29


def test_c_runs_it_in_two_runs():
    found = made(C)
    assert [len(run.steps) for run in found.runs] == [4, 2]
    assert round(found.runs[0].steps[-1].hold_h, 3) == 4.167
    assert found.hours == pytest.approx(47.35, abs=5e-3)
    assert found.proof.lead_h == pytest.approx(0, abs=5e-3)


def test_d_cannot_go_so_low():
    (reason,) = made(D).reasons
    assert reason.id == "too_cool"
    assert "50 °C lies below the least of 100 °C" in reason.says


def test_e_climbs_by_stairs_of_ten_kelvin():
    found = made(E)
    assert (len(found.runs), len(found.steps)) == (2, 22)
    assert found.hours == pytest.approx(48.93, abs=5e-3)
    assert sampled_lead_h(found) == pytest.approx(0.043, abs=5e-4)
    assert 0 < found.proof.lead_h <= 0.043


def test_f_cannot_be_started_hot():
    assert [one.id for one in made(F).reasons] == ["hot_start"]
