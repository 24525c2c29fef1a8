"""What a plan takes from answers and assessment: what is not known closes a path, or is left blank."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from zoneinfo import ZoneInfo

import pytest

from recover.asked.answers import Answers
from recover.asked.compiled import questionnaire
from recover.asked.said import read_value
from recover.job.folder import Job, Settings, open_job
from recover.job.journal import Event
from recover.judged.assessment import assess, assess_answers
from recover.judged.standing import Unmet
from recover.plan import of_job, prices
from recover.plan.planning import kiln_plans
from recover.plan.request import _too_soon, last_entry
from recover.plan.ways import closed_because, runs_alone, way
from recover.plan.whole import Request
from recover.profiles import limits as numbers
from recover.schedule.spells import Attendance
from tests.conftest import SEEN, ZONE, answers_from, assessed, events_of
from tests.school import school
from tests.test_dryout import ROUND
from tests.test_wetmap import KILN

ASKED = {
    "plan.supply_kw": 3.0, f"plan.workshop{KILN}": "yes", "plan.exhaust": 30.0, "plan.dehumidifier": 20.0,
    f"plan.lead_days{KILN}": 10.0, "plan.price_kwh": 0.28, "plan.rate_hour": 18.0, "plan.money": "GBP",
    "plan.heater_off": "By the stairs.", f"plan.isolator{KILN}": "By the door.", f"plan.ware_mm{KILN}": 12.0,
    f"plan.top_degc{KILN}": 1060.0, f"handover.recheck{KILN}": 5, f"identity.kw{KILN}": 9.0,
    f"identity.opening{KILN}": "top", f"identity.sections{KILN}": 2,
}  # fmt: skip


def taken(given, **more):
    """Return what planning takes of the first kiln."""
    return of_job.taken(assessed(given, **more))[0]


def closed(of, way_id):
    """Return by what in a kiln itself a way is closed, by the names of its sentences."""
    card = way(way_id)
    return {name for name, says in card.not_if.items() if says in closed_because(card, of)}


def test_what_was_said_at_the_visit_decides_which_paths_are_open():
    of = taken({**ROUND, **ASKED})

    assert (of.boards_can_go, of.salt, of.sections, of.workshop) == (True, "fresh", 2, True)
    assert (of.supply_kw, of.lead_days, of.price_kwh, of.rate_hour) == (3.0, 10, Decimal("0.28"), Decimal(18))
    assert (of.isolator, of.heater_off) == ("By the door.", "By the stairs.")
    assert (of.room.air_m3_h, of.room.dehumidifier_l_day) == (30.0, 20.0)
    assert closed(of, "workshop") == set()


def test_what_nobody_said_closes_a_path_or_is_left_blank():
    of = taken({key: value for key, value in ROUND.items() if not key.startswith("casing.build")})

    assert closed(of, "workshop") == {"one_piece", "no_workshop"}
    assert "jacket" in closed(of, "strip")
    assert not of.gate_open
    assert of.supply_kw is of.lead_days is of.price_kwh is of.rate_hour is None
    assert (of.isolator, of.heater_off) == ("", "")


def test_a_supply_that_gives_nothing_closes_what_takes_power_and_so_does_one_that_nobody_knows():
    assert closed(taken({**ROUND, "plan.supply_kw": 0.0}), "enclosure") == {"little_power"}
    assert closed(taken({**ROUND, "plan.supply_kw": None}), "enclosure") == {"unknown_power"}
    assert any("licensed or registered electrician" in need for need in way("enclosure").needs)


@pytest.mark.parametrize(
    ("given", "salt"),
    [
        ({"event.salt": "fresh"}, "fresh"),
        ({"event.salt": "brackish"}, "brackish"),
        ({"event.source": "sea"}, "sea"),
        ({"event.salt": None}, ""),
        ({"event.salt": "fresh", "event.conductivity": 2500}, "brackish"),  # the meter goes before what was said
        ({"event.salt": "fresh", "event.source": None}, ""),  # it may have been the sea
        ({"event.salt": "brackish", "event.source": None}, "brackish"),  # at least
    ],
)
def test_salt_is_what_is_certain_of_it_and_only_fresh_water_leaves_own_elements_open(given, salt):
    of = taken({**ROUND, **given})

    assert of.salt == salt
    assert ("salt" in closed(of, "own")) == (salt != "fresh")


@pytest.mark.parametrize("written", ["0.28", "0.1", "0.305", "31", "0.2849"])
@pytest.mark.parametrize(
    ("question", "price"), [("plan.price_kwh", prices.price_kwh), ("plan.rate_hour", prices.rate_hour)]
)
def test_a_price_is_exactly_what_was_typed(question, price, written):
    typed = read_value(questionnaire().questions[question], written, ZONE)

    assert price(answers_from({question: typed})) == Decimal(written)


def test_parts_of_two_and_a_half_days_are_there_on_the_third():
    assert taken({**ROUND, f"plan.lead_days{KILN}": 2.5}).lead_days == 3


# ---------------------------------------------------------------------------------------- with nobody there


OUT = {"event.water_out": "2026-03-09T08:00:00+00:00"}
AGREED = {"who": "D. Holder", "role": "duty_holder", "document": "letter of 10 March", "measured": SEEN}
"""The duty holder's word in writing."""


