"""What is logged by the command: readings, what happened, lines taken back; each answered at once."""

import json
import shlex
from dataclasses import replace

import pytest

from recover.commands import log_command
from recover.interview.logbook import LogBook
from recover.job.folder import open_job
from recover.job.journal import Journal
from recover.judged.assessment import answers_of
from recover.plan.kinds import OF_ITS_WET_WEIGHT, Typed, kinds
from recover.plan.log import stops
from tests import logs, plan_job, sample_plan
from tests.command import run
from tests.conftest import events_of

AT = ("--at", logs.TEN)


@pytest.fixture
def job(tmp_path):
    return logs.write(tmp_path / "job")


def words(text):
    return " ".join(text.split())


def test_a_reading_is_kept_with_its_place_and_answered(job):
    done = run("log", job, "--read", "casing=46", *AT, "--by", "A. Ttendant")
    (one,) = logs.logged(job)
    assert (one.what, one.place, one.value, one.unit, one.by) == (
        "casing",
        sample_plan.CASING,
        46.0,
        "°C",
        "A. Ttendant",
    )
    assert done.returncode == 0
    assert "46 °C: within 36 to 48 °C." in done.stdout


def test_a_stop_says_where_this_days_heat_is_switched_off(job):
    done = run("log", job, "--read", "casing@wall=56", *AT)
    assert "STOP, hands off. 56 °C: beyond 55 °C, where this day ends." in done.stdout
    assert f"Off: {sample_plan.HEATER_OFF}." in done.stdout


def test_after_it_the_screen_of_the_day_is_shown_and_not_beside_a_document(job):
    assert "Kiln 1, day 1 of 14, Tue 14 Apr 2026 10:05" in run("log", job, "--read", "casing=46", *AT).stdout
    assert "day 1 of 14" not in run("log", job, "--read", "casing=46", *AT, "--json").stdout


def test_a_line_that_is_typed_in_late_turns_no_clock_back(job, monkeypatch):
    """The screen is of now, while that is the same day; of a day that is over it is of its round."""
    with Journal(job / "journal.jsonl") as journal:
        now = sample_plan.moment(sample_plan.nth(1), 12.2)
        book = LogBook(open_job(job), journal, "kiln/1", sample_plan.planned(), by="A", clock=lambda: now)
        at = sample_plan.moment(sample_plan.nth(1), 8)
        book.write(kinds()["piece"], Typed(value=2.2, unit="kg"), at=at)
    said = []
    monkeypatch.setattr(log_command, "say", said.append)
    log_command._after_round(job, book)
    assert "12:12" in said[0].strip().splitlines()[0]


def test_json_tells_what_was_kept_and_how_it_lies(job):
    done = run("log", job, "--read", "casing=30", "--read", "insulation=0,8 M; all joined; 18 C", *AT, "--json")
    first, second = json.loads(done.stdout)["kept"]
    assert (first["lies"], first["day"], first["expected"]["low"]) == ("below", 1, 36.0)
    assert (second["joined"], second["details"]["lining_degc"]) == ("all joined", 18.0)


def test_everything_that_is_wrong_is_told_at_once_and_nothing_is_kept(job):
    before = (job / "journal.jsonl").read_bytes()
    done = run("log", job, "--read", "casing=46", "--read", "casing=warm", "--read", "foo=1", "--read", "insulation=12",
               "--happened", "flood", "--take-back", "1", "--at", "2026-13-01 10:00")  # fmt: skip
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) == 6
    for said in (
        "--read casing=warm",
        "--read foo=1",
        "has no unit",
        "--happened flood",
        "--take-back 1",
        "--at 2026-13",
    ):
        assert said in done.stderr
    assert (job / "journal.jsonl").read_bytes() == before


def test_what_has_not_come_yet_is_not_read(job):
    done = run("log", job, "--read", "casing=46", "--at", "2126-04-14 10:00")
    assert done.returncode == 1
    assert "has not come yet" in done.stderr


