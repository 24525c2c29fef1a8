"""What a plan looks like by the kiln, in a calendar and on a terminal: the same day, with the same numbers."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from importlib.resources import files
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.asked.told import Release
from recover.base.errors import PaperError, QuantityError
from recover.controller.capability import Controller
from recover.controller.instructions import instructions
from recover.controller.programme import Programme
from recover.job.folder import Job, Settings, open_job
from recover.judged.assessment import _Shut, assess
from recover.judged.signatures import Signature
from recover.judged.standing import Unmet
from recover.plan import store
from recover.plan.ways import routine_of, way
from recover.plan.whole import Expected, Number
from recover.report import calendar, papers, pdf
from recover.report.day import GATE, day_view
from recover.report.kiln_room import kiln_room
from recover.report.paper import Numbered, plain_cautions, referral_line
from recover.report.plan_section import plan_section
from recover.report.plan_text import text_lines
from recover.report.words import words
from tests import plan_job, sample_plan
from tests.conftest import answers_from, assessed
from tests.printed import folded, pages_of
from tests.sample_plan import KILNS
from tests.test_assessment import READY

NOW = datetime(2026, 4, 13, 18, 0, tzinfo=UTC)
SIGNERS = {"pass_electrics": ("E. Electrician", "electrician", "1234"), "attend": ("A. Tendant", "attendant", "")}
NAME = re.compile(r"\b(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d")


@cache
def unreleased():
    """A kiln before its first heating: what that waits for is closed, since nothing was measured; nobody has signed."""
    return assessed({key: value for key, value in READY.items() if not key.startswith("wire.")})


OUTSIDE = ("hands_off", "hazards", "isolated", "consent")
"""What is released before a kiln is dried from outside, and before boards come out."""


def _signed_for(hold):
    return replace(hold, waits=(), unmet=(), wanted=())


@cache
def found():
    """The same, with that released: what own elements wait for is closed still."""
    holds = unreleased().holds
    return replace(unreleased(), holds=tuple(_signed_for(one) if one.point.id in OUTSIDE else one for one in holds))


def signed(duty, line):
    """A signature before its own elements heat."""
    by, role, licence = SIGNERS[duty]
    told = {"moment": NOW, "line": line, "rests_on": {}, "after": ()}
    signature = Release(hold_point="own_heat", at="kiln/1", by=by, duty=duty, role=role, licence=licence, **told)
    return Signature(signature, "")


def opened(by=tuple(SIGNERS), of=None, **more):
    """The same, with nothing missing before its own elements heat; signed for each duty, or waiting for a name."""

    def one(hold):
        signatures = tuple(signed(duty, line) for line, duty in enumerate(by, start=900))
        wanted = tuple(duty for duty in hold.point.signatures if duty not in by)
        return replace(hold, waits=(), unmet=(), signatures=signatures, wanted=wanted, **more)

    of = of or found()
    of = replace(of, holds=tuple(_signed_for(hold) if hold.point.id in OUTSIDE else hold for hold in of.holds))
    return replace(of, holds=tuple(one(hold) if hold.point.id == "own_heat" else hold for hold in of.holds))


def shut(by_way, of=None):
    """The same, where sewage shuts a way to dry."""
    why = _Shut(kiln="kiln/1", way=by_way, by=("sewage",), because=("Sewage: nothing is warmed before it is washed.",))
    return replace(of or found(), shut=(why,))


@cache
def fahrenheit():
    """The kiln of which the controller shows °F."""
    return opened(of=assessed({**READY, "control.learnt@kiln/1": "read_off", "control.degrees@kiln/1": "F"}))


def job(paper="A4"):
    return Job(Path(), Settings("job", "uk", paper, "Europe/London"), (), "0" * 64)


def told(kiln, controller):
    """The kiln with what is said of each run, for a controller; each run's cut-out 25 K above its own top."""

    def one(day):
        runs = tuple(
            replace(run, reads=run is not day.runs[-1], cutout_degc=run.top_degc + sample_plan.CUTOUT_MARGIN_K)
            for run in day.runs
        )
        said = instructions(Programme(15, controller, runs))
        return replace(day, runs=tuple(replace(run, said=lines) for run, lines in zip(runs, said, strict=True)))

    return replace(kiln, days=tuple(one(day) for day in kiln.days))


def worst_told():
    """Two runs on a controller of which nobody knows anything: more is said of no other day."""
    return told(sample_plan.by_own(), Controller.known())


def most_read():
    """The day of two runs with as much to read and to set as a kiln with a lid and a door has."""
    day = sample_plan.own_days()[2]
    casing = [one for one in day.readings if one.what == "casing"][1::2]
    places = ("wall and door, low down, below the water line", "under the floor", "lid")
    kept = [one for one in day.readings if one.what in ("piece", "litres")]
    chamber = [one for one in day.readings if one.what == "chamber"][1::2]
    begins = Expected(what="insulation", place=sample_plan.ELEMENTS, at=day.attended_from, unit="MΩ", low=1.0)
    reads = [replace(begins, at=at, low=None, stop=0.1) for at in (day.steps[1].ends, day.programme_ends)]
    numbers = (*day.numbers, *(Number(f"humidity of the room as it was read, {one}", 78.0, "%") for one in range(5)))
    day = replace(day, numbers=numbers, readings=(
        *(replace(one, place=place) for place in places for one in casing), *chamber, *kept, begins, *reads,
    ))  # fmt: skip
    return told(replace(sample_plan.by_own(), days=(*sample_plan.own_days()[:2], day)), Controller.known())


def sheet(kiln, of=None, paper="A4", day=1, **more):
    kiln = KILNS[kiln]() if isinstance(kiln, str) else kiln
    return kiln_room(job(paper), of or opened(), sample_plan.job_plan(kiln), NOW, kiln.kiln, day, **more)


def lines_of(view):
    return [line for one in view["lists"] for line in one["lines"]]


def squeezed(text):
    """A text without white space: in print a line may end at a hyphen."""
    return "".join(text.split())


def text_of(view):
    """All that a sheet says, as one text."""
    if isinstance(view, dict):
        return " ".join(text_of(one) for one in view.values())
    return " ".join(map(text_of, view)) if isinstance(view, list | tuple) else str(view)


# ---------------------------------------------------------------------------------------- one page


FULLEST = {
    "outside": (sample_plan.planned, found, 1), "waits": (sample_plan.planned, unreleased, 1),
    "worst told": (worst_told, opened, 3), "by hand": (sample_plan.by_hand, opened, 3),
    "most read": (most_read, lambda: opened(by=()), 3),
    "in °F": (sample_plan.in_fahrenheit, fahrenheit, 1),
}  # fmt: skip


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", FULLEST)
def test_a_sheet_is_one_page_with_every_caution_the_stops_and_the_referral(name, paper):
    kiln, of, day = FULLEST[name]
    view = pdf.fitted(sheet(kiln(), of(), paper, day))
    (page,) = pages_of(pdf.pdf(pdf.html(view)))  # raises where anything could not be laid out

    for line in (*(one["say"] for one in plain_cautions(found())), *view["stop"]["lines"], *lines_of(view)):
        assert squeezed(line) in squeezed(page)
    assert squeezed(referral_line(found())) in squeezed(page)
    # Who is called stands beside what ends the day: where a sheet runs over, it is on its first page.
    assert "Whoattends" in squeezed(page).partition("Readandwrittendown")[0]


