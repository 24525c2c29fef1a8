"""A stop in the log: one judge says it everywhere, and own heat stays shut until whoever may has mended its cause."""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from recover.asked.told import Logged
from recover.job.journal import Event
from recover.judged.stops import is_stop_word, powered, stop_of, stop_since, told_ever, told_open
from recover.plan.answered import answer
from recover.plan.kinds import kinds
from recover.plan.log import against, log_of, shut
from recover.report.acts import acts
from recover.report.paper import Numbered
from recover.report.plan_section import plan_section
from recover.report.status_view import look_at, status_view
from recover.report.words import words
from tests import sample_plan
from tests.gates import ENDS, LATER, answers_at, assessed_at, completed, mended, said
from tests.test_gates import states

NOON = datetime(2026, 6, 2, 12, 0, tzinfo=ENDS.tzinfo)


def line(what, value=None, hour=12.0, unit="", **more):
    """One line of a log."""
    at = NOON + timedelta(hours=hour - 12)
    return Logged(line=9, by="A", kiln="kiln/1", what=what, measured=at, value=value, unit=unit, **more)


def insulation(*values):
    """Insulation by the hour, the last reading first of what is returned."""
    read = [line("insulation", value, 8 + number, "MΩ") for number, value in enumerate(values)]
    return read[-1], read


# ---------------------------------------------------------------------------------------- what is a stop


@pytest.mark.parametrize(
    ("one", "why"),
    [
        (line("stopped", word="rcd_trip"), "seen"), (line("smell", word="burning"), "seen"),
        (line("drips", word="running"), "seen"), (line("rain", word="rain"), "seen"),
        (line("stopped", word="a word that only a later version knows"), "seen"),
        (line("drips", word="some"), None), (line("smell", word="musty"), None), (line("again", word="again"), None),
        (line("leakage", 60, unit="mA"), "over"), (line("leakage", 5, unit="mA"), None),
        (line("casing", 210, unit="°C", place="terminal box"), "over"), (line("casing", 120, unit="°C"), None),
        (line("insulation", 0.09, unit="MΩ"), "floor"), (line("insulation", 0.1, unit="MΩ"), None),
        (line("insulation", 0.09, unit="MΩ", at_least=True), "floor"),
        (line("insulation", 0.2, unit="MΩ", at_least=True), None),
        (line("chamber", 61, unit="°C", details={"stop": 60}), "beyond"), (line("chamber", 60, unit="°C"), None),
        (line("chamber", word="not_read"), None),
    ],
)  # fmt: skip
def test_what_ends_a_day_is_a_stop_and_what_does_not_is_none(one, why):
    found = stop_of(one, own=True)
    assert (found.why if found else None) == why


def test_a_low_reading_of_a_wet_lining_from_outside_is_only_the_water():
    assert stop_of(line("insulation", 0.02, unit="MΩ")) is None


@pytest.mark.parametrize(("values", "stops"), [((5, 9, 2), True), ((5, 9, 6.4), False), ((9, 5, 2), False),
                                              ((10, 5, 9, 2), True)])  # fmt: skip
def test_insulation_that_falls_by_three_tenths_after_it_had_risen_is_a_stop(values, stops):
    """Own limit."""
    last, log = insulation(*values)
    assert bool(stop_of(last, log, own=True)) is stops


def test_the_figure_that_was_kept_beside_a_reading_goes_before_what_is_planned_later():
    one = line("casing", 50, unit="°C", details={"stop": 46})
    assert stop_of(one, figure=55).limit == 46


def test_what_came_the_day_before_is_no_rise_of_today():
    last, log = insulation(5, 9, 2)
    assert stop_of(last, [replace(one, measured=one.measured - timedelta(days=1)) for one in log[:2]], own=True) is None


