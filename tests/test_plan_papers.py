"""What a plan looks like: the sheet by the kiln, the plan in the report, the lines of a terminal."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache
from html import unescape
from importlib.resources import files
from pathlib import Path

import pytest

from recover.asked.told import Release
from recover.base.errors import QuantityError
from recover.base.measures import show_moment
from recover.job.folder import Job, Settings
from recover.judged.signatures import Signature
from recover.physics.wall import Step
from recover.plan.strategies import cards as ways
from recover.report import pdf
from recover.report.kiln_room import kiln_room
from recover.report.paper import Numbered, plain_cautions, referral_line
from recover.report.plan_days import day_ends
from recover.report.plan_section import plan_section
from recover.report.plan_text import text_lines
from recover.report.recovery import recovery
from recover.report.words import words
from recover.schedule.search import Binding
from recover.schedule.spells import Attendance, Day, Schedule
from tests import sample_plan
from tests.conftest import answers_from, assessed
from tests.printed import pages_of
from tests.test_assessment import READY

NOW = datetime(2026, 4, 13, 18, 0, tzinfo=UTC)
KILNS = {
    "outside": sample_plan.planned, "own": sample_plan.by_own, "refused": sample_plan.refused,
    "nothing": sample_plan.nothing, "salted": sample_plan.salted, "many": sample_plan.with_many_steps,
    "runs": sample_plan.with_runs,
}  # fmt: skip
FULLEST = ("outside", "many", "runs")
"""Those with most to print, for the shorter sheet."""


@cache
def found():
    """A kiln before its first heating: what that waits for is closed, since nothing was measured."""
    return assessed({key: value for key, value in READY.items() if not key.startswith("wire.")})


SIGNERS = {"pass_electrics": ("E. Electrician", "electrician", "1234"), "attend": ("A. Tendant", "attendant", "")}


def signed(duty, line):
    """A signature before its own elements heat."""
    by, role, licence = SIGNERS[duty]
    told = {"moment": NOW, "line": line, "rests_on": {}, "after": ()}
    signature = Release(hold_point="own_heat", at="kiln/1", by=by, duty=duty, role=role, licence=licence, **told)
    return Signature(signature, "")


def opened(by=tuple(SIGNERS)):
    """The same, with nothing missing before its own elements heat; signed for each duty, or waiting for a name."""

    def one(hold):
        signatures = tuple(signed(duty, line) for line, duty in enumerate(by, start=900))
        wanted = tuple(duty for duty in hold.point.signatures if duty not in by)
        return replace(hold, waits=(), unmet=(), signatures=signatures, wanted=wanted)

    holds = [one(hold) if hold.point.id == "own_heat" else hold for hold in found().holds]
    return replace(found(), holds=tuple(holds))


def settled():
    """The same, where nothing is left of what was only not excluded."""
    return replace(opened(), notices=tuple(one for one in opened().notices if one.certain))


def job(paper="A4"):
    return Job(Path(), Settings("job", "uk", paper, "Europe/London"), (), "0" * 64)


def sheet(name, of=None, paper="A4", day=1, **more):
    plan = sample_plan.job_plan(KILNS[name]())
    return kiln_room(job(paper), of or opened(), plan, NOW, "kiln/1", day, **more)


@cache
def printed(name, paper="A4", day=1):
    """The pages of a sheet as texts, without white space: a line may end at a hyphen."""
    of = settled() if name == "many" else opened()
    view = pdf.fitted(sheet(name, of, paper=paper, day=day))
    content = pdf.pdf(pdf.html(view))  # raises where anything could not be laid out
    return [squeezed(page) for page in pages_of(content)]


def squeezed(text):
    return "".join(text.split())


def card(way):
    return next(one for one in ways().strategy if one.id == way)


def folded(text):
    return " ".join(text.split())


# ---------------------------------------------------------------------------------------- the sheet by the kiln


@pytest.mark.parametrize(
    ("name", "paper"), [*((name, "A4") for name in KILNS), *((name, "Letter") for name in FULLEST)]
)
def test_a_sheet_is_one_page_with_every_caution_the_stops_and_the_referral(name, paper):
    (page,) = printed(name, paper)

    for caution in plain_cautions(settled() if name == "many" else found()):
        assert squeezed(caution["say"]) in page
    for line in sheet(name)["stop"]["lines"]:
        assert squeezed(line) in page
    assert squeezed(referral_line(found())) in page
    assert "Whoattends" in page


def test_a_kiln_is_dried_from_outside_while_it_stays_off():
    view = sheet("outside", found())

    assert view["box"]["title"] == "The kiln stays off"
    assert "Warm enclosure around the kiln" in view["box"]["lines"][0]
    assert [row["say"] for row in view["steps"]] == [check.say for check in card("enclosure").routine]
    heads = [row["head"] for row in view["steps"] if row["head"]]
    assert heads == ["Before it opens", "While it runs", "Before leaving"]


def test_a_way_says_when_it_stops_when_there_is_another_day_and_when_it_is_done():
    view = sheet("outside", found())
    titles = {one["title"]: one["lines"] for one in view["lists"]}

    assert view["stop"]["lines"] == card("enclosure").stop
    assert titles["Another day"] == [card("enclosure").go_on]
    assert titles["It is done"] == [card("enclosure").done]


def test_own_elements_have_their_routine_their_stops_and_the_figures_of_their_limits():
    view = sheet("own")
    lines = [line for one in view["lists"] for line in one["lines"]]

    assert {check.say for check in card("own").routine} <= set(lines)
    assert view["stop"]["lines"][:-1] == card("own").stop
    assert "insulation 0.1 MΩ, casing 150 °C, terminal box 120 °C" in view["stop"]["lines"][-1]


def test_who_is_called_is_printed_where_it_was_said():
    view = sheet("own", replace(opened(), answers=answers_from({**READY, "plan.called": "A. Neighbour, 01"})))

    assert {"label": "Who is called", "value": "A. Neighbour, 01"} in view["call"]
    assert {"label": "Who is called", "value": ""} in sheet("own")["call"]


def test_while_a_hold_point_is_closed_there_is_no_step_to_follow_and_what_is_missing_is_said():
    view = sheet("own", found())

    assert view["steps"] == []
    assert view["box"]["title"] == "Not to be heated with its own elements"
    hold = next(hold for hold in found().holds if hold.point.id == "own_heat")
    for missing in hold.missing:
        assert missing in " ".join(view["box"]["lines"])


def test_what_nobody_has_released_waits_for_a_name():
    view = sheet("own", opened(by=()))

    assert view["box"]["title"] == "Not before it is released by name"
    assert "Released by: " in view["lists"][0]["lines"]


@pytest.mark.parametrize("duty", SIGNERS)
def test_one_signature_of_two_releases_nothing(duty):
    assert sheet("own", opened(by=(duty,)))["box"]["title"] == "Not before it is released by name"


@pytest.mark.parametrize("more", [{"gate_open": False}, {"own": None}, {"missing": ("the layers of the lining",)}])
def test_a_release_alone_opens_no_sheet(more):
    plan = sample_plan.job_plan(sample_plan.by_own(**more))
    view = kiln_room(job(), opened(), plan, NOW, "kiln/1")

    assert view["steps"] == []
    assert "Missing:" in view["box"]["lines"][-1]


def test_a_schedule_that_breaks_its_limits_is_not_printed():
    broken = sample_plan.own_plan(broken=(sample_plan.LIMITS.days,))
    view = kiln_room(job(), opened(), sample_plan.job_plan(sample_plan.by_own(own=broken)), NOW, "kiln/1")

    assert view["steps"] == []
    assert "a schedule that keeps its limits" in view["box"]["lines"][-1]


def test_a_plan_that_was_overtaken_heats_nothing():
    view = sheet("own", changed=True)

    assert view["steps"] == []
    assert "the plan made anew" in view["box"]["lines"][-1]
    assert view["paper"]["changed_since"]
    assert sheet("outside", changed=True)["paper"]["changed_since"]


def test_steps_stand_by_the_clock_of_the_job():
    """15 to 55 °C at 15 K/h and 4 h take 6 h 40 min; 35 K more at 10 K/h and 1 h 30 min take 5 h."""
    assert [row["at"] for row in sheet("own")["steps"]] == ["08:00", "14:40", "19:40"]
    assert "day 2 of 4 · Wed 2026-04-15" in sheet("own", day=2)["paper"]["subtitle"]


def test_a_schedule_by_hand_has_the_schedules_own_steps():
    view = sheet("refused")
    titles = {one["title"]: one["lines"] for one in view["lists"]}

    assert view["steps"][0]["say"] == "1: 15 °C an hour (in 3 h) to 60 °C, hold 4 h"
    assert [row["at"] for row in view["steps"]] == ["08:00", "15:00", "20:00"]
    assert any("No protective device is bridged" in line for line in titles["By hand"])


def test_where_limits_would_break_as_it_is_run_it_is_done_by_hand():
    kiln = sample_plan.by_own(followed=sample_plan.followed(broken=("plan_casing_degc",)))
    view = kiln_room(job(), opened(), sample_plan.job_plan(kiln), NOW, "kiln/1")

    assert "By hand" in [one["title"] for one in view["lists"] if one["lines"]]
    assert view["steps"][0]["say"].endswith("to 60 °C, hold 4 h")


def test_a_later_run_begins_only_between_two_temperatures():
    rows = [row["say"] for row in sheet("runs", day=2)["steps"]]

    assert sum("typed in, read back, started" in row for row in rows) == 2
    assert any("between 110 °C and 115 °C" in row for row in rows)


def test_day_and_night_without_a_break_the_sheet_has_its_own_twenty_four_hours():
    """15 to 60 °C at 15 K/h and 30 h: the second step begins 33 h after the opening at 08:00, on the next day."""
    steps = (Step(60, 15, 30), Step(95, 10, 2))
    proven = replace(sample_plan.proof((steps,)), schedule=Schedule((Day(15, steps),), Attendance()))
    own = replace(sample_plan.own_plan(), proof=proven)
    kiln = sample_plan.by_own(own=own, followed=None)
    plan = sample_plan.job_plan(kiln, there=Attendance())
    first, second = (kiln_room(job(), opened(), plan, NOW, "kiln/1", day) for day in (1, 2))

    assert [row["at"] for row in first["steps"]] == ["08:00"]
    assert [row["at"] for row in second["steps"]] == ["08:00", "17:00", "22:30"]
    assert second["steps"][0]["say"].startswith("Goes on: 1:")


def test_clock_times_are_the_rooms_when_summer_time_begins():
    """On 29 March 2026 clocks in London go from 01:00 to 02:00: 3 h and 4 h after 23:00 it is 07:00."""
    opens = datetime(2026, 3, 28, 23, 0)  # noqa: DTZ001 - by the job's own clock
    view = kiln_room(job(), opened(), sample_plan.job_plan(sample_plan.refused(), opens=opens), NOW, "kiln/1")

    assert [row["at"] for row in view["steps"]] == ["23:00", "Sun 07:00", "Sun 12:00"]


@pytest.mark.parametrize(("kiln", "day"), [("kiln/2", 1), ("kiln/1", 0), ("kiln/1", 5)])
def test_a_kiln_or_day_that_is_not_planned_is_refused_in_a_sentence(kiln, day):
    with pytest.raises(QuantityError, match="of the plan"):
        kiln_room(job(), opened(), sample_plan.job_plan(sample_plan.by_own()), NOW, kiln, day)


@pytest.mark.parametrize(("name", "day"), [("outside", 1), ("own", 2)])
def test_a_sheet_says_from_when_to_when_somebody_is_there_today(name, day):
    assert sheet(name, day=day)["box"]["lines"][-1] == "Today somebody is there 08:00 to 20:00 BST."


def test_where_the_clocks_take_an_hour_the_heater_is_off_when_attendance_ends():
    """On 29 March 2026 London's clocks go from 01:00 to 02:00: from 20:00 to 08:00 are 11 h, the steps take 12."""
    opens = datetime(2026, 3, 28, 20, 0)  # noqa: DTZ001 - by the job's own clock
    proven = replace(sample_plan.own_plan().proof, curve_h=(0.0, 11.0), left_curve=(sample_plan.spread(0.9),) * 2,
                     casing_curve=(sample_plan.spread(30),) * 2)  # fmt: skip
    kiln = sample_plan.by_own(own=replace(sample_plan.own_plan(), proof=proven), followed=None)
    plan = sample_plan.job_plan(kiln, opens=opens, there=Attendance(20, 8))
    view = kiln_room(job(), opened(), plan, NOW, "kiln/1")

    assert [row["at"] for row in view["steps"]] == ["20:00", "Sun 04:00", "Sun 08:00"]
    assert view["steps"][-1]["say"].startswith("Heater off, isolated, whatever step it is in")


