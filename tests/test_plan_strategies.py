"""Ways to dry side by side: which are open, what they come to, which is recommended. No kiln was measured."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache

import pytest

from recover.plan.schedule import Attendance
from recover.plan.strategies import Circumstances, cards, compare, problems
from tests.plans import BRICK_AND_FIBRE, kiln, planned

START = date(2026, 4, 1)


def circumstances(layers=BRICK_AND_FIBRE, **more) -> Circumstances:
    """Return a framed kiln in fresh water, everything at hand."""
    return replace(
        Circumstances(kiln(layers), "framed", "fresh", True, 2, True, 4.0, Attendance(), START, 5, Decimal("0.3")),
        **more,
    )


@cache
def compared(of, *, with_plan=True):
    """Return the ways compared, with few draws."""
    plan = planned(of.heating, of.attendance.from_h, of.attendance.to_h, binding=False) if with_plan else None
    found = compare(of, plan, draws=12)
    return {one.card.id: one for one in found.strategies}, found


def test_every_way_has_its_needs_and_what_speaks_against_it():
    for card in cards().strategy:
        assert card.needs
        assert card.against


def test_the_ways_that_are_open_are_run():
    ways, found = compared(circumstances())

    for one in ways.values():
        assert one.open
        assert 0 <= one.left.p50 <= one.left.p90 <= 1
        assert one.kwh.p50 > 0
        assert one.price == (Decimal("0.3") * Decimal(one.kwh.p90)).quantize(Decimal("0.01"))
    assert found.recommended in found.strategies


def test_warm_air_dries_faster_than_room_air():
    ways, _ = compared(circumstances())

    assert ways["enclosure"].days is not None
    assert ways["air"].days is None or ways["enclosure"].days < ways["air"].days
    assert ways["strip"].days <= ways["enclosure"].days


def test_all_heat_is_attended_and_moving_air_is_not():
    ways, _ = compared(circumstances())

    assert ways["air"].attended_h == ways["workshop"].attended_h == 0
    assert ways["enclosure"].attended_h == pytest.approx(24 * ways["enclosure"].days)


def test_own_elements_wait_for_a_logged_reading():
    shut, found = compared(circumstances(gate_open=False))

    assert shut["own"].unknown_before
    assert shut["own"].fired_again is None
    assert found.recommended.card.id != "own"


def test_external_drying_runs_while_parts_are_on_their_way():
    soon, _ = compared(circumstances())
    late, _ = compared(circumstances(lead_days=60))
    own = soon["own"]

    assert (late["enclosure"].fired_again - START).days == 60 + 1 + 3  # fitting, and three firings (own limits)
    assert (late["own"].fired_again - own.fired_again).days == 55  # own heat waits for the parts


@pytest.mark.parametrize(
    ("way", "more", "says"),
    [
        ("strip", {"build": "jacket"}, "holds the bricks together"),
        ("strip", {"build": ""}, "may do so"),
        ("workshop", {"workshop": False}, "no dry workshop"),
        ("workshop", {"sections": 1}, "does not come apart"),
        ("enclosure", {"supply_kw": 1.0}, "more power"),
        ("own", {"salt": "sea"}, "Salt stays"),
        ("own", {}, "No schedule"),
    ],
)
def test_a_way_that_is_not_open_says_why(way, more, says):
    from recover.plan.strategies import _strategy

    card = next(card for card in cards().strategy if card.id == way)
    found = _strategy(card, circumstances(**more), None, 12)

    assert not found.open
    assert any(says in sentence for sentence in found.closed)
    assert found.days is found.left is None


def test_a_lining_with_salt_in_it_is_referred():
    found = compare(circumstances(salt="sea", supply_kw=0.01, build="", workshop=False), draws=12)

    assert found.recommended is None
    assert "Salt does not leave" in found.because


def test_without_a_price_there_is_none():
    ways, _ = compared(circumstances(price_kwh=None, attendance=Attendance(8, 20)), with_plan=False)

    assert ways["small_heater"].attended_h <= 12 * 28
    assert ways["air"].price is None
    assert ways["air"].kwh is not None


def test_a_plan_never_begins_before_what_was_last_written_down():
    assert problems(date(2026, 3, 1), date(2026, 3, 10))[0].where == "start"
    assert "2026-03-10" in str(problems(date(2026, 3, 1), date(2026, 3, 10))[0])
    assert problems(date(2026, 3, 10), date(2026, 3, 10)) == ()
