"""The cards after the dry-out: practice of the trade, with what each top takes of energy and wire."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import QuantityError
from recover.base.sources import bibliography
from recover.physics.lining import ChamberShape, Layer, LayerStack, Lining
from recover.physics.materials import Band
from recover.physics.wall import Step
from recover.plan.cards import (
    advice,
    against_top,
    card,
    cards,
    caution,
    firing_energy,
    lowest_adequate,
    ramp_by_thickness,
    rechecks,
    strain,
)
from recover.plan.firing import firing_kwh

BRICK = (Layer("ifb_23", 64), Layer("blanket", 25))
KILN = Lining(
    ChamberShape("round", 580, 580, 680),
    (LayerStack("wall", BRICK), LayerStack("floor", (Layer("ifb_23", 64),)), LayerStack("lid", (Layer("ifb_23", 64),))),
)


def test_the_cards_come_in_the_order_in_which_they_are_fired():
    assert [one.id for one in cards("after")] == ["drying_firing", "oxide_firing", "test_firing"]
    assert next(one.id for one in cards("firing")) == "biscuit"
    assert [one.id for one in cards("owner")] == ["clear"]


@pytest.mark.parametrize("one", cards(), ids=lambda one: one.id)
def test_every_card_says_where_it_comes_from_and_what_is_seen(one):
    assert one.because
    assert one.needs
    assert one.see
    assert one.basis in ("own_limit", "common_practice")
    assert not one.source or one.source in bibliography()
    assert [step.to_degc for step in one.steps] == sorted(step.to_degc for step in one.steps)
    assert "Attended" in caution()


def test_the_first_real_firings_give_way_to_the_owners_own_figures():
    for one in cards("firing"):
        assert advice(one)[0] == "Your own figures go before these."
    assert advice(card("drying_firing")) == ()


def test_the_drying_firing_ends_at_600():
    assert card("drying_firing").steps[-1].to_degc == 600  # common practice: 1 to 4 h
    assert 1 <= card("drying_firing").steps[-1].hold_h <= 4


def test_the_oxide_is_built_at_1050_for_seven_to_ten_hours():
    last = card("oxide_firing").steps[-1]
    assert last.to_degc == 1050  # common practice
    assert 7 <= last.hold_h <= 10


def test_the_test_firing_ends_where_its_cone_bends_at_that_ramp():
    one = card("test_firing")
    assert (one.cone, one.steps[-1].to_degc) == ("04", 1063)  # charts of the trade, for 60 K/h in the last 100 K
    assert one.steps[-1].ramp_k_h == 60
    assert one.steps[-1].to_degc - one.steps[-2].to_degc >= 100


@given(st.floats(0.5, 50))
def test_thicker_ware_is_never_fired_faster(mm):
    thin, thick = card("biscuit").for_thickness(mm / 2), card("biscuit").for_thickness(mm)
    assert all(slow.ramp_k_h <= fast.ramp_k_h for slow, fast in zip(thick.steps, thin.steps, strict=True))
    assert thick.steps[-1] == card("biscuit").steps[-1]


def test_ware_thicker_than_the_table_is_refused_in_a_sentence():
    with pytest.raises(QuantityError, match="above 0 to 50 mm"):
        ramp_by_thickness(51)


def test_a_round_kiln_of_180_litres_takes_some_fifty_kilowatt_hours_to_biscuit():
    """No source, common practice: such kilns have 6 to 9 kW and take 8 to 10 hours, about half of the time switched on.

    Of it the load of 60 kg stores 16 kWh: 60 kg, 1 kJ/kgK, 980 K.
    """
    empty = firing_energy(card("biscuit"), KILN, 20)
    loaded = firing_energy(card("biscuit"), KILN, 20, Band.exactly(60))
    assert loaded.mid - empty.mid == pytest.approx(60 * 1000 * 980 / 3.6e6, rel=1e-6)
    assert empty.low < 50 < loaded.high


def test_a_hotter_top_takes_more_energy_and_more_of_the_wire():
    rows = against_top(card("glaze"), KILN, 20, Decimal("0.30"))
    assert [row.degc for row in rows] == [1060, 1160, 1222, 1260]
    assert [row.kwh.mid for row in rows] == sorted(row.kwh.mid for row in rows)
    assert [row.cost.mid for row in rows] == sorted(row.cost.mid for row in rows)
    assert rows[0].life == 1
    assert rows[1].life == pytest.approx(1 / 3.3, rel=0.01)  # accelerated life of wire: a third for each 100 K
    assert rows[0].strain.startswith("light")
    assert rows[-1].strain.startswith("near the end")


def test_half_the_slice_changes_a_firing_by_less_than_one_in_a_hundred():
    steps, heat = card("glaze").steps, Band.exactly(1000)
    coarse, fine = (firing_kwh(KILN, steps, 20, Band.exactly(0), heat, slice_k).mid for slice_k in (50, 25))
    assert coarse == pytest.approx(fine, rel=0.01)


def test_an_hour_at_the_top_costs_what_the_casing_gives_off():
    hold, longer = ((Step(600, 100, hours),) for hours in (1, 2))
    kwh = [firing_kwh(KILN, steps, 20, Band.exactly(0), Band.exactly(1000), 50).mid for steps in (hold, longer)]
    assert 1 < kwh[1] - kwh[0] < 5


def test_the_lowest_adequate_top_is_the_lowest_that_is_hot_enough():
    assert lowest_adequate(card("glaze")).degc == 1060
    assert lowest_adequate(card("glaze"), 1200).degc == 1222
    with pytest.raises(QuantityError, match="up to 1260 °C"):
        lowest_adequate(card("glaze"), 1300)


def test_no_top_lies_beyond_what_is_said_of_strain():
    for one in cards("firing"):
        for top in one.tops:
            assert strain(top.degc).says
    with pytest.raises(QuantityError, match="up to 1320 °C"):
        strain(1400)


def test_it_is_looked_at_again_after_firings_and_after_one_three_and_six_months():
    found = rechecks([5, 20])
    assert [one.after for one in found[:3]] == ["after the first firing", "after firing 5", "after firing 20"]
    assert [one.months for one in found if one.months] == [1, 3, 6]
    assert all("ust" in " ".join(one.look) for one in found if one.months)
