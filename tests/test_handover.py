"""The hand-over certificate and its annex: what was proved and what was not, and the log day by day."""

import re
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from functools import cache

import pytest

from recover.asked.compiled import questionnaire
from recover.base.errors import JobError
from recover.job.folder import Job, Settings
from recover.judged.assessment import assess_answers
from recover.judged.failed import held_against
from recover.judged.stops import _stops
from recover.physics.draws import Spread
from recover.plan.whole import Learnt
from recover.report import pdf
from recover.report.annex import annex
from recover.report.dried import still_open
from recover.report.handover import handed_over, handover
from recover.report.papers import issue
from recover.report.words import words
from tests import sample_plan
from tests.conftest import NOW
from tests.gates import LATER, answers_at, dried, last, said, unsigned
from tests.kilns import signed
from tests.printed import folded, pages_of
from tests.test_dry import ALL, changed, journal, logged

MADE = datetime(2026, 3, 10, 13, 0, tzinfo=UTC)
SAFE = ("safe", "safely")


def job(events=()):
    return Job("job", Settings("job", "uk", "A4", "Europe/London"), tuple(events), "0" * 64)


def found(events, now=NOW):
    return assess_answers(answers_at(events, now), "test", "uk", "0" * 64)


@cache
def dry():
    return signed(journal(*ALL))


def certificate(events, now=NOW):
    return handover(job(events), found(events, now), MADE)


# ---------------------------------------------------------------------------------------- the certificate


def cut_out(set_to, top):
    """A kiln with a cut-out on the day of its hand-over, its log at 345 °C, set so for a day of this top."""
    events = dried(unsigned())
    for name, degc in (("energise.day_top@kiln/1", top), ("energise.cutout_set@kiln/1", set_to)):
        events = said(events, name, value=degc, measured=LATER.isoformat())
    events = said(events, "plan.top_degc@kiln/1", value=500)
    view = handover(job(events), found(events, LATER), MADE)["kilns"][0]
    missing = [row for hold in view["missing"] for row in hold["rows"]]
    return [row for row in missing if row.startswith("the cut-out that was proved last")], view


def test_a_kiln_that_was_fired_hotter_than_its_cut_out_was_proved_is_not_handed_over():
    """What was proved on a day of drying says nothing of the firings since."""
    missing, view = cut_out(340, 320)
    unproved = {row["question"]: row["not"] for row in view["not"] if "question" in row}

    assert len(missing) == 1
    assert "proved no higher, and the log has 345 °C" in missing[0]
    assert {"energise.cutout_set", "energise.day_top"} <= unproved.keys()


def test_a_cut_out_at_or_below_what_the_ware_needs_hands_over_no_kiln_and_one_above_it_and_the_log_does():
    assert "the owner's ware needs 500 °C" in cut_out(500, 480)[0][0]
    missing, view = cut_out(530, 500)

    assert missing == []
    assert "energise.cutout_set" in [row["question"] for row in view["proved"]]


def test_while_the_hold_point_is_closed_it_says_so_first_and_lists_what_is_missing():
    view = certificate(journal("weight"))

    assert [box["title"] for box in view["boxes"]] == [words().handover.box["closed"].title]
    missing = [row for hold in view["kilns"][0]["missing"] for row in hold["rows"]]
    assert any(row.startswith("dry by three of five") for row in missing)


def test_signed_by_three_it_names_them_and_until_when_that_stands():
    (box,) = certificate(dry())["boxes"]

    assert box["title"] == words().handover.box["released"].title
    for name in ("E. Lectrician", "R. Epairer", "O. Wner", "2026-03-11"):
        assert name in " ".join(box["lines"])


def test_two_days_later_what_it_rests_on_has_aged_and_it_still_tells_what_was_found_that_day():
    then, later = certificate(dry()), certificate(dry(), NOW + timedelta(days=2))
    (box,) = later["boxes"]

    assert box["title"] == words().handover.box["aged"].title
    assert "nothing has been written in the job since" in box["lines"][0]
    for part in ("proved", "not", "dry", "missing"):
        assert later["kilns"][0][part] == then["kilns"][0][part]


def test_once_something_was_written_after_the_hand_over_it_says_that_it_ended_and_what_ended_it():
    wet = said(dry(), "dried.vapour@kiln/1", NOW + timedelta(days=1), value="some")
    (box,) = certificate(wet, NOW + timedelta(days=2))["boxes"]

    assert box["title"] == words().handover.box["ended"].title
    assert "Ended: " in " ".join(box["lines"])


def test_each_of_the_five_stands_with_its_reading_and_by_whom():
    rows = {row["why"]: row for row in certificate(dry())["kilns"][0]["dry"]}

    assert [row["word"] for row in rows.values()] == ["agrees"] * 5
    weight = next(row for why, row in rows.items() if "1.303 kg, then 1.3 kg" in why)
    assert [(by["by"], by["at"]) for by in weight["by"]] == [
        ("A. Tendant, attendant", "2026-03-09 08:00 GMT"),
        ("A. Tendant, attendant", "2026-03-10 08:00 GMT"),
    ]  # fmt: skip


