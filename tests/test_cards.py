"""The cards after the dry-out: practice of the trade, with what each top takes of energy and wire."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import QuantityError
from recover.base.sources import bibliography
from recover.physics.lining import ChamberShape, Layer, LayerStack, Lining
from recover.physics.wall import Step
from recover.plan.cards import _firing_kwh, _Top, against_top, card, cards, caution, firing_energy, rechecks

BRICK = (Layer("ifb_23", 64), Layer("blanket", 25))
KILN = Lining(
    ChamberShape("round", 580, 580, 680),
    (LayerStack("wall", BRICK), LayerStack("floor", (Layer("ifb_23", 64),)), LayerStack("lid", (Layer("ifb_23", 64),))),
)


def test_the_cards_come_in_the_order_in_which_they_are_fired():
    named = [one.id for one in cards()]

    assert named[:4] == ["drying_firing", "oxide_firing", "test_firing", "biscuit"]
    assert named[-1] == "clear"


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
    """What comes before the first biscuit, and what closes the job, is not theirs to alter."""
    for one in cards():
        theirs = one.id not in ("drying_firing", "oxide_firing", "test_firing", "clear")
        assert (one.advice[:1] == ("Your own figures go before these.",)) == theirs
        assert len(one.advice) == 2 * theirs


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
        card("biscuit").for_thickness(51)


def test_a_round_kiln_of_180_litres_takes_some_fifty_kilowatt_hours_to_biscuit():
    """No source, common practice: such kilns have 6 to 9 kW and take 8 to 10 hours, about half of the time switched on.

    Of it a load of 60 kg would store 16 kWh, at most 19: 60 kg, 1 to 1.15 kJ/kgK (from memory), 980 K.
    """
    empty, load_kwh = firing_energy(card("biscuit"), KILN, 20), 60 * 1.15 * 980 / 3600
    assert empty.low < 50 < empty.high + load_kwh


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
    coarse, fine = (_firing_kwh(KILN, card("glaze").steps, 20, slice_k).mid for slice_k in (50, 25))
    assert coarse == pytest.approx(fine, rel=0.01)


def test_an_hour_at_the_top_costs_what_the_casing_gives_off():
    hold, longer = ((Step(600, 100, hours),) for hours in (1, 2))
    kwh = [_firing_kwh(KILN, steps, 20, 50).mid for steps in (hold, longer)]
    assert 1 < kwh[1] - kwh[0] < 5


@pytest.mark.parametrize(("needs_degc", "top_degc"), [(None, 1060), (1060, 1060), (1200, 1222), (1300, 1060)])
def test_ware_is_given_the_lowest_top_that_is_hot_enough_and_the_lowest_of_all_where_none_is(needs_degc, top_degc):
    assert card("glaze").for_ware(needs_degc).steps[-1].to_degc == top_degc


def test_a_card_without_tops_is_the_same_for_any_ware():
    assert card("test_firing").for_ware(1200) == card("test_firing")


def test_no_top_lies_beyond_what_is_said_of_strain():
    for one in cards():
        assert all(row.strain for row in against_top(one, KILN, 20))
    with pytest.raises(QuantityError, match="up to 1320 °C"):
        against_top(replace(card("glaze"), tops=(_Top(1400, "beyond"),)), KILN, 20)


def test_it_is_looked_at_again_after_firings_and_after_one_three_and_six_months():
    found = rechecks([5, 20])
    assert [one.after for one in found[:3]] == ["after the first firing", "after firing 5", "after firing 20"]
    assert [one.months for one in found if one.months] == [1, 3, 6]
    assert all("ust" in " ".join(one.look) for one in found if one.months)