@pytest.mark.parametrize(("typed", "what", "word"), [
    ("power_cut", "stopped", "power_cut"), ("power cut", "stopped", "power_cut"), ("rcd", "stopped", "rcd_trip"),
    ("attendant", "stopped", "attendant_gone"), ("probe", "stopped", "probe_off"), ("rain", "rain", "rain"),
])  # fmt: skip
def test_what_happened_is_logged_by_its_word(job, typed, what, word):
    done = run("log", job, "--happened", typed, *AT)
    assert done.returncode == 0, done.stderr
    (one,) = logs.logged(job)
    assert (one.what, one.word) == (what, word)
    assert "STOP, hands off." in done.stdout


ON = ("--happened", "again", "--note", "looked at, and put right")


def test_nothing_goes_on_on_the_day_on_which_the_attendant_left_whoever_says_so(job):
    run("log", job, "--happened", "attendant_gone", *AT, "--by", "A. Tendant")
    same = run("log", job, *ON, "--at", "2026-04-14 11:00", "--by", "B. Other")
    then = run("log", job, *ON, "--at", "2026-04-15 08:00", "--by", "B. Other")

    assert (same.returncode, then.returncode) == (1, 0)
    assert "goes on no more on that day: nobody was there any more at 2026-04-14 10:05" in same.stderr
    assert [one.what for one in logs.logged(job)] == ["stopped", "again"]


def test_no_word_of_the_log_lifts_water(job):
    run("log", job, "--happened", "rain", *AT)
    done = run("log", job, *ON, "--at", "2026-04-14 11:00")
    assert done.returncode == 1
    assert "lifts no water" in done.stderr


def test_after_a_power_cut_own_heat_goes_on_once_insulation_was_read_since(tmp_path):
    """A lining that cools takes damp up. A day from outside asks for none."""
    own = logs.write(tmp_path / "own", sample_plan.by_own())
    outside = logs.write(tmp_path / "outside")
    for job in (own, outside):
        run("log", job, "--happened", "power_cut", *AT)
    told = [run("log", job, *ON, "--at", "2026-04-14 11:00") for job in (own, outside)]
    run("log", own, "--read", "insulation=3 M; 500 V; 40 C; all joined", "--at", "2026-04-14 11:20")
    then = run("log", own, *ON, "--at", "2026-04-14 11:30")

    assert [one.returncode for one in (*told, then)] == [1, 0, 0]
    assert "Insulation is read first" in told[0].stderr


def test_where_own_heat_is_not_released_nobody_is_told_to_begin_it_anew(tmp_path):
    job = logs.write(tmp_path / "job", sample_plan.by_own())
    done = run("log", job, *ON, *AT)
    assert "No heat of its own goes on by this word: “First heating with its own elements” is closed." in done.stdout
    assert "Noted." in done.stdout
    assert "Went on: it goes on." not in done.stdout
    assert "Begun anew" not in done.stdout


@pytest.mark.parametrize("word", ["again", "looked", "other"])
def test_what_says_nothing_without_a_note_asks_for_one(job, word):
    assert "write it with --note" in run("log", job, "--happened", word, *AT).stderr
    assert run("log", job, "--happened", word, "--note", "The fan's plug was loose", *AT).returncode == 0
    assert logs.logged(job)[0].said == "The fan's plug was loose"


def test_a_line_is_taken_back_once(job):
    run("log", job, "--read", "casing=64", *AT)
    (one,) = logs.logged(job)
    done = run("log", job, "--take-back", one.line)
    assert f"taken back: journal line {one.line}" in done.stdout
    assert logs.logged(job) == []
    assert "no line of the log of kiln/1 that stands" in run("log", job, "--take-back", one.line).stderr