def test_hot_insulation_has_its_entry_its_volts_its_meter_and_the_role_of_who_read_it():
    (hot,) = [row for row in certificate(dry())["kilns"][0]["dry"] if "warm lining" in row["why"]]
    read = hot["by"][0]

    assert "2 MΩ on a warm lining, entry 1 MΩ" in hot["why"]
    assert read["by"] == "A. Tendant, attendant"
    for told in ("test voltage 500 V", "lining 130 °C", "joined: full", words().handover.no_tester):
        assert told in read["how"]


@pytest.mark.parametrize(("meter", "told"), [("", "no insulation tester named"), ("M1", "M1")])
def test_an_answered_figure_of_insulation_says_with_which_tester_or_that_none_is_named(meter, told):
    events = [replace(one, data={**one.data, "instrument": meter})
              if one.data.get("question", "").startswith("zone.insulation") else one for one in dry()]  # fmt: skip
    (kiln,) = certificate(events)["kilns"]
    rows = [row for row in (*kiln["proved"], *kiln["not"]) if row.get("question") == "zone.insulation"]

    assert rows
    assert {row["instrument"] for row in rows} == {told}
    of_bonds = [row for row in (*kiln["proved"], *kiln["not"]) if row.get("question") == "dried.vapour"]
    assert not any(row["instrument"] for row in of_bonds)


def test_the_black_box_names_the_limits_on_use_and_counts_and_names_what_was_not_proved():
    view = certificate(said(dry(), "handover.limits@kiln/1", NOW, value="1,060 °C at most, attended"))
    kiln, (box,) = view["kilns"][0], view["boxes"]

    assert "Limits on use: 1,060 °C at most, attended" in box["lines"]
    assert box["lines"][-1].startswith(f"Not proved, {len(kiln['not'])} things: ")
    assert "; hottest place; " in box["lines"][-1]


FIRED = {"what": "chamber", "value": 1065.0, "unit": "degC", "measured": "2026-03-10T09:30:00+00:00"}
FIRINGS = [{**FIRED, "value": degc, "measured": f"2026-03-10T0{hour}:30:00+00:00"}
           for hour, degc in ((5, 601.0), (6, 20.0), (7, 1049.0), (8, 20.0), (9, 1065.0))]  # fmt: skip


def test_firings_of_its_proof_that_were_not_made_are_named_as_not_proved():
    fired = logged(dry(), *FIRINGS)
    made, unfired = (certificate(said(fired, "handover.done@kiln/1", NOW, value=value)) for value in ("yes", "unfired"))
    label = questionnaire().printed("proof")["handover.done"]

    assert label in [row["label"] for row in made["kilns"][0]["proved"]]
    (row,) = [row for row in unfired["kilns"][0]["not"] if row["label"] == label]
    assert "not all made" in row["not"]
    assert words().handover.short["handover.done"] in unfired["boxes"][0]["lines"][-1]


@pytest.mark.parametrize(("degc", "lacks"), [(345.0, "drying firing; oxide firing"),
                                             (601.0, "oxide firing")])  # fmt: skip
def test_firings_that_are_said_to_be_made_and_of_which_the_log_shows_none_are_not_proved(degc, lacks):
    events = said(logged(dry(), {**FIRED, "value": degc}), "handover.done@kiln/1", NOW, value="yes")
    (row,) = [row for row in certificate(events)["kilns"][0]["not"] if row["short"] == "firings of its proof"]

    assert row["not"].startswith("yes, and every firing of its proof was made; but ")
    assert row["not"].endswith(f": {lacks}")


@pytest.mark.parametrize("nothing", ["-", "none"])
def test_limits_that_say_nothing_are_told_as_none_agreed_and_left_to_be_filled_in(nothing):
    view = certificate(said(dry(), "handover.limits@kiln/1", NOW, value=nothing))

    assert words().handover.no_limits in view["boxes"][0]["lines"]
    assert view["kilns"][0]["agreed"][0]["value"] == ""


def test_a_figure_stands_beside_what_it_is_held_against_and_passes():
    kiln = certificate(dry())["kilns"][0]
    held = {row["label"]: row["held"] for row in kiln["proved"]}

    assert held["insulation of the elements, cold"] == "entry 1 MΩ: passes"
    assert held["its trip time, by a tester"] == "at most 300 ms: passes"
    assert held["nothing welded"] == ""
    assert all(row["held"] for row in (*kiln["proved"], *kiln["not"]) if row["read"])


def test_a_figure_that_misses_stands_beside_what_it_misses():
    (kiln,) = certificate(said(dry(), "energise.rcd_ms@kiln/1", NOW, value=400.0))["kilns"]
    (row,) = [row for row in kiln["not"] if row["label"] == "its trip time, by a tester"]

    assert (row["value"], row["held"]) == ("400 ms", "at most 300 ms")
    assert "above 300 ms" in row["not"]


def short_names(proofs):
    """Return what each thing that is to be proved is called in the black box."""
    return [words().handover.short.get(name, label.partition(",")[0]) for name, label in proofs.items()]


def test_every_figure_that_is_to_be_proved_is_held_against_something_and_has_a_short_name():
    whole = questionnaire()
    proofs = whole.printed("proof")
    figures = {name for name in proofs if whole.questions[name].kind in ("reading", "number")}

    assert figures == {card.question for card in held_against()}
    assert words().handover.short.keys() <= proofs.keys()
    assert all(len(name) <= 30 for name in short_names(proofs))


