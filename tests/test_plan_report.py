"""The plan in the report, and its days as a table for a sheet: what they say, with a day's own numbers."""

import csv
import io
import re
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from functools import cache
from html import unescape
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import PaperError
from recover.base.measures import show_moment
from recover.physics.wall import Step
from recover.plan.whole import Criterion
from recover.profiles import own_limits
from recover.report import pdf
from recover.report.paper import Numbered
from recover.report.plan_section import plan_section
from recover.report.plan_table import csv_text
from recover.report.plan_text import text_lines
from recover.report.recovery import recovery
from recover.report.words import words
from tests import sample_plan
from tests.conftest import assessed, cases
from tests.printed import folded, pages_of
from tests.status_job import at, logged, read
from tests.test_assessment import READY
from tests.test_plan_papers import NOW, found, job, opened, shut, unreleased

KILNS = sample_plan.KILNS
DATED = re.compile(r"\b(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b")


@cache
def fahrenheit():
    """The kiln of which the controller shows °F, with nothing missing before its own elements heat."""
    return opened(of=assessed({**READY, "control.learnt@kiln/1": "read_off", "control.degrees@kiln/1": "F"}))


def section(kiln, of=None, **more):
    """The plan of one kiln in the report: a sample by its name, or one put together."""
    kiln = KILNS[kiln]() if isinstance(kiln, str) else kiln
    return plan_section(of or found(), sample_plan.job_plan(kiln), Numbered(), **more)["kilns"][0]


@cache
def reported(name):
    """The whole report with a sample plan, and its text."""
    view = recovery(job(), found(), NOW, sample_plan.job_plan(KILNS[name]()))
    return view, folded(unescape(re.sub(r"<[^>]*>", " ", pdf.html(view).split("</style>")[1])))


def rows(kiln):
    """The rows in which days are printed, each with the numbers of the days that it is of."""
    return [(numbers(row["day"]), row) for phase in kiln["phases"] for row in phase["days"]]


def numbers(days):
    """The numbers of days that are named as `Day 3`, or `Days 5 to 8`."""
    ends = [int(one) for one in re.findall(r"\d+", days)]
    return range(ends[0], ends[-1] + 1)


# ---------------------------------------------------------------------------------------- what is recommended


def test_the_recommendation_is_the_first_thing_said():
    kiln = section("outside")

    assert kiln["chosen"] == [f"Recommended: {sample_plan.planned().because}"]
    assert kiln["paths"][0]["marks"] == ["recommended", "followed"]


def test_a_path_that_was_asked_for_is_told_beside_the_recommendation():
    kiln = section(sample_plan.planned(followed="air"))

    assert kiln["chosen"][0].startswith("Recommended: ")
    assert kiln["chosen"][1] == "Followed instead, because it was asked for: Moving room air only."
    assert [row["marks"] for row in kiln["paths"][:2]] == [["recommended"], ["followed"]]


def test_what_closes_the_path_that_was_asked_for_is_said():
    kiln = section(sample_plan.planned(followed="", days=(), refused=("There is no dry workshop.",)))

    assert kiln["chosen"][1:] == ["What was asked for is closed: There is no dry workshop."]


@pytest.mark.parametrize("name", ["closed", "salted"])
def test_where_no_path_is_recommended_the_reason_stands_in_its_place(name):
    kiln = section(name)

    assert kiln["chosen"] == [f"No path is recommended. {KILNS[name]().because}"]
    assert kiln["phases"] == []


def test_a_plan_that_is_overtaken_says_by_what_recommends_nothing_and_dates_nothing():
    plan = sample_plan.job_plan()
    view = plan_section(opened(), plan, Numbered(), changed=["kiln/1, wall, thickness [mm]: 64 → 76"])
    kiln = view["kilns"][0]

    assert "wall, thickness [mm]: 64 → 76. It is not followed until it has been made again" in view["changed"]
    assert kiln["chosen"] == ["Was followed until then, and is not now: Warm enclosure around the kiln."]
    assert not any(row["marks"] for row in kiln["paths"])
    assert not DATED.search(str(kiln["phases"]))