BARE = [("outside", 5), ("outside", 10), ("nothing", 1), ("closed", 1), ("salted", 1)]


@pytest.mark.parametrize(("name", "day"), BARE)
def test_a_sheet_on_which_there_is_nothing_to_do_is_one_page_without_steps(name, day):
    view = pdf.fitted(sheet(name, found(), day=day))

    assert len(pages_of(pdf.pdf(pdf.html(view)))) == 1
    assert view["steps"] == view["set_today"] == view["grids"] == []


# ---------------------------------------------------------------------------------------- may it begin


def test_a_kiln_is_dried_from_outside_while_it_stays_off():
    view = sheet("outside", found())

    assert view["box"]["title"] == "The kiln stays off"
    assert "Warm enclosure around the kiln" in view["box"]["lines"][0]
    assert {check.say for check in way("enclosure").routine if not check.alone} <= set(lines_of(view))


def test_what_runs_on_is_told_of_as_running_on_and_what_does_not_as_off():
    """One sheet once said that nothing runs on, and that fan and dehumidifier do."""
    by_day, alone = (
        [say for when in ("opens", "hourly", "leaves") for say in routine_of(way("air"), when, alone=runs)]
        for runs in (False, True)
    )
    assert any("off and unplugged" in say for say in by_day)
    assert not any("run on" in say for say in by_day)
    assert any("alone run on" in say for say in alone)


def test_a_sheet_says_who_is_there_when_and_when_it_ends_by_itself():
    assert "Somebody is there 08:00 to 20:00 BST." in sheet("outside", found())["box"]["lines"]
    assert "The heater is off at 19:30." in sheet("outside", found())["box"]["lines"]
    assert "The programme ends by itself at 19:00." in sheet("own")["box"]["lines"]
    assert "Switched off by hand at 19:00." in sheet("by_hand")["box"]["lines"]


def test_on_a_day_on_which_nobody_comes_nothing_heats_and_that_is_said():
    view = sheet("outside", found(), day=5)

    assert view["box"]["title"] == "Nobody comes today, and nothing heats"
    assert view["paper"]["subtitle"].endswith("Sat 18 Apr 2026")
    assert view["tonight"].startswith("Nothing runs on.")


@pytest.mark.parametrize("day", range(10, 15))
def test_while_its_hold_point_is_closed_a_day_of_its_own_elements_has_no_date_and_no_step(day):
    view = sheet("outside", found(), day=day)

    assert view["box"]["title"] == "Not to be heated with its own elements"
    assert view["steps"] == view["set_today"] == []
    assert not NAME.search(view["paper"]["subtitle"])
    hold = next(hold for hold in found().holds if hold.point.id == "own_heat")
    for missing in hold.missing:
        assert missing in " ".join(view["box"]["lines"])


@pytest.mark.parametrize(("name", "day", "by_way"), [("outside", 1, "enclosure"), ("own", 1, "own"), ("own", 3, "own")])
def test_a_hazard_that_shuts_the_way_leaves_no_date_and_no_step(name, day, by_way):
    view = sheet(name, shut(by_way, opened()), day=day)

    assert view["box"]["title"] == "Not to be dried this way now"
    assert "Sewage: nothing is warmed before it is washed." in view["box"]["lines"]
    assert view["steps"] == view["set_today"] == []
    assert not NAME.search(view["paper"]["subtitle"])


def test_a_hazard_that_shuts_another_way_shuts_not_this_one():
    assert sheet("outside", shut("own"))["box"]["title"] == "The kiln stays off"


def test_what_nobody_has_released_waits_for_a_name_that_is_written_on_paper():
    """White on black cannot be written on: names are signed below it."""
    view = sheet("own", opened(by=()))

    assert view["box"]["title"] == "Not before it is released by name"
    assert view["sign"] == ["Released by, in which role, at"] * 2
    assert "____" not in " ".join(view["box"]["lines"])


@pytest.mark.parametrize("duty", SIGNERS)
def test_one_signature_of_two_releases_nothing(duty):
    assert sheet("own", opened(by=(duty,)))["box"]["title"] == "Not before it is released by name"


@pytest.mark.parametrize("more", [{"gate_open": False}, {"missing": ("the layers of the lining",)}])
def test_a_release_alone_opens_no_sheet(more):
    view = sheet(sample_plan.by_own(**more))

    assert view["steps"] == []
    assert "Missing:" in view["box"]["lines"][-1]


def test_a_plan_that_was_overtaken_heats_nothing():
    view = sheet("own", changed=True)

    assert view["steps"] == []
    assert "the plan made anew" in view["box"]["lines"][-1]
    assert view["paper"]["changed_since"]
    assert sheet("outside", found(), changed=True)["paper"]["changed_since"]


@pytest.mark.parametrize(("minutes", "title"), [(-1, "Not before it is released anew for this day"),
                                                (1, "Heated, and never alone")])  # fmt: skip
def test_a_release_that_ends_before_the_last_one_leaves_is_signed_anew(minutes, title):
    until = sample_plan.own_days()[0].attended_to + timedelta(minutes=minutes)

    assert sheet("own", opened(until=until))["box"]["title"] == title


def test_boards_come_out_only_once_what_that_waits_for_is_released():
    said = " ".join(sheet("outside", unreleased())["box"]["lines"])

    assert "The boards that are to be replaced come out today" in said
    for title in ("Hands off", "Hazards cleared", "A hand inside", "Consent before anything is destroyed"):
        assert f"“{title}”, by whoever" in said
    text = folded(" ".join(line[16:] for line in text_lines(unreleased(), sample_plan.job_plan())))
    assert "“Hazards cleared”, “A hand inside”, “Consent before anything is destroyed”" in text
    consent = " ".join(sheet("outside", closed("consent"))["box"]["lines"])
    assert "“Consent before anything is destroyed”, by whoever may consent" in consent
    assert "boards" not in " ".join(sheet("outside", unreleased(), day=2)["box"]["lines"])