def test_what_was_proved_has_value_person_moment_and_meter():
    proved = {row["label"]: row for row in certificate(dry())["kilns"][0]["proved"]}

    assert proved["its trip time, by a tester"]["value"] == "22 ms"
    insulation = proved["insulation of the elements, cold"]
    assert (insulation["value"], insulation["by"], insulation["instrument"]) == (
        "4.2 MΩ", "E. Lectrician, electrician", "I1"
    )  # fmt: skip


@pytest.mark.parametrize("events", ["target", "rain"])
def test_a_weight_stands_on_it_as_dry_was_judged_by_it_and_nowhere_else(monkeypatch, events):
    """Over the target that it was held against, or of before the rain: by the plan that is newest it proves nothing."""
    plan = sample_plan.job_plan(sample_plan.planned())
    monkeypatch.setattr("recover.report.handover.newest", lambda _job: plan, raising=False)
    rain = {"what": "rain", "word": "rain", "measured": "2026-03-10T10:00:00+00:00"}
    of = {"target": changed("weight", 3, details={"target": 1.29}), "rain": logged(dry(), rain)}
    (kiln,) = certificate(of[events])["kilns"]
    weight = kiln["dry"][0]

    assert (weight["lies"], "1.29 kg" in weight["why"]) == (
        ("contradicts", True) if events == "target" else ("not_known", False))  # fmt: skip
    assert not [row for row in (*kiln["proved"], *kiln["not"]) if "1.3 kg" in row["value"]]


def test_what_was_not_proved_is_named_and_a_device_that_is_not_there_is_no_proof():
    rows = {row["label"]: row["not"] for row in certificate(dry())["kilns"][0]["not"]}

    assert rows["hottest place of casing or terminal box in a heating"] == "not answered"
    assert rows["safety contactor closes and opens"].startswith("there is none: the electrician's decision")
    assert "over-temperature cut-out opens" in rows


def test_what_is_out_of_date_proves_nothing_any_more():
    looked = said(dry(), "dried.vapour@kiln/1", NOW + timedelta(days=39), value="none")
    late = certificate(looked, NOW + timedelta(days=40))["kilns"][0]
    rows = {row["label"]: row["not"] for row in late["not"]}

    assert "holds for" in rows["insulation of the elements, cold"]


def test_re_checks_have_dates_once_it_is_handed_over():
    rows = {row["after"]: row["when"] for row in certificate(dry())["kilns"][0]["rechecks"]}

    assert rows["after firing 10"] == words().handover.firing
    assert [when for when in rows.values() if when.startswith("2026")] == ["2026-04-10", "2026-06-10", "2026-09-10"]
    assert not any("2026" in row["when"] for row in certificate(journal())["kilns"][0]["rechecks"])


def test_a_certificate_is_issued_only_while_every_kiln_stands_handed_over(tmp_path):
    (tmp_path / "journal.jsonl").write_text("")
    closed = found(journal())

    assert handed_over(found(dry()))
    assert not handed_over(closed)
    with pytest.raises(JobError, match="What is missing, and who signs"):
        issue(tmp_path, closed, "A. Repairer", "repairer", MADE, ("handover", "annex"))


def test_a_hand_over_that_has_only_aged_is_issued_as_it_was_signed_also_after_other_papers():
    """The morning after the signatures; once anything was said of the kiln it is issued no more."""
    morning = NOW + timedelta(days=2)
    about = {"papers": ["recovery"], "revision": 1, "record": "", "capacity": "repairer"}
    paper = replace(dry()[-1], n=dry()[-1].n + 1, at=morning.isoformat(), kind="issue", data=about)
    wet = said(dry(), "dried.vapour@kiln/1", NOW + timedelta(days=1), value="some")

    assert found(dry(), morning).hold("handover", "kiln/1").state != "released"
    assert handed_over(found(dry(), morning))
    assert handed_over(found((*dry(), paper), morning))
    assert certificate((*dry(), paper), morning)["boxes"][0]["title"] == words().handover.box["aged"].title
    assert not handed_over(found(wet, morning))


# ---------------------------------------------------------------------------------------- how it was dried


def dried_by(monkeypatch, *lines, learnt=True, more=(), heated=True, misfits=(), shut=False):
    """Return the certificate's part of a kiln that was dried by a stored plan, and that plan."""
    plan = sample_plan.job_plan(sample_plan.planned())
    spread = Spread(p10=0.01, p50=0.02, p90=0.04, p90_error=0.0)
    taught = Learnt(goes_on=3, lines=1, readings=1, not_run=(), effective=100.0, assumed=spread, left=spread,
                    at_first=None, misfits=misfits, shut=shut)  # fmt: skip
    kiln = replace(plan.kilns[0], learnt=taught if learnt else None)
    plan = replace(plan, kilns=(kiln,))
    monkeypatch.setattr("recover.plan.store.every", lambda _job: iter([plan]))
    later = datetime.fromisoformat(plan.made) + timedelta(days=200)
    begun = [one for one in journal() if heated or one.data.get("what") != "chamber"]
    numbered = [replace(one, n=number) for number, one in enumerate((*begun, *more), start=1)]
    return handover(job(), found(logged((*numbered,), *lines), later), later)["kilns"][0], kiln


def of_day(day, degc, **more):
    return {"what": "chamber", "value": degc, "unit": "°C", "measured": day.attended_from.isoformat(), **more}