@pytest.mark.parametrize(("hours", "stops"), [((20, 23, 24.5), True), ((14, 18, 24.5), False), ((20, 22, 31), False)])
def test_a_fall_across_midnight_is_one_of_the_same_heating_and_a_cold_kiln_in_the_morning_is_not(hours, stops):
    """Hours of a day and the night after it; read are 5, 9 and 2 MΩ."""
    log = [line("insulation", value, hour, "MΩ") for value, hour in zip((5, 9, 2), hours, strict=True)]
    assert bool(stop_of(log[-1], log, own=True)) is stops


@pytest.mark.parametrize(("places", "stops"), [
    (("elements to casing",) * 3, True), (("Elements  to casing", "elements to casing", "elements to Casing"), True),
    (("elements to casing", "elements to casing", ""), True), (("", "elements to casing", "elements to casing"), True),
    (("zone 1", "zone 2", "zone 1"), False), (("zone 1", "zone 2", ""), False),
])  # fmt: skip
def test_a_fall_is_one_of_the_same_place_however_it_is_spelt(places, stops):
    """What names no place is of the only one that is read."""
    log = [replace(one, place=place) for one, place in zip(insulation(5, 9, 2)[1], places, strict=True)]
    assert bool(stop_of(log[-1], log, own=True)) is stops


def test_every_word_that_a_stop_names_is_one_that_is_logged():
    words = [(kind.id, word.id) for kind in kinds().values() for word in kind.word]
    assert {one for one in words if is_stop_word(*one)} == {
        *(("stopped", word.id) for word in kinds()["stopped"].word), ("drips", "running"), ("smell", "burning"),
        ("rain", "rain"),
    }  # fmt: skip


@pytest.mark.parametrize("one", [
    line("stopped", word="rcd_trip"), line("leakage", 60, unit="mA"), line("casing", 210, unit="°C"),
    line("insulation", 0.02, unit="MΩ", details={"stop": 0.1}),
])  # fmt: skip
def test_the_day_that_was_lived_and_the_plan_call_a_stop_what_the_log_calls_one(one):
    assert stop_of(one) is not None
    assert against(one, None).lies == "stop"
    assert against(one, sample_plan.by_own()).lies == "stop"


# ---------------------------------------------------------------------------------------- what shuts, until when


WORDS = [{"what": kind.id, "word": word.id} for kind in kinds().values() for word in kind.word]
BEYOND = [
    *({"what": what, "value": 61, "unit": "°C", "details": {"stop": 60}} for what in ("chamber", "casing")),
    {"what": "exhaust", "value": 61, "unit": "%", "details": {"stop": 60}}, {"what": "stopped", "word": "of later"},
    {"what": "leakage", "value": 60, "unit": "mA"}, {"what": "casing", "value": 210, "unit": "°C"},
    {"what": "insulation", "value": 0.01, "unit": "MΩ"}, {"what": "casing", "value": 30, "unit": "°C"},
]  # fmt: skip
PLAN = sample_plan.job_plan(sample_plan.by_own())


def shown(events):
    """Whether status has a stop, and one that bars days to come; whether the plan is shut, and own heat closed."""
    found = assessed_at(events)
    (kiln,) = look_at(found, PLAN, LATER, changed=()).kilns
    closed = found.hold("own_heat", "kiln/1").state == "closed"
    return bool(kiln.stopped), kiln.barred, bool(shut(PLAN.kilns[0], found.answers, LATER.date())), closed


