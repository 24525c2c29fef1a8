"""Where a job stands, on one screen: what is next comes first, in every state that a job can be in."""

import json
import os
import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from recover.base.errors import DataError, Problem
from recover.commands.cli import verbs
from recover.job.folder import Job, Settings
from recover.judged.admissible import Lack
from recover.judged.signatures import Signature
from recover.judged.standing import Unmet
from recover.plan import planning, store
from recover.plan.kinds import kinds
from recover.plan.log import against
from recover.plan.whole import Expected
from recover.report.calendar import of_job
from recover.report.kiln_room import kiln_room
from recover.report.paper import Numbered, headline
from recover.report.plan_section import plan_section
from recover.report.plan_text import text_lines
from recover.report.status import COLUMNS, LINES, round_lines, screen, status_lines
from recover.report.status_view import status_view
from recover.report.today import KilnNow
from recover.report.words import words
from recover.rules.gates import duties
from tests import plan_job, sample_plan, status_job
from tests.sample_plan import CASING, PIECE, nth
from tests.status_job import (
    STATES,
    at,
    dry,
    glance,
    logged,
    outside,
    own,
    own_round,
    read,
    round_of,
    suspended,
    through,
)
from tests.test_plan_papers import found, opened, signed

GOLDEN = Path(__file__).parent / "golden" / "status.json"
DATED = re.compile(r"\b\d{1,2} (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b")
OFF = f"Off: {sample_plan.HEATER_OFF}"


def said(name):
    """The screen of a state, its lines joined as they are read."""
    return " ".join(" ".join(screen(STATES[name]())).split())


def acts(name):
    return [
        (act["kind"], act["say"], act["by"], act["until"], act["do"]) for act in status_view(STATES[name]())["next"]
    ]


def kiln(name):
    return status_view(STATES[name]())["kilns"][0]


# ---------------------------------------------------------------------------------------- what was read


def read_in_one_minute(*lines):
    """The values of the casing on the screen, where these were read at ten."""
    kilns = glance(found(), outside(), at(1, 11), *lines).kilns
    return [one.one.value for one in kilns[0].round if one.one.what == "casing"], kilns[0]


def test_of_two_readings_in_one_minute_the_screen_shows_the_later_line():
    first = read("casing", 40.0, at(1, 10) + timedelta(seconds=40), CASING, line=901)
    other = read("casing", 44.0, at(1, 10), CASING, line=902)

    assert read_in_one_minute(first, other)[0] == [44.0]
    assert read_in_one_minute(replace(first, line=903), other)[0] == [40.0]


def test_how_columns_of_a_logger_are_read_is_nothing_that_was_read():
    told = read("columns", None, at(1, 10), unit="", said="Zeit=time, T1=casing", line=905)
    with_it = read_in_one_minute(read("casing", 40.0, at(1, 10), CASING), told)[1]
    without = read_in_one_minute(read("casing", 40.0, at(1, 10), CASING))[1]

    assert [one.one.what for one in with_it.round] == ["casing"]
    assert with_it.since == without.since
    assert read_in_one_minute(told)[1].logged_days == frozenset()


# ---------------------------------------------------------------------------------------- one screen


@pytest.mark.parametrize("name", STATES)
def test_every_state_is_one_screen_of_80_columns_and_says_first_what_is_next(name):
    lines = screen(STATES[name]())

    assert len(lines) <= LINES
    assert max(map(len, lines)) <= COLUMNS
    assert lines[1].startswith("next ")


@pytest.mark.parametrize("name", STATES)
def test_nothing_on_the_screen_commands_a_terminal_or_needs_more_than_its_letters(name):
    assert all(line.isprintable() for line in screen(STATES[name]()))


@pytest.mark.parametrize("name", STATES)
def test_the_document_is_plain_values_with_cautions_and_referral(name):
    view = status_view(STATES[name]())

    assert json.loads(json.dumps(view, allow_nan=False)) == view
    assert view["cautions"]
    assert view["referral"]


def test_the_states_of_a_job_are_as_they_were_last_read_by_a_person():
    """After a wanted change: read the difference, then write the new file with RECOVER_GOLDEN=1."""
    shown = {name: {"screen": screen(state()), "view": status_view(state())} for name, state in STATES.items()}
    for one in shown.values():
        one["view"] |= {"cautions": len(one["view"]["cautions"])}
    text = json.dumps(shown, ensure_ascii=False, indent=1) + "\n"
    if os.environ.get("RECOVER_GOLDEN"):
        GOLDEN.write_text(text, "utf-8")

    assert json.loads(text) == json.loads(GOLDEN.read_text("utf-8"))


# ---------------------------------------------------------------------------------------- what is next


def test_without_a_plan_one_is_made_and_of_one_that_cannot_be_read_it_is_said_why():
    assert ("plan", "No plan has been made.", "whoever plans the drying", "", "recover plan test") in acts("no plan")
    assert "cannot be gone by: plans/plan-01.json: is not a plan" in said("unread plan")


def test_before_anything_was_asked_the_call_is_taken():
    of = logged(found())
    of.answers.given = {}

    assert status_lines(of, None, at(1, 9))[1:3] == [
        "next     The call is not finished. By whoever takes the call.",
        "         recover start test",
    ]


def test_in_mid_visit_the_next_hold_point_comes_first_and_what_is_not_answered_after_it(tmp_path):
    folder = plan_job.write(tmp_path / "job").folder
    first, second, *_ = status_view(read_from(folder))["next"]

    assert first["say"].startswith("“Hands off” is closed. Missing: an electric kiln")
    assert first["do"] == f"recover inspect {folder}, What is missing for “Hands off”"
    assert re.fullmatch(r"\d+ questions of the visit have no answer yet\.", second["say"])


def read_from(folder):
    from recover.job.folder import open_job
    from recover.judged.assessment import assess
    from recover.report.status_view import look_at

    return look_at(assess(open_job(folder), plan_job.VISIT), None, plan_job.VISIT, folder=folder)


def test_hold_points_are_told_in_their_order_by_whom_until_when_and_with_the_command():
    first, second, third, *_ = acts("before its hold points")

    assert first[:4] == ("sign", "“Hands off” lacks nothing but names.", "whoever holds the key", "")
    assert first[4].startswith("recover log test --release hands_off --component kiln/1 --by ")
    assert second[1].startswith("“Hazards cleared”")
    assert "“A hand inside”" in third[1] + acts("before its hold points")[3][1]


def test_a_release_that_lacks_only_names_is_wanted_before_its_day_opens():
    (sign, *_) = acts("own heat, to be signed")

    assert sign[0] == "sign"
    assert sign[3] == "Tue 14 Apr 2026 08:00"
    assert "whoever attends from beginning to end" in sign[2]


def test_evidence_that_is_out_of_date_is_said_before_the_name_that_is_wanted_again():
    (sign, *_) = acts("own heat, out of date")

    assert "has ended: slate 160 was out of date" in sign[1]


