"""Ways to dry side by side: which are open, what they come to, which is recommended. No kiln was measured."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache

import pytest

from recover.plan.strategies import Circumstances, cards, compare
from recover.schedule.spells import Attendance
from tests.plans import BRICK_AND_FIBRE, kiln, planned

START = date(2026, 4, 1)


def circumstances(layers=BRICK_AND_FIBRE, **more) -> Circumstances:
    """Return a framed kiln in fresh water, everything at hand."""
    return replace(
        Circumstances(
            heating=kiln(layers),
            build="framed",
            salt="fresh",
            gate_open=True,
            sections=2,
            workshop=True,
            supply_kw=4.0,
            attendance=Attendance(),
            start=START,
            lead_days=5,
            price_kwh=Decimal("0.3"),
        ),
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


def test_while_nobody_knows_when_parts_come_no_date_is_named_and_own_elements_are_not_first():
    ways, found = compared(circumstances(lead_days=None))

    assert all(one.fired_again is None for one in ways.values())
    assert ways["own"].open
    assert found.recommended.card.id != "own"


# ---------------------------------------------------------------------------------------- a day of a way

WAYS = pytest.mark.parametrize("card", cards().strategy, ids=lambda card: card.id)


def said(card, when):
    """Return what is done at a time of the day, in one text."""
    return " ".join(check.say for check in card.routine if check.when == when)


@WAYS
def test_a_day_has_checks_before_it_opens_readings_and_checks_before_somebody_leaves(card):
    """Common practice of the trade, and our own limits; no source."""
    order = [check.when for check in card.routine]

    assert order == sorted(order, key=["opens", "hourly", "leaves"].index)
    assert set(order) == {"opens", "hourly", "leaves"}
    assert "residual-current device tested today, by its button" in said(card, "opens")
    assert "floor dry" in said(card, "opens")
    assert "Written down" in said(card, "hourly")
    assert "sheet signed" in said(card, "leaves")
    assert len({check.say for check in card.routine}) == len(card.routine)


@WAYS
def test_a_day_is_stopped_at_once_by_smoke_a_trip_or_water(card):
    stops = " ".join(card.stop)

    for cause in ("smoke", "protective device trips", "Water on the floor"):
        assert cause in stops
    assert "never bridged" in stops
    assert ("Nobody can stay." in card.stop) == card.heated  # a fan may run alone, heat may not


@WAYS
def test_another_day_hangs_on_a_condition(card):
    assert card.go_on.startswith("Another day if nothing stopped this one")


@WAYS
def test_dry_is_two_weighings_and_a_reading_never_one_alone(card):
    for sign in ("weighed twice, a day or more apart", "1 per cent", "0.2 kg", "insulation reading", "Never one"):
        assert sign in card.done


@pytest.mark.parametrize("card", [card for card in cards().strategy if card.air != "own"], ids=lambda card: card.id)
def test_external_drying_leaves_the_kiln_isolated_and_is_followed_by_the_meter(card):
    assert "isolated, locked off, proven dead" in said(card, "opens")
    assert "Insulation resistance of the elements at the end of the day" in said(card, "leaves")
    if card.heated:
        assert "cut-out tried" in said(card, "opens")
        assert "off and unplugged" in said(card, "leaves")
        assert "cut-out has tripped twice" in " ".join(card.stop)
    if card.air == "enclosure":
        assert "exhaust open to the outside" in said(card, "opens")
        assert "hand's breadth" in said(card, "leaves")


def test_own_elements_are_entered_by_named_people_with_an_empty_chamber_and_a_probe_of_its_own():
    own = next(card for card in cards().strategy if card.air == "own")

    for check in ("hold point before own heat released", "independent probe", "chamber empty", "plugs out"):
        assert check in said(own, "opens")
    assert "15 to 30 minutes" in said(own, "hourly")
    for check in ("isolated", "stopped rising", "when it is cold"):
        assert check in said(own, "leaves")
    assert any("abort floor" in rule for rule in own.stop)