def test_of_much_that_has_changed_the_first_is_named_and_the_rest_counted():
    changed = plan_section(found(), sample_plan.job_plan(), Numbered(), changed=[*"abcdefgh"])["changed"]

    assert "a; b; c; d; e; and 3 more." in changed


def test_of_a_kiln_of_which_too_little_is_known_the_report_says_what_is_missing():
    assert "Nothing is planned. Not known, and needed to plan for the lining: its layers." in reported("nothing")[1]


def test_without_a_plan_the_report_says_that_there_is_none():
    view = recovery(job(), found(), NOW)

    assert view["plan"] is None
    assert "No plan has been made: recover plan JOB." in pdf.html(view)


# ---------------------------------------------------------------------------------------- the paths side by side


@pytest.mark.parametrize("name", ["outside", "own", "closed", "salted"])
def test_every_path_has_its_figures_or_what_closes_it_and_what_would_open_it(name):
    for path, row in zip(KILNS[name]().paths, section(name)["paths"], strict=True):
        assert row["title"] == path.title
        if path.open:
            assert all(row[name] for name in ("attended", "visits", "energy", "cost", "left", "fires"))
        else:
            assert row["closed"] == " ".join(path.closed_because)
            assert row["opens"] == f"What would open it: {path.would_open}"


def test_a_path_tells_by_when_half_of_the_draws_fire_and_nine_in_ten_and_one_without_end_that_it_has_none():
    fires = [row["fires"] for row in section("outside")["paths"][:3]]

    assert fires == ["29 Apr to 1 May 2026", "23 May to 9 Jun 2026", "does not finish"]


@pytest.mark.parametrize(
    ("with_attendance", "contains"),
    [(True, "energy and attendance; nine in ten cost no more"), (False, "energy alone; nine in ten cost no more")],
)
def test_money_says_what_it_contains(with_attendance, contains):
    path = sample_plan.path(cost=Decimal("58.89"), with_attendance=with_attendance)
    (row,) = section(sample_plan.planned(paths=(path,)))["paths"]

    assert (row["cost"], row["contains"]) == ("59", contains)


def test_a_hazard_that_closes_several_paths_is_told_once_and_named_at_the_others():
    mould, sewage = "Mould: no air is blown over it.", "Sewage: nothing is warmed."
    paths = tuple(replace(sample_plan.shut(name), closed_because=(*more, mould, sewage)) for name, more in
             (("workshop", ()), ("air", ("No fan is there.",))))  # fmt: skip
    first, second = (row["closed"] for row in section(sample_plan.planned(paths=paths))["paths"])

    assert first == f"{mould} {sewage}"
    assert second == "No fan is there. As above: Mould; Sewage."


def test_money_that_nobody_knows_is_left_out():
    (row,) = section(sample_plan.planned(paths=(sample_plan.path(cost=None),)))["paths"]

    assert (row["cost"], row["contains"]) == ("", "")


def test_a_path_that_another_beats_names_it():
    paths = (sample_plan.path(), sample_plan.path("air", title="Moving room air only", beaten_by="enclosure"))

    marks = section(sample_plan.planned(paths=paths))["paths"][1]["marks"]
    assert marks == ["no earlier, no less attended and no cheaper than Warm enclosure around the kiln"]


def test_where_two_kilns_share_a_date_it_is_said_that_somebody_is_at_each():
    first, second = sample_plan.two_kilns()
    second = replace(second, kiln=first.kiln)  # of a job that has but one; another in the plan is enough
    later = replace(second, days=tuple(replace(one, date=one.date + timedelta(days=90)) for one in second.days))

    def note(*kilns):
        return plan_section(found(), sample_plan.job_plan(*kilns), Numbered())["each_kiln"]

    assert "somebody is at each of them" in note(first, second)
    assert note(first) == note(first, later) == note(first, replace(second, days=())) == ""