def test_a_release_that_ends_before_its_day_does_is_renewed_first():
    of = opened(until=at(1, 15))
    first = status_view(glance(of, own(), at(1, 9.2)))["next"][0]

    assert first["kind"] == "renew"
    assert "holds until 2026-04-14 15:00 BST at the latest, and day 1 ends after that" in first["say"]


def test_an_open_day_asks_for_what_is_due_and_no_more_once_it_is_read():
    (act, *_) = acts("outside, open")
    there = [read("casing", 41.0, at(3, 14), CASING), read("exhaust", 20.0, at(3, 14), status_job.EXHAUST, "%")]
    after = status_view(glance(opened(), outside(), at(3, 14.1), *through(3), *there))["next"][0]

    assert act[0] == "read"
    assert "Casing, wall, low down, below the water line, 36 to 48 °C (14:00)" in act[1]
    assert "Weight" not in act[1]
    assert after["say"].startswith("Next at 15:00: Air that leaves")


def test_a_weighing_that_was_missed_is_not_asked_for_from_a_kiln_that_is_hot_by_now():
    due = KilnNow(look=STATES["own heat, open"](), plan=own(), kiln=sample_plan.by_own()).due

    assert [one.what for one in due] == ["chamber", "casing"]


def due_and_missing(of):
    (kiln,) = of.kilns
    return [(one.what, one.place, one.at) for one in (*kiln.due, *kiln.missing)]


@pytest.mark.parametrize("hour", range(9, 31))
@pytest.mark.parametrize("plan", [outside, own])
def test_no_reading_that_decides_falls_off_the_list_before_it_is_read(plan, hour):
    """From nine until the next day opens; of what is read again at a place the last time is asked for."""
    day, now = plan().kilns[0].days[0], at(1, hour)
    asked = sorted((one for one in day.readings if one.at and one.at <= now), key=lambda one: one.at)
    decides = {(one.what, one.place): one.at for one in asked if kinds()[one.what].decides}
    ran = read("casing", 40.0, at(1, 8.4), CASING)

    assert decides
    assert {(*key, moment) for key, moment in decides.items()} <= {*due_and_missing(glance(opened(), plan(), now, ran))}


def test_a_weighing_that_was_missed_is_told_as_missing_until_it_is_weighed():
    missed = [act[1] for act in acts("own heat, open") if act[1].startswith("Missing: Weight")]
    weighed = read("piece", 1.5, at(1, 10.6), PIECE, "kg")
    since = status_view(glance(opened(), own(), at(1, 10.7), *own_round(), weighed))["next"]

    assert missed == [
        "Missing: Weight, the marked piece, put back in its place, due 08:00: it decides what may come next. "
        "It is weighed as soon as it can be held."
    ]
    assert not [act for act in since if act["say"].startswith("Missing")]


def test_insulation_of_an_evening_is_missing_on_the_next_day_until_it_is_read():
    log = [*round_of(1), *round_of(2)]
    without = status_view(glance(opened(), outside(), at(2, 14.1), *log))["next"]
    there = status_view(glance(opened(), outside(), at(2, 14.1), *log, status_job.evening(2)))["next"]

    assert (
        "Missing: Insulation, elements to casing, all joined, the kiln isolated, due Tue 14 Apr 2026 19:30"
        in " ".join(act["say"] for act in without)
    )
    assert not [act for act in there if act["say"].startswith("Missing")]


def entered(*, floor=False):
    """Own heat whose insulation is read at the opening, and is to be at the entry; on two days."""

    def one(day):
        entry = Expected(what="insulation", place=sample_plan.ELEMENTS, at=day.attended_from, unit="MΩ", low=1.0)
        others = tuple(read for read in day.readings if read.what != "insulation" or floor)
        return replace(day, readings=(entry, *others))

    return own(days=tuple(map(one, sample_plan.own_days())))


def test_own_heat_waits_for_its_insulation_however_late_it_is():
    for hour in (8.6, 9.2, 12.0, 16.0):
        first = status_view(glance(opened(), entered(), at(1, hour), *own_round()))["next"][0]

        assert "Insulation, elements to casing, all joined, the kiln isolated, 1 MΩ at least" in first["say"]
        assert hour < 9 or "No own heat before it is read." in first["say"]


def test_whatever_else_decides_and_was_missed_is_named_with_it():
    first = status_view(glance(opened(), entered(), at(1, 10.7), *own_round()))["next"][0]["say"]
    assert first.startswith("Missing: Insulation")
    assert "Missing too: Weight, the marked piece" in first


def test_own_heat_waits_where_its_insulation_is_below_the_entry():
    low, enough = (read("insulation", value, at(1, 7.9), sample_plan.ELEMENTS, "MΩ") for value in (0.6, 1.4))
    says = [status_view(glance(opened(), entered(), at(1, 9.2), one))["next"][0]["say"] for one in (low, enough)]

    assert says[0].startswith("Insulation 0.6 MΩ is below the entry: its own elements do not heat today.")
    assert says[1].startswith("Read now: Chamber")


def test_at_night_it_is_said_that_the_day_is_over_and_when_the_next_one_opens():
    (night, opens, *_) = acts("outside, at night")

    assert night[1].startswith("Day 3 is over. Nothing runs on.")
    assert "opens Fri 17 Apr 2026 08:00" in opens[1]


def test_on_a_day_on_which_nobody_comes_nothing_is_asked_for():
    assert acts("outside, nobody comes")[0][1] == "Day 5: Nobody comes. Nothing heats."
    assert (kiln("outside, nobody comes")["stops"], kiln("outside, nobody comes")["off"]) == ([], "")


def test_a_reading_beyond_its_stop_is_the_first_line_with_where_it_is_switched_off():
    lines = screen(STATES["own heat, beyond its stop"]())
    (stop, *others) = acts("own heat, beyond its stop")

    assert lines[1].startswith("next     Stop, hands off: Casing")
    assert "47 °C at 10:00, and day 1 ends above 46 °C." in stop[1]
    assert stop[1].endswith("Off: the kiln's isolator.")
    assert [act[0] for act in others if act[0] in ("read", "open")] == []
    assert any("STOP" in line for line in lines)


def happened(word, when, what="stopped"):
    return read(what, None, when, word=word, unit="")


def first(now, *lines):
    return status_view(glance(opened(), own(), now, *lines))["next"][0]


STOPS = {
    "a reading beyond its stop": own_round(casing=47.0),
    "a residual-current device tripped": [*own_round(), happened("rcd_trip", at(1, 10.1))],
    "a cut-out tripped": [*own_round(), happened("cutout_trip", at(1, 10.1))],
    "the power was cut": [*own_round(), happened("power_cut", at(1, 10.1))],
    "drips": [*own_round(), happened("drips", at(1, 10.1))],
    "a smell of burning": [*own_round(), happened("burning", at(1, 10.1), "smell")],
    "drips that run": [*own_round(), happened("running", at(1, 10.1), "drips")],
    "insulation below the floor": [*own_round(), read("insulation", 0.02, at(1, 10.1), unit="MΩ")],
    "insulation that falls": [read("insulation", value, at(1, 8 + n), unit="MΩ") for n, value in enumerate((5, 9, 2))],
    "leakage over the limit": [*own_round(), read("leakage", 60, at(1, 10.1), unit="mA")],
    "a terminal box that is too hot": [*own_round(), read("casing", 210, at(1, 10.1), "terminal box")],
}  # fmt: skip