@pytest.mark.parametrize("lacks", ["hands_off", "isolated"])
@pytest.mark.parametrize("number", [1, 2, 9])
def test_nobody_works_at_a_kiln_from_outside_before_it_is_isolated_and_proven_dead_by_name(lacks, number):
    """What stands before the kiln at every day: its lock, and the proof that it is dead."""
    of, kiln = closed(lacks), sample_plan.planned()
    title = next(hold.point.title for hold in of.holds if hold.point.id == lacks)
    view = sheet("outside", of, day=number)

    assert view["box"]["title"] == "Not before these are released by name"
    assert view["box"]["lines"][0].startswith(f"“{title}”, by whoever")
    assert view["paper"]["subtitle"] == f"Kiln 1 · day {number} of 14, once released"
    assert not NAME.search(text_of(view))
    assert f"Missing for “{title}”: a lock." in view["box"]["lines"][0]
    assert view["set_today"]
    text = folded(" ".join(text_lines(of, sample_plan.job_plan(kiln), day=number)))
    assert f"Day {number} of 14, once released" in text
    assert f"Nothing is begun at the kiln before these are released: “{title}”" in text
    assert {one["status"] for one in events(of=of, stood=found())} == {"CANCELLED"}  # read in while it was released


def closed(*names):
    """The job in which all is released before drying from outside but these, of which something is missing."""

    def one(hold):
        return replace(hold, unmet=(Unmet("a lock"),)) if hold.point.id in names else hold

    return replace(found(), holds=tuple(map(one, found().holds)))


def test_a_day_after_one_that_waits_has_no_date_either():
    """Boards go in on the ninth day; before it, nothing is missing."""
    of = closed("isolated")
    dates = [day_view(of, sample_plan.job_plan(), sample_plan.planned(), day) for day in sample_plan.outside_days()]

    assert not any(one["date"] for one in dates)
    assert [one["after"] for one in dates] == [*range(1, 10), 1, 2, 3, 4, 5]
    consent = [day_view(closed("consent"), sample_plan.job_plan(), sample_plan.planned(), day)["date"]
               for day in sample_plan.outside_days()]  # fmt: skip
    assert not any(consent)


def test_what_waits_for_a_name_alone_keeps_its_date_and_says_so():
    waits = replace(found(), holds=tuple(
        replace(hold, wanted=hold.point.signatures) if hold.point.id == "hands_off" else hold for hold in found().holds
    ))  # fmt: skip
    view = sheet("outside", waits, day=2)

    assert view["box"]["title"] == "The kiln stays off"
    assert "Nothing is begun at the kiln before these are released: “Hands off”." in view["box"]["lines"]
    assert NAME.search(view["paper"]["subtitle"])
    assert "before these are released: “Hands off”." in described(sample_plan.job_plan(), waits, 2)


def test_a_day_that_was_read_in_is_cancelled_where_its_release_has_ended_since():
    """The lock is found off: the plan is the same, and its days have no date any more."""
    ended = Signature(signed("attend", 900).release, "what it rests on has changed")
    of = closed("hands_off")
    of = replace(of, holds=tuple(
        replace(hold, signatures=(ended,)) if hold.point.id == "hands_off" else hold for hold in of.holds
    ))  # fmt: skip
    gone = events(of=of, stood=found())

    assert {one["uid"] for one in gone} >= {one["uid"] for one in events()}
    assert {one["status"] for one in gone} == {"CANCELLED"}


@pytest.mark.parametrize(
    "changed",
    [
        {"suspended": "The kiln may be live."},
        {"signatures": (), "unmet": (Unmet("proven dead", ()),)},  # it was ready, and nobody had signed
    ],
)
def test_a_day_that_was_read_in_is_cancelled_where_work_inside_is_suspended_or_closed_since(changed):
    """No signature under it has ended: it was released and is suspended, or was ready and is closed."""
    of = replace(found(), holds=tuple(
        replace(hold, **changed) if hold.point.id == "isolated" else hold for hold in found().holds
    ))  # fmt: skip
    gone = events(of=of, stood=found())

    assert {one["uid"] for one in gone} >= {one["uid"] for one in events()}
    assert {one["status"] for one in gone} == {"CANCELLED"}


def test_days_of_own_elements_are_cancelled_with_firing_and_checks_where_their_gate_has_closed_since():
    plan = sample_plan.job_plan(sample_plan.by_own())
    of = replace(opened(), holds=tuple(
        replace(hold, unmet=(Unmet("dry", ()),), wanted=hold.point.signatures,
                signatures=tuple(replace(one, ended="changed") for one in hold.signatures))
        if hold.point.id == GATE else hold for hold in opened().holds
    ))  # fmt: skip
    again = events(plan, of, stood=opened())

    assert {one["uid"] for one in events(plan, opened())} <= {one["uid"] for one in again}
    assert {one["status"] for one in again if "hold point" not in one["summary"]} == {"CANCELLED"}


def test_on_a_day_on_which_nothing_is_switched_on_no_heater_and_no_switch_is_spoken_of():
    """Boards come out, and that is all."""
    nothing = ("source_of_heat", "off_switch", "top_degc", "cutout_degc", "programme_ends")
    day = replace(sample_plan.outside_days()[0], **dict.fromkeys(nothing))
    view = sheet(replace(sample_plan.planned(), days=(day,)), found())

    assert view["stop"]["title"] == "Stop: hands off"
    assert not any("heater" in line or "switch named" in line for line in (*lines_of(view), *view["stop"]["lines"]))
    assert any("The kiln isolated, locked off, proven dead" in line for line in lines_of(view))


BOTH = (
    "Not before every one of these is read and signed: the marked piece weighs 1.5 kg or less (up to 25 % of the water "
    "may be left then); held by its own elements at 80 °C or more, by the independent probe, for 72 h or more (up to "
    "62 % of the water may be left then)."
)


def test_a_day_past_boiling_waits_for_every_reading_each_signed_with_the_water_that_may_be_left():
    """One of two readings alone once opened the way with more water left than it was thought to say."""
    view = sheet("own", day=3)

    for paper in on_papers(sample_plan.by_own(), opened(), sample_plan.own_days()[2]):
        assert BOTH in folded(paper)
    assert view["sign"] == ["The piece weighs; at", "Hours held; until", "Signed by; at"]
    assert sheet("own", day=1)["sign"] == []


def test_where_no_reading_opens_the_way_past_boiling_that_is_said_and_none_is_asked_for():
    done = tuple(one for one in sample_plan.criteria() if one.opens == "done")
    kiln = sample_plan.by_own(criteria=done)

    for paper in on_papers(kiln, opened(), kiln.days[2]):
        assert "Nothing that is read says by itself that it may go past boiling" in folded(paper)


def test_what_ends_the_drying_stands_with_its_target_and_only_on_a_day_that_comes_to_its_heat():
    """Its reading on a cooler day says nothing: what a day of 90 °C leaves behind does not leave on it."""
    titles = {one["title"]: one["lines"] for one in sheet("own", day=4)["lists"]}

    assert titles["Whether it is dry"] == [
        "the marked piece weighs 1.32 kg or less: one of five kinds of evidence. It is dry when 3 of them agree, none "
        "is against it, and its chamber was at 300 °C or more"
    ]
    for view in (sheet("own", day=1), sheet("outside", found(), day=1)):
        assert not any(one["lines"] for one in view["lists"] if "dry" in one["title"].lower())


NEVER_DONE = "Nothing that is read says by itself that it is dry: all its days are held."