# ---------------------------------------------------------------------------------------- the plan in the report


def section(name, **more):
    return plan_section(found(), sample_plan.job_plan(KILNS[name]()), Numbered(), **more)


@cache
def reported(name):
    view = recovery(job(), found(), NOW, sample_plan.job_plan(KILNS[name]()))
    return view, folded(unescape(re.sub(r"<[^>]*>", " ", pdf.html(view).split("</style>")[1])))


@pytest.mark.parametrize("name", ["outside", "refused", "salted"])
def test_every_way_is_listed_with_what_closes_it_or_what_it_needs(name):
    (kiln,) = section(name)["kilns"]

    assert [row["title"] for row in kiln["ways"]] == [card.title for card in ways().strategy]
    for row in kiln["ways"]:
        assert row["closed"] or (row["needs"] and row["against"] and row["left"] and row["days"])


def test_the_way_that_is_recommended_has_its_reason():
    (kiln,) = section("outside")["kilns"]

    assert kiln["chosen"][0].startswith("Followed, as recommended: Warm enclosure around the kiln. It is the first")
    assert kiln["ways"][1]["marks"] == ["recommended", "followed"]


def test_a_plan_that_is_overtaken_recommends_nothing():
    (kiln,) = section("outside", changed=True)["kilns"]

    assert kiln["chosen"] == ["Was followed until then, and is not now: Warm enclosure around the kiln."]
    assert not any(row["marks"] for row in kiln["ways"])