def test_the_certificate_says_how_hot_the_kiln_ever_was_in_the_log_and_how_much_water_is_reckoned_to_be_left(
    monkeypatch,
):
    (first, second) = sample_plan.planned().days[:2]
    told, _ = dried_by(monkeypatch, of_day(first, 46.0), of_day(second, 429.0), of_day(second, 80.0))
    rows = {row["label"]: row["value"] for row in told["dried"]}

    assert rows["hottest chamber in the log"].startswith("429 °C, 2026-04-")
    assert rows["water left, as reckoned"].startswith("2 % (1 to 4) of the first water before day 3, by plan 1")


def test_where_nothing_was_logged_and_no_plan_learnt_that_is_said_and_the_water_stands_as_not_proved(monkeypatch):
    told, _ = dried_by(monkeypatch, learnt=False, heated=False)

    say = words().handover
    assert [row["value"] for row in told["dried"]] == [say.no_heat, say.no_left, say.no_stops]
    assert words().handover.dried["left"] in [row["short"] for row in told["not"]]
    assert words().handover.dried["left"] not in [row["short"] for row in dried_by(monkeypatch)[0]["not"]]


@pytest.mark.parametrize(("shut", "told"), [(True, 1), (False, 0)])
def test_readings_that_shut_the_plan_and_that_nobody_has_looked_into_are_named_as_not_proved(monkeypatch, shut, told):
    misfits = ("This is not the kiln that was assumed: wall, 9 K cooler than any draw.",)
    rows, _ = dried_by(monkeypatch, misfits=misfits, shut=shut)
    named = [row["not"] for row in rows["not"] if row["short"] == words().handover.unexplained]

    assert len(named) == told
    assert all(misfits[0] in one and "nobody has looked" in one for one in named)


def test_days_that_were_planned_and_not_logged_stand_by_number_under_what_was_not_proved(monkeypatch):
    days = [day for day in sample_plan.planned().days if day.attended_from and day.readings]
    most, _ = dried_by(monkeypatch, *(of_day(day, 40.0) for day in days[:-1]))
    every, _ = dried_by(monkeypatch, *(of_day(day, 40.0) for day in days))

    (row,) = [row for row in most["not"] if row["short"] == words().handover.planned_days]
    assert f"ay {days[-1].number} of plan 1" in row["not"]
    assert words().handover.planned_days not in [row["short"] for row in every["not"]]


@pytest.mark.parametrize(("read", "lacks"), [
    ([{**FIRED, "value": 229.0}], ["drying firing", "oxide firing", "test firing"]),
    ([{**FIRED, "value": 580.0}], ["oxide firing", "test firing"]),
    ([FIRED], ["drying firing", "oxide firing"]),
    (FIRINGS[:3], ["test firing"]),
    (FIRINGS, []),
])  # fmt: skip
def test_each_firing_of_the_proof_for_which_no_heating_of_the_log_stands_is_named_as_not_proved(read, lacks):
    events = logged(said(journal(), "dried.cones@kiln/1", NOW, state="unknown", value=None), *read)
    (kiln,) = certificate(events)["kilns"]

    assert [row["short"] for row in kiln["not"] if row["short"] in words().handover.firings.values()] == lacks


@pytest.mark.parametrize(("source", "is_shown"), [("log", False), ("file week1.csv", True)])
def test_heat_that_was_typed_a_day_late_shows_no_firing_and_a_loggers_does(source, is_shown):
    read = {**FIRED, "measured": "2026-03-09T09:30:00+00:00", "written": "2026-03-10T11:00:00+00:00", "source": source}
    (kiln,) = certificate(logged(said(dry(), "dried.cones@kiln/1", NOW, state="unknown", value=None), read))["kilns"]
    top, _left, _stops, *fired = kiln["dried"]
    not_made = [row["short"] for row in kiln["not"]]

    assert top["value"].startswith("1\u202f065 °C, 2026-03-09 09:30 GMT, ")  # however late: it counts against
    assert [row["value"] == top["value"] for row in fired] == [True] * is_shown
    assert ("test firing" not in not_made) is is_shown


@pytest.mark.parametrize(("read_at", "is_proved"), [("10:29", False), ("10:30", True)])
def test_what_was_read_cold_an_hour_after_a_firing_is_the_insulation_after_it(read_at, is_proved):
    """It is the same reading that stands under dry: it is not told as not read beside that."""
    cold = said(logged(dry(), *FIRINGS), "zone.insulation@kiln/1/zone/1", NOW, value=29.0,
                measured=f"2026-03-10T{read_at}:00+00:00")  # fmt: skip
    (kiln,) = certificate(cold)["kilns"]
    label = questionnaire().printed("proof")["dried.insulation"]
    proved = {row["label"]: row for row in kiln["proved"]}

    assert (label in proved) is is_proved
    assert (label in [row["label"] for row in kiln["not"]]) is not is_proved
    assert not is_proved or (proved[label]["value"], proved[label]["held"]) == ("29 MΩ", "entry 1 MΩ: passes")


def test_a_firing_whose_cones_were_looked_at_was_fired():
    (kiln,) = certificate(said(dry(), "dried.cones@kiln/1", NOW, value="even"))["kilns"]

    assert "test firing" not in [row["short"] for row in kiln["not"]]