def test_where_no_reading_says_that_it_is_dry_the_papers_of_its_own_days_say_so():
    kiln = sample_plan.by_own(criteria=tuple(one for one in sample_plan.criteria() if one.opens == "boiling"))
    by_kiln, _, terminal = on_papers(kiln, opened(), kiln.days[3])

    assert NEVER_DONE in by_kiln
    assert NEVER_DONE in terminal
    assert NEVER_DONE not in text_of(sheet("outside", found()))


def test_where_nothing_is_planned_each_path_says_what_closes_it_and_what_would_open_it():
    said = " ".join(sheet("closed", found())["box"]["lines"])

    assert "It takes more power than the supply that may be used gives. It would open: A supply of 2.1 kW" in said


@pytest.mark.parametrize(("kiln", "day"), [("kiln/2", 1), ("kiln/1", 0), ("kiln/1", 5)])
def test_a_kiln_or_day_that_is_not_planned_is_refused_in_a_sentence(kiln, day):
    with pytest.raises(QuantityError, match="of the plan"):
        kiln_room(job(), opened(), sample_plan.job_plan(sample_plan.by_own()), NOW, kiln, day)


# ---------------------------------------------------------------------------------------- what is done and read


def test_steps_stand_by_the_clock_with_what_is_typed_in():
    """15 to 60 °C at 15 K/h are 3 h, and 2 h held; 30 K more at 10 K/h are 3 h, and 3 h held."""
    assert [(row["at"], row["say"]) for row in sheet("own")["steps"]] == [
        ("08:00", "15 °C an hour to 60 °C by 11:00, hold 2 h until 13:00"),
        ("13:00", "10 °C an hour to 90 °C by 16:00, hold 3 h until 19:00"),
        ("19:00", "The programme has ended by itself: seen to be off; isolated, locked off"),
    ]


def test_where_a_run_ends_for_readings_the_kiln_is_isolated_before_the_next():
    steps = sheet("own", day=3)["steps"]

    assert [row["kind"] for row in steps] == ["step", "step", "reads", "step", "step", "off"]
    assert steps[2]["say"].startswith("Run 1 has ended. Isolated, proven dead")
    assert steps[3]["say"].startswith("Run 2: ")


def test_insulation_is_read_between_hours_and_stands_by_itself_with_its_figures():
    view = sheet(most_read(), day=3)

    assert not any("Insulation" in row["label"] for grid in view["grids"] for row in grid["rows"])
    assert [one["stop"] for one in view["once"] if one["what"] == "insulation"] == ["", "0.1", "0.1"]


def test_each_run_has_its_own_cut_out_and_how_it_is_started_again():
    """25 K above 95 and 200 °C."""
    view = sheet(worst_told(), day=3)
    titles = {one["title"]: one["lines"] for one in view["lists"]}

    assert {"label": "Cut-out", "value": "120 °C for run 1, 225 °C for run 2"} in view["set_today"]
    assert any("Then run 2 is started by hand" in line for line in titles["Between the runs"])
    assert any("what it does when power is back is not known" in line for line in titles["Between the runs"])


def test_a_controller_that_shows_fahrenheit_is_set_in_it():
    """60 and 90 °C are 140 and 194 °F; 15 K/h are 27 °F an hour."""
    view = sheet("fahrenheit", fahrenheit())

    assert view["steps"][0]["say"].startswith("27 °F (15 K) an hour to 140 °F (60 °C)")
    assert {"label": "Hottest that is set", "value": "194 °F (90 °C)"} in view["set_today"]


def test_by_hand_nothing_is_typed_in_and_no_protection_is_bridged():
    view = sheet("by_hand")

    assert any("No protective device is bridged" in line for line in lines_of(view))
    assert not any("typed in" in line for line in lines_of(view))
    assert {"label": "Cut-out", "value": "as little above as it can be set"} in view["set_today"]


def test_smoke_is_answered_where_this_days_heat_is_switched_off():
    outside, own = sheet("outside", found())["stop"], sheet("own")["stop"]

    assert outside["title"] == f"Stop, hands off. Off: {sample_plan.HEATER_OFF}"
    assert own["title"] == "Stop, hands off. Off: the kiln's isolator"
    assert outside["lines"][0].startswith("A smell of burning, or smoke: off at the switch named above")
    nowhere = replace(sample_plan.planned(), days=(replace(sample_plan.outside_days()[0], off_switch=None),))
    assert "written here before anything is switched on" in sheet(nowhere, found())["stop"]["title"]


def test_readings_stand_hour_by_hour_with_their_bands_and_the_days_own_stops():
    (grid,) = sheet("own")["grids"]
    casing = next(row for row in grid["rows"] if row["label"].startswith("Casing"))

    assert grid["times"] == [f"{hour:02d}:00" for hour in range(9, 20)]
    assert {(cell["short"], cell["stop"]) for cell in casing["cells"]} == {("28–39", "46")}
    once = [(one["at"], one["label"], one["band"]) for one in sheet("own")["once"]]
    assert ("08:00", f"Weight, {sample_plan.PIECE}", "1.4 to 1.7 (1.5)") in once


def test_where_nothing_is_read_at_an_hour_there_is_no_box_to_write_in():
    """In the enclosure the casing is read every two hours, the air that leaves every hour."""
    (grid,) = sheet("outside", found())["grids"]
    casing = next(row for row in grid["rows"] if row["label"].startswith("Casing"))

    assert [cell is None for cell in casing["cells"]] == [True, False] * 5 + [True]


def test_a_day_and_a_night_of_readings_stand_in_two_rows():
    day = sample_plan.own_days()[0]
    one = Expected(what="casing", place="lid", at=day.attended_from, unit="°C", low=20, mid=21, high=22)
    hours = tuple(replace(one, at=one.at + timedelta(hours=hour)) for hour in range(24))
    grids = sheet(sample_plan.by_own(days=(replace(day, readings=hours),)))["grids"]

    assert [len(grid["times"]) for grid in grids] == [12, 12]
    assert grids[1]["times"][-1] == "07:00 next day"


def test_what_runs_on_at_night_is_nothing_unless_it_was_agreed():
    movers = replace(sample_plan.outside_days()[0], runs_on=("fan", "dehumidifier"))

    assert sheet("outside", found())["tonight"].startswith("Nothing runs on.")
    agreed = replace(sample_plan.planned(), days=(movers,))
    assert sheet(agreed, found())["tonight"] == "Runs on with nobody there, as agreed in writing: fan, dehumidifier."


def test_who_is_called_is_printed_where_it_was_said():
    view = sheet("own", replace(opened(), answers=answers_from({**READY, "plan.called": "A. Neighbour, 01"})))

    assert {"label": "Who is called", "value": "A. Neighbour, 01"} in view["call"]
    assert {"label": "Who is called", "value": ""} in sheet("own")["call"]