@pytest.mark.parametrize("one", [*WORDS, *BEYOND], ids=lambda one: f"{one['what']} {one.get('word', one.get('value'))}")
def test_answer_status_plan_and_hold_point_agree_on_what_a_line_shuts_and_what_lifts_it(one, tmp_path):
    events = logged(completed(), one)
    log, since = log_of(answers_at(events), "kiln/1"), powered(answers_at(events), "kiln/1")
    stop = stop_of(log[-1], log, since=since)
    told = answer(log[-1], PLAN.kilns[0], log[:-1], tmp_path, since)
    again = logged(events, {"what": "again", "word": "again", "said": "why"}, at=LATER)
    looked = logged(events, {"what": "looked", "word": "looked", "said": "why"}, at=LATER)
    ends, bars, mends = bool(stop), bool(stop and stop.until != "next_day"), bool(stop and stop.until == "mended")
    anew = bars and log[-1].is_water  # no word in the log lifts water
    against = bool(stop and {*stop.contradicts} - {"dried.hottest"})  # read or tried anew it opens again

    assert told.stops is ends
    stands = anew or bool(stop and stop.trips)  # a trip of own heat is not for whoever attends to clear
    assert shown(events) == (ends, bars, bars, bars or against)
    gone = bool(stop and stop.over)  # nothing goes on that day, whoever says so
    assert shown(again) == (stands or gone, stands, stands, mends or against)
    assert shown(logged(mended(events), {"what": "again", "word": "again", "said": "why"}, at=LATER))[:3] == (
        anew or gone,
        anew,
        anew,
    )
    stays = bool(stop) and (anew or not (stop.looked or log[-1].is_water))
    assert shown(looked) == (stays, stays and bars, stays and bars, mends or against or (stays and bars))
    trips = bool(stop and stop.trips)  # cleared by whoever passes the electrics alone, and by no word of the log
    stays = (ends and not trips, bars and not trips, bars and not trips)
    assert shown(mended(events)) == (*stays, anew or against or (bars and not mends))


def test_after_water_came_again_neither_status_nor_plan_tells_what_is_left_or_when_it_is_fired():
    """Both are of a drying on which it had not rained."""
    dry, wet = (assessed_at(events) for events in (completed(), logged(completed(), {"what": "rain", "word": "rain"})))
    left = [status_view(look_at(found, PLAN, LATER, changed=()))["kilns"][0]["left"] for found in (dry, wet)]
    paths = [plan_section(found, PLAN, Numbered())["kilns"][0]["paths"] for found in (dry, wet)]

    assert left[1] == {"now": None, "then": None, "days": None, "says": words().status.left_wetted}
    assert left[0] != left[1]
    assert {one["fires"] for one in paths[1]} == {words().plan.path.wetted}
    assert words().plan.path.wetted not in {one["fires"] for one in paths[0]}
    assert "goes on" not in next_said(logged(completed(), {"what": "rain", "word": "rain"}))


def next_said(events):
    """What status says is to be done next."""
    return " ".join(act.say for act in acts(look_at(assessed_at(events), PLAN, LATER, changed=())))


def test_who_logs_that_it_goes_on_after_a_trip_is_still_told_that_its_cause_is_to_be_found_and_mended():
    on = {"what": "again", "word": "again", "said": "on"}
    again = logged(logged(completed(), TRIP), on, at=LATER)

    assert "before the cause is found" in next_said(again)
    assert "cause is found" not in next_said(mended(again))
    assert "slate 329" not in next_said(logged(completed(), {"what": "stopped", "word": "power_cut"}))


@pytest.mark.parametrize("how", [{"measured": (ENDS - timedelta(minutes=2)).isoformat()}, {"first": True}], ids=str)
def test_who_said_that_it_goes_on_before_a_stop_had_not_seen_it(how):
    """Of an earlier moment; or written before it, of a later one."""
    on = {"what": "again", "word": "again", "said": "on", "measured": LATER.isoformat()} | how
    events = logged(completed(), on, TRIP) if on.pop("first", False) else logged(completed(), TRIP, on)
    assert shown(events)[:3] == (True, True, True)


def test_a_stop_that_is_taken_back_without_a_reason_still_shuts_the_plan_and_with_one_no_more():
    assert shown(taken_back(logged(completed(), TRIP))) == (True, True, True, True)
    assert shown(by_electrician(logged(completed(), TRIP)))[:3] == (False, False, False)


def test_whoever_logged_a_trip_takes_none_back():
    """A trip, water or a smell since first power: nobody but who signed for that power says that there was none."""
    assert shown(taken_back(logged(completed(), TRIP), said="a slip")) == (True, True, True, True)