def test_that_somebody_is_at_each_kiln_stands_on_the_report_and_on_a_terminal():
    first, second = sample_plan.two_kilns()
    plan = sample_plan.job_plan(first, replace(second, kiln=first.kiln))
    paper = folded(unescape(re.sub(r"<[^>]*>", " ", pdf.html(recovery(job(), found(), NOW, plan)))))
    terminal = folded(" ".join(line[16:] for line in text_lines(found(), plan)))

    assert words().plan.each_kiln in paper
    assert words().plan.each_kiln in terminal


def test_prices_are_told_in_their_money_and_only_where_somebody_said_them():
    priced = assessed({**READY, "plan.price_kwh": 0.3, "plan.rate_hour": 35, "plan.money": "GBP"})

    said = plan_section(priced, sample_plan.job_plan(), Numbered())
    assert said["prices"] == ("A kilowatt-hour is reckoned at 0.3 GBP. An hour of attendance is reckoned at 35 GBP.")
    assert plan_section(found(), sample_plan.job_plan(), Numbered())["prices"] == ""


# ---------------------------------------------------------------------------------------- phases and days


def test_the_phases_stand_in_their_order_with_dates_and_what_each_waits_for():
    kiln = section("outside")

    assert [phase["name"] for phase in kiln["phases"]] == [*words().day.phase.values()]
    planned = section(sample_plan.planned(gate_open=True), opened())
    assert [phase["dates"] for phase in planned["phases"]] == [
        "14 Apr to 22 Apr 2026", "23 Apr to 27 Apr 2026", "28 Apr to 30 Apr 2026"
    ]  # fmt: skip
    assert [phase["dates"] for phase in kiln["phases"]] == ["14 Apr to 22 Apr 2026", "", ""]  # own heat is closed
    outside, own, proof = (phase["waits"] for phase in kiln["phases"])
    assert outside == []
    assert own == [words().plan.phase.waits["own_heat"], words().plan.phase.waits["boiling"]]
    assert proof == [words().plan.phase.waits["proof"]]


def test_days_that_are_alike_stand_together_and_each_day_once():
    found_rows = rows(section("outside"))

    assert [row["day"] for _, row in found_rows] == [
        "Day 1", "Days 2 to 4", "Days 5 to 6", "Days 7 to 8", "Day 9", "Days 10 to 11", "Day 12", "Days 13 to 14"
    ]  # fmt: skip
    assert [number for numbers, _ in found_rows for number in numbers] == [*range(1, 15)]


def test_days_of_own_heat_have_no_date_while_their_hold_point_is_closed_and_count_from_its_release():
    outside, own, _ = section("outside")["phases"]

    assert outside["days"][0]["when"] == "Tue 14 Apr 2026"
    assert [row["when"] for row in own["days"]] == [
        "Days 1 to 2 after release", "Day 3 after release", "Days 4 to 5 after release"
    ]  # fmt: skip


def test_days_from_outside_have_no_date_while_the_kiln_is_not_locked_and_proven_dead_by_name():
    outside, own, _ = section("outside", unreleased())["phases"]

    assert [row["when"] for row in outside["days"]] == [
        "after release", "after release", "after release", "after release", "after release",
    ]  # fmt: skip
    assert outside["waits"] == ["the release of “Hands off”, “A hand inside”"]
    assert own["days"][0]["when"] == "Days 1 to 2 after release"
    table = list(csv.DictReader(io.StringIO(csv_text(unreleased(), sample_plan.job_plan()))))
    assert not any(row["date"] or "2026" in row["attended from"] for row in table)
    assert table[0]["waits for"] == "the release of “Hands off”, “A hand inside”"


def test_once_their_hold_point_is_open_they_have_their_dates():
    (own, _) = section("own", opened())["phases"]

    assert [row["when"] for row in own["days"]][:2] == ["Tue 14 Apr 2026 to Wed 15 Apr 2026", "Thu 16 Apr 2026"]


@pytest.mark.parametrize("name", ["outside", "own"])
def test_standing_water_leaves_no_day_a_date(name):
    wet = opened(of=assessed({**READY, "safe.water_gone": "no"}))

    assert not any(DATED.search(row["when"]) for _, row in rows(section(name, wet)))
    table = csv.DictReader(io.StringIO(csv_text(wet, sample_plan.job_plan(KILNS[name]()))))
    assert not any(row["date"] or "2026" in row["attended from"] for row in table)