def test_sheets_of_two_days_lie_beside_one_another(tmp_path, monkeypatch):
    monkeypatch.setattr(papers, "open_job", lambda folder: replace(job(), folder=folder))
    monkeypatch.setattr(papers, "overtaken", lambda *_: [])
    monkeypatch.setattr(pdf, "fitted", lambda view: view)
    plan = sample_plan.job_plan()
    for day in (1, 12):
        papers.kiln_rooms(tmp_path, found(), plan, day, NOW)

    made = sorted(file.name for file in (tmp_path / "papers").iterdir())
    assert made == [f"kiln-room-1-day-{day}-draft.{kind}" for day in ("01", "12") for kind in ("html", "pdf")]


# ---------------------------------------------------------------------------------------- the same on every paper


@pytest.mark.parametrize("name", ["nothing", "closed", "salted"])
def test_where_no_day_is_planned_no_sheet_is_written_and_the_terminal_says_so(name, tmp_path, monkeypatch):
    """A sheet of a day 01 was once written for a kiln of which every wet layer is replaced."""
    monkeypatch.setattr(papers, "open_job", lambda folder: replace(job(), folder=folder))
    monkeypatch.setattr(papers, "overtaken", lambda *_: [])
    plan = sample_plan.job_plan(KILNS[name]())

    assert papers.kiln_rooms(tmp_path, found(), plan, 1, NOW) == []
    assert not (tmp_path / "papers").exists()
    assert "No sheet for the kiln room is written: no day is planned." in folded(" ".join(text_lines(found(), plan)))
    assert "No sheet" not in " ".join(text_lines(found(), sample_plan.job_plan()))


def test_what_a_day_is_set_to_and_its_cut_out_stand_once_on_each_paper_of_it():
    """Under the name of what is set; the heater's own cut-out, and the air in the enclosure, were the same again."""
    kiln = sample_plan.planned()
    by_kiln, dated, terminal = on_papers(kiln, opened(), kiln.days[0])
    rows = sheet(kiln)["set_today"]

    assert [one["label"] for one in rows if one["value"] in ("50 °C", "60 °C")] == ["Hottest that is set", "Cut-out"]
    for paper in (dated, terminal):
        assert [paper.count(degc) for degc in ("50 °C", "60 °C")] == [1, 1]
    assert "air in the enclosure" not in by_kiln.lower()


def test_what_is_written_down_by_the_hour_is_what_has_a_box_and_no_hour_is_asked_that_has_none():
    """The text once asked for every hour, and the boxes stood at every second one."""
    view = sheet("outside", found())

    assert not any("Written down every hour" in line for line in lines_of(view))
    assert any(
        "Written down at each hour that has a box on the sheet: air that goes in" in one for one in lines_of(view)
    )


def described(plan, of, number):
    """What a calendar says of a day of the first kiln, by its number; nothing where it has none."""
    try:
        text = calendar.of_job(of, plan)
    except PaperError:
        return ""
    dated = next(day.date for day in plan.kilns[0].days if day.number == number)
    return next((str(one["description"]).split("\n\n")[0] for one in icalendar.Calendar.from_ical(text).walk("VEVENT")
                 if "day " in one["summary"] and one.decoded("dtstart").date() == dated), "")  # fmt: skip


def on_papers(kiln, of, day):
    """The same day on the sheet, in the calendar and on the terminal."""
    plan = sample_plan.job_plan(kiln)
    lines = text_lines(of, plan, day=day.number)
    by_kiln = text_of(kiln_room(job(), of, plan, NOW, kiln.kiln, day.number))
    return by_kiln, described(plan, of, day.number), folded(" ".join(lines))


def numbers_of(day):
    """What every paper must say of a day, written here by the clock on the wall and the plain number."""
    yield f"{day.attended_from:%H:%M}"
    yield f"{day.attended_to:%H:%M}"
    yield from (f"{degc:g} °C" for degc in (day.top_degc, day.cutout_degc) if degc is not None)
    yield from (f"{moment:%H:%M}" for moment in [day.programme_ends] if moment)
    yield from filter(None, [day.off_switch])
    for step in day.steps:
        yield from (f"{step.begins:%H:%M}", f"{step.ends:%H:%M}", f"{step.to_degc:g} °C")
    yield from (f"{number.value:g} {number.unit}" for number in day.numbers)


SHOWN = [
    (name, day.number) for name in ("outside", "own", "by_hand") for day in KILNS[name]().days if day.attended_from
]  # fmt: skip


@pytest.mark.parametrize(("name", "number"), SHOWN)
def test_every_paper_of_a_day_says_the_same(name, number):
    kiln = replace(KILNS[name](), gate_open=True)
    day = kiln.days[number - 1]
    for paper in on_papers(kiln, opened(), day):
        for said in numbers_of(day):
            assert said in folded(paper)


@given(
    top=st.integers(30, 600), margin=st.integers(1, 60), ends=st.integers(0, 119),
    off=st.sampled_from(["the socket by the door", "the grey isolator"]), value=st.integers(1, 999),
    number=st.sampled_from([1, 10, 12]),
)  # fmt: skip
def test_whatever_a_day_holds_every_paper_says_it(top, margin, ends, off, value, number):
    kiln = replace(sample_plan.planned(), gate_open=True)
    day = kiln.days[number - 1]
    day = replace(
        day, top_degc=float(top), cutout_degc=float(top + margin), off_switch=off,
        programme_ends=day.attended_to - timedelta(minutes=ends), runs=(),
        numbers=(replace(day.numbers[0], value=float(value)),),
    )  # fmt: skip
    kiln = replace(kiln, days=(day,))
    for paper in on_papers(kiln, opened(), day):
        for said in numbers_of(day):
            assert said in folded(paper)


@pytest.mark.parametrize(("name", "number"), SHOWN)
def test_no_programme_runs_when_attendance_ends(name, number):
    day = KILNS[name]().days[number - 1]
    printed = sheet(replace(KILNS[name](), gate_open=True), opened(), day=number)
    last = max((row["at"] for row in printed["steps"]), default=f"{day.programme_ends:%H:%M}")

    assert last == f"{day.programme_ends:%H:%M}" < f"{day.attended_to:%H:%M}"


def test_where_the_clocks_change_papers_show_the_clock_on_the_wall():
    """On 29 March 2026 clocks in London go from 01:00 to 02:00: 12 h after 20:00 it is 09:00."""
    opens = datetime(2026, 3, 28, 20, 0, tzinfo=ZoneInfo("Europe/London"))
    leaves = (opens.astimezone(UTC) + timedelta(hours=12)).astimezone(opens.tzinfo)
    day = replace(sample_plan.outside_days()[0], date=date(2026, 3, 28), attended_from=opens, attended_to=leaves,
                  programme_ends=leaves - timedelta(minutes=30), readings=())  # fmt: skip
    for paper in on_papers(replace(sample_plan.planned(), days=(day,)), found(), day):
        assert "20:00 GMT to 09:00 next day BST" in folded(paper)
        assert "08:30 next day" in folded(paper)


SOMEWHERE = "On the wall beside the door, reached without passing the kiln."