def test_how_it_was_dried_is_told_by_the_log_where_it_is_not_written_down():
    empty, told = (certificate(one)["kilns"][0]["agreed"][-1] for one in (
        said(dry(), "dried.method@kiln/1", NOW, value="-"),
        said(dry(), "dried.method@kiln/1", NOW, value="lid open, a fan, twelve days")))  # fmt: skip

    assert empty["value"].startswith("by the log in the annex: ")
    assert told["value"] == "lid open, a fan, twelve days"


# ---------------------------------------------------------------------------------------- the annex


STOP = {"what": "stopped", "word": "power_cut", "measured": "2026-03-09T16:00:00+00:00"}


def test_the_annex_tells_each_day_what_was_read_what_happened_and_on_which_line():
    days = annex(job(), found(logged(dry(), STOP)), MADE)["kilns"][0]["days"]
    by_date = {day["date"]: day for day in days}

    assert [*by_date] == ["2026-03-08", "2026-03-09", "2026-03-10"]
    assert [row["event"] or row["what"] for row in by_date["2026-03-09"]["rows"]] == [
        "Weight of the piece", "Chamber", "Air that enters", "Casing", "Insulation", "Air that leaves",
        "Stopped: power cut: a stop",
    ]  # fmt: skip
    assert any("signed: Hand-over, O. Wner" in row["event"] for row in by_date["2026-03-10"]["rows"])
    assert all(row["line"] for day in days for row in day["rows"])


def test_a_stop_stands_among_the_readings_where_the_clock_has_it():
    events = logged(dry(), {**STOP, "measured": "2026-03-09T14:30:00+00:00"})
    rows = [row for day in annex(job(), found(events), MADE)["kilns"][0]["days"] for row in day["rows"]]
    stop = next(number for number, row in enumerate(rows) if row["event"].startswith("Stopped"))

    assert [row["at"] for row in rows[stop - 1 : stop + 2]] == ["14:00", "14:30", "14:50"]


def test_every_line_that_the_certificate_names_in_brackets_is_found_in_the_annex():
    known = found(dry())
    named = {line for row in handover(job(), known, MADE)["kilns"][0]["dry"] for line in row["lines"]}
    told = {row["line"] for day in annex(job(), known, MADE)["kilns"][0]["days"] for row in day["rows"]}

    assert len(named) > 5
    assert named <= told


def test_a_day_between_on_which_nothing_was_logged_has_its_heading_too():
    events = tuple(one for one in dry() if not str(one.data.get("measured", "")).startswith("2026-03-09"))
    days = annex(job(), found(events), MADE)["kilns"][0]["days"]

    assert [day["date"] for day in days] == ["2026-03-08", "2026-03-09", "2026-03-10"]
    assert days[1]["rows"] == []


def test_it_begins_with_the_drying_in_short():
    caught = {"what": "litres", "unit": "l", "measured": "2026-03-09T18:00:00+00:00"}
    events = logged(dry(), {**caught, "value": 1.2}, {**caught, "value": 0.3}, STOP)
    short = {row["label"]: row["value"] for row in annex(job(), found(events), MADE)["kilns"][0]["short"]}

    assert short["days with a line in the log"] == "3 days"
    assert short["water caught, in all"] == "1.5 l"
    assert short["stops"].startswith("1: 2026-03-09 16:00 GMT [")
    assert short["weight of the piece, first and last"] == (
        "1.9 kg (2026-03-08 09:00 GMT); 1.3 kg (2026-03-10 08:00 GMT)")  # fmt: skip
    assert short["logged by"] == "A. Tendant"


def lived(monkeypatch, *plans, lines=(), now=datetime(2026, 4, 16, 20, 0, tzinfo=UTC)):
    """Return the days of the annex of a kiln that is dried by plans, the newest first."""
    monkeypatch.setattr("recover.plan.store.every", lambda _job: iter(plans))
    return annex(job(), found(logged(journal(), *lines), now), now)["kilns"][0]["days"]


def test_what_is_read_after_midnight_stands_under_the_day_before_with_its_own_date(monkeypatch):
    plan = sample_plan.job_plan(sample_plan.planned())
    first, second = plan.kilns[0].days[:2]
    night = datetime.combine(second.date, time(0, 40), first.attended_from.tzinfo)
    read = [{"what": "chamber", "value": 41.0, "unit": "°C", "measured": at.isoformat()}
            for at in (first.attended_from, night, second.attended_from)]  # fmt: skip
    days = {day["date"]: day for day in lived(monkeypatch, plan, lines=read)}
    one, other = (days[day.date.isoformat()] for day in (first, second))

    assert [row["at"] for row in one["rows"] if not row["event"]][-1] == f"{night:%a} {night.day}, 00:40"
    assert [row["what"] for row in other["rows"] if not row["event"]] == ["Chamber"]
    assert [line.partition(". ")[0] for day in (one, other) for line in day["planned"]] == [
        "Plan 1, day 1", "Plan 1, day 2"]  # fmt: skip


