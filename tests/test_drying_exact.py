"""The drying model against exact answers of textbook problems, and those answers against published figures.

Tolerances and sources stand with the problems in `validation`, which also prints the table.
"""

import pytest

from recover.physics.air import diffusivity_m2_s
from tests import exact
from tests.validation import PROBLEMS


@pytest.mark.parametrize("problem", PROBLEMS, ids=lambda problem: problem.cases.__name__)
def test_the_model_meets_the_exact_answer(problem, record_property):
    cases = list(problem.cases())
    for case in cases:
        record_property(case.name, f"{case.error:.2e}")
    worst = max(cases, key=lambda case: case.error)

    assert worst.error <= problem.within, (
        f"{worst.name}: {worst.ours:.6g} where {worst.exact:.6g} is exact, {worst.error:.1e} of the span"
    )


@pytest.mark.parametrize(
    ("bi", "root", "first"),  # Incropera & DeWitt, Table 5.1, plane wall
    [(0.5, 0.6533, 1.0701), (2.0, 1.0769, 1.1785), (10.0, 1.4289, 1.2620)],
)
def test_the_first_term_of_the_slab_is_the_tables(bi, root, first):
    z = exact.slab_roots(bi)[0]

    assert z == pytest.approx(root, abs=6e-5)
    assert 4 * exact.sin(z) / (2 * z + exact.sin(2 * z)) == pytest.approx(first, abs=6e-5)


@pytest.mark.parametrize(
    ("number", "root"),  # own computation with another program, no source
    [(0.05, 0.156821), (0.1, 0.220016), (0.2, 0.306424), (0.5, 0.464786), (1.0, 0.620063)],
)
def test_the_root_of_the_stefan_problem(number, root):
    assert exact.stefan(number) == pytest.approx(root, abs=1e-6)


def test_fronts_of_boiling_by_hand():
    # own computation with another program, no source; heat capacity of water 4186 J/kgK
    cold = exact.Neumann(0.25, 8e5, 0.25, 8e5 + 400 * 4186, 400 * 2.257e6)

    assert cold.front_m(600, 100, 15, 6 * 3600) == pytest.approx(0.063033, abs=1e-6)
    behind_a_film = exact.quasi_steady_front_m(31.7 * 3600, 0.15, 20.0, 100.0, 300 * 2.257e6)
    assert behind_a_film == pytest.approx(0.064, abs=1e-4)


def test_the_steady_stack_by_hand():
    # own computation with another program, no source
    flux, faces = exact.steady_layers(((0.064, 0.15, 1.5e-4), (0.025, 0.08, 0.0)), 600.0, 15.0, film=8.0)

    assert (flux, *faces[1:]) == pytest.approx((806.885, 368.012, 115.861), abs=1e-3)


def test_a_thin_cylinder_is_a_plane_and_a_thick_one_takes_longer():
    flat = 0.064**2 / 2 * 300 * 2.257e6 / (0.15 * 100)

    assert exact.cylinder_front_s(1e3, 0.064, 0.15, 100, 300 * 2.257e6) == pytest.approx(flat, rel=1e-4)
    # 27.7 h against 25.7 h: own computation, no source
    assert exact.cylinder_front_s(0.25, 0.064, 0.15, 100, 300 * 2.257e6) / flat == pytest.approx(27.7 / 25.7, rel=5e-3)


def test_an_isothermal_vapour_front_takes_weeks_when_cold():
    # 64 mm at 90 °C in 30 h, at 60 °C in 182 h: own computation, no source
    def hours(degc, saturated):
        spread = 0.225 * diffusivity_m2_s(degc)
        return (0.064 / exact.vapour_front_m(3600, 300.0, spread, degc, saturated, 1170.0)) ** 2

    assert hours(90.0, 70_180) == pytest.approx(30, abs=0.5)
    assert hours(60.0, 19_950) == pytest.approx(182, rel=0.01)


@pytest.mark.parametrize(
    ("permeability", "kpa"),  # 1 kg/m²h through 50 mm at 150 °C: own computation with a viscosity 2 % lower, no source
    [(1e-13, 4), (1e-14, 33), (1e-15, 193), (1e-16, 779)],
)
def test_the_pressure_behind_a_kilogram_an_hour(permeability, kpa):
    flow = exact.darcy_vapour_kg_m2s(permeability, 0.05, 150.0, exact.ATMOSPHERE + 1000 * kpa)

    assert flow * 3600 == pytest.approx(1.0, rel=0.03 if kpa > 10 else 0.12)  # its figure has one digit