@pytest.mark.parametrize("number", [1, 10])
def test_where_it_is_switched_off_reads_well_where_somebody_said_it_in_a_sentence(number):
    day = replace(sample_plan.outside_days()[number - 1], off_switch=SOMEWHERE)
    kiln = replace(sample_plan.planned(days=(day,)), gate_open=True)
    by_kiln, dated, terminal = map(folded, on_papers(kiln, opened(), day))
    phase, *_ = plan_section(opened(), sample_plan.job_plan(kiln), Numbered())["kilns"][0]["phases"]

    assert f"Off: {SOMEWHERE.rstrip('.')}" in by_kiln
    assert f"Off: {SOMEWHERE.rstrip('.')}" in dated
    assert f"off {SOMEWHERE.rstrip('.')}" in terminal
    assert any(line.endswith(f". Off: {SOMEWHERE}") for line in phase["days"][0]["ends"])
    for paper in (by_kiln, dated, terminal, *phase["days"][0]["ends"]):
        assert not re.search(r"(off at|off here):? On the wall|\.\.|\.;", paper)


def test_a_paper_shows_moments_by_the_clock_of_the_place_alone():
    """A stored moment, and one of the journal, know their offset, and not how the place calls it."""
    plan = store.parse(store.written(sample_plan.job_plan(sample_plan.by_own())), "plan-01.json")
    until = (plan.kilns[0].days[0].attended_to - timedelta(minutes=1)).astimezone(UTC)
    of = opened(until=until)
    by_kiln = text_of(kiln_room(job(), of, plan, NOW, "kiln/1", 1))
    report = text_of(plan_section(of, plan, Numbered()))

    assert "2026-04-14 19:59 BST" in by_kiln
    assert "The first day of own heat ends after that (2026-04-14 20:00 BST)" in report
    for paper in (by_kiln, report, text_of(kiln_room(job(), opened(), plan, NOW, "kiln/1", 1))):
        assert not re.search(r"UTC|\+01:00", paper)


@pytest.mark.parametrize("name", ["outside", "own", "by_hand"])
def test_papers_of_a_plan_that_was_stored_are_those_of_the_plan_that_was_made(name):
    """A stored moment has the offset of its place, and not the place's name."""
    made = sample_plan.job_plan(KILNS[name]())
    read = store.parse(store.written(made), "plan-01.json")

    for day in (1, 3):
        sheets = [kiln_room(job(), opened(), plan, NOW, "kiln/1", day) for plan in (read, made)]
        assert sheets[0] == sheets[1]
        assert text_lines(opened(), read, day=day) == text_lines(opened(), made, day=day)
    assert calendar.of_job(opened(), read) == calendar.of_job(opened(), made)


def test_a_share_of_nearly_all_is_printed_as_people_write_it():
    day = replace(sample_plan.own_days()[0], left=sample_plan.spread(0.996, 1, 1), kwh=sample_plan.spread(99.7))

    for paper in on_papers(sample_plan.by_own(days=(day,)), opened(), day):
        assert "e+0" not in paper


# ---------------------------------------------------------------------------------------- the calendar


def events(plan=None, of=None, earlier=(), stood=None):
    """The events of a calendar; before it, with each plan, the job stood as it does, unless it is said how."""
    then = stood or of or found()
    text = calendar.of_job(of or found(), plan or sample_plan.job_plan(), earlier, lambda _: (then,))
    return icalendar.Calendar.from_ical(text).walk("VEVENT")


def test_a_day_is_an_event_from_when_somebody_comes_until_the_last_one_leaves():
    """08:00 to 20:00 in British summer time are 07:00 to 19:00 UTC; the fifth and sixth are a weekend off."""
    days = [one for one in events() if "day " in one["summary"]]

    assert [one.decoded("dtstart").day for one in days] == [14, 15, 16, 17, 20, 21, 22]
    assert days[0].decoded("dtstart") == datetime(2026, 4, 14, 7, tzinfo=UTC)
    assert days[0].decoded("dtend") == datetime(2026, 4, 14, 19, tzinfo=UTC)
    assert days[0]["location"] == "Kiln 1, test"


def test_each_event_is_tentative_and_ends_with_cautions_and_referral():
    for one in events(of=opened(), plan=sample_plan.job_plan(sample_plan.by_own())):
        assert one["status"] == "TENTATIVE"
        assert str(one["description"]).endswith(referral_line(found()))
        for caution in plain_cautions(found()):
            assert caution["say"] in one["description"]


def test_a_day_of_heat_says_when_it_stops_at_once():
    (day, *_) = events()

    assert "Stop at once\nA smell of burning, or smoke: off at the switch named above" in day["description"]
    assert f"Off: {sample_plan.HEATER_OFF}" in day["description"]


def test_there_is_an_alarm_before_the_day_opens_and_before_the_programme_ends():
    """An hour, and a quarter of an hour; UTC is an hour behind the clock in the room."""
    day = events()[0]
    alarms = [one.decoded("trigger") for one in day.walk("VALARM")]

    assert alarms == [datetime(2026, 4, 14, 6, tzinfo=UTC), datetime(2026, 4, 14, 18, 15, tzinfo=UTC)]


def test_the_same_date_is_the_same_event_in_every_plan_and_a_later_plan_replaces_it():
    first, second = (events(sample_plan.job_plan(number=number)) for number in (1, 2))

    assert [one["uid"] for one in first] == [one["uid"] for one in second]
    assert len({one["uid"] for one in first}) == len(first)
    assert {one["sequence"] for one in first} == {1}
    assert {one["sequence"] for one in second} == {2}


def test_what_the_next_plan_has_no_more_is_cancelled():
    """The first day is put off by one: the fourteenth goes, and what stays is not cancelled."""
    kept = replace(sample_plan.planned(), days=sample_plan.outside_days()[1:])
    again = events(sample_plan.job_plan(kept, number=2), earlier=[sample_plan.job_plan()])
    gone = [one for one in again if one["status"] == "CANCELLED"]
    uids = [one["uid"] for one in again]

    assert events()[0]["uid"] in {one["uid"] for one in gone}
    assert {one["sequence"] for one in gone} == {2}
    assert len(set(uids)) == len(uids)
    assert not any(one.walk("VALARM") for one in gone)
    assert all("No longer planned: see plan 2." in one["description"] for one in gone)


def test_what_any_plan_before_had_is_cancelled_once_whichever_of_them_was_read_in():
    """The first day has been put off twice; the plan in between knows nothing of the fourteenth any more."""
    put_off = [replace(sample_plan.planned(), days=sample_plan.outside_days()[number:]) for number in range(3)]
    first, second, third = (sample_plan.job_plan(kiln, number=one) for one, kiln in enumerate(put_off, start=1))
    of_first, of_second, again = events(first), events(second), events(third, earlier=[second, first])
    gone = [one["uid"] for one in again if one["status"] == "CANCELLED"]

    assert {of_first[0]["uid"], of_second[0]["uid"]} <= set(gone)
    assert len(set(gone)) == len(gone)
    assert {one["sequence"] for one in again} == {3}