def test_a_day_on_which_somebody_comes_and_nothing_is_on_says_so_in_its_heading():
    """Status and calendar: read and looked at, and no enclosure is warmed."""
    idle = sample_plan.attended(1, 0.9, source_of_heat=None, off_switch=None, top_degc=None)
    plan = outside(days=(idle, sample_plan.attended(2, 0.8)))
    heads = [status_view(glance(opened(), plan, at(day, 10), *round_of(day)))["kilns"][0]["where"] for day in (1, 2)]

    assert "Nothing is switched on" in heads[0]
    assert "Warm enclosure" not in heads[0]
    assert "Warm enclosure" in heads[1]
    assert "Nothing is switched on" in of_job(opened(), plan).replace("\r\n ", "")


def test_no_deadline_that_has_gone_by_is_told_with_who_signs():
    """The day opened at eight."""
    before, after = (status_view(glance(opened(by=()), own(), at(1, hour)))["next"][0] for hour in (7, 12.8))
    assert (before["kind"], before["until"]) == ("sign", "Tue 14 Apr 2026 08:00")
    assert (after["kind"], after["until"]) == ("sign", "")


def test_while_it_is_dried_from_outside_the_plans_dates_are_told_with_the_release_that_they_wait_for():
    """As the plan of the same minute prints them; once its day has come, no date stands before its release."""
    ahead, here = (status_view(glance(found(), outside(), at(day, 10.1), *through(day)))["kilns"][0]
                   for day in (3, 10))  # fmt: skip
    assert "No date before “First heating with its own elements” is released" in ahead["fires"]["says"]
    assert "2026" in ahead["fires"]["says"]
    assert (ahead["fires"]["p50"], ahead["fires"]["p90"]) == (None, None)
    assert "2026" not in here["fires"]["says"]


def test_a_crowded_screen_drops_what_is_oldest_and_no_stop_and_no_chamber():
    """Eight readings of the morning, three of noon, then insulation below the floor and the trip of the device."""
    morning = [read("casing", 30.0 + n, at(1, 8), f"place {n}") for n in range(8)]
    noon = [*own_round(when=at(1, 12)), read("insulation", 0.02, at(1, 12.1), unit="MΩ"),
            happened("rcd_trip", at(1, 12.2))]  # fmt: skip
    lines = screen(glance(opened(), own(), at(1, 12.5), *morning, *noon))
    rows = [line for line in lines if re.match(r"(day 1| {5}) +\d\d:\d\d ", line)]

    assert len(lines) <= 23
    for what in ("Chamber", "0.02 MΩ", "Stopped: residual-current device tripped"):
        assert any(what in line for line in rows), what
    assert sum("place" in line for line in rows) < 8
    assert rows[0].startswith("day 1 ")


def test_after_the_last_day_of_its_plan_the_last_date_on_which_anything_was_read_is_shown():
    later = read("piece", 1.29, at(4, 8) + timedelta(days=8), PIECE, "kg")
    view = status_view(glance(opened(), own(), at(4, 9) + timedelta(days=8), *dry(), later))["kilns"][0]
    assert ([row["value"] for row in view["read"]], view["read_on"]) == ([1.29], None)


@pytest.mark.parametrize("name", STOPS)
def test_whatever_is_a_stop_ends_the_day_and_nothing_is_to_be_read_any_more(name):
    view = status_view(glance(opened(), own(), at(1, 10.2), *STOPS[name]))

    assert view["next"][0]["kind"] == "stop"
    assert not [act for act in view["next"] if act["kind"] in ("read", "open")]
    assert view["kilns"][0]["stops"] == []
    assert any(said in view["kilns"][0]["where"] for said in ("has ended", "stands still"))


TRIPS = ("a residual-current device tripped", "a cut-out tripped")


@pytest.mark.parametrize("name", TRIPS)
def test_a_trip_of_own_heat_leads_until_whoever_passes_the_electrics_has_cleared_it(name):
    act = first(at(2, 10.1), *STOPS[name], happened("again", at(2, 8.1), "again"), *own_round(2))

    assert act["kind"] == "stop"
    assert act["by"] == duties()["pass_electrics"]
    assert "not for whoever attends" in act["say"]


@pytest.mark.parametrize("name", [name for name in STOPS if name not in ("the power was cut", *TRIPS)])
def test_a_stop_leads_into_the_next_days_undated_until_it_is_logged_that_it_goes_on(name):
    morning = status_view(glance(opened(), own(), at(2, 7.4), *STOPS[name]))
    noon = first(at(2, 10.1), *STOPS[name], *own_round(2))
    goes_on = first(at(2, 10.1), *STOPS[name], happened("again", at(2, 8.1), "again"), *own_round(2))

    assert morning["next"][0]["kind"] == noon["kind"] == "stop"
    assert "goes on" in morning["next"][0]["say"]
    assert not DATED.search(morning["kilns"][0]["fires"]["says"])
    assert goes_on["kind"] == "read"


def test_a_signature_after_a_stop_does_not_say_that_its_cause_was_found():
    """The signatures of the sample are of line 900 and of the first day."""
    log = [replace(happened("drips", at(1, 10.1)), line=800, measured=at(1, 10.1) - timedelta(days=60))]
    found = replace(happened("again", at(1, 10.2), "again"), line=901)

    assert first(at(2, 8.2), *log, *own_round(2, when=at(2, 8.1)))["kind"] == "stop"
    assert first(at(2, 8.2), *log, found, *own_round(2, when=at(2, 8.1)))["kind"] != "stop"


def test_a_power_cut_ends_its_own_day_alone():
    assert first(at(2, 8.2), *STOPS["the power was cut"])["kind"] != "stop"


def test_that_it_went_on_before_a_stop_lifts_none():
    log = [happened("again", at(1, 9), "again"), *STOPS["a residual-current device tripped"]]

    assert first(at(1, 10.2), *log)["kind"] == "stop"


def test_a_dip_as_the_lining_warms_is_no_stop():
    log = [read("insulation", value, at(1, 8 + n), unit="MΩ") for n, value in enumerate((9, 5))]

    assert first(at(1, 10.2), *own_round(), *log)["kind"] == "read"


def test_a_reading_back_within_its_band_on_the_same_day_lifts_no_stop():
    again = [*own_round(casing=47.0), *own_round(when=at(1, 11))]

    assert status_view(glance(opened(), own(), at(1, 11.1), *again))["next"][0]["kind"] == "stop"


def test_a_plan_that_is_overtaken_is_made_again_and_nothing_of_it_is_followed():
    (plan, *others) = acts("overtaken")

    assert plan[1] == "Plan 1 is overtaken, and not followed until it is made again: kiln/1, wall: 64 → 76; and 1 more."
    assert others == []
    assert kiln("overtaken")["left"] is None
    assert kiln("overtaken")["where"] == "stands still, last read on day 3 of 14"