@pytest.mark.parametrize(
    ("question", "runs", "never"),
    [
        ("plan.movers_alone", ("air", "workshop"), ("enclosure", "small_heater", "own")),
        ("plan.enclosure_alone", ("enclosure",), ("small_heater", "own")),
    ],
)
def test_what_the_duty_holder_agreed_to_in_writing_runs_alone_and_no_open_heater_or_own_element_does(
    question, runs, never
):
    of = taken({**ROUND, **OUT, question: "yes"}, told={question: AGREED})

    assert all(runs_alone(way(one), of) for one in runs)
    assert not any(runs_alone(way(one), of) for one in never)


@pytest.mark.parametrize("question", ["plan.movers_alone", "plan.enclosure_alone"])
@pytest.mark.parametrize(
    ("value", "told"),
    [
        (None, {}),
        ("no", AGREED),
        ("yes", {**AGREED, "who": "", "role": ""}),  # nobody said whose word it is
        ("yes", {**AGREED, "role": "repairer"}),  # it is not his to say
        ("yes", {**AGREED, "document": ""}),  # by word of mouth
        ("yes", {**AGREED, "measured": "2026-03-01T08:00:00+00:00"}),  # before the water was out
    ],
)
def test_what_was_not_agreed_so_runs_with_somebody_there_alone(question, value, told):
    of = taken({**ROUND, **OUT, question: value}, told={question: told})

    assert (of.movers_alone, of.enclosure_alone) == (False, False)
    assert not any(runs_alone(way(one), of) for one in ("air", "workshop", "enclosure", "small_heater", "own"))


# ---------------------------------------------------------------------------------------- the gate


ENDS = datetime(2026, 6, 2, 11, 30, tzinfo=UTC)


@cache
def before_own_heat():
    """The school's journal when everything before own heat is released, and nobody has signed for that yet."""
    with TemporaryDirectory() as folder:
        events = open_job(school(Path(folder) / "job", ENDS)).events
    return tuple(event for event in events if event.data.get("hold_point") != of_job.GATE)


def with_said(**last):
    """Return the school's assessment at the end of its story, with one more answer if it is named."""
    events = before_own_heat()
    late = ENDS + timedelta(minutes=5)
    more = [Event(len(events) + 1, late.isoformat(), "B. Other", "test", "answer", last, "")] if last else []
    job = Job(Path(), Settings("test", "uk", "A4", "Europe/London"), (*events, *more), "0" * 64)
    return assess(job, late)


def test_the_gate_opens_when_nothing_is_missing_before_own_heat():
    found = with_said()

    assert [hold.missing for hold in found.holds if hold.point.id == of_job.GATE] == [()]
    assert of_job.gate_open(found, "kiln/1")


@pytest.mark.parametrize(
    "lacks",
    [f"energise.rcd{KILN}", f"energise.attended{KILN}", f"extras.bungs{KILN}", "earth.ohm@kiln/1/bond/shell",
     "zone.insulation@kiln/1/zone/1", "zone.joined@kiln/1/zone/1", f"safe.upstream{KILN}"],
)  # fmt: skip
def test_the_gate_is_shut_while_one_thing_is_missing(lacks):
    assert not of_job.gate_open(with_said(question=lacks, state="unknown", value=None), "kiln/1")


def test_leakage_that_was_measured_above_the_limit_shuts_the_gate():
    """Own limit: 5 mA."""
    told = {"question": f"energise.leakage{KILN}", "state": "given", "instrument": "I7", "measured": ENDS.isoformat()}

    assert not of_job.gate_open(with_said(**told, value=5.1), "kiln/1")


def test_a_gate_speaks_of_its_own_kiln():
    found = with_said()
    other = [
        replace(hold, at="kiln/2", unmet=(Unmet("bungs"),)) for hold in found.holds if hold.point.id == of_job.GATE
    ]
    both = replace(found, holds=(*found.holds, *other))

    assert of_job.gate_open(both, "kiln/1")
    assert not of_job.gate_open(both, "kiln/2")


# ---------------------------------------------------------------------------------------- power and room