def test_a_fall_below_the_floor_is_a_stop_on_any_day_once_the_kiln_was_powered():
    """Logged by an older version, which kept no figure beside it; on a day that is no day of the plan."""
    events = logged(completed(), read("insulation", 0.01, "MΩ"))
    assert shown(events) == (True, True, True, True)


def test_rain_before_a_plan_opens_shuts_it_until_the_water_is_answered_anew():
    early = logged(completed(), {"what": "rain", "word": "rain"})
    later = replace(PLAN.kilns[0], days=tuple(replace(one, date=one.date + timedelta(days=99)) for one in
                                              PLAN.kilns[0].days))  # fmt: skip
    anew = said(early, "event.water_out", value=(LATER - timedelta(minutes=1)).isoformat(), measured=LATER.isoformat())

    assert shut(later, answers_at(early), later.days[0].date)
    assert not shut(later, answers_at(anew), later.days[0].date)


ANEW = ["event.source", "event.mould", "safe.water_gone", "safe.hazards"]


@pytest.mark.parametrize("came", [{"what": "rain", "word": "rain"}, {"what": "stopped", "word": "water"}])
def test_water_that_comes_again_ends_what_lets_anybody_near_until_each_slate_of_it_is_answered_anew(came):
    events = logged(completed(), came)
    ended = {name for name in ("hands_off", "hazards", "isolated") if states(events)[name].state == "closed"}
    assert ended == {"hands_off", "hazards", "isolated"}

    for key in [key for key in answers_at(events).given if key.partition("@")[0] in ANEW]:
        assert states(events, LATER)["hazards"].state == "closed"
        events = said(events, key, LATER, measured=LATER.isoformat())
    assert {states(events, LATER)[name].state for name in ("hands_off", "hazards")} == {"ready for release"}


def test_the_answer_to_rain_names_each_slate_that_it_undoes():
    one = line("rain", word="rain")
    told = "\n".join(answer(one, None, [one], Path("job")).lines)
    asked = answers_at(completed()).questions.question
    slates = ", ".join(str(one.slate) for one in asked if "water_came" in one.undone_by)
    assert f"by slate {slates}:" in told


# ---------------------------------------------------------------------------------------- own heat


def logged(events, *lines, at=ENDS):
    """The journal with lines of its log, five minutes apart, after its release."""
    for number, one in enumerate(lines):
        data = {"kiln": "kiln/1", "measured": (at + timedelta(minutes=number)).isoformat(), **one}
        events = (*events, Event(events[-1].n + 1, at.isoformat(), "A. Tendant", "log", "logged", data, ""))
    return events


def read(what, value, unit):
    return {"what": what, "value": value, "unit": unit}


TRIP = {"what": "stopped", "word": "rcd_trip"}
OPEN = {
    "a residual-current device tripped": [TRIP],
    "the cut-out tripped": [{"what": "stopped", "word": "cutout_trip"}],
    "water": [{"what": "stopped", "word": "water"}],
    "a smell of burning": [{"what": "smell", "word": "burning"}],
    "drips that run": [{"what": "drips", "word": "running"}],
    "insulation at nothing": [read("insulation", 0.01, "MΩ")],
    "insulation that falls": [read("insulation", value, "MΩ") for value in (5, 9, 2)],
    "leakage of 60 mA": [read("leakage", 60, "mA")],
    "a terminal box at 210 °C": [read("casing", 210, "°C")],
}


def heat(events, now=LATER):
    return states(events, now)["own_heat"]


@pytest.mark.parametrize("name", OPEN)
def test_a_stop_ends_the_release_of_own_heat_and_keeps_it_shut(name):
    assert heat(completed()).state == "released"

    found = heat(logged(completed(), *OPEN[name]))
    assert found.state == "closed"
    assert found.signed == ()
    assert any("journal line" in missing and "slate 329" in missing for missing in found.missing)