@pytest.mark.parametrize("name", ["nothing", "closed"])
def test_a_plan_without_any_day_still_cancels_what_was_read_in(name):
    """Heating days that stay in a telephone are heated on."""
    again = events(sample_plan.job_plan(KILNS[name](), number=2), earlier=[sample_plan.job_plan()])

    assert {one["uid"] for one in events()} <= {one["uid"] for one in again}
    assert {(one["status"], one["sequence"]) for one in again} == {("CANCELLED", 2)}
    assert all(referral_line(found()) in one["description"] for one in again)


def test_a_hold_point_that_was_closed_when_a_calendar_was_read_in_is_cancelled_once_it_is_released():
    (closed,) = (one for one in events() if "hold point" in one["summary"])
    (gone,) = (one for one in events(sample_plan.job_plan(number=2), opened(), [sample_plan.job_plan()], found())
               if one["uid"] == closed["uid"])  # fmt: skip

    assert gone["status"] == "CANCELLED"


def test_the_plans_before_one_are_all_that_are_as_they_were_stored_the_newest_first(tmp_path):
    folder = plan_job.write(tmp_path / "job").folder
    for _ in range(3):
        of = open_job(folder)
        told_at = {"made": "2026-03-10T10:00:00+00:00", "by": "A. Repairer"}
        store.store(of, assess(of), sample_plan.job_plan().request, (sample_plan.by_own(),), **told_at)
    newest = store.newest(open_job(folder))

    assert newest.number == 3
    assert [one.number for one in store.earlier(open_job(folder), newest)] == [2, 1]
    (folder / "plans" / "plan-02.json").write_text("{}", "utf-8")
    assert [one.number for one in store.earlier(open_job(folder), newest)] == [1]
    assert list(store.earlier(open_job(folder), sample_plan.job_plan(number=1))) == []


def test_two_kilns_share_no_event():
    plan = sample_plan.job_plan(*sample_plan.two_kilns())
    second = (replace(one, at="kiln/2") for one in opened().holds if one.at == "kiln/1")
    of = replace(opened(), holds=(*opened().holds, *second))
    uids = [one["uid"] for one in events(plan, of)]

    assert len(set(uids)) == len(uids)


def test_while_its_hold_point_is_closed_the_calendar_holds_no_day_of_its_own_elements():
    summaries = [str(one["summary"]) for one in events()]

    assert not any("own elements, day" in one for one in summaries)
    assert not any("firing" in one and "hold point" not in one for one in summaries)


def test_a_closed_hold_point_is_an_event_on_the_last_day_before_it_and_says_what_is_missing():
    hold = next(one for one in events() if "hold point" in one["summary"])

    assert hold.decoded("dtstart") == date(2026, 4, 22)
    assert "Nothing heats on this date unless they have signed." in hold["description"]
    assert "Missing as things stood: " in hold["description"]
    assert not any("hold point" in one["summary"]
                   for one in events(sample_plan.job_plan(sample_plan.by_own()), opened()))  # fmt: skip


def test_the_reading_before_boiling_is_an_event_with_its_targets():
    of_own = events(sample_plan.job_plan(sample_plan.by_own()), opened())
    one = next(one for one in of_own if "boiling" in one["summary"])

    assert one.decoded("dtstart") == date(2026, 4, 16)
    assert BOTH in one["description"]


def test_a_normal_firing_and_what_is_looked_at_after_it_stand_with_dates_once_all_days_have():
    of_own = events(sample_plan.job_plan(sample_plan.by_own()), opened())
    fired = next(one for one in of_own if "earliest normal firing" in one["summary"])

    assert fired.decoded("dtstart") == date(2026, 4, 20)
    assert [one.decoded("dtstart") for one in of_own if "look again, month 1" in one["summary"]] == [date(2026, 5, 20)]


@pytest.mark.parametrize(
    ("name", "why"), [("nothing", "its layers"), ("closed", "No path is open"), ("own", "not all there")]
)
def test_a_calendar_without_a_day_is_refused_with_the_reason(name, why):
    with pytest.raises(PaperError, match=why):
        events(sample_plan.job_plan(KILNS[name]()))


def test_a_calendar_in_which_a_hazard_shuts_every_way_is_refused_with_the_hazard_where_no_day_was_ever_dated():
    kiln = replace(sample_plan.planned(), days=sample_plan.outside_days()[:9])
    with pytest.raises(PaperError, match="Sewage"):
        events(sample_plan.job_plan(kiln), shut("enclosure", unreleased()))


@pytest.mark.parametrize("number", [1, 2])
def test_a_calendar_that_never_held_a_day_cancels_none_but_is_refused_with_what_all_of_it_waits_for(number):
    """The first that was ever written of a job was once fifty-three cancelled days: each had been signed for, and all
    of it had ended before there was a plan."""
    ended = Signature(signed("attend", 900).release, "slate 41 was out of date", NOW - timedelta(days=2))
    of = replace(closed("hands_off", "isolated"), holds=tuple(
        replace(hold, signatures=(ended,)) for hold in closed("hands_off", "isolated").holds
    ))  # fmt: skip
    earlier = [sample_plan.job_plan(number=one) for one in range(1, number)]

    with pytest.raises(PaperError, match="“Hands off”, “A hand inside”"):
        events(sample_plan.job_plan(number=number), of, earlier)


def test_a_day_that_is_cancelled_names_no_switch_and_no_other_plan_where_none_has_come():
    gone = events(of=closed("hands_off"), stood=found())
    moved = events(sample_plan.job_plan(sample_plan.no_open_path(), number=2), earlier=[sample_plan.job_plan()])

    assert {str(one["description"]).split("\n\n")[0] for one in gone} == {words().calendar.lapsed}
    assert {str(one["description"]).split("\n\n")[0] for one in moved} == {"No longer planned: see plan 2."}
    assert not any("named above" in str(one["description"]) for one in (*gone, *moved))


def test_a_calendar_may_have_been_written_whenever_something_had_been_while_its_plan_was_the_newest(tmp_path):
    """As the plan was made, and after each sitting until the next plan: seven lines, in three minutes."""
    folder = plan_job.write(tmp_path / "job").folder

    def planned():
        of = open_job(folder)
        clock = iter([NOW, NOW, NOW]).__next__
        told_at = {"made": NOW.isoformat(timespec="seconds"), "by": "A. Repairer"}
        return store.store(of, assess(of), sample_plan.job_plan().request, (sample_plan.by_own(),), **told_at,
                           clock=clock)[0]  # fmt: skip

    first = planned()
    for minute in (5, 9):
        plan_job.say(folder, {"safe.hazards": ["none"], "safe.water_gone": "yes"}, NOW + timedelta(minutes=minute))
    job_now = open_job(folder)
    found_now = assess(job_now, NOW + timedelta(hours=1))
    stood = [*store.stood(job_now, found_now, first)]

    assert [one.answers.now for one in stood] == [NOW + timedelta(minutes=minute) for minute in (0, 5, 9)]
    assert [*store.stood(job_now, found_now, replace(first, number=7))] == []