def test_a_way_that_was_asked_for_is_said_to_be():
    plan = sample_plan.job_plan(sample_plan.planned(way="small_heater"))
    (kiln,) = plan_section(found(), plan, Numbered())["kilns"]

    assert kiln["chosen"][0] == "Followed, because it was asked for: Small separate heater inside the vented chamber."
    assert kiln["chosen"][1].startswith("Recommended: Warm enclosure around the kiln.")


def test_what_closes_a_way_that_was_asked_for_is_said():
    kiln = sample_plan.planned(way="", refused=(card("workshop").not_if["no_workshop"],))
    plan = sample_plan.job_plan(kiln, way="workshop")
    (said,) = plan_section(found(), plan, Numbered())["kilns"]

    assert said["chosen"][0] == "No way is followed."
    assert said["chosen"][1].startswith("Asked for, and closed: Take it to a dry workshop in sections. There is no dry")
    assert "Asked for, and closed: Take it to a dry workshop" in folded(" ".join(text_lines(found(), plan)))


def test_own_elements_wait_for_drying_from_outside():
    (kiln,) = section("outside")["kilns"]

    assert kiln["ways"][-1]["waits"].startswith("First dried from outside")
    assert "Not followed now" in kiln["own"]["intro"]


def test_days_that_are_alike_stand_together():
    (kiln,) = section("own")["kilns"]

    assert [row["day"] for row in kiln["own"]["later"]] == ["Day 2", "Days 3 to 4"]