def test_where_the_plate_is_silent_the_ohms_say_the_power():
    """240 V over 20 ohm is 2.88 kW (Ohm's law)."""
    bench = {f"scope.zones{KILN}": 1, f"supply.volts{KILN}": 240.0, f"element.connection{KILN}": "single",
             "zone.ohm@kiln/1/zone/1": 20.0}  # fmt: skip

    assert taken({**ROUND, **bench}).power_kw == pytest.approx(2.88)
    assert taken({**ROUND, **ASKED}).power_kw == 9.0
    assert taken(ROUND).power_kw is None


# ---------------------------------------------------------------------------------------- letters, ware, money


@pytest.mark.parametrize(("said", "letter"), [("S", "S"), ("none", None), (None, None)])
def test_a_letter_is_the_one_that_was_read_off(said, letter):
    found = taken({"scope.kilns": 1, f"scope.control{KILN}": ["electronic"], f"control.probe_type{KILN}": said,
                   f"control.set_type{KILN}": "K"})  # fmt: skip

    assert (found.probe, found.setting) == (letter, "K")


def test_ware_top_and_looks_agreed_are_known_or_blank():
    known, blank = assessed({**ROUND, **ASKED}), assessed({"scope.kilns": 1})
    (found,), (none,) = (of_job.taken(one) for one in (known, blank))

    assert (found.ware_mm, found.top_degc, found.looks) == (12.0, 1060.0, (5,))
    assert prices.money(known.answers) == "GBP"
    assert none.ware_mm is none.top_degc is none.plate_degc is None
    assert none.looks == ()
    assert prices.money(blank.answers) == ""


# ---------------------------------------------------------------------------------------- the start


def test_a_plan_never_begins_before_what_was_last_written_down():
    """Every line of these journals was written on 10 March 2026."""
    found = assessed({"scope.kilns": 1})
    (problem,) = _too_soon(found, date(2026, 3, 9))

    assert last_entry(found) == date(2026, 3, 10)
    assert problem.where == "start"
    assert "2026-03-10 or later" in str(problem)
    assert _too_soon(found, date(2026, 3, 10)) == ()


def test_the_day_of_the_last_line_is_that_of_the_jobs_own_clock():
    """Nine in the evening by Greenwich is the next morning in Auckland."""
    late = [replace(event, at="2026-03-10T21:00:00+00:00") for event in events_of({"scope.kilns": 1})]
    answers = Answers(questionnaire(), numbers("au_nz"), ZoneInfo("Pacific/Auckland"), late)

    assert last_entry(assess_answers(answers, "test", "au_nz", "0" * 64)) == date(2026, 3, 11)


def test_a_journal_without_a_line_holds_no_start_back():
    none = assess_answers(Answers(questionnaire(), numbers("uk"), ZONE, []), "test", "uk", "0" * 64)

    assert _too_soon(none, date(2020, 1, 1)) == ()


@pytest.mark.parametrize("taken_back", ["plan.supply_kw", "plan.exhaust", "plan.dehumidifier"])
def test_a_limit_that_nobody_knows_any_more_is_no_limit_lifted(taken_back):
    """A supply of 50 W and a fan of 30 m3/h, then "unknown": nothing dries the kiln that did not before."""
    values = {"scope.kilns": 1, "plan.supply_kw": 0.05, "plan.exhaust": 30.0, "plan.dehumidifier": 20.0}
    events = tuple(events_of(values))
    blank = {"question": taken_back, "state": "unknown", "value": None}
    gone = (*events, replace(events[-1], n=events[-1].n + 1, data=blank))

    def of(told):
        (found,) = of_job.taken(assess_answers(Answers(questionnaire(), numbers("uk"), ZONE, told), "test", "uk", "0"))
        return found.supply_kw, found.room.air_m3_h, found.room.dehumidifier_l_day

    assert of(gone) == of(events) == (0.05, 30.0, 20.0)


# ---------------------------------------------------------------------------------------- a room below freezing


def test_a_kiln_in_a_frozen_room_is_thawed_before_anything_is_planned():
    at = Request(datetime(2026, 3, 12, 8), Attendance(8, 20))  # noqa: DTZ001 - by the job's own clock
    found = assessed({**ROUND, "event.air": 80}, told={"event.air": {"details": {"air_c": -4.0}}})
    (kiln,) = kiln_plans(found, at, lambda _what, _share: None)

    assert (kiln.paths, kiln.days) == ((), ())
    assert [line for line in kiln.missing if line.startswith("It was below freezing")] == list(kiln.missing)
    assert "Thaw the kiln first" in kiln.missing[0]
    assert "cleared by name (slate 321)" in kiln.missing[0]