@pytest.mark.parametrize("shut", [True, False])
def test_a_plan_made_anew_stands_where_the_clock_has_it_with_what_did_not_fit(monkeypatch, shut):
    plan = sample_plan.job_plan(sample_plan.planned())
    first = plan.kilns[0].days[0]
    spread = Spread(p10=0.1, p50=0.2, p90=0.3, p90_error=0.0)
    misfits = ("this is not the wall that was assumed",) if shut else ()
    learnt = Learnt(goes_on=2, lines=1, readings=1, not_run=(), effective=100.0, assumed=spread, left=spread,
                    at_first=None, misfits=misfits, shut=shut)  # fmt: skip
    made = (first.attended_from + timedelta(hours=3)).isoformat()
    anew = replace(plan, number=2, made=made, kilns=(replace(plan.kilns[0], learnt=learnt),))
    moments = [(first.attended_from + timedelta(hours=hour)).isoformat() for hour in (1, 4)]
    read = [{"what": "chamber", "value": 41.0, "unit": "°C", "measured": at} for at in moments]
    rows = lived(monkeypatch, anew, plan, lines=read)
    (day,) = [day["rows"] for day in rows if day["date"] == first.date.isoformat()]

    assert [row["event"] == "" for row in day] == [True, False, True]
    assert day[1]["event"].startswith("Plan 2 was made; it goes on from day 2.")
    assert ("this is not the wall that was assumed" in day[1]["event"], words().annex.shut in day[1]["event"],
            day[1]["marked"]) == (shut, shut, shut)  # fmt: skip


def test_a_line_that_was_taken_back_stays_and_says_so():
    events = logged(dry(), {"what": "chamber", "value": 900.0, "unit": "degC", "measured": "2026-03-09T10:00:00+00:00"})
    events = logged(events, {"what": "chamber", "measured": "2026-03-09T10:00:00+00:00", "takes_back": events[-1].n})
    (row,) = [row for day in annex(job(), found(events), MADE)["kilns"][0]["days"] for row in day["rows"]
              if not row["event"] and row["what"] == "Chamber" and row["at"] == "10:00"]  # fmt: skip

    assert (row["lies"], row["gone"]) == ("taken back by A. Tendant at Tue 10, 09:00", True)


def test_whoever_took_a_line_back_is_named_with_the_reason_and_not_whoever_had_logged_it():
    (read,) = logged((), {"what": "chamber", "value": 900.0, "unit": "degC", "measured": "2026-03-10T11:58:00+00:00"})
    events = (*dry(), replace(read, n=len(dry()) + 1))
    back = {"kiln": "kiln/1", "what": "chamber", "measured": read.data["measured"], "takes_back": events[-1].n,
            "said": "slip"}  # fmt: skip
    events = (*events, replace(read, n=len(events) + 1, at="2026-03-10T12:05:00+00:00", by="M. Mouse", data=back))
    (row,) = [row for day in annex(job(), found(events, NOW + timedelta(hours=1)), MADE)["kilns"][0]["days"]
              for row in day["rows"] if row.get("gone")]  # fmt: skip

    assert (row["by"], row["lies"]) == ("A. Tendant", "taken back by M. Mouse at 12:05: slip")


@pytest.mark.parametrize(("written", "typed"), [
    ("11:03", ""), ("11:29", ""), ("11:30", "typed 11:30"), ("12:10", "typed 12:10"),
])  # fmt: skip
def test_what_was_typed_long_after_it_was_read_says_when_it_was_typed(written, typed):
    read = {"what": "chamber", "value": 90.0, "unit": "degC", "measured": "2026-03-10T11:00:00+00:00"}
    (*_, line) = logged(dry(), read)
    events = (*dry(), replace(line, at=f"2026-03-10T{written}:00+00:00"))
    known = found(events, NOW + timedelta(hours=1))
    (row,) = [row for day in annex(job(), known, MADE)["kilns"][0]["days"] for row in day["rows"]
              if row["line"] == line.n]  # fmt: skip

    assert (row["at"], row["typed"]) == ("11:00", typed)


def test_of_a_loggers_file_it_is_said_when_it_was_read_in():
    read = {"what": "chamber", "value": 90.0, "unit": "degC", "measured": "2026-03-09T11:00:00+00:00",
            "written": "2026-03-10T11:30:00+00:00", "source": "file week1.csv"}  # fmt: skip
    events = logged(dry(), read)
    (row,) = [row for day in annex(job(), found(events), MADE)["kilns"][0]["days"] for row in day["rows"]
              if row["line"] == events[-1].n]  # fmt: skip

    assert row["typed"] == "off a logger, read in Tue 10, 11:30"


def test_how_a_loggers_columns_are_read_happened_on_no_day_and_stands_at_the_head():
    said_so = {"what": "columns", "said": "T1=casing@wall", "measured": "2026-03-12T08:00:00+00:00"}
    events = logged(dry(), said_so)
    kiln = annex(job(), found(events, NOW + timedelta(days=3)), MADE)["kilns"][0]
    short = {row["label"]: row["value"] for row in kiln["short"]}

    assert "2026-03-12" not in [day["date"] for day in kiln["days"]]
    assert short["columns of a logger, as they were read"] == f"T1=casing@wall (A. Tendant) [{events[-1].n}]"
    assert short["days with a line in the log"] == "3 days"


def test_what_dry_rests_on_and_was_typed_late_says_so_in_the_annex_and_on_the_certificate():
    days = annex(job(), found(dry()), MADE)["kilns"][0]["days"]
    attested = [row for day in days for row in day["rows"] if row["event"].startswith(("slate 347", "slate 348"))]
    of = {by["line"]: by["at"] for row in certificate(dry())["kilns"][0]["dry"] for by in row["by"]}

    assert attested
    assert {row["typed"] for row in attested} == {"typed 12:00"}
    assert all(of[row["line"]] == "2026-03-10 09:00 GMT, typed 12:00" for row in attested)