def test_every_limit_is_printed_with_its_authority():
    (kiln,) = section("own")["kilns"]
    rows = kiln["details"]["limits"]

    assert [row["what"] for row in rows] == [limit.what for limit in sample_plan.LIMITS]
    assert all(row["basis"] and row["because"] and row["reached"] for row in rows)
    assert any(row["worst"] for row in rows)


def test_what_binds_has_what_it_would_save():
    (kiln,) = section("own")["kilns"]

    assert "hours a day that somebody is there, 12 h (24 h less if a quarter looser)" in kiln["own"]["holds"]


def test_what_the_pan_under_the_floor_holds_up_is_said_where_it_is_worth_the_work():
    def holds(**more):
        plan = sample_plan.job_plan(sample_plan.by_own(**more))
        return plan_section(found(), plan, Numbered())["kilns"][0]["own"]["holds"]

    hours = sample_plan.own_plan().proof.schedule.hours
    assert f"leave it as dry after 40 h instead of {hours:.0f} h" in holds(opened_h=40.0)
    assert "pan" not in holds(opened_h=0.97 * hours)
    assert "pan" not in holds()


def test_a_sheet_of_own_heat_says_height_and_boiling_and_what_is_done_where_nobody_told():
    def hourly(height_m):
        own = sample_plan.own_plan()
        high = sample_plan.by_own(own=replace(own, heating=replace(own.heating, height_m=height_m)))
        view = kiln_room(job(), opened(), sample_plan.job_plan(high), NOW, "kiln/1", 1)
        return str(view)

    assert "85 °C, 200 °C, 400 °C" in hourly(3000.0)
    assert "m above the sea water boils at 90 °C" in hourly(3000.0)
    assert "95 °C, 200 °C, 400 °C" in hourly(0.0)
    assert "At 0 m above the sea water boils at 100 °C" in hourly(0.0)
    assert "85 °C, 200 °C, 400 °C" in hourly(None)
    assert "Height above the sea not known: the first hold is kept below 90 °C" in hourly(None)
    assert "pan under the floor slab: not known" in hourly(0.0)


