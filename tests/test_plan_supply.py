"""One supply for all that is on in a room, and a room that nothing takes vapour out of: what a plan makes of both."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from recover.plan.cautions import with_cautions
from recover.plan.days import days_of
from recover.plan.outside import kwh
from recover.plan.piece import Piece
from recover.plan.ways import all_on_kw, closed_because, heater_kw, machines_kw, room_beside, takes_kw, way, ways
from recover.plan.whole import Request
from recover.schedule.spells import Attendance
from tests.sample_plan import planned as sample
from tests.small_kiln import ran, taken

CARED_FOR = (("plan.exhaust", 250.0), ("plan.dehumidifier", 20.0))
CLOSED = (("plan.exhaust", 0.0), ("plan.dehumidifier", 0.0))
FAN_KW, DRAWS_KW = 0.08, 20 * 0.6 / 24
ZONE = ZoneInfo("Europe/London")
REQUEST = Request(datetime(2026, 4, 14, 8), Attendance(8, 20))  # noqa: DTZ001 - by the job's own clock
FROM_OUTSIDE = [card for card in ways().way if card.air not in ("own", "workshop")]


def supplied(supply_kw, given=CARED_FOR):
    """Return the small kiln on a supply, in a room with a fan and a dehumidifier."""
    return replace(taken(given), supply_kw=supply_kw)


def numbers(way_id, given=CARED_FOR):
    """Return what stands on the sheets of a path, by name; each number of the first day on which it stands."""
    of, found = taken(given), {}
    for day in days_of(ran(way_id, given), of, REQUEST, ZONE, Piece(2.0, 1.5, 0.25)):
        for one in day.numbers:
            found.setdefault((day.phase, one.what), one.value)
    return found


# ---------------------------------------------------------------------------------------- one supply


@pytest.mark.parametrize("supply_kw", [0.0, 0.3, 0.6, 0.8, 1.2, 1.5, 2.0, 3.0, 3.2, 3.7, 5.0, 20.0])
@pytest.mark.parametrize("given", [(), CARED_FOR, CLOSED], ids=["unknown", "fan and dehumidifier", "neither"])
def test_nothing_that_is_open_takes_more_than_the_supply_gives(supply_kw, given):
    """A heater of 3 kW, two fans and a dehumidifier once stood on one sheet, on a socket of 3 kW."""
    of = supplied(supply_kw, given)
    for card in (card for card in ways().way if not closed_because(card, of)):
        assert all_on_kw(card, of) <= supply_kw + 1e-9
        assert takes_kw(card, of) <= supply_kw + 1e-9


def test_what_an_ample_supply_carries_is_all_on():
    of = supplied(5.0)
    assert heater_kw(way("enclosure"), of) == 3.0
    assert room_beside(way("enclosure"), of) == of.room
    assert all_on_kw(way("enclosure"), of) == pytest.approx(3.0 + 2 * FAN_KW + DRAWS_KW)


def test_an_enclosures_heater_goes_before_the_machines_of_a_room_that_it_gives_nothing_to():
    of = supplied(3.0)
    assert heater_kw(way("enclosure"), of) == pytest.approx(2.9)
    assert room_beside(way("enclosure"), of) == of.room.unattended
    assert machines_kw(room_beside(way("small_heater"), of)) == pytest.approx(FAN_KW + DRAWS_KW)


def test_a_small_heater_needs_its_power_beside_what_dries_its_room():
    needs_kw = 0.75 + FAN_KW + DRAWS_KW
    assert closed_because(way("small_heater"), supplied(needs_kw - 0.01))
    assert not closed_because(way("small_heater"), supplied(needs_kw + 0.01))
    assert not closed_because(way("small_heater"), supplied(0.75, ()))


def test_moving_air_needs_a_supply_for_its_fan():
    assert closed_because(way("air"), supplied(0.0, ()))
    assert not closed_because(way("air"), supplied(0.1, ()))


def test_machines_that_the_supply_does_not_carry_close_every_way_and_say_so():
    of = replace(supplied(0.3), gate_open=True, workshop=True, sections=2)
    for card in ways().way:
        assert ways().sentence["overloaded"] in closed_because(card, of)
    assert not closed_because(way("own"), replace(of, supply_kw=0.6))


def test_a_sheet_says_what_all_that_is_on_comes_to_beside_the_supply():
    heated, by_room = numbers("enclosure"), numbers("small_heater")
    all_on = "all that is on at the supply of 3 kW, at most"
    assert heated["outside", "heater of the enclosure, at most"] == pytest.approx(2.9)
    assert heated["outside", all_on] == pytest.approx(2.98)
    assert ("outside", "water that a dehumidifier draws in the room") not in heated
    assert by_room["outside", "fans and dehumidifier together, by their plates, at most"] == pytest.approx(0.58)
    assert by_room["outside", all_on] == pytest.approx(1.33)
    assert by_room["own", all_on] == pytest.approx(0.58)


def test_the_energy_of_a_day_has_the_rooms_fan_and_dehumidifier_in_it():
    of = taken(CARED_FOR)
    for one in ran("small_heater", CARED_FOR).days:
        of_way = one.did.heater_kwh[:, -1]
        assert one.kwh - of_way == pytest.approx((FAN_KW + DRAWS_KW) * one.on_h)
    day = ran("air", CARED_FOR).days[0]
    assert day.on_h > 0
    assert day.kwh == pytest.approx((2 * FAN_KW + DRAWS_KW) * day.on_h)
    assert np.all(kwh(way("air"), of, day.did, day.on_h) == FAN_KW * day.on_h)


def test_in_a_room_nobody_knows_of_no_machine_is_counted():
    for one in ran("small_heater").days:
        assert one.kwh == pytest.approx(one.did.heater_kwh[:, -1])


# ---------------------------------------------------------------------------------------- two kilns on one supply


def planned(at, way_id="enclosure", later=0):
    """Return a sample plan whose attended days are all of one way, so many days later."""
    made = sample()
    days = tuple(
        replace(day, way=way_id, date=day.date + timedelta(days=later), off_switch="the plug") for day in made.days
    )
    return replace(made, kiln=at, days=days)


@pytest.mark.parametrize(
    ("ways_of", "supply_kw", "later", "told"),
    [
        (("enclosure", "enclosure"), 3.0, 0, True),
        (("enclosure", "enclosure"), 7.0, 0, False),
        (("enclosure", "enclosure"), 3.0, 1000, False),  # one after the other
        (("enclosure", "workshop"), 3.0, 0, False),
        (("small_heater", "small_heater"), 1.4, 0, True),
        (("small_heater", "small_heater"), 2.1, 0, False),  # the room's machines are on once
        (("own", "own"), 0.6, 0, False),
    ],
)
def test_two_kilns_that_are_dried_at_once_on_one_supply_are_told_so(ways_of, supply_kw, later, told):
    of, says = supplied(supply_kw), ways().sentence["one_supply"]
    plans = [planned("kiln/1", ways_of[0]), planned("kiln/2", ways_of[1], later)]
    both = with_cautions([of, of], plans)
    assert [says in one.because for one in both] == [told, told]
    assert with_cautions([of, of], both) == both  # it is said once


def test_one_kiln_has_its_supply_to_itself():
    (alone,) = with_cautions([supplied(3.0)], [planned("kiln/1")])
    assert alone == planned("kiln/1")


# ---------------------------------------------------------------------------------------- a room without a way out


def test_a_room_without_fan_and_dehumidifier_has_what_leaves_any_room_by_itself():
    closed, unknown = taken(CLOSED), taken()
    assert closed.room == unknown.room
    assert closed.care.air_m3_h == closed.room.air_m3_h == 20
    assert closed.care.dehumidifier_l_day == 0


@pytest.mark.parametrize("way_id", ["enclosure", "small_heater", "air"])
def test_a_weaker_fan_never_dries_better(way_id):
    """No fan, one that moves less than leaves by itself, one that moves more."""
    left = [
        ran(way_id, (("plan.exhaust", air), ("plan.dehumidifier", 0.0))).days[2].left.mean() for air in (0.0, 5.0, 99.0)
    ]
    assert left[0] == left[1] >= left[2]


def test_an_enclosure_that_blows_to_the_open_is_dried_in_it_as_in_any_other():
    run, other = ran("enclosure", CLOSED), ran("enclosure")
    outside, others = ([one for one in path.days if one.phase == "outside"] for path in (run, other))
    assert len(outside) == len(others)
    assert outside[-1].left == pytest.approx(others[-1].left)


def test_a_room_that_nothing_takes_vapour_out_of_is_told_beside_the_recommendation():
    plan = planned("kiln/1")
    (told,), (unknown,), (cared_for,) = (with_cautions([taken(given)], [plan]) for given in (CLOSED, (), CARED_FOR))
    assert "No fan and no dehumidifier takes vapour out of the room: it is reckoned with 20 m³/h" in told.because
    assert "mould follows" in told.because
    assert unknown == cared_for == plan