def test_own_heat_that_nothing_has_opened_is_said_to_be_closed_and_what_it_lacks():
    (hold, *_) = acts("waits for own heat")

    assert hold[0] == "evidence"
    assert hold[1].startswith("“First heating with its own elements” is closed. Missing: ")
    assert hold[3] == ""


def test_what_shuts_a_way_is_said_before_the_day():
    assert acts("shut by a hazard")[0][:2] == ("shut", "Sewage: nothing is warmed before it is washed.")


def test_readings_that_no_draw_shows_shut_the_day_until_somebody_has_looked_and_logged_it():
    act = acts("not the wall that was assumed")[0]

    assert act[:2] == ("shut", status_job.MISFIT)
    assert act[4] == "recover log test --happened looked --note WHAT-WAS-FOUND"
    assert kiln("not the wall that was assumed")["fires"]["p90"] is None


def test_once_somebody_has_looked_and_logged_it_the_plan_is_made_again():
    looked = replace(happened("looked", at(3, 9.1), "looked"), line=901)
    of = glance(opened(), status_job.under_way(3, 9, [status_job.MISFIT]), at(3, 9.2), *through(2), looked)
    first = status_view(of)["next"][0]

    assert (first["kind"], first["do"]) == ("plan", "recover plan test")
    assert first["say"] == "Somebody has looked at what did not fit. It is planned again with what was found."


def test_a_look_lifts_what_was_read_and_no_trip():
    """What does not fit is looked into; a trip takes that it goes on, and why."""
    looked = happened("looked", at(1, 10.5), "looked")
    says = {name: first(at(2, 8.2), *STOPS[name], looked)["kind"] for name in STOPS if name != "the power was cut"}

    assert {name for name, kind in says.items() if kind != "stop"} == {
        "a reading beyond its stop", "insulation below the floor", "insulation that falls", "leakage over the limit",
        "a terminal box that is too hot",
    }  # fmt: skip


@pytest.mark.parametrize("plan", [None, replace(own(), kilns=())])
def test_a_stop_leads_also_where_no_plan_tells_of_the_kiln(plan):
    trip = happened("rcd_trip", at(1, 10.1))
    of = glance(opened(), plan, at(2, 9), trip)
    (stop, *_) = status_view(of)["next"]
    goes_on = status_view(glance(opened(), plan, at(2, 9), trip, happened("again", at(2, 8), "again")))["next"]

    assert stop["say"].startswith("Stop, hands off: The residual-current device tripped, Tue 14 Apr 2026 10:06.")
    assert stop["do"] == "recover log test --happened again --note WHAT-WAS-FOUND"
    assert "stop" not in [act["kind"] for act in goes_on]


def test_a_power_cut_without_a_plan_counts_on_its_own_day():
    cut = happened("power_cut", at(1, 10.1))
    first, next_day = (status_view(glance(opened(), None, at(day, 12), cut))["next"][0]["kind"] for day in (1, 2))

    assert (first, next_day) == ("stop", "plan")


def test_a_plan_that_goes_on_by_what_was_read_counts_only_what_it_has_not_taken_in():
    state = glance(opened(), status_job.under_way(3, 8), at(3, 14.1), *through(3))

    assert status_view(state)["plan"]["since"] == 6


def test_days_that_a_plan_has_taken_as_left_alone_are_not_asked_for_again():
    state = glance(opened(), status_job.under_way(4, 4), at(4, 9.2), *round_of(1))

    assert "log" not in [act["kind"] for act in status_view(state)["next"]]


def test_where_days_are_over_and_nothing_was_logged_it_has_not_begun():
    first = acts("nothing logged")[0]

    assert first[0] == "log"
    assert first[4] == "recover plan test --start DATE"
    assert kiln("nothing logged")["where"] == "has not begun: no day of 14 was logged"


def test_where_the_dates_of_a_plan_go_by_after_four_days_it_stands_after_those_and_is_planned_again():
    """Somebody was gone: by its dates it is over, and ten of its days were not dried."""
    of = glance(opened(), outside(gate_open=True), at(20, 9), *through(4))
    view = status_view(of)["kilns"][0]
    (first, *_) = status_view(of)["next"]

    assert view["where"] == "stands still, last read on day 4 of 14"
    assert view["left"]["says"].startswith("Of its first water 68 % (54 to 88) now")
    assert view["fires"]["p90"] is None
    assert first["say"].startswith("Days 7 to 14: over by the plan's dates, and nothing is logged.")
    assert first["do"] == "recover plan test"


def test_a_day_that_is_not_typed_in_yet_stops_no_round_and_takes_the_date_away():
    of = glance(opened(), outside(gate_open=True), at(3, 14.1), *round_of(1))
    view = status_view(of)

    assert [act["kind"] for act in view["next"]][:2] == ["read", "log"]
    assert view["kilns"][0]["fires"]["p90"] is None
    assert view["kilns"][0]["left"]["days"] == 13


def test_a_reading_is_shown_as_it_was_read_so_that_it_lies_where_it_says():
    """34.5 °C above 34 is no 34."""
    expected = next(one for one in sample_plan.attended(1, 0.9).readings if one.what == "casing")
    above = read("casing", expected.high + 0.5, at(1, 10), CASING)
    (row,) = status_view(glance(opened(), outside(), at(1, 10.1), above))["kilns"][0]["read"]
    assert (row["says"], row["lies"]) == (f"{expected.high + 0.5:g} °C", "above")


def test_a_weight_as_a_share_of_the_wet_one_has_its_unit_short():
    weighed = read("piece", 67.7, at(1, 8), PIECE, "% of its wet weight")
    (row,) = status_view(glance(opened(), outside(), at(1, 8.1), weighed))["kilns"][0]["read"]

    assert row["says"] == "67.7 %"


def test_days_between_that_were_not_logged_are_asked_for():
    of = status_view(glance(opened(), outside(), at(3, 14.1), *round_of(1), *round_of(3)))

    told = {act["say"]: act["do"] for act in of["next"]}
    says = "Nothing is logged of Day 2: what was read is typed in now, from the sheet of each day."
    assert told[says] == "recover log test --from-form --day 2"


def test_when_its_days_are_over_and_not_every_reading_says_dry_it_is_planned_again():
    (act, *_) = acts("days over, not dry")

    assert "not every reading says that it is dry: the marked piece weighs 1.32 kg or less" in act[1]
    assert act[4] == "recover plan test"


@pytest.fixture
def dry_by_five(monkeypatch):
    """Enough of the five kinds of evidence agree, and none is against it."""
    monkeypatch.setattr("recover.report.today.dry_evidence", lambda *_: frozenset({"agree"}))


@pytest.mark.usefixtures("dry_by_five")
def test_when_it_is_dry_by_five_its_proof_comes_next_and_then_its_hand_over():
    proof, *_, hand_over = acts("at its weight")

    assert proof[1].startswith("It is dry by the five kinds of evidence: enough of them agree, and none is against it.")
    assert "Its proof comes next" in proof[1]
    assert proof[4] == "recover inspect test, “After drying”"
    assert hand_over[4] == "recover inspect test, “Hand-over”"