def test_a_plan_that_is_none_to_follow_names_what_it_breaks():
    (kiln,) = section("salted")["kilns"]

    assert "none to follow" in kiln["own"]["broken"]
    assert sample_plan.LIMITS.days.what in kiln["own"]["broken"]
    assert kiln["chosen"][0] == "No way is followed."
    assert kiln["own"]["today"] == kiln["own"]["later"] == []


def test_a_refusal_prints_its_reasons_what_to_do_by_hand_and_what_to_look_for():
    _, text = reported("refused")
    refusal = sample_plan.refused().followed.days[0]

    for line in (*(reason.says for reason in refusal.reasons), *refusal.manual, *refusal.look_for):
        assert folded(line) in text


def test_the_report_has_programme_match_firings_and_looks_afterwards():
    view, text = reported("outside")
    details = view["plan"]["kilns"][0]["details"]

    assert [day["day"] for day in details["run"]["days"]] == ["Day 1", "Day 2", "Days 3 to 4"]
    assert [row["true"] for row in details["match"]["rows"]] == ["363 °C", "745 °C", "hotter than its type can tell"]
    assert len(details["match"]["ways"]) == 2
    for card in details["after"]:
        assert card["title"] in text
    for recheck in details["rechecks"]:
        assert folded(recheck["look"][0]) in text


def test_it_says_that_it_is_a_calculation_and_what_could_be_measured():
    _, text = reported("outside")

    for told in (section("outside")["measure"], words().plan.gate):
        assert folded(told) in text
    assert "A calculation with assumed inputs, not a measurement" in text


def test_of_a_kiln_of_which_too_little_is_known_the_report_says_what_is_missing():
    assert "Nothing is planned. Not known, and needed to plan for the lining: its layers." in reported("nothing")[1]


def test_a_plan_that_was_overtaken_says_so():
    assert "has changed since it was made" in section("outside", changed=True)["changed"]
    assert section("outside")["changed"] == ""


def test_without_a_plan_the_report_says_that_there_is_none():
    view = recovery(job(), found(), NOW)

    assert view["plan"] is None
    assert "No plan has been made: recover plan JOB." in pdf.html(view)


def test_the_report_with_its_plan_is_laid_out_whole():
    content = pdf.pdf(pdf.html(reported("refused")[0]))  # raises where anything could not be laid out
    pages = pages_of(content)
    begins, ends = (
        next(number for number, text in enumerate(pages) if title in text)
        for title in ("How it is dried", "Parts to obtain")
    )

    assert ends - begins <= 1


# ---------------------------------------------------------------------------------------- on a terminal


@pytest.mark.parametrize("name", KILNS)
def test_lines_fit_a_terminal_and_end_with_cautions_and_referral(name):
    lines = text_lines(found(), sample_plan.job_plan(KILNS[name]()), changed=True)
    text = folded(" ".join(lines))

    assert max(map(len, lines)) <= 80
    assert text.endswith(folded(referral_line(found())))
    for caution in plain_cautions(found()):
        assert folded(caution["say"]) in folded(" ".join(line[18:] for line in lines))
    assert "has changed since it was made" in text


def test_a_terminal_shows_the_ways_todays_steps_later_days_and_a_refusal():
    text = folded(" ".join(text_lines(found(), sample_plan.job_plan(sample_plan.refused()))))

    for card in ways().strategy:
        assert card.title in text
    assert "Day 1, Tue 14 Apr somebody is there 08:00 to 20:00 BST" in text
    assert "08:00 15 K/h to 60 °C by 11:00, hold until 15:00; water left" in text
    assert (
        "Days 3 to 4, Thu 16 Apr to Fri 17 Apr: at 40 K/h up to 120 °C, hold 1 h 30 min; then at 40 K/h up to 200 °C"
        in text
    )
    assert "It has no ramp, or it is not known which." in text


def test_before_the_gate_is_open_no_day_of_its_own_elements_has_a_date():
    text = folded(" ".join(text_lines(found(), sample_plan.job_plan())))
    own = text.split("Own elements, once released")[1]

    assert "Day 1 somebody is there 08:00 to 20:00" in own
    assert "Days 3 to 4: at 40 K/h" in own
    assert not re.search(r"\b(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d", own)