def test_a_day_on_which_nobody_comes_heats_nothing():
    row = next(row for numbers, row in rows(section("outside")) if 5 in numbers)

    assert row["does"] == words().day.nobody
    assert (row["attended"], row["top"], row["cutout"]) == ("", "", "")


def test_boards_come_out_and_go_in_on_their_days():
    does = {day: row["does"] for numbers, row in rows(section("outside")) for day in numbers}

    assert does[1].startswith(words().day.boards["out"])
    assert does[9].startswith(words().day.boards["in"])


def test_what_runs_on_with_nobody_there_is_said_where_it_was_agreed():
    day = replace(sample_plan.attended(1, 0.9), runs_on=("the fan", "the dehumidifier"))
    ((_, row),) = rows(section(sample_plan.planned(days=(day,))))

    assert words().day.runs_on(what="the fan, the dehumidifier") in row["ends"]


# ---------------------------------------------------------------------------------------- the same numbers everywhere

RISE, RAMP, HOLD = st.sampled_from([5, 25, 60]), st.integers(1, 40).map(float), st.sampled_from([0.0, 0.5, 2.0])
STEPS = st.lists(st.tuples(RISE, RAMP.map(lambda tens: 5 * tens), HOLD), min_size=1, max_size=3)


@st.composite
def days(draw):
    """A day of own heat: one run or two, each of set-points that rise, of ramps and of holds."""
    runs, degc = [], 20.0
    for run in draw(st.lists(STEPS, min_size=1, max_size=2)):
        steps = []
        for rise, ramp, hold in run:
            degc += rise
            steps.append(Step(degc, ramp, hold))
        runs.append(tuple(steps))
    return sample_plan.heated(1, 0.5, tuple(runs))


def clocked(moment):
    return f"{moment:%H:%M}"


def cutouts(day):
    """What the cut-out is set to in each run of a day; 0 stands for a day without steps."""
    return {0: day.cutout_degc} | dict.fromkeys((step.run for step in day.steps), day.cutout_degc) | {
        run.number: run.cutout_degc for run in day.runs
    }  # fmt: skip


def assert_printed(day, row):
    """What is printed of a day has its times, temperatures, cut-out and switch."""
    steps = [f"{one['at']} {one['say']}" for one in row["steps"]]
    text = " ".join([row["attended"], row["does"], *steps, *row["ends"]])
    moments = [day.attended_from, day.attended_to, day.programme_ends]
    moments += [one for step in day.steps for one in (step.begins, step.hold_from, step.ends)]
    for moment in filter(None, moments):
        assert clocked(moment) in text
    for step in day.steps:
        assert f"{step.to_degc:g} °C" in text
        assert step.ramp_k_h is None or f"{step.ramp_k_h:g} °C an hour" in text
    assert row["top"] == ("" if day.top_degc is None else f"{day.top_degc:g} °C")
    assert set(re.findall(r"\d+ °C", row["cutout"])) == {f"{degc:g} °C" for degc in cutouts(day).values() if degc}
    assert day.off_switch is None or day.off_switch in text


def assert_tabled(day, table):
    """The rows of a day in the table have its figures."""
    assert len(table) == max(len(day.steps), 1)
    for row in table:
        cutout_degc = cutouts(day)[int(row["run"] or 0)]
        for name, value in (("hottest °C", day.top_degc), ("cut-out °C", cutout_degc)):
            assert row[name] == "" if value is None else float(row[name]) == pytest.approx(value, abs=0.05)
        assert row["where it is switched off"] == (day.off_switch or "")
        for name, moment in (("attended from", day.attended_from), ("heat ends", day.programme_ends)):
            assert row[name] == "" if moment is None else clocked(moment) in row[name]
        for end in ("p10", "p50", "p90"):
            assert float(row[f"water left {end} %"]) == pytest.approx(100 * getattr(day.left, end), abs=0.01)
    for row, step in zip(table, day.steps, strict=False):
        assert float(row["to °C"]) == pytest.approx(step.to_degc, abs=0.05)
        for name, moment in (("begins", step.begins), ("hold from", step.hold_from), ("ends", step.ends)):
            assert clocked(moment) in row[name]