def test_a_stop_that_was_taken_back_stands_on_certificate_and_annex_with_by_whom_and_why():
    trip = {"what": "stopped", "word": "rcd_trip", "measured": "2026-03-10T10:00:00+00:00"}
    events = logged(dry(), trip)
    events = logged(events, {**trip, "word": "", "takes_back": events[-1].n, "said": "a slip"})
    of_log = {row["label"]: row["value"] for row in annex(job(), found(events), MADE)["kilns"][0]["short"]}
    dried = {row["label"]: row["value"] for row in certificate(events)["kilns"][0]["dried"]}

    assert of_log["stops"] == f"1: 2026-03-10 10:00 GMT [{events[-2].n}], taken back"
    assert "residual-current device tripped" in dried["stops in the log since first power"]
    assert "taken back by A. Tendant: a slip" in dried["stops in the log since first power"]


def test_what_its_own_heat_rested_on_stands_on_its_day_with_who_proved_it_and_each_line():
    """Also what the cut-out was set to, and for which top: a plan tells what was planned alone."""
    events = dried(unsigned())
    days = annex(job(), found(events, LATER), MADE)["kilns"][0]["days"]
    told = [row for day in days for row in day["rows"] if row["event"].startswith("Proved for its own heat: ")]
    lines = {one.n: one for one in events}

    assert {row["by"] for row in told} == {"E. Lectrician"}
    assert any("top of the cut-out's day 1\u202f060 °C [" in row["event"] for row in told)
    assert any("setting of the cut-out 1\u202f090 °C [" in row["event"] for row in told)
    for number in (int(one) for row in told for one in re.findall(r"\[(\d+)\]", row["event"])):
        assert lines[number].data["question"].startswith("energise.")


def test_a_date_after_the_days_of_a_plan_is_of_what_proves_the_drying_and_one_before_them_of_none(monkeypatch):
    plan = sample_plan.job_plan(sample_plan.planned())
    last = plan.kilns[0].days[-1]
    after = [{**FIRED, "measured": (last.attended_from + timedelta(days=number)).isoformat()} for number in (0, 2)]
    before = {**FIRED, "measured": (plan.kilns[0].days[0].attended_from - timedelta(days=2)).isoformat()}
    told = {
        day["date"]: day["planned"]
        for day in lived(monkeypatch, plan, lines=[before, *after], now=NOW + timedelta(days=60))
    }

    assert told[before["measured"][:10]] == [words().annex.no_plan]
    assert told[after[1]["measured"][:10]] == [words().annex.after_plan(plan=1)]
    assert told[after[0]["measured"][:10]][0].startswith(f"Plan 1, day {last.number}. ")


def test_why_water_was_taken_back_stands_beside_it():
    rain = {"what": "rain", "word": "rain", "measured": "2026-03-10T10:00:00+00:00"}
    events = logged(dry(), rain)
    events = logged(events, {**rain, "word": "", "takes_back": events[-1].n, "said": "it was another kiln's"})
    said = [row["event"] for day in annex(job(), found(events), MADE)["kilns"][0]["days"] for row in day["rows"]]

    assert any(one.endswith("taken back by A. Tendant at 10:00: it was another kiln's") for one in said)


def test_a_reading_stands_beside_the_band_of_the_plan_that_stood_then(monkeypatch):
    plan = sample_plan.job_plan(sample_plan.planned())
    day = plan.kilns[0].days[0]
    monkeypatch.setattr("recover.plan.store.every", lambda _job: iter([plan]))
    read = {"what": "casing", "unit": "°C", "place": sample_plan.CASING,
            "measured": (day.attended_from + timedelta(hours=2)).isoformat()}  # fmt: skip
    later = datetime(2026, 4, 14, 20, 0, tzinfo=UTC)
    events = logged(journal(), {**read, "value": 41.0}, {**read, "value": 60.0})
    rows = annex(job(), found(events, later), later)["kilns"][0]["days"][-1]
    readings = [row for row in rows["rows"] if not row["event"]]

    assert [row["lies"] for row in readings] == ["within", "beyond the stop"]
    assert readings[0]["band"] == "36 to 48; stop at 55"
    assert rows["planned"][0].startswith("Plan 1, day 1. ")


@pytest.mark.parametrize("of", ["handover", "annex"])
@pytest.mark.parametrize("events", ["dry", "nothing"])
def test_both_papers_are_laid_out_with_their_cautions_and_never_say_that_it_is_safe(of, events):
    known = found(dry() if events == "dry" else journal())
    view = (handover if of == "handover" else annex)(job(), known, MADE)
    printed = folded(" ".join(pages_of(pdf.pdf(pdf.html(view)))))

    assert "does not replace an electrician's inspection" in printed
    assert "Cautions" in printed
    assert not set(printed.lower().replace(",", " ").replace(".", " ").split()) & set(SAFE)


# ---------------------------------------------------------------------------------------- what a stop speaks against

AFTER = "2026-03-10T11:30:00+00:00"
TRIP = {"what": "stopped", "word": "rcd_trip", "measured": AFTER}
HOT = {"what": "chamber", "value": 89, "unit": "°C", "measured": AFTER, "details": {"unheated": 60.0}}
LOW = {"what": "insulation", "value": 0.08, "unit": "MΩ", "measured": AFTER}