def test_a_weight_at_its_target_is_one_of_five_and_neither_dry_nor_followed_by_the_proof():
    """A piece dries before the wall: its weight alone never says that a kiln is dry."""
    over = acts("at its weight")[0][1]
    of_any_heat = tuple(replace(one, from_degc=0.0) for one in sample_plan.criteria())
    light = read("piece", 1.3, at(3, 19.9), PIECE, "kg")
    early = status_view(glance(opened(), own(criteria=of_any_heat), at(4, 8), *own_round(3), light))
    told = " ".join(act["say"] for act in early["next"])

    assert over.startswith("Its planned days are over. It does not count as dry yet.")
    assert "without 300 °C or more nobody knows of the cold side" in over
    assert "one of five kinds of evidence, and does not make it dry. Its days go on." in told
    assert not any("proof comes next" in one.lower() for one in (over, told))


def test_when_its_days_are_over_and_nobody_has_weighed_it_is_weighed_and_not_planned_again():
    (act, *_) = acts("days over, not weighed")

    assert "nobody has read yet what says that it is dry: the marked piece weighs 1.32 kg or less" in act[1]
    assert act[4] == "recover log test"


def handed_over(of):
    """An assessment in which everybody has signed the hand-over after the days of its own heat."""

    def one(hold):
        if hold.point.id != "handover":
            return hold
        release = replace(signed("attend", 950).release, moment=at(5, 10))
        signs = (Signature(replace(release, duty=duty), "") for duty in hold.point.signatures)
        return replace(hold, signatures=tuple(signs), wanted=())

    return replace(of, holds=tuple(map(one, of.holds)))


def test_after_its_hand_over_re_checks_come_next_and_no_proof():
    (act, *_) = status_view(glance(handed_over(opened()), own(), at(5, 11), *status_job.dry()))["next"]

    assert act["say"] == (
        "It was handed over on 2026-04-18. What comes next are its re-checks, after the first firing; after a month "
        "(2026-05-18); after three months (2026-07-18); after six months (2026-10-18): the certificate says what is "
        "looked at."
    )
    assert act["do"] == "recover report test --handover"
    assert "Its proof comes next" not in str(status_view(glance(handed_over(opened()), own(), at(5, 11))))


@pytest.mark.parametrize(
    ("days", "due", "coming"),
    [
        (30, "first firing; after a month (2026-05-18).", "after three months (2026-07-18); after six"),
        (200, "after three months (2026-07-18); after six months (2026-10-18).", ""),
    ],
)
def test_a_re_check_whose_date_is_over_is_due(days, due, coming):
    """Of none does the job know that it was made: what nobody has looked at yet is looked at now."""
    told = glance(handed_over(opened()), own(), at(5, 11) + timedelta(days=days), *status_job.dry())
    (act, *_) = status_view(told)["next"]

    assert "re-checks are due, by their dates: after the first firing; after a month" in act["say"]
    assert due in act["say"]
    assert (f"Still to come: {coming}" in act["say"]) is bool(coming)


@pytest.mark.parametrize("of", [opened, found])
def test_once_it_is_signed_over_the_calendar_counts_its_re_checks_from_there_as_the_certificate_does(of):
    """Also where its days have no date any more: what is looked at again is not cancelled by that."""
    told = of_job(handed_over(of()), own()).replace("\r\n ", "")
    looks = [one for one in told.split("BEGIN:VEVENT") if "look again" in one]

    assert [re.search(r"DTSTART;VALUE=DATE:(\d+)", one)[1] for one in looks] == ["20260518", "20260718", "20261018"]
    assert not any("CANCELLED" in one for one in looks)
    assert all("Counted from the hand-over" in one for one in looks)


def test_a_hand_over_from_before_a_drying_was_begun_is_none_of_it():
    early = replace(own(), kilns=tuple(
        replace(kiln, days=tuple(replace(day, attended_from=at(8, 8)) for day in kiln.days)) for kiln in own().kilns
    ))  # fmt: skip

    assert not glance(handed_over(opened()), early, at(9, 11)).kilns[0].handed_over


@pytest.mark.usefixtures("dry_by_five")
def test_the_hold_point_and_the_screen_tell_one_order_of_proof_and_hand_over():
    point = opened().hold("handover", "kiln/1").point

    assert "The firings of its proof come first, empty" in point.until_then
    says = [act[1] for act in acts("at its weight")]
    assert says.index(next(one for one in says if "Its proof comes next" in one)) < says.index(
        "It is handed over, by name."
    )


def test_a_weight_at_its_target_before_the_day_of_that_heat_says_nothing():
    early = [*own_round(1), read("piece", 1.3, at(2, 8), PIECE, "kg")]

    assert "prove" not in [act["kind"] for act in status_view(glance(opened(), own(), at(2, 9.2), *early))["next"]]


def test_what_does_not_fit_together_is_named_last(tmp_path):
    folder = plan_job.write(tmp_path / "job").folder

    assert [one["kind"] for one in status_view(read_from(folder))["next"]].index("mend") > 0


def test_of_two_kilns_each_is_named_in_what_it_asks_for():
    says = [act[1] for act in acts("two kilns") if act[0] == "read"]

    assert [one.split(".")[0] for one in says[:2]] == ["Kiln 1", "The other"]
    assert [one.partition(". ")[2].split(":")[0] for one in says] == ["Read now", "Read now", "Missing", "Missing"]


# ---------------------------------------------------------------------------------------- words


WORDS = [(kind.id, word.id, word.label) for kind in kinds().values() for word in kind.word]


@pytest.mark.parametrize(("what", "word", "label"), WORDS)
def test_what_was_seen_or_happened_is_told_by_its_label(what, word, label):
    of = glance(opened(), own(), at(1, 10.2), *own_round(), happened(word, at(1, 10.1), what))
    rows = [row for row in status_view(of)["kilns"][0]["read"] if row["what"] == what]
    line = next(line for line in screen(of) if f"10:06 {kinds()[what].label}:" in line)

    assert [(row["says"], row["label"]) for row in rows] == [(label, kinds()[what].label)]
    assert line[15:].startswith(f"{kinds()[what].label}: {label}"[:50])
    assert "_" not in line


@pytest.mark.parametrize("what", [kind.id for kind in kinds().values() if kind.sort == "reading"])
def test_a_reading_that_could_not_be_taken_is_told_so(what):
    (row,) = status_view(glance(opened(), own(), at(1, 10.2), happened("not_read", at(1, 10.1), what)))["kilns"][0][
        "read"
    ]

    assert row["says"] == "not read"
    assert row["label"].replace(" ", "").isalpha()


# ---------------------------------------------------------------------------------------- dates


@pytest.mark.parametrize("name", STATES)
def test_whatever_is_in_the_way_of_a_date_is_named(name):
    says = [one["fires"]["says"] for one in status_view(STATES[name]())["kilns"]]

    assert not [one for one in says if re.search(r": *[.;]|; *[.;]|: *$", one)]