@pytest.mark.parametrize("name", ["outside", "own", "by_hand"])
def test_report_and_table_print_the_numbers_of_every_day_of_a_sample(name):
    kiln = KILNS[name]()
    kiln = replace(kiln, gate_open=True)
    table = list(csv.DictReader(io.StringIO(csv_text(opened(), sample_plan.job_plan(kiln)))))
    printed = {number: row for numbers, row in rows(section(kiln, opened())) for number in numbers}

    for day in kiln.days:
        assert_printed(day, printed[day.number])
        assert_tabled(day, [row for row in table if int(row["day"]) == day.number])


@cases(60)
@given(day=days())
def test_report_and_table_print_the_numbers_of_any_day(day):
    kiln = sample_plan.by_own(days=(day,))

    ((_, row),) = rows(section(kiln, opened()))
    assert_printed(day, row)
    assert_tabled(day, list(csv.DictReader(io.StringIO(csv_text(opened(), sample_plan.job_plan(kiln))))))


def test_where_the_controller_shows_fahrenheit_its_set_points_are_whole_ones_and_celsius_stands_beside():
    kiln = section("fahrenheit", fahrenheit())
    ((_, row),) = rows(kiln)

    assert row["top"] == "194 °F (90 °C)"
    assert "140 °F (60 °C)" in row["steps"][0]["say"]
    assert any("to 194 °F" in step for step in kiln["details"]["programmes"][0]["steps"])


# ---------------------------------------------------------------------------------------- the table


def test_the_first_row_of_each_kiln_carries_the_caution():
    both = sample_plan.job_plan(sample_plan.planned(), sample_plan.by_own(label="Kiln 2"))
    noted = [row for row in csv.DictReader(io.StringIO(csv_text(found(), both))) if row["note"]]

    assert [(row["kiln"], row["day"]) for row in noted] == [("Kiln 1", "1"), ("Kiln 2", "1")]
    assert {row["note"] for row in noted} == {words().plan_table.caution}


NOT_SET = (
    "step",
    "begins",
    "ends",
    "ramp K/h",
    "to °C",
    "hottest °C",
    "cut-out °C",
    words().plan_table.column["programme_ends"],
)


@pytest.mark.parametrize(("of", "number"), [(found, 12), (lambda: shut("own", opened()), 1)])
def test_a_day_that_something_forbids_is_one_row_with_no_step_and_nothing_set(of, number):
    kiln = sample_plan.planned() if number > 9 else sample_plan.by_own()
    table = csv.DictReader(io.StringIO(csv_text(of(), sample_plan.job_plan(kiln))))
    (row,) = [row for row in table if row["day"] == str(number)]

    assert {row[name] for name in NOT_SET} == {""}


def test_a_day_past_boiling_waits_for_the_release_too_until_it_is_released():
    own, boiling = (words().plan.phase.waits[name] for name in ("own_heat", "boiling"))

    def waits(of, number):
        table = csv.DictReader(io.StringIO(csv_text(of, sample_plan.job_plan(sample_plan.by_own()))))
        return next(row["waits for"] for row in table if row["day"] == str(number))

    assert waits(found(), 3) == waits(opened(by=()), 3) == f"{own}, {boiling}"
    assert waits(opened(), 3) == boiling


def test_without_a_day_there_is_no_table_but_the_reason():
    with pytest.raises(PaperError, match="No path is open as things stand"):
        csv_text(found(), sample_plan.job_plan(sample_plan.no_open_path()))


# ---------------------------------------------------------------------------------------- go on, done, what holds it up