def read_again(events, at=LATER):
    """The journal in which all that its stops speak against is read or tried anew, with the same outcome."""
    stops = (stop_of(one, own=True) for one in answers_at(events).logged)
    spoken = {name for stop in stops if stop for name in stop.contradicts}
    for key, one in answers_at(events).given.items():
        if one.question in spoken and one.state == "given":
            events = said(events, key, at, measured=at.isoformat())
    return events


def test_a_stop_that_speaks_against_no_proof_of_it_suspends_first_power_until_its_cause_is_mended():
    """It ends no signature."""
    hot = OPEN["a terminal box at 210 °C"][0] | {"details": {"lining_degc": 90}}
    events = logged(completed(), hot)
    found, then = states(events, LATER)["energise"], states(mended(events), LATER)["energise"]

    assert (found.state, found.stands) == ("released", "suspended")
    assert "slate 329" in found.suspended
    assert "An electrician's own fault-finding under test" in found.suspended
    assert then.stands == "released"


@pytest.mark.parametrize("name", [one for one in OPEN if not one.startswith(("water", "insulation", "a terminal"))])
def test_what_a_stop_speaks_against_opens_no_power_until_it_is_read_again_and_signed(name):
    """Certificate and hold point ask the same judge; that its cause is mended reads nothing again."""
    events = mended(logged(completed(), *OPEN[name]))
    found, then = (states(one, LATER)["energise"] for one in (events, read_again(events)))

    assert found.state == "closed"
    assert any("against it since: " in one for one in found.missing)
    assert (then.state, then.signed) == ("ready for release", ())


def test_a_probe_that_was_off_opens_no_own_heat_by_the_comparison_of_before():
    """That the day goes on compares nothing."""
    off = logged(completed(), {"what": "stopped", "word": "probe_off"})
    again = logged(off, {"what": "again", "word": "again", "said": "screwed in"}, at=LATER)

    assert heat(again).state == "closed"
    assert any("a probe was off" in one and "read or tried again" in one for one in heat(again).missing)
    assert (heat(read_again(again)).state, heat(read_again(again)).signed) == ("ready for release", ())


@pytest.mark.parametrize("word", ["power_cut", "probe_off"])
def test_what_needs_no_mending_suspends_no_first_power(word):
    assert states(logged(completed(), {"what": "stopped", "word": word}), LATER)["energise"].stands == "released"


def test_a_power_cut_ends_no_release():
    assert heat(logged(completed(), {"what": "stopped", "word": "power_cut"})).state == "released"


def test_nobody_goes_on_under_the_name_of_an_attendant_who_is_gone():
    """Whoever stays says so, and signs; the same words by the same person bring no signature back."""
    gone = logged(completed(), {"what": "stopped", "word": "attendant_gone"})
    stays = read_again(gone)

    assert (heat(gone).state, heat(gone).signed) == ("closed", ())
    assert any("nobody was there any more" in one for one in states(gone, LATER)["energise"].missing)
    assert (states(stays, LATER)["energise"].state, heat(stays).signed) == ("ready for release", ())


def test_what_rises_and_dips_as_it_should_ends_nothing():
    readings = [read("insulation", value, "MΩ") for value in (5, 9, 8)]
    assert heat(logged(completed(), *readings, read("leakage", 0.5, "mA"))).state == "released"


def test_a_cause_that_is_mended_lets_it_be_signed_anew_and_brings_no_signature_back():
    found = states(read_again(mended(logged(completed(), TRIP))), LATER)
    assert [(found[one].state, found[one].signed) for one in ("energise", "own_heat")] == [
        ("ready for release", ()), ("closed", ())]  # fmt: skip


WORSE = {
    "not mended": {"value": "no"},
    "not known any more": {"state": "unknown", "value": None},
    "said by somebody who may not": {"who": "A. Tendant", "role": "attendant"},
    "without the paper": {"document": ""},
    "of before the stop": {"measured": (ENDS - timedelta(hours=1)).isoformat()},
}


@pytest.mark.parametrize("name", WORSE)
def test_a_worse_word_on_the_cause_keeps_it_shut(name):
    assert heat(mended(logged(completed(), TRIP), **WORSE[name])).state == "closed"