@pytest.mark.parametrize("stands", ["closed", "suspended"])
def test_a_hold_point_that_no_name_opens_is_in_the_way_by_its_title(stands):
    def one(hold):
        if hold.point.id != "isolated":
            return hold
        more = {"suspended": "A meter was wrong."} if stands == "suspended" else {"unmet": (Unmet("proven dead"),)}
        return replace(hold, **more)

    of = replace(opened(), holds=tuple(map(one, opened().holds)))
    fires = status_view(glance(of, outside(gate_open=True), at(3, 14.1), *through(3)))["kilns"][0]["fires"]

    assert fires["says"] == "No date while this is in the way: “A hand inside”."
    assert fires["p90"] is None


NOT_DATED = [name for name in STATES if name not in ("no plan", "unread plan") and not kiln(name)["fires"]["p90"]]


@pytest.mark.parametrize("name", NOT_DATED)
def test_while_anything_is_in_the_way_no_date_of_its_end_is_told(name):
    fires = kiln(name)["fires"]

    assert (fires["p50"], fires["p90"]) == (None, None)
    assert not DATED.search(fires["says"])


@pytest.mark.parametrize("name", ["before its hold points", "overtaken", "shut by a hazard", "nothing logged"])
def test_of_a_day_that_something_forbids_no_date_is_told_at_all(name):
    _, *lines = screen(STATES[name]())

    assert not DATED.search(" ".join(lines))


def test_with_nothing_in_the_way_it_is_told_when_it_is_fired_again_by_half_and_by_nine_draws_in_ten():
    fires = kiln("outside, by its dates")["fires"]

    assert (fires["p50"], fires["p90"]) == ("2026-04-29", "2026-05-01")
    assert "29 Apr to 1 May 2026 (half of the draws by the first, nine in ten by the second)" in fires["says"]


def test_a_kiln_that_stands_still_is_told_by_what_was_logged_and_not_by_the_calendar():
    still = status_view(glance(found(), outside(), at(12, 9), *through(4)))["kilns"][0]

    assert still["where"] == "stands still, last read on day 4 of 14"
    assert still["left"]["days"] == 10


def test_of_a_kiln_whose_days_are_over_and_that_is_not_dry_the_old_date_is_told_no_more():
    assert not DATED.search(kiln("days over, not dry")["fires"]["says"])


# ---------------------------------------------------------------------------------------- a kiln


def test_of_a_day_outside_the_last_round_stands_beside_its_band_and_its_stops_with_the_switch():
    shown = kiln("outside, open")

    assert shown["where"] == "day 3 of 14 is open, from outside: Warm enclosure around the kiln"
    assert [(one["what"], one["says"], one["band"], one["lies"]) for one in shown["read"]] == [
        ("piece", "2 kg", "1.9 to 2.4 (2.1)", "within"), ("casing", "41 °C", "36 to 48 (41)", "within"),
        ("exhaust", "22 %", "12 to 31 (20)", "within"),
    ]  # fmt: skip
    assert shown["stops"] == [f"Casing, {CASING} above 55 °C"]
    assert shown["off"] == f"{OFF}."


def test_what_was_caught_on_a_day_is_summed_up_before_it_is_held_against_the_day():
    caught = [read("litres", value, at(1, hour), sample_plan.CAUGHT, "l") for value, hour in ((0.5, 12), (0.6, 19))]
    (one,) = status_view(glance(opened(), outside(), at(1, 19.6), *caught))["kilns"][0]["read"]

    assert (one["value"], one["lies"]) == (pytest.approx(1.1), "within")


def test_the_figure_that_is_shown_is_the_one_by_which_a_reading_of_that_moment_is_judged():
    """Between two hours it lies between theirs, and is not that of the hour to come."""
    plan = own()
    day = plan.kilns[0].days[0]
    rising = tuple(replace(one, stop=one.at.hour * 10.0) if one.what == "casing" else one for one in day.readings)
    kiln = replace(plan.kilns[0], days=(replace(day, readings=rising), *plan.kilns[0].days[1:]))
    look = glance(opened(), replace(plan, kilns=(kiln,)), at(1, 10.5), *own_round())
    (stop,) = [line for line in status_view(look)["kilns"][0]["stops"] if line.startswith("Casing")]
    judged = against(read("casing", 30.0, at(1, 10.5), sample_plan.CASING), kiln).expected
    assert (judged.stop, stop[-6:]) == (105.0, "105 °C")


def test_a_hold_point_of_days_that_were_worked_is_in_the_way_of_no_date():
    """Energising suspends work at a dead kiln; a day of its own elements needs none."""
    plan, of = own(), opened()
    inside = replace(of.hold("isolated", "kiln/1"), suspended="“Energising” was released since.")
    of = replace(of, holds=tuple(inside if one.point.id == "isolated" and one.at == "kiln/1" else one
                                 for one in of.holds))  # fmt: skip
    first, *others = plan.kilns[0].days
    before = replace(sample_plan.planned().days[0], readings=())
    days = (before, *(replace(one, number=one.number + 1) for one in (first, *others)))
    days = tuple(replace(one, date=nth(one.number), attended_from=at(one.number, 8), attended_to=at(one.number, 20))
                 for one in days)  # fmt: skip
    kiln = replace(plan.kilns[0], days=days)
    look = glance(of, replace(plan, kilns=(kiln,)), at(2, 10.7), *own_round(2))
    assert "A hand inside" not in status_view(look)["kilns"][0]["fires"]["says"]
    early = glance(of, replace(plan, kilns=(kiln,)), at(1, 10.7))
    assert "A hand inside" in status_view(early)["kilns"][0]["fires"]["says"]


def test_after_a_stop_nothing_is_opened_up_because_its_own_heat_was_released():
    """What is suspended by that, and was signed, is not what comes next: the cause is."""
    of = suspended()
    held = replace(of.hold("isolated", "kiln/1"), suspended="Nothing inside is touched.")
    of = replace(of, holds=tuple(held if one.point.id == "isolated" else one for one in of.holds))
    look = glance(of, own(), at(1, 10.7), *own_round())
    assert not any("Nothing inside is touched" in act["say"] for act in status_view(look)["next"])
    there = glance(of, outside(), at(1, 10.7))
    assert any("Nothing inside is touched" in act["say"] for act in status_view(there)["next"])


@pytest.mark.parametrize(
    ("word", "says"),
    [("power_cut", "before it is logged that it goes on"), ("probe_off", "before the cause is found")],
)
def test_the_screen_asks_for_no_other_than_the_answer_at_the_kiln(word, says):
    cut = read("stopped", None, at(3, 12), unit="", word=word)
    first = status_view(glance(opened(), outside(), at(3, 12.1), *through(2), cut))["next"][0]["say"]
    said = " ".join(kinds()["stopped"].of_word(word).outside_next)
    assert says in first
    assert "--happened again" in said
    assert "meanwhile" not in said