def test_many_lines_are_taken_back_at_once_by_their_span(job):
    """Lines of the span that are none of the log stay; a line that is named alone must be one."""
    for degrees in (44, 45, 46, 47):
        run("log", job, "--read", f"casing={degrees}", *AT)
    first, *_, last = [one.line for one in logs.logged(job)]
    assert "no line of the log" in run("log", job, "--take-back", f"1-{first - 1}").stderr
    assert "expected its number, or two" in run("log", job, "--take-back", "all").stderr
    done = run("log", job, "--take-back", f"1, {first}-{last - 1}")
    assert "journal line 1 is no line of the log" in done.stderr
    done = run("log", job, "--take-back", f"{first}-{last - 1}", "--note", "Another kiln's")
    assert done.stdout.count("taken back: journal line") == 3
    assert [one.value for one in logs.logged(job)] == [47.0]


def test_a_span_with_a_line_that_wants_a_reason_is_taken_back_with_one_or_not_at_all(job):
    run("log", job, "--read", "casing=44", *AT)
    run("log", job, "--happened", "rcd_trip", *AT)
    first, last = (one.line for one in logs.logged(job))
    assert "say it with --note" in run("log", job, "--take-back", f"{first}-{last}").stderr
    assert len(logs.logged(job)) == 2
    assert run("log", job, "--take-back", f"{first}-{last}", "--note", "Typed twice").returncode == 0
    assert logs.logged(job) == []


def test_a_stop_that_is_taken_back_without_a_reason_says_that_it_stays_one(job):
    run("log", job, "--read", "casing=90", *AT)
    (one,) = logs.logged(job)
    assert "it stays one for the hold points, until slate 329 says" in words(
        run("log", job, "--take-back", one.line).stdout
    )


def test_water_is_taken_back_for_a_reason_alone(job):
    run("log", job, "--happened", "rain", *AT)
    (one,) = logs.logged(job)
    assert "say it with --note" in run("log", job, "--take-back", one.line).stderr
    assert logs.logged(job) == [one]
    assert run("log", job, "--take-back", one.line, "--note", "It was another kiln's").returncode == 0
    assert logs.logged(job) == []


def test_a_casing_keeps_the_band_that_it_was_held_against(job):
    run("log", job, "--read", f"casing@{sample_plan.CASING}=46", *AT)
    assert logs.logged(job)[0].details == {"low": 36.0, "high": 48.0, "stop": 55.0}


def in_share(kiln):
    """Return a plan that tells the piece in per cent of what it weighed wet."""
    return replace(kiln, days=tuple(
        replace(day, readings=tuple(
            replace(one, unit=OF_ITS_WET_WEIGHT, low=80.0, mid=88.0, high=96.0) if one.what == "piece" else one
            for one in day.readings
        )) for day in kiln.days
    ))  # fmt: skip


def weighed_wet(folder, kg, dry_kg=None):
    told = {"lining.brick_wet@kiln/1": kg} | ({"lining.brick_dry@kiln/1": dry_kg} if dry_kg else {})
    with Journal(folder / "journal.jsonl") as journal:
        for event in events_of(told):
            journal.append(event.kind, event.data, by="A. Repairer", source="test")


@pytest.mark.parametrize(("typed", "planned", "value", "unit", "read"), [
    ("2.1 kg", "share", 87.5, OF_ITS_WET_WEIGHT, {"read_kg": 2.1}),
    ("2100 g", "share", 87.5, OF_ITS_WET_WEIGHT, {"read_kg": 2.1}),
    ("90 %", "kg", 2.16, "kg", {"read_percent": 90.0}),
])  # fmt: skip
def test_a_piece_read_in_the_other_unit_is_reckoned_over_and_what_was_read_is_kept(
    tmp_path, typed, planned, value, unit, read
):
    """It weighed 2.4 kg wet."""
    kiln = sample_plan.planned()
    job = logs.write(tmp_path / "job", in_share(kiln) if planned == "share" else kiln)
    weighed_wet(job, 2.4)
    done = run("log", job, "--read", f"piece={typed}", "--at", "2026-04-14 08:00")
    (one,) = logs.logged(job)
    assert (one.value, one.unit) == (value, unit)
    assert {name: one.details.get(name) for name in read} == read
    assert "within" in done.stdout
    assert "By what the piece weighed wet, 2.4 kg, that is " in words(done.stdout)