def test_criteria_stand_under_what_every_one_of_them_opens_with_how_often_they_were_false():
    boiling, done = section("outside")["criteria"]

    assert boiling["opens"] == "Past boiling only when every one of these is so:"
    assert [row["says"] for row in boiling["rows"]] == [
        "the marked piece weighs 1.5 kg or less",
        "held by its own elements at 80 °C or more, by the independent probe, for 72 h or more",
    ]  # fmt: skip
    assert [row["soon"] for row in boiling["rows"]] == [
        f"as planned, in 3 % of the draws it was so with more than {left} % of the water left" for left in (25, 62)
    ]  # fmt: skip
    assert done["opens"] == "One of five kinds of evidence that it is dry, and not enough alone:"
    assert done["rows"][0]["says"] == "the marked piece weighs 1.32 kg or less, on a day that comes to 399 °C"


def test_a_criterion_that_was_never_false_says_so():
    one = Criterion(opens="done", what="piece", at="most", value=1.3, unit="kg", left=0.05, false_share=0.0)
    (done, *_) = section(sample_plan.planned(criteria=(one,)))["criteria"]

    assert done["rows"][0]["soon"] == "as planned, in none of the draws with more than 5 % of the water left"


def test_where_no_reading_says_by_itself_that_it_is_dry_that_stands_in_its_place():
    boiling = tuple(one for one in sample_plan.criteria() if one.opens == "boiling")
    *_, last = section(sample_plan.planned(criteria=boiling))["criteria"]

    assert last == {
        "opens": "Nothing that is read says by itself that it is dry: all its days are held.", "rows": [],
    }  # fmt: skip
    assert section("closed")["criteria"] == []
    proof = section(sample_plan.planned(criteria=boiling))["phases"][-1]
    assert proof["waits"] == ["the last of the days that dry it"]


def test_what_holds_it_up_has_what_was_reached_of_each_limit_and_no_saving():
    kiln = section("outside")

    assert kiln["holds"] == (
        "What holds it up, nearest first: share of vapour in the chamber's atmosphere, by volume, 30 % (60 % at most)."
    )
    assert "less" not in kiln["holds"]


def test_where_no_limit_refused_anything_faster_nothing_is_said_to_hold_it_up():
    kept = tuple(replace(one, binds=False) for one in sample_plan.kept())

    assert section(sample_plan.planned(kept=kept))["holds"] == "No single limit holds it up."


def test_every_limit_is_printed_with_its_authority():
    limits = section("own")["details"]["limits"]

    assert [row["what"] for row in limits] == [one.limit.what for one in sample_plan.kept()]
    assert all(row["basis"] and row["because"] and row["reached"] for row in limits)


@pytest.mark.parametrize(("value", "says"), [(0.996, "100 %"), (1.0, "100 %"), (0.0351, "3.5 %"), (0.25, "25 %")])
def test_a_share_is_printed_as_people_write_it(value, says):
    """A share that rounds to a hundred was once printed as `1e+02 %`."""
    criterion = Criterion(opens="done", what="hold", at="least", value=8, unit="h", left=value, false_share=0.01)
    of = replace(sample_plan.kept()[0], reached=replace(sample_plan.spread(0.5), p90=value))
    kiln = section(sample_plan.planned(criteria=(criterion,), kept=(of,)))

    (done, *_) = kiln["criteria"]
    assert f"more than {says} of the water" in done["rows"][0]["soon"]
    assert f"by volume, {says} (" in kiln["holds"]


# ---------------------------------------------------------------------------------------- behind it


def test_every_number_that_is_set_or_assumed_is_in_the_appendix():
    told = {number: line for row in section("outside")["details"]["assumed"] for number in _listed(row["day"])
            for line in ["; ".join(row["numbers"])]}  # fmt: skip

    for day in sample_plan.planned().days:
        for number in day.numbers:
            assert f"{number.what[1:]} {number.value:g} {number.unit}" in told[day.number]


def _listed(days):
    """The numbers of days that are named as `Days 1 to 4, 7 to 9`."""
    return [number for part in days.removeprefix("Days ").split(", ") for number in numbers(part)]