def test_what_is_left_is_told_now_and_at_the_end_of_the_day_with_its_span():
    left = kiln("outside, open")["left"]

    assert left["says"].startswith("Of its first water 84 % (67 to 109) now, 76 % (61 to 99) at the end of day 3,")
    assert left["days"] == 12


def test_it_is_said_by_which_plan_all_is_told_and_that_planning_takes_in_what_was_read_since():
    told = status_view(STATES["outside, open"]())["plan"]

    assert told["since"] == 14
    assert told["says"].startswith("Told by plan 1, made 2026-04-13 18:00 BST: a calculation with assumed inputs")
    assert told["says"].endswith("14 readings have come since: recover plan JOB takes them in.")


@pytest.mark.parametrize(
    ("of", "hour"), [("dry", at(5, 9)), ("handed over", at(5, 11)), ("handed over early", at(2, 9))]
)
def test_once_every_day_is_over_and_the_log_says_dry_or_it_was_handed_over_nobody_is_told_to_plan(of, hour):
    """Every reading of the proof comes after the last day, and no plan takes it in."""
    found = handed_over(opened()) if of != "dry" else opened()
    state = glance(found, own(), hour, *status_job.dry(), read("chamber", 600.0, at(5, 8)))
    view = status_view(state)

    assert state.kilns[0].nothing_left
    assert "plan" not in [act["kind"] for act in view["next"]]
    assert "takes" not in view["plan"]["says"]
    assert not view["kilns"][0]["left"] or "still to do" not in view["kilns"][0]["left"]["says"]


def test_something_is_left_to_plan_where_days_or_dryness_lack_water_came_or_the_plan_is_overtaken():
    rain = happened("rain", at(5, 8), "rain")
    after = (
        glance(opened(), own(), at(4, 21), *status_job.dry(), changed=["kiln/1, wall: 64 → 76"]),
        glance(handed_over(opened()), own(), at(5, 11), *status_job.dry(), rain),
    )
    states = (STATES["own heat, open"](), STATES["days over, not dry"](), *after)

    assert not any(state.kilns[0].nothing_left for state in states)


@pytest.mark.parametrize(("off", "told"), [(5, False), (60, True)])
def test_on_a_day_of_drying_a_cut_out_that_is_set_for_a_hotter_one_is_set_anew_first(monkeypatch, off, told):
    state = STATES["own heat, open"]()
    top = state.kilns[0].day.top_degc
    number = type(state.found.answers).number
    monkeypatch.setattr(type(state.found.answers), "number", lambda answers, name, at: (
        top + off if name == "energise.day_top" else number(answers, name, at)))  # fmt: skip

    assert any("The cut-out is set for a day of" in act["say"] for act in status_view(state)["next"]) is told


def test_where_there_is_room_the_drying_so_far_is_drawn_and_what_is_next_never_gives_way_to_it():
    drawn = screen(STATES["own heat, to be signed"]())
    many = glance(found(), outside(), at(3, 14.1), *through(3), *(
        read(f"thing_{number}", 1.0, at(3, 13), "", "l") for number in range(20)
    ))  # fmt: skip

    assert any(line.startswith("100 |") for line in drawn)
    assert len(screen(many)) <= LINES
    assert screen(many)[1].startswith("next ")
    assert not any(line.startswith("100 |") for line in screen(many))


# ---------------------------------------------------------------------------------------- after a round


def test_after_a_round_it_is_said_what_to_do_what_was_read_what_is_left_and_what_ends_the_day():
    plan = outside(gate_open=True)
    lines = round_lines(
        logged(opened(), *through(3)), plan, plan.kilns[0], plan.kilns[0].days[2], at(3, 12.1), changed=()
    )
    text = " ".join(" ".join(lines).split())

    assert len(lines) <= LINES
    assert lines[0] == "Kiln 1, day 3 of 14, Thu 16 Apr 2026 12:06"
    assert lines[1].startswith("next     Next at 13:00: Air that leaves")
    for part in ("41 °C 36 to 48 (41) within", "at the end of day 3", "29 Apr to 1 May 2026", "above 55 °C", OFF):
        assert part in text


def test_a_round_beyond_its_stop_begins_with_the_stop():
    plan = own()
    log = own_round(casing=47.0)
    lines = round_lines(logged(opened(), *log), plan, plan.kilns[0], plan.kilns[0].days[0], at(1, 10.1), changed=())

    assert lines[1].startswith("next     Stop, hands off: Casing")


def test_a_round_of_yesterday_that_is_typed_in_today_still_says_its_stop():
    plan = own()
    log = [*own_round(casing=47.0), *own_round(2)]
    lines = round_lines(logged(opened(), *log), plan, plan.kilns[0], plan.kilns[0].days[0], at(2, 10.1), changed=())

    assert lines[1].startswith("next     Stop, hands off: Casing")


def test_a_reading_that_no_day_has_a_band_for_is_shown_without_one():
    plan = outside()
    log = [read("trip", None, at(1, 9), word="rcd", unit=""), read("kwh", 3.2, at(1, 9.5), unit="kWh")]
    lines = round_lines(logged(opened(), *log), plan, plan.kilns[0], plan.kilns[0].days[0], at(1, 9.6), changed=())

    assert any("09:00 Trip" in line and "rcd" in line for line in lines)
    assert any("Energy of the day" in line and "3.2 kWh" in line for line in lines)


# ---------------------------------------------------------------------------------------- the command


@pytest.fixture
def job(tmp_path):
    return plan_job.write(tmp_path / "job").folder


def run(*given):
    return CliRunner().invoke(verbs, [str(one) for one in given])


def test_status_prints_one_screen_and_as_json_the_same_as_one_document(job, monkeypatch):
    monkeypatch.setattr(planning, "kiln_plans", lambda *_: (sample_plan.planned(),))
    assert run("plan", job, "--csv").exit_code == 0
    shown, printed = run("status", job), json.loads(run("status", job, "--json").stdout)

    assert shown.exit_code == 0
    assert len(shown.stdout.splitlines()) <= LINES
    assert " ".join(printed["next"][0]["say"].split()[:6]) in " ".join(shown.stdout.split())
    assert printed["plan"]["number"] == 1


def test_status_of_a_job_whose_plan_is_not_as_it_was_stored_says_so_and_goes_on(job, monkeypatch):
    def gone(_job):
        raise DataError([Problem("plans/plan-01.json", "is not the file that was stored", "plan again")])

    monkeypatch.setattr(store, "newest", gone)

    assert "The plan cannot be gone by: plans/plan-01.json" in run("status", job).stdout


def test_status_writes_nothing(job):
    before = {one: one.read_bytes() for one in job.rglob("*") if one.is_file()}
    run("status", job)

    assert {one: one.read_bytes() for one in job.rglob("*") if one.is_file()} == before


def test_what_was_written_down_by_a_clock_that_is_fast_has_been_read_all_the_same():
    ahead = read("casing", 60.0, at(3, 16), CASING)
    state = glance(opened(), outside(), at(3, 14.1), *through(3), ahead)

    assert status_view(state)["next"][0]["kind"] == "stop"
    assert replace(state, now=state.now + timedelta(hours=2)).kilns[0].stopped is not None