@pytest.mark.parametrize(("typed", "is_light"), [("1.9 kg", False), ("1.4 kg", False), ("1.36 kg", True)])
def test_a_piece_that_weighs_less_than_oven_dry_asks_for_the_scale_at_once(tmp_path, typed, is_light):
    """It weighed 2.4 kg wet and 1.4 kg oven-dry."""
    job = logs.write(tmp_path / "job", sample_plan.planned())
    weighed_wet(job, 2.4, 1.4)
    run("log", job, "--read", "piece=2.2 kg", "--at", "2026-04-14 08:00")
    done = run("log", job, "--read", f"piece={typed}", "--at", "2026-04-14 09:00")

    assert ("hold the scale against a known weight" in words(done.stdout)) is is_light


def test_a_piece_is_not_reckoned_over_where_its_wet_weight_is_not_known_or_cannot_be_its_own(tmp_path):
    """2.1 kg is no state of a piece that weighed 10 kg wet: it is another piece."""
    job = logs.write(tmp_path / "job", in_share(sample_plan.planned()))
    done = run("log", job, "--read", "piece=2.1 kg", "--at", "2026-04-14 08:00")
    assert "answered under slate 115" in words(done.stdout)
    weighed_wet(job, 10.0)
    run("log", job, "--read", "piece=2.2 kg", "--at", "2026-04-14 08:30")
    assert [one.unit for one in logs.logged(job)] == ["kg", "kg"]


def test_of_two_kilns_the_one_that_is_meant_is_named(tmp_path):
    both = logs.write(tmp_path / "two", *sample_plan.two_kilns())
    assert "expected --component kiln/1 or kiln/2" in run("log", both, "--read", "casing=46", *AT).stderr
    assert run("log", both, "--read", "casing=35", *AT, "--component", "kiln/2").returncode == 0
    assert "expected --component kiln/1 or kiln/2" in run("log", both, "--read", "casing=4", "--component", "k").stderr
    assert [one.kiln for one in logs.logged(both)] == ["kiln/2"]


def test_of_two_kilns_the_command_that_takes_a_reading_back_names_whose_it_is(tmp_path):
    """106 °F is 41 °C."""
    both = logs.write(tmp_path / "two", *sample_plan.two_kilns())
    done = run("log", both, "--read", "casing@wall=106", *AT, "--component", "kiln/1")
    told = next(line for line in done.stdout.splitlines() if "--take-back" in line)
    one = logs.logged(both)[-1]

    assert f"--component kiln/1 --take-back {one.line}" in told
    alone = run("log", logs.write(tmp_path / "one"), "--read", "casing@wall=106", *AT)
    assert "--take-back" in alone.stdout
    assert "--component" not in alone.stdout


def test_of_several_places_one_is_named_and_its_beginning_is_enough(tmp_path):
    day = sample_plan.attended(1, 0.9)
    lid = [replace(one, place="lid") for one in day.readings if one.what == "casing"]
    kiln = sample_plan.planned(days=(replace(day, readings=(*day.readings, *lid)),))
    job = logs.write(tmp_path / "lid", kiln)
    assert "which place?" in run("log", job, "--read", "casing=46", *AT).stderr
    run("log", job, "--read", "casing@li=40", *AT)
    assert logs.logged(job)[0].place == "lid"


@pytest.mark.parametrize(("said", "place"), [("floor", "under the floor"), ("the leg at the back", "")])
def test_a_place_in_other_words_is_the_one_that_has_them_or_is_held_to_the_lowest_stop(tmp_path, said, place):
    day = sample_plan.attended(1, 0.9)
    floor = [replace(one, place="under the floor") for one in day.readings if one.what == "casing"]
    job = logs.write(tmp_path / "job", sample_plan.planned(days=(replace(day, readings=(*day.readings, *floor)),)))
    low, hot = (run("log", job, "--read", f"casing@{said}={degc}", *AT).stdout for degc in (46, 110))

    assert {one.place for one in logs.logged(job)} == {place or said}
    assert "STOP, hands off. 110 °C: beyond 55 °C, where this day ends." in hot
    assert ("The day names no such place" in low) is (place == "")
    assert "STOP" not in low