def test_a_terminal_prints_no_step_of_a_schedule_that_is_none_to_follow_but_what_stands_in_its_way():
    """What a limit a quarter looser would leave less of the water is a share of all of it."""
    binding = (
        Binding(sample_plan.LIMITS.attendance, None, 0.073, feasible=False),
        Binding(sample_plan.LIMITS.ramp, None, 0.0, feasible=False), Binding(sample_plan.LIMITS.days, None, 0.1),
        Binding(sample_plan.LIMITS.casing, None, 0.01, feasible=False),
    )  # fmt: skip
    own = replace(sample_plan.own_plan(broken=(sample_plan.LIMITS.water_left,)), binding=binding)
    text = folded(" ".join(text_lines(found(), sample_plan.job_plan(sample_plan.salted(own=own)))))

    assert "It does not keep: share of the water" in text
    assert "7.3 % of the water less left if a quarter looser, and still no plan" in text
    assert "no less water left if a quarter looser" in text
    assert "a quarter looser, and there would be a plan" in text
    assert "and 1 more." in text
    assert "K/h up to" not in text


def test_a_programme_longer_than_somebody_stays_is_switched_off_when_he_leaves():
    """From 15 to 395 °C at 25 K/h and 1 h are 16.2 h; somebody is there for 12."""
    long = (Step(400, 25, 1),)
    (kiln,) = plan_section(
        found(), sample_plan.job_plan(sample_plan.by_own(followed=sample_plan.followed(days=(long,)))), Numbered()
    )["kilns"]  # fmt: skip

    assert words().plan.run.leaves in kiln["details"]["run"]["always"]
    assert words().plan.run.leaves not in section("own")["kilns"][0]["details"]["run"]["always"]


def test_days_that_the_controller_adds_are_run_by_the_last_programme():
    """The days that were searched end sooner than those of set-points below them; the last is gone on with."""
    kiln = sample_plan.by_own(followed=replace(sample_plan.followed(), days=sample_plan.followed().days[:3]))

    assert [day["day"] for day in plan_section(found(), sample_plan.job_plan(kiln), Numbered())["kilns"][0]["details"][
        "run"]["days"]] == ["Day 1", "Day 2", "Days 3 to 4"]  # fmt: skip
    view = kiln_room(job(), opened(), sample_plan.job_plan(kiln), NOW, "kiln/1", 4)
    assert view["step_columns"] == words().kiln_room.columns.own


# ---------------------------------------------------------------------------------------- words


def test_nothing_is_judged_to_be_without_danger():
    told = files("recover.report").joinpath("words.toml").read_text("utf-8")
    lines = " ".join(line for name in KILNS for line in text_lines(found(), sample_plan.job_plan(KILNS[name]())))

    for part in (told, lines, *(sheet(name) for name in KILNS), *(section(name) for name in KILNS)):
        assert not re.search(r"\b(un)?safe\b", str(part).lower())


# ---------------------------------------------------------------------------------------- a release and a planned day


def beside_a_release(until, plan):
    """The plan beside a release that holds until a moment: in the report and at the terminal."""
    holds = [replace(one, until=until) if one.point.id == "own_heat" else one for one in opened().holds]
    known = replace(opened(), holds=tuple(holds))
    section = plan_section(known, plan, Numbered())["kilns"][0]["hold"]
    lines = " ".join(" ".join(text_lines(known, plan)).split())
    assert section in lines
    return section


@pytest.mark.parametrize(("minutes", "lapses"), [(-1, True), (1, False)])
def test_a_plan_says_where_the_release_ends_before_its_first_day_does(minutes, lapses):
    plan = sample_plan.job_plan(sample_plan.by_own())
    until = day_ends(plan, 0) + timedelta(minutes=minutes)
    said = beside_a_release(until, plan)

    assert f"First heating with its own elements: released, at the latest until {show_moment(until)}." in said
    assert ("signed again, before that day begins" in said) is lapses


def test_a_release_beside_a_way_from_outside_says_until_when_it_holds_and_no_more():
    plan = sample_plan.job_plan(sample_plan.planned())
    said = beside_a_release(day_ends(plan, 0) - timedelta(hours=1), plan)

    assert "released, at the latest until" in said
    assert "signed again" not in said