@pytest.mark.parametrize(
    ("stop", "labels", "says"),
    [
        (HOT, ("nothing welded", "everything that switches it off"), "chamber 89 °C while nothing of its own"),
        (LOW, ("insulation of the elements, cold",), "insulation 0.08 MΩ, below 0.1 MΩ"),
        (TRIP, ("insulation of the elements, cold",), "the residual-current device tripped"),
    ],
)  # fmt: skip
def test_what_a_stop_speaks_against_is_proved_no_more_and_it_stands_first_on_page_one(stop, labels, says):
    """What was tried at seven proves nothing of a contactor that stays in at twelve."""
    before, after = certificate(dry()), certificate(logged(dry(), stop))
    rows = {row["label"]: row["not"] for row in after["kilns"][0]["not"]}

    assert set(labels) <= {row["label"] for row in before["kilns"][0]["proved"]}
    for label in labels:
        assert rows[label].startswith(f"against it since: {says}")
        assert "2026-03-10 11:30 GMT (journal line " in rows[label]
    assert after["boxes"][0]["lines"][0].startswith(f"Stopped, and open: {says}")


def test_what_a_stop_does_not_speak_against_stays_proved_and_what_was_tried_again_since_is():
    hot = logged(dry(), HOT)

    def proved(events):
        return {row["label"] for row in certificate(events, NOW)["kilns"][0]["proved"]}

    assert "insulation of the elements, cold" in proved(hot)
    assert "nothing welded" not in proved(hot)
    assert "nothing welded" in proved(said(hot, "energise.weld@kiln/1", NOW, value="yes", measured=NOW.isoformat()))


def test_every_proof_that_a_stop_speaks_against_is_one_of_the_certificate():
    """But that somebody is there, which is of the day."""
    named = {name for card in _stops().stop for name in card.contradicts}

    assert named <= {*questionnaire().printed("proof"), "energise.attended"}


# ---------------------------------------------------------------------------------------- what else the papers know


def test_outcomes_that_the_report_leaves_open_are_named_as_not_proved():
    of = found(dry())
    one = next(one for one in of.findings if one.table.scale[0] == "keep")
    ranged = replace(one, label="Probe 1", outcome=replace(one.outcome, low="keep", high="replace"))
    rows = still_open(replace(of, findings=(ranged,)), "kiln/1")

    assert [(one["label"], "Probe 1" in one["not"]) for one in rows] == [
        ("still open in the report, keep to replace", True)
    ]
    kept = replace(one, outcome=replace(one.outcome, low="keep", high="keep"))
    assert not [*still_open(replace(of, findings=(kept,)), "kiln/1")]


def test_each_firing_of_the_proof_stands_with_its_own_top_its_date_and_its_line():
    """One heating stands for one firing; what climbs on in the same heat is no second one."""
    tops = [("05:00", 598.0), ("06:00", 90.0), ("07:00", 1049.0), ("08:00", 80.0), ("09:00", 1062.0), ("10:00", 60.0)]
    read = [{"what": "chamber", "value": degc, "unit": "°C", "measured": f"2026-03-10T{at}:00+00:00"}
            for at, degc in tops]  # fmt: skip
    events = logged(tuple(one for one in dry() if one.kind != "release"), *read)
    events = (*events[: -len(read)], *(replace(one, at=one.data["measured"]) for one in events[-len(read) :]))
    rows = {row["label"]: row["value"] for row in certificate(events)["kilns"][0]["dried"]}

    for label, top in (
        ("drying firing", "598 °C"),
        ("oxide firing", "1\u202f049 °C"),
        ("test firing", "1\u202f062 °C"),
    ):
        assert rows[label].startswith(top)
        assert "2026-03-10" in rows[label]


@pytest.mark.parametrize(("hours", "shown"), [(2, True), (11, True), (13, False)])
def test_a_firing_is_told_by_what_its_proof_is_judged_by_however_late_a_paper_marks_it(hours, shown):
    """Typed in on the same evening it counts, for the row of its top as for the hand-over."""
    measured = datetime.fromisoformat("2026-03-09T05:00:00+00:00")
    read = {"what": "chamber", "value": 598.0, "unit": "°C", "measured": measured.isoformat()}
    *before, typed = logged(tuple(one for one in dry() if one.kind != "release"), read)
    events = (*before, replace(typed, at=(measured + timedelta(hours=hours)).isoformat()))
    rows = {row["label"]: row["value"] for row in certificate(events)["kilns"][0]["dried"]}

    assert rows.get("drying firing", "").startswith("598 °C") is shown


def test_how_it_was_dried_and_who_took_it_back_are_told_by_log_and_signature_where_nobody_wrote_it_down():
    events = dry()
    for name in ("dried.method", "handover.receiver"):
        before = last(events, f"{name}@kiln/1")
        events = tuple(replace(one, data={**one.data, "value": "-"}) if one is before else one for one in events)
    rows = {row["label"]: row["value"] for row in certificate(events)["kilns"][0]["agreed"]}

    assert rows["how it was dried"].startswith("by the log in the annex: 3 days")
    assert "hottest chamber 345 °C" in rows["how it was dried"]
    assert rows["taken back by"].startswith("O. Wner")