def test_without_a_plan_it_is_kept_and_held_against_nothing(tmp_path):
    job = plan_job.write(tmp_path / "job").folder
    done = run("log", job, "--read", "casing@wall=46", *AT)
    assert "No day of the plan has this moment" in done.stdout
    assert logs.logged(job)[0].place == "wall"


def test_a_plan_that_is_not_as_it_was_stored_stops_no_reading(job):
    (job / "plans" / "plan-01.json").write_text("{}")
    done = run("log", job, "--read", "casing@wall=46", *AT)
    assert "held against nothing" in done.stderr
    assert done.returncode == 0


def test_in_a_job_of_degrees_fahrenheit_a_bare_temperature_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(plan_job, "SETTINGS", replace(plan_job.SETTINGS, profile="us"))
    job = logs.write(tmp_path / "job")
    assert "has no unit" in run("log", job, "--read", "casing=46", *AT).stderr
    assert "42.22 °C: within" in run("log", job, "--read", "casing=108 F", *AT).stdout


@pytest.mark.parametrize(("given", "message"), [
    (("--note", "x"), "--note: only together with --read, --happened or --take-back"),
    (("--columns", "T=time"), "--columns: only together with --csv"),
    (("--day", "1"), "--day: only together with --from-form"),
    (("--json",), "--json: only together with --read"),
    (("--at", "10:00"), "--at: only together with"),
    (("--release", "lift", "--read", "casing=4"), "--release and --read: one after the other"),
    (("--csv", "f", "--read", "casing=4"), "--csv and --read: one after the other"),
    (("--from-form", "--read", "casing=4"), "and --from-form: one after the other"),
])  # fmt: skip
def test_options_that_say_nothing_together_are_not_understood(job, given, message):
    done = run("log", job, *given)
    assert done.returncode == 2
    assert message in words(done.stderr)


def test_without_a_terminal_the_hold_points_are_listed(job):
    assert "hands_off" in run("log", job).stdout
    assert run("log", job, "--holds").stdout == run("log", job).stdout


def test_many_lines_are_written_at_once_or_none_and_the_chain_holds(job):
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", None, by="A")
        journal.append_all("note", [{"question": "", "text": str(n)} for n in range(3)], by=book.by, source="test")
        before = journal.head
        with pytest.raises(Exception, match="nothing was kept"):
            journal.append_all("note", [{"question": "", "text": "x"}, {"text": 1}], by="A", source="test")
        assert journal.head == before
    assert [one.data["text"] for one in open_job(job).events[-3:]] == ["0", "1", "2"]


def test_a_slip_in_degrees_fahrenheit_is_taken_back_by_the_command_that_is_shown_and_is_no_stop_any_more(job):
    told = words(run("log", job, "--read", "casing=106 C", *AT).stdout)
    shown = told[told.index("recover log ") : told.index(", and read it in again")]
    done = run(*shlex.split(shown)[1:])

    assert told.startswith("kept: journal line ")
    assert "STOP, hands off" in told
    assert "taken back" in done.stdout
    assert "stays one" not in done.stdout
    answers = answers_of(open_job(job))
    assert [*answers.struck.values()] == ["a slip: the meter told it in °F"]
    assert not stops(answers, "kiln/1", sample_plan.planned())


@pytest.mark.parametrize("note", ["ok", "why", "-"])
def test_a_stop_that_is_taken_back_with_words_that_say_nothing_is_said_to_stay_one(job, note):
    run("log", job, "--read", "casing=70 C", *AT)
    (one,) = logs.logged(job)

    assert "stays one for the hold points" in words(
        run("log", job, "--take-back", str(one.line), "--note", note).stdout
    )
