"""A replacement controller and the probe that is there. Temperatures: own computation from ITS-90."""

from decimal import Decimal

import pytest

from recover.base.errors import QuantityError
from recover.physics.materials import Band
from recover.plan.prices import cost
from recover.plan.replacement import match, ways


def test_a_probe_of_type_r_on_a_controller_for_k_is_hotter_than_is_shown():
    found = match("R", ["K"], [60, 95, 120, 200, 1000])
    assert [round(one.true_degc) for one in found.at[:4]] == [212, 363, 462, 745]
    assert found.at[-1].true_degc is None
    assert "745 °C when 200 °C is shown" in found.says
    assert "hotter than its type can tell when 1000 °C is shown" in found.says


def test_the_probes_own_letter_comes_first():
    found = match("S", ["K", "R", "S"], [60, 1250])
    assert found.suits
    assert [one.error_k for one in found.at] == pytest.approx([0, 0], abs=1e-6)


@pytest.mark.parametrize(("letter", "by_ice"), [("S", True), ("K", True), ("B", False)])
def test_ice_and_boiling_water_prove_nothing_of_a_probe_that_tells_nothing_there(letter, by_ice):
    says = match(letter, [letter], [1000]).says  # ITS-90: type B gives 0.033 mV at 100 °C, and 0.000 at 42 °C as at 0
    assert ("prove it by ice" in says) == by_ice
    assert ("Ice and boiling water tell nothing" in says) != by_ice


def test_a_controller_without_any_letter_is_refused_in_a_sentence():
    with pytest.raises(QuantityError, match="at least one that it can be set to"):
        match("S", [], [60])


def test_both_ways_have_parts_and_the_energy_that_proves_them():
    to_probe, to_controller = ways("R", ["K"], 1280, Band(40, 60, 90), Decimal("0.31"))
    assert (to_probe.letter, to_controller.letter) == ("R", "K")
    assert any("cable for K" in part for part in to_controller.parts)
    assert to_probe.energy_cost == cost(Band(40, 60, 90), Decimal("0.31"))
    assert any("up to 1200 °C only" in line for line in to_controller.against)  # class 2 of IEC 60584-1 ends there
    assert not any("1200" in line for line in to_probe.against)


def test_money_is_rounded_once():
    assert cost(Band(0.1, 10, 33.335), Decimal("0.3")).high == Decimal("10.00")
    assert ways("R", ["K"], 1280, Band(40, 60, 90))[0].energy_cost is None