def test_days_are_cancelled_where_a_hazard_shuts_their_way_since():
    kiln = replace(sample_plan.planned(), days=sample_plan.outside_days()[:9])
    gone = events(sample_plan.job_plan(kiln), shut("enclosure"), stood=found())

    assert {one["uid"] for one in events(sample_plan.job_plan(kiln))} <= {one["uid"] for one in gone}
    assert {one["status"] for one in gone} == {"CANCELLED"}


def test_a_calendar_is_not_written_without_its_cautions():
    with pytest.raises(PaperError, match="without its cautions"):
        events(of=replace(found(), notices=()))


# ---------------------------------------------------------------------------------------- on a terminal


@pytest.mark.parametrize("name", KILNS)
def test_lines_fit_a_terminal_and_end_with_cautions_and_referral(name):
    lines = text_lines(found(), sample_plan.job_plan(KILNS[name]()), changed=["the price"])
    text = folded(" ".join(lines))

    assert max(map(len, lines)) <= 80
    assert text.endswith(folded(referral_line(found())))
    for caution in plain_cautions(found()):
        assert folded(caution["say"]) in folded(" ".join(line[16:] for line in lines))
    assert "has changed: the price" in text


@pytest.mark.parametrize("name", ["outside", "own"])
def test_the_first_thing_on_a_terminal_is_the_recommendation(name):
    kiln = KILNS[name]()
    text = folded(" ".join(text_lines(opened(), sample_plan.job_plan(kiln))))

    assert text.startswith(f"{kiln.label}. Recommended: {kiln.because}")


def test_paths_that_nothing_beats_stand_beside_one_another_and_the_others_say_why_not():
    lines = text_lines(found(), sample_plan.job_plan())
    text = folded(" ".join(line[16:] for line in lines))

    (row,) = (line for line in lines if line.startswith("first firing"))
    assert "29 Apr to 1 May 2026" in row
    assert "23 May to 9 Jun 2026" in row
    assert "Small separate heater inside the vented chamber: does not finish." in text
    assert "There is no dry workshop, or nobody has named one. What would open it: A dry workshop that is" in text


def test_a_path_that_another_beats_names_that_one():
    paths = (sample_plan.path(), sample_plan.path("air", title="Moving room air only", beaten_by="enclosure"))
    lines = text_lines(found(), sample_plan.job_plan(sample_plan.planned(paths=paths)))
    text = folded(" ".join(line[16:] for line in lines))

    assert "Moving room air only: no earlier, no less attended and no cheaper than Warm enclosure around" in text


def test_before_its_hold_point_is_ready_a_day_of_own_elements_has_neither_date_nor_step():
    text = folded(" ".join(text_lines(found(), sample_plan.job_plan(), day=10)))
    day = text.split("Day 10 of 14")[1].split("First heating")[0]

    assert "No date and no steps before its hold point is ready." in day
    assert not re.search(r"\d\d:\d\d|°C", day)


def test_a_terminal_says_what_is_missing_before_own_elements():
    text = folded(" ".join(text_lines(found(), sample_plan.job_plan())))

    assert "First heating with its own elements: closed." in text
    assert "“Energising”, is not released" in text
    assert "more: the report lists them." in text


def test_a_hazard_that_shuts_the_way_of_the_day_stands_in_its_place():
    text = folded(" ".join(text_lines(shut("enclosure"), sample_plan.job_plan())))
    day = text.split("Day 1 of 14")[1].split("First heating")[0]

    assert "Sewage: nothing is warmed before it is washed." in day
    assert not NAME.search(day)
    assert "°C" not in day


def test_why_a_controller_runs_nothing_is_said():
    text = folded(" ".join(text_lines(opened(), sample_plan.job_plan(sample_plan.by_hand()))))

    assert "The controller does not run it; somebody stays and switches. It has no ramp" in text


def test_a_plan_that_was_overtaken_shows_no_day():
    text = " ".join(text_lines(opened(), sample_plan.job_plan(sample_plan.by_own()), changed=["rules or program"]))

    assert "Day 1 of" not in text


# ---------------------------------------------------------------------------------------- words


def test_nothing_is_judged_to_be_without_danger():
    told_words = files("recover.report").joinpath("words.toml").read_text("utf-8")
    lines = " ".join(line for name in KILNS for line in text_lines(found(), sample_plan.job_plan(KILNS[name]())))

    for part in (told_words, lines, *(sheet(name) for name in KILNS)):
        assert not re.search(r"\b(un)?safe\b", str(part).lower())


def test_a_cut_out_that_differs_from_run_to_run_is_set_and_read_back_between_them():
    first, second = sample_plan.own_days()[2].runs
    view = sheet("own", day=3)

    assert first.cutout_degc != second.cutout_degc
    between = next(one["lines"] for one in view["lists"] if one["title"] == "Between the runs")
    assert f"Before run 2: the cut-out is set to {second.cutout_degc:g} °C and read back." in between


def test_insulation_that_dips_on_warming_is_no_stop_but_a_fall_after_the_rise_is():
    stop = " ".join(sheet("own")["stop"]["lines"])

    assert "Insulation at or below 0.1 MΩ, or falling after it had risen." in stop


def test_a_terminal_has_the_steps_of_a_released_day_though_a_day_before_it_has_no_date():
    of = replace(opened(), holds=tuple(
        next(one for one in unreleased().holds if one.point.id == "hands_off") if hold.point.id == "hands_off" else hold
        for hold in opened().holds
    ))  # fmt: skip
    kiln = sample_plan.planned(gate_open=True)
    text = folded(" ".join(text_lines(of, sample_plan.job_plan(kiln), day=10)))

    assert sheet(kiln, of, day=10)["steps"]
    assert "No date and no steps" not in text
    assert "08:00" in text.split("Day 10 of 14")[1]


def test_a_sheet_says_what_is_done_where_the_readings_for_going_past_boiling_are_not_met():
    lists = {one["title"]: one["lines"] for one in sheet("own")["lists"]}
    asked = lists["Past boiling only when every one of these is so"]

    assert asked[-1].startswith("Not all of them so: today's day is held again, nothing hotter;")


def test_no_stop_waits_for_a_protective_device_to_trip_a_second_time():
    assert not any("twice" in line for day in (1, 2) for line in sheet("outside", found(), day=day)["stop"]["lines"])


def test_litres_too_few_to_measure_are_told_as_less():
    day = sample_plan.own_days()[0]
    few = Expected(what="litres", place=sample_plan.CAUGHT, at=None, unit="l", low=1e-9, mid=2.6e-5, high=0.2)
    plan, kiln = sample_plan.job_plan(), sample_plan.by_own()
    (shown,) = day_view(opened(), plan, kiln, replace(day, readings=(few,)))["readings"]

    assert shown["band"] == "less than 0.1 to 0.2 (less than 0.1)"