def test_a_report_of_a_kiln_that_was_handed_over_says_so_first_and_waits_for_nothing():
    of = handed_over(opened())
    told = plan_section(of, own(), Numbered())["kilns"][0]

    stands = replace(of, holds=tuple(replace(one, waits=(), unmet=()) for one in of.holds))
    assert headline(stands)["title"] == "Handed over"
    assert "Handed over" not in headline(opened())["title"]
    assert all(not phase["waits"] and "handed over on 2026-04-18" in phase["over"] for phase in told["phases"])
    waits = [phase["waits"] for phase in plan_section(opened(), own(), Numbered())["kilns"][0]["phases"]]
    assert any(waits)


def test_the_plan_of_a_kiln_that_was_handed_over_advises_nothing_and_fires_on_no_date():
    of, plan = handed_over(opened()), own()
    told = plan_section(of, plan, Numbered())["kilns"][0]
    printed = " ".join(" ".join(text_lines(of, plan, day=2)).split())
    before = " ".join(" ".join(text_lines(opened(), plan, day=2)).split())

    assert told["chosen"][0].startswith("Handed over on 2026-04-18: nothing of it is planned any more")
    assert (told["hold"], [path["marks"] for path in told["paths"]]) == ("", [[] for _ in told["paths"]])
    assert not [path["fires"] for path in told["paths"] if re.search(r"2026$", path["fires"])]
    assert "Day 2 of" in before
    for advice in ("Recommended", "Day 2 of", "own elements First heating", "Not before"):
        assert advice not in printed


def _told_first(of, day=2):
    return kiln_room(_job(), of, own(), at(5, 11), "kiln/1", day)["box"]["lines"][0]


def _job():
    return Job("job", Settings("job", "uk", "A4", "Europe/London"), (), "0" * 64)


def _seen_at(of, moment, *lines):
    of = logged(of, *lines)
    of.answers.now = moment
    return of


def test_the_sheet_of_a_day_that_is_over_says_so_before_anything_else():
    stop = read("stopped", None, at(2, 12), word="rcd_trip", unit="")

    assert "was handed over on 2026-04-18" in _told_first(_seen_at(handed_over(opened()), at(5, 11)))
    assert _told_first(_seen_at(opened(), at(3, 9))).startswith("This day is over.")
    assert _told_first(_seen_at(opened(), at(3, 9), stop)).startswith("This day was stopped: the residual-current")
    assert not _told_first(_seen_at(opened(), at(2, 9))).startswith("This day")


@pytest.mark.parametrize("of", ["handed over", "released"])
def test_the_sheet_of_a_day_that_is_over_tells_no_release_of_today_and_waits_for_none(of):
    found = handed_over(opened()) if of == "handed over" else opened()
    sheets = [kiln_room(_job(), _seen_at(found, at(5, 11)), own(), at(5, 11), "kiln/1", day) for day in (1, 2, 3)]

    for sheet in sheets:
        assert sheet["box"]["title"] == words().kiln_room.box["over"].title
        assert not re.search("[Rr]eleased (2|until|until|by)|Not before|waits", " ".join(sheet["box"]["lines"]))
        assert sheet["sign"] == []
    if of == "released":
        printed = " ".join(" ".join(text_lines(_seen_at(found, at(5, 11)), own(), day=2)).split())
        assert "This day is over." in printed
        assert "Not before" not in printed
    today = kiln_room(_job(), _seen_at(opened(), at(2, 9)), own(), at(2, 9), "kiln/1", 2)
    assert today["box"]["title"] != words().kiln_room.box["over"].title


# ---------------------------------------------------------------------------------------- what has merely aged


def inside(until, *, aged=True, of=None):
    """An assessment in which a hand inside was signed and has ended, by age or by something else."""
    release = replace(signed("attend", 890).release, hold_point="isolated", duty="prove_dead")
    ended = Signature(release, "slate 16 (proven) held until that morning", until, aged=aged)
    dead = Unmet("proven dead at its own terminals", (Lack("slate 16", "it is of 13 April and holds for 24 h"),))
    more = {"signatures": (ended,), "unmet": (dead,), "wanted": ("prove_dead",)}
    of = of or opened()
    return replace(of, holds=tuple(replace(one, **more) if one.point.id == "isolated" else one for one in of.holds))


def next_inside(of, day=3, plan=None):
    acts = status_view(glance(of, plan or outside(), at(day, 14.1), *through(day)))["next"]
    return ["inside" if "A hand inside" in one["say"] else one["kind"] for one in acts][:2]


def test_a_hand_inside_that_has_merely_aged_comes_after_what_the_day_reads():
    """Nobody puts a hand inside today: casing and air are read, and it is told then that it has ended."""
    screen_of = glance(inside(at(2, 10)), outside(), at(3, 14.1), *through(3))
    (kiln,) = status_view(screen_of)["kilns"]

    assert next_inside(inside(at(2, 10))) == ["read", "inside"]
    assert "day 3 of 14 is open" in kiln["where"]
    assert kiln["off"]


def test_it_comes_before_the_weighing_for_which_a_hand_goes_inside():
    acts = status_view(glance(inside(at(2, 10)), outside(), at(3, 8.1), *through(2)))["next"]
    told = ["inside" if "A hand inside" in one["say"] else one["kind"] for one in acts]

    assert told.index("inside") < told.index("read")
    assert "Weight" in acts[told.index("read")]["say"]


def test_the_sheet_of_such_a_day_says_that_no_hand_goes_inside():
    day = outside().kilns[0].days[2]
    of = logged(inside(at(2, 10)), *through(2))
    job = Job(Path(), Settings("job", "uk", "A4", "Europe/London"), (), "0" * 64)
    box = kiln_room(job, of, outside(), at(3, 7), "kiln/1", day.number)["box"]

    told = " ".join(box["lines"])
    assert "no hand goes in and no cover comes off before it is proven dead and signed anew" in told
    assert "Before that is signed these are not read: Weight of the piece" in told
    assert "Casing" not in told


@pytest.mark.parametrize("of", [inside(at(2, 10), aged=False), inside(at(1, 7))])
def test_one_that_something_else_ended_or_that_no_day_was_begun_under_comes_first(of):
    assert next_inside(of)[0] == "inside"


def test_on_a_day_on_which_boards_come_out_it_comes_first():
    plan = outside()
    (kiln,) = plan.kilns
    days = tuple(replace(one, boards="out") if one.number == 3 else one for one in kiln.days)
    assert next_inside(inside(at(2, 10)), plan=replace(plan, kilns=(replace(kiln, days=days),)))[0] == "inside"


def test_one_that_ages_within_the_day_is_renewed_after_the_readings_of_the_day():
    of = opened()
    of = replace(of, holds=tuple(replace(one, until=at(3, 18)) if one.point.id == "isolated" else one
                                 for one in of.holds))  # fmt: skip
    assert next_inside(of) == ["read", "inside"]