def test_what_was_mended_before_mends_no_later_stop():
    assert heat(logged(mended(logged(completed(), TRIP)), TRIP, at=LATER)).state == "closed"


def taken_back(events, **more):
    return logged(events, {"what": "stopped", "takes_back": events[-1].n, **more})


def by_electrician(events):
    (*before, back) = taken_back(events, said="it was the other kiln")
    return (*before, replace(back, by="E. Lectrician"))


def test_a_stop_that_is_taken_back_without_a_reason_keeps_it_shut():
    found = heat(taken_back(logged(completed(), TRIP)))
    assert found.state == "closed"
    assert any("stop" in missing for missing in found.missing)


def test_a_stop_that_is_taken_back_with_a_reason_asks_for_signatures_all_the_same():
    found = states(by_electrician(logged(completed(), TRIP)), LATER)["energise"]
    assert (found.state, found.signed) == ("ready for release", ())


SEEN = [how for how in OPEN if OPEN[how][0].get("word")]


@pytest.mark.parametrize("how", SEEN)
def test_what_was_seen_and_is_taken_back_by_the_attendant_waits_for_its_cause_and_says_by_whom(how):
    events = logged(completed(), *OPEN[how])
    events = logged(events, {"what": OPEN[how][0]["what"], "takes_back": events[-1].n, "said": "a slip"})
    answers = answers_at(events)

    assert heat(events).state == "closed"
    assert "taken back by somebody who did not sign first power" in " ".join(told_open(answers, "kiln/1"))
    assert told_ever(answers, "kiln/1")[0].endswith("taken back by A. Tendant: a slip")
    assert stop_since(answers_at(mended(events)), "kiln/1") == {"cleared"}


@pytest.mark.parametrize("word", ["power_cut", "attendant_gone", "probe_off"])
def test_what_needs_nobody_to_find_its_cause_is_taken_back_by_whoever_logs(word):
    events = logged(completed(), {"what": "stopped", "word": word})
    assert stop_since(answers_at(taken_back(events, said="a slip")), "kiln/1") == {"none"}


def test_no_reading_that_is_typed_in_late_takes_a_fall_back_or_brings_a_signature_back():
    fell = logged(completed(), *[read("insulation", value, "MΩ") for value in (5, 9, 2)])
    late = logged(fell, read("insulation", 10, "MΩ") | {"measured": (ENDS - timedelta(hours=1)).isoformat()})
    found = heat(mended(late))

    assert (heat(late).state, found.state, found.signed) == ("closed", "closed", ())


def test_a_fall_that_shows_only_by_a_reading_typed_in_late_ends_a_signature_for_good():
    low = logged(completed(), read("insulation", 5, "MΩ"))
    low = logged(low, read("insulation", 2, "MΩ"), at=ENDS + timedelta(minutes=3))
    late = logged(low, read("insulation", 9, "MΩ") | {"measured": (ENDS + timedelta(minutes=1)).isoformat()})

    assert heat(low).state == "released"
    assert (heat(mended(late)).state, heat(mended(late)).signed) == ("closed", ())


def test_that_it_goes_on_says_nothing_of_the_cause():
    assert heat(logged(completed(), TRIP, {"what": "again", "word": "again", "said": "on"})).state == "closed"


@pytest.mark.parametrize(
    ("again", "state"),
    [
        ([], "closed"),
        ([read("leakage", 0.6, "mA")], "released"),
        ([{**read("leakage", 0.6, "mA"), "place": "elsewhere"}], "closed"),
        ([read("chamber", 20, "°C")], "closed"),
    ],
)
def test_a_slip_that_was_a_stop_is_one_until_it_is_read_again_there(again, state):
    events = logged(completed(), read("leakage", 60, "mA"))
    events = logged(events, {"what": "leakage", "takes_back": events[-1].n, "said": "it was told in µA"}, *again)
    told = " ".join(told_open(answers_at(events), "kiln/1"))
    assert ("not read again there since" in told) is (state == "closed")