def test_what_is_typed_in_stands_once_for_days_that_are_typed_in_alike_each_run_with_its_own_cut_out():
    programmes = section("own", opened())["details"]["programmes"]

    assert [(row["day"], row["run"], row["cutout"]) for row in programmes] == [
        ("Days 1 to 2", "", "115 °C"), ("Day 3", "Run 1", "120 °C"), ("Day 3", "Run 2", "225 °C"),
        ("Day 4", "", "425 °C"),
    ]  # fmt: skip
    assert programmes[2]["begins"] == "85 °C"
    assert "to 200 °C, hold 30 min" in programmes[2]["steps"][1]


def test_a_refusal_prints_its_reasons_what_to_do_by_hand_and_what_to_look_for():
    refusal, text = sample_plan.by_hand().refusal, reported("by_hand")[1]

    for line in (*(reason.says for reason in refusal.reasons), *refusal.manual, *refusal.look_for):
        assert folded(line) in text
    assert section("by_hand")["details"]["programmes"] == []


def test_the_appendix_has_what_paths_need_the_match_the_firings_and_the_looks_afterwards():
    view, text = reported("outside")
    details = view["plan"]["kilns"][0]["details"]

    assert [row["title"] for row in details["needs"]] == [one.title for one in sample_plan.paths() if one.open]
    assert [row["true"] for row in details["match"]["rows"]] == ["363 °C", "745 °C", "hotter than its type can tell"]
    assert len(details["match"]["ways"]) == 2
    for told in (*(card["title"] for card in details["after"]), *(row["look"][0] for row in details["rechecks"])):
        assert folded(told) in text


# ---------------------------------------------------------------------------------------- the paper


def test_it_says_once_that_it_is_a_calculation_and_that_nothing_printed_releases_own_elements():
    text = reported("outside")[1]

    assert text.count("A calculation with assumed inputs, not a measurement") == 1
    assert text.count(words().plan.gate) == 1


@pytest.mark.parametrize(("minutes", "lapses"), [(-1, True), (1, False)])
def test_a_plan_says_where_the_release_ends_before_its_first_day_of_own_heat_does(minutes, lapses):
    until = sample_plan.by_own().days[0].attended_to + timedelta(minutes=minutes)
    said = section("own", opened(until=until))["hold"]

    assert f"First heating with its own elements: released, at the latest until {show_moment(until)}." in said
    assert ("signed again, before that day begins" in said) is lapses


@pytest.mark.parametrize("name", ["outside", "by_hand"])
def test_the_plan_takes_no_more_than_two_pages_of_the_report(name):
    content = pdf.pdf(pdf.html(reported(name)[0]))  # raises where anything could not be laid out
    begins, ends = (
        next(number for number, text in enumerate(pages_of(content)) if title in text)
        for title in ("How it is dried", "Parts to obtain")
    )

    assert ends - begins <= 2


def test_nothing_is_judged_to_be_without_danger():
    told = files("recover.report").joinpath("words.toml").read_text("utf-8")

    for part in (told, *(section(name) for name in KILNS), own_limits()):
        assert not re.search(r"\b(un)?safe\b", str(part).lower())


def test_a_table_says_that_a_hazard_shuts_a_day_where_one_does():
    def why(of):
        table = csv.DictReader(io.StringIO(csv_text(of, sample_plan.job_plan(sample_plan.by_own()))))
        return {row["why no date"] for row in table}

    assert why(shut("own", opened())) == {"shut by a hazard"}
    assert why(found()) == {"no date before it is released"}


@pytest.mark.parametrize(("what", "value", "word"), [("insulation", 0.05, ""), ("stopped", None, "rcd_trip")])
def test_whatever_stopped_it_the_plan_says_so_before_when_it_can_be_fired(what, value, word):
    kiln = sample_plan.by_own()
    one = read(what, value, at(1, 12), unit="MΩ" if value else "", word=word, details={"stop": 0.1} if value else {})
    said = section(kiln, of=logged(opened(), one))["chosen"]
    assert said[0].startswith("Stopped on 2026-04-14 12:00")
    assert said[1] == section(kiln, of=opened())["chosen"][0]
    told = replace(kiln, because=said[0])
    assert section(told, of=logged(opened(), one))["chosen"] == said[:1]
