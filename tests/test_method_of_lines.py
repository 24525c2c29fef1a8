"""The independent solution that the program's solver is held against must itself hold: here it is tried and audited."""

import json
from dataclasses import asdict

import numpy as np
import pytest

from tests.method_of_lines import CASES, QUICK, VECTORS, first_hours, run
from tests.wall_balances import KELVIN, Faces, cold_surface_degc, saturation

STORED = json.loads(VECTORS.read_text(encoding="utf-8"))["cases"]

# What the steps between grids, tolerances and integrators may leave open.
SETTLED = {"water_left": 0.002, "gone_h": 0.01, "overpressure_pa": 0.03, "cold_surface_k": 0.3}


# IAPWS SR1-86(1992), the verification values of the saturation line: K, Pa. From memory.
@pytest.mark.parametrize(("kelvin", "pressure_pa"), [(273.16, 611.657), (373.1243, 101325), (647.096, 22.064e6)])
def test_water_boils_where_the_release_on_its_saturation_says(kelvin, pressure_pa):
    # Above 370 °C the line goes on straight, and has left the curve by half a per cent at the critical point.
    rel = 1e-5 if kelvin < 370 + KELVIN else 5e-3
    assert saturation(np.array([kelvin]))[0][0] == pytest.approx(pressure_pa, rel=rel)


@pytest.mark.parametrize("degc", [5, 100, 300, 369.9, 370.1, 600])
def test_the_slope_of_the_saturation_line_is_that_of_the_line(degc):
    below, at, above = (saturation(np.array([degc + KELVIN + step])) for step in (-0.01, 0, 0.01))
    assert at[1][0] == pytest.approx((above[0][0] - below[0][0]) / 0.02, rel=1e-6)


def test_the_casing_takes_the_temperature_at_which_it_loses_what_reaches_it():
    # Flow through 64 mm of k = 0.12 + 1e-4 T and 25 mm of 0.035 + 1.6e-4 T from 600 °C: 693 W/m2, casing 80 °C.
    # Computed, no source.
    surface = cold_surface_degc(Faces(0), conductance=100.0, degc=80 + 6.93)
    assert surface == pytest.approx(80, abs=0.5)


@pytest.mark.parametrize("name", CASES)
def test_what_is_stored_was_made_from_these_walls(name):
    assert STORED[name]["case"] == json.loads(json.dumps(asdict(CASES[name])))


@pytest.mark.parametrize("name", CASES)
def test_what_is_stored_loses_neither_water_nor_energy(name):
    assert abs(STORED[name]["result"]["audit_water"]) < 1e-4
    assert abs(STORED[name]["result"]["audit_energy"]) < 1e-4


@pytest.mark.parametrize("name", CASES)
def test_no_pore_overfills(name):
    # Cells of a millimetre do, at a gas-tight casing: the grid is at fault then, and no water need drain.
    assert STORED[name]["result"]["saturation"]["value"] < 1


@pytest.mark.parametrize("change", ["cells", "rtol", "integrator"])
@pytest.mark.parametrize("name", CASES)
def test_what_is_stored_has_settled(name, change):
    apart = STORED[name]["refinement"][change]["apart"]
    assert {of: by for of, by in apart.items() if by > SETTLED[of]} == {}


@pytest.mark.parametrize("name", CASES)
def test_a_coarse_run_of_the_first_hours_comes_to_what_is_stored(name):
    quick, stored = run(first_hours(CASES[name], 4), QUICK[name.split(",")[0]]), STORED[name]["result"]
    assert quick.water_left == pytest.approx(stored["water_left"][:5], abs=0.004)
    # The first hour of evaporation from an open casing hangs on the first cell.
    assert quick.cold_surface_degc[2:] == pytest.approx(stored["cold_surface_degc"][2:5], abs=0.5)
    assert abs(quick.audit_water) < 1e-4
    assert abs(quick.audit_energy) < 1e-4
