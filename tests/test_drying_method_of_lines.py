"""The drying model beside an independent solution of the same equations.

`tests/method_of_lines.py` solves heat, water and air in a wall by scipy's stiff integrators, with a discretisation and
a line of saturation of its own; what it found on a fine grid is kept in `tests/vectors/method_of_lines.json`, and how
far its answers still move when its grid is halved stands there too.
"""

import json
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from recover.physics.air import ATMOSPHERE_PA
from recover.physics.drying import simulate
from recover.physics.wall import Chamber, Course, Face, Matter, Room, Setup, Wall, WallLayer

CASES = json.loads((Path(__file__).parent / "vectors" / "method_of_lines.json").read_text())["cases"]
NAMES = list(CASES)
"""Insulating and dense walls, gas-tight and open, 72 h to 600 °C."""


def layer(row):
    matter = Matter(
        row["density_kg_m3"], row["porosity"], row["k0_w_mk"], row["c0_j_kgk"],
        k1_w_mk2=row["k1_w_mk2"], cp1_j_kgk2=row["c1_j_kgk2"], wet_k_w_mk=row["k_wet_w_mk"],
        permeability_m2=row["permeability_m2"], vapour_tortuosity=row["tortuosity"],
        hygroscopic_kg_m3=row["w_h_kg_m3"], liquid0_m2_s=row["d0_m2_s"], liquid_exponent=row["b"],
    )  # fmt: skip
    return WallLayer(1000 * row["thickness_m"], matter, row["water_kg_m3"])


def setup_of(case):
    faces = case["faces"]
    hot = Face(film_w_m2k=faces["h_hot_w_m2k"], openness=1.0, vapour_film_m_s=faces["film_m_s"])
    cold = Face(
        natural_w_m2k13=faces["h_cold_w_m2k"], emissivity=faces["emissivity"], openness=faces["openness"],
        vapour_film_m_s=faces["film_m_s"],
    )  # fmt: skip
    hours, degc = zip(*case["schedule_h_degc"], strict=True)
    chamber = Chamber(vapour_share=faces["chamber_vapour_pa"] / ATMOSPHERE_PA)
    room = Room(Course.steady(faces["room_degc"]), faces["room_vapour_pa"] / ATMOSPHERE_PA)
    wall = Wall(tuple(map(layer, case["layers"])), hot, cold)
    return Setup((wall,), Course(hours, degc), chamber=chamber, room=room, start_degc=degc[0])


@pytest.fixture(scope="module", params=NAMES)
def both(request):
    """Return what the method of lines found, and a run of the same wall as the program makes it."""
    found = CASES[request.param]
    return found["result"], simulate(setup_of(found["case"]), found["result"]["hours"])


def test_the_water_left_is_the_same_within_two_parts_in_a_hundred_of_the_first(both, record_property):
    expected, run = both
    left = run.water_kg / run.water_kg[0]
    apart = np.max(np.abs(left - np.array(expected["condensed_left"])))
    record_property("water apart", float(apart))

    assert apart < 0.02


@pytest.mark.parametrize("gone", ["50%", "95%"])
def test_half_and_nearly_all_are_gone_at_the_same_hour_within_a_twentieth(both, gone, record_property):
    expected, run = both
    hour = run.hours_gone(float(gone.rstrip("%")) / 100)
    record_property(f"hours to {gone}", (hour, expected["gone_h"][gone]))

    assert hour == (pytest.approx(expected["gone_h"][gone], rel=0.05) if expected["gone_h"][gone] else None)


def test_the_highest_pressure_is_the_same_within_a_fifth(both, record_property):
    expected, run = both
    peak_pa = 1000 * float(run.walls[0].overpressure_kpa.max())
    record_property("peak pressure", (peak_pa, expected["overpressure_pa"]["value"]))

    assert peak_pa == pytest.approx(expected["overpressure_pa"]["value"], rel=0.2, abs=100)


def test_the_casing_is_as_warm_within_two_kelvin_while_more_than_a_tenth_is_left(both, record_property):
    expected, run = both
    wet = np.array(expected["condensed_left"]) > 0.1
    apart = np.max(np.abs(run.walls[0].casing_degc - np.array(expected["cold_surface_degc"]))[wet])
    record_property("casing apart", float(apart))

    assert apart < 2.0


def test_the_independent_answers_had_settled():
    for name in NAMES:
        apart = CASES[name]["refinement"]["cells"]["apart"]

        assert apart["water_left"] < 0.005, name
        assert apart["gone_h"] < 0.01, name


def test_the_independent_solution_closes_its_own_balances():
    for name in NAMES:
        result = CASES[name]["result"]

        assert result["audit_water"] < 1e-4, name
        assert result["audit_energy"] < 1e-4, name


def test_hours_of_the_vectors_rise():
    assert all(one < next_one for name in NAMES for one, next_one in pairwise(CASES[name]["result"]["hours"]))
