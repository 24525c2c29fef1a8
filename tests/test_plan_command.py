"""The plan as a command: what it prints and keeps, what it takes as it is stored, and what it refuses in a sentence."""

import csv
import io
import json
import os
import re
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from recover.base.errors import JobError, SimulationError
from recover.job.folder import open_job
from recover.job.journal import Journal
from recover.job.kept import listed, next_number
from recover.job.mending import integrity
from recover.job.writing import keep
from recover.judged.assessment import assess
from recover.plan import planning, store
from recover.report import day, papers
from tests import plan_job, sample_plan
from tests.command import run
from tests.plan_job import SMALL
from tests.test_wetmap import KILN

BAD = Path(__file__).parent / "bad"
LATER = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)


@pytest.fixture
def job(tmp_path):
    """A job whose last word is of 10 March 2026."""
    return plan_job.write(tmp_path / "job").folder


@pytest.fixture
def searched(monkeypatch):
    """Plans put together by hand instead of a search; what was asked of each."""
    asked = []

    def kiln_plans(_found, request, _told, _before):
        asked.append(request)
        return (sample_plan.by_own(),)

    monkeypatch.setattr(planning, "kiln_plans", kiln_plans)
    return asked


def kept(folder):
    """Return all that lies in a job, byte for byte."""
    return {file.relative_to(folder): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


def folded(text):
    return " ".join(text.split())


# ---------------------------------------------------------------------------------------- what is printed


def test_json_prints_one_document_that_is_read_back_as_the_plan(job, searched, tmp_path, monkeypatch):
    """Days may be dated once they are released by name: by none of the answers of this job."""
    monkeypatch.setattr(day, "forbidden", lambda *_: False)
    done = run("plan", job, "--json")
    (tmp_path / "printed.json").write_text(done.stdout, "utf-8")

    assert done.returncode == 0
    assert (tmp_path / "printed.json").read_bytes() == (job / "plans" / "plan-01.json").read_bytes()
    assert store.parse((tmp_path / "printed.json").read_bytes(), "printed.json") == store.newest(open_job(job))
    assert [day.steps for day in store.newest(open_job(job)).kilns[0].days] == [
        day.steps for day in sample_plan.by_own().days
    ]
    assert store.newest(open_job(job)).request == searched[0]
    assert not (job / "papers").exists()


def test_json_puts_no_date_on_a_day_before_its_hold_point_is_released(job, searched):
    """Nor any hour, any step, nor anything that is set; its keys are those stored."""
    printed = json.loads(run("plan", job, "--json").stdout)["kilns"][0]["days"]
    stored = json.loads((job / "plans" / "plan-01.json").read_text("utf-8"))["kilns"][0]["days"]

    assert {one["date"] for one in printed} == {None}
    assert not re.search(r"\d{4}-\d{2}-\d{2}", json.dumps(printed))
    assert "2026-04-14" in json.dumps(stored)
    for one, of in zip(printed, stored, strict=True):
        assert one.keys() == of.keys()
        assert of["steps"]
        assert (one["steps"], one["runs"]) == ([], [])
        assert one["top_degc"] is one["cutout_degc"] is one["programme_ends"] is None
        assert of["attended_from"]
        assert one["attended_from"] is one["attended_to"] is None


def test_csv_prints_a_table_and_nothing_else(job, searched):
    done = run("plan", job, "--csv")
    head, *rows = csv.reader(io.StringIO(done.stdout))

    assert done.returncode == 0
    assert {len(row) for row in rows} == {len(head)}
    assert len(rows) == len(sample_plan.by_own().days)  # one each: nothing released them
    assert len(searched) == 1


def test_ics_prints_a_calendar_and_nothing_else(job, searched, monkeypatch):
    """Days may be dated once they are released by name: by none of the answers of this job."""
    monkeypatch.setattr(day, "forbidden", lambda *_: False)
    done = run("plan", job, "--ics")

    assert done.returncode == 0
    assert done.stdout.startswith("BEGIN:VCALENDAR")
    assert done.stdout.rstrip().endswith("END:VCALENDAR")
    assert "20260414T070000Z" in done.stdout  # 08:00 by British summer time


def test_no_day_of_own_heat_is_in_a_calendar_before_its_gate_is_open(job, searched):
    done = run("plan", job, "--ics")

    assert done.returncode == 1
    assert done.stdout == ""
    assert "before heating with its own elements" in done.stderr
    assert len(searched) == 1


def test_no_day_is_in_a_calendar_while_a_hold_point_of_work_at_the_kiln_is_closed(job, monkeypatch):
    monkeypatch.setattr(planning, "kiln_plans", lambda *_: (sample_plan.planned(),))
    done = run("plan", job, "--ics")

    assert (done.returncode, done.stdout) == (1, "")
    assert "Nothing is begun at the kiln before these are released: “Hands off”" in done.stderr


def test_a_calendar_after_the_lining_is_known_no_more_cancels_the_days_of_before(job, monkeypatch):
    """Days may be dated once they are released by name: by none of the answers of this job."""
    monkeypatch.setattr(day, "forbidden", lambda *_: False)
    monkeypatch.setattr(planning, "kiln_plans", lambda *_: (sample_plan.planned(),))
    run("plan", job, "--json")
    monkeypatch.setattr(planning, "kiln_plans", lambda *_: (sample_plan.nothing(),))
    done = run("plan", job, "--ics", "--closed", "sun")

    assert done.returncode == 0
    assert done.stdout.count("STATUS:CANCELLED") == done.stdout.count("BEGIN:VEVENT") > 7


def test_a_calendar_cancels_no_day_of_a_plan_before_it_that_nobody_had_released(job, monkeypatch):
    monkeypatch.setattr(planning, "kiln_plans", lambda *_: (sample_plan.planned(),))
    run("plan", job, "--json")
    done = run("plan", job, "--ics", "--closed", "sun")

    assert (done.returncode, done.stdout) == (1, "")
    assert "Nothing is begun at the kiln before these are released: “Hands off”" in done.stderr


def test_in_words_it_carries_cautions_and_referral_and_writes_the_sheet_by_the_kiln(job, searched):
    done = run("plan", job)

    assert done.returncode == 0
    assert "caution " in done.stdout
    assert "does not replace an electrician's inspection" in folded(done.stdout)
    assert (job / "papers" / "kiln-room-1-day-01-draft.html").exists()
    assert len(searched) == 1


def test_a_day_that_no_kiln_is_dried_on_is_named_with_those_there_are(job, searched):
    done = run("plan", job, "--day", 5)

    assert done.returncode == 1
    assert "day of the plan: 5; expected 1 to 4" in done.stderr
    assert not list((job / "papers").glob("kiln-room-*"))
    assert len(searched) == 1


def test_a_kiln_that_is_done_has_no_sheet_while_another_is_still_dried(tmp_path, monkeypatch):
    """Four days of the first kiln, one of the second; on the second day only the first has a sheet."""
    short = sample_plan.by_own(kiln="kiln/2", label="Kiln 2", days=sample_plan.own_days()[:1])
    monkeypatch.setattr(planning, "kiln_plans", lambda *_: (sample_plan.by_own(), short))
    folder = plan_job.write(tmp_path / "job", {**SMALL, "scope.kilns": 2}).folder
    done = run("plan", folder, "--day", 2)

    assert done.returncode == 0
    assert {file.stem for file in (folder / "papers").iterdir()} == {"kiln-room-1-day-02-draft"}


def test_the_sheet_of_a_day_lies_beside_those_of_other_days_and_none_is_written_over(job, searched):
    run("plan", job)
    first = {name: content for name, content in kept(job).items() if name.parts[0] == "papers"}
    run("plan", job, "--day", 3)
    after = kept(job)

    assert {name.stem for name in after if name.parts[0] == "papers"} == {
        "kiln-room-1-day-01-draft",
        "kiln-room-1-day-03-draft",
    }
    assert first.items() <= after.items()
    assert integrity(job) == []
    assert len(searched) == 1


def test_help_has_an_example():
    assert "Example:" in run("plan", "--help").stdout


# ---------------------------------------------------------------------------------------- what is kept, what is new


def test_a_plan_that_would_come_out_the_same_is_taken_as_it_is_stored(job, searched):
    first, before = run("plan", job, "--json"), kept(job)
    again = run("plan", job, "--json", "--attend", "08:00-20:00", "--start", "2026-03-11", "--closed", "none")

    assert again.stdout == first.stdout
    assert kept(job) == before
    assert len(searched) == 1


def test_an_answer_that_changed_makes_a_new_plan_and_until_then_papers_say_what_it_was(job, searched):
    run("plan", job, "--json")
    told = "event.water_line"
    line = "kiln/1, heating, lining, stack wall, layer 1, wet up to [mm]: 430 → 420"
    assert "→" not in json.dumps(papers.report(job, assess(open_job(job)), LATER), ensure_ascii=False)
    plan_job.say(job, {f"{told}{KILN}": 420})
    found = assess(open_job(job))

    assert line in store.changed(found, store.newest(open_job(job)))
    assert line in json.dumps(papers.report(job, found, LATER), ensure_ascii=False)
    assert run("plan", job, "--json").returncode == 0
    assert [file.name for file in sorted((job / "plans").iterdir())] == ["plan-01.json", "plan-02.json"]
    assert store.newest(open_job(job)).number == 2
    assert "→" not in json.dumps(papers.report(job, assess(open_job(job)), LATER), ensure_ascii=False)
    assert integrity(job) == []


def test_what_is_left_out_is_as_in_the_newest_plan(job, searched):
    asked = ("--attend", "06:00-18:00", "--closed", "sat,sun", "--path", "enclosure", "--start", "2026-03-13")
    run("plan", job, "--json", *asked)
    plan_job.say(job, {f"event.water_line{KILN}": 420})
    run("plan", job, "--json")
    run("plan", job, "--json", "--closed", "sun")
    first, second, third = searched

    assert second == first
    assert (str(third.attendance), third.closed, third.path) == ("06:00-18:00", ("sun",), "enclosure")
    assert f"{third.opens:%Y-%m-%d %H:%M}" == "2026-03-13 06:00"


def test_a_start_on_a_closed_day_is_moved_and_that_is_said_beside_the_document(job, searched):
    """14 March 2026 is a Saturday (any calendar)."""
    done = run("plan", job, "--json", "--start", "2026-03-14", "--closed", "sat,sun")

    assert "2026-03-14 is closed; the first opening is Monday 2026-03-16." in done.stderr
    assert json.loads(done.stdout)["request"]["opens"] == "2026-03-16T08:00:00"
    assert f"{searched[0].opens:%Y-%m-%d}" == "2026-03-16"


def test_planning_is_given_the_plan_before(job, monkeypatch):
    given = []

    def kiln_plans(_found, _request, _told, before):
        given.append(before.number if before else None)
        return (sample_plan.by_own(),)

    monkeypatch.setattr(planning, "kiln_plans", kiln_plans)
    run("plan", job, "--json")
    run("plan", job, "--json", "--attend", "06:00-20:00")

    assert given == [None, 1]


def test_the_plans_before_one_are_the_older_ones_that_can_be_read(job, searched):
    run("plan", job, "--json")
    run("plan", job, "--json", "--closed", "sun")
    run("plan", job, "--json", "--closed", "sat")
    first, third = open_job(job), store.newest(open_job(job))
    (job / "plans" / "plan-02.json").write_bytes(b"changed")

    assert [one.number for one in store.earlier(first, third)] == [1]


def test_a_plan_that_is_under_way_is_begun_anew_only_by_whoever_asks_for_it(job, searched):
    run("plan", job, "--json")
    plan_job.say(job, {f"event.water_line{KILN}": 420}, LATER)
    done = run("plan", job, "--json")
    run("plan", job, "--json", "--start", "2026-03-21")

    opens = [f"{one.opens:%Y-%m-%d %H:%M}" for one in searched]
    assert opens == ["2026-03-11 08:00", "2026-03-11 08:00", "2026-03-21 08:00"]
    assert "The plan goes on from its first opening on 2026-03-11" in done.stderr


def test_what_is_issued_is_no_word_of_the_kiln_and_a_plan_is_no_revision_of_the_report(job, searched, without_pdf):
    """The lines of plan and report are written long after the visit, and move no plan that is under way."""
    run("plan", job, "--json")
    run("report", job, "--issue", "--by", "A. Repairer", "--as", "kiln repairer")
    again = run("plan", job, "--json", "--start", "2026-03-11")
    found = assess(open_job(job))

    assert again.returncode == 0
    assert len(searched) == 1
    assert [(one.papers, one.revision) for one in found.answers.issued] == [(("plan",), 1), (("recovery", "record"), 1)]
    assert "Revision 1 was issued" in papers.report(job, found, LATER)["paper"]["changed_since"]
    assert integrity(job) == []


def test_a_report_before_its_first_issue_speaks_of_no_revision(job, searched):
    run("plan", job, "--json")

    assert papers.report(job, assess(open_job(job)), LATER)["paper"]["changed_since"] is None


# ---------------------------------------------------------------------------------------- what cannot be


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["--attend", "25:00-26:00"], ["'25:00-26:00' cannot be attended; expected two different times"]),
        (["--attend", "08:00-09:00"], ["'08:00-09:00' is 1 h a day"]),
        (["--attend", "all day"], ["'all day' is not a span of the day; expected"]),
        (["--start", "2026-03-09"], ["2026-03-09 lies before the journal's last entry; expected 2026-03-10 or later"]),
        (["--start", "soon"], ["'soon' is no day; expected one as 2026-03-12"]),
        (["--start", "2026-02-30"], ["'2026-02-30' is no day"]),
        (["--start", "9999-12-31"], ["9999-12-31 is no day to plan for; expected one within ten years of"]),
        (["--start", "0001-01-01"], ["0001-01-01 is no day to plan for; expected one within ten years of"]),
        (["--start", "2026-03-12 09:00"], ["09:00 is not when attendance 08:00-20:00 begins; expected 08:00"]),
        (["--start", "2026-03-12T08:00+01:00"], ["names an offset"]),
        (["--path", "sun"], ["path: 'sun' is no path; expected one of strip, strip_shifts, enclosure"]),
        (["--closed", "caturday"], ["closed: 'caturday' is no day; expected a weekday"]),
        (["--closed", "2027-01-02/2026-12-24"], ["is no span; expected its first day first"]),
        (["--attend", "words", "--start", "words"], ["attendance: 'words'", "start: 'words' is no day"]),
        (
            ["--path", "sun", "--start", "2026-03-01 09:00", "--closed", "mon,tue,wed,thu,fri,sat,sun"],
            ["'sun' is no path", "09:00 is not when", "lies before the journal's last entry", "every day of the week"],
        ),
    ],
)
def test_what_cannot_be_asked_is_a_sentence_each_all_at_once_and_nothing_is_written(job, searched, asked, said):
    before = kept(job)
    done = run("plan", job, *asked)

    assert done.returncode == 1
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == len(said)
    for sentence in said:
        assert sentence in done.stderr
    assert kept(job) == before
    assert searched == []


def test_a_room_that_takes_up_no_vapour_is_planned_for(tmp_path, searched):
    folder = plan_job.write(tmp_path / "job", {**SMALL, "plan.exhaust": 0.0, "plan.dehumidifier": 0.0}).folder
    done = run("plan", folder)

    assert done.returncode == 0
    assert (folder / "plans").exists()


def test_options_of_before_are_not_understood(job, searched):
    assert run("plan", job, "--objective", "energy").returncode == 2
    assert run("plan", job, "--strategy", "own").returncode == 2
    assert searched == []


def test_a_journal_that_grew_while_it_was_planned_is_not_planned_for(job, monkeypatch):
    def kiln_plans(_found, _request, _told, _before):
        plan_job.say(job, {f"event.water_line{KILN}": 420})
        return (sample_plan.by_own(),)

    monkeypatch.setattr(planning, "kiln_plans", kiln_plans)
    done = run("plan", job)

    assert done.returncode == 1
    assert "the journal has grown since the plan was begun; run the command again" in done.stderr
    assert not (job / "plans").exists()


def test_whether_a_plan_can_be_kept_is_asked_before_it_is_searched_for(job, searched, monkeypatch):
    monkeypatch.setattr("os.access", lambda _path, mode: mode != os.W_OK)
    done = run("plan", job)

    assert done.returncode == 1
    assert "cannot be written to; see to the rights of the folder" in done.stderr
    assert searched == []


def test_a_plan_number_that_is_taken_is_never_written_over(job, searched):
    (job / "plans").mkdir()
    run("plan", job, "--json")
    shutil.copy(job / "plans" / "plan-01.json", job / "plans" / "plan-02.json")
    plan_job.say(job, {f"event.water_line{KILN}": 420})
    opened, kilns = open_job(job), (sample_plan.by_own(),)
    made = {"made": "2026-03-10T10:00:00+00:00", "by": "A. Repairer"}

    with pytest.raises(JobError, match="nothing is ever overwritten"):
        store.store(opened, assess(opened), searched[0], kilns, **made)


def test_the_hundredth_plan_is_newer_than_the_ninety_ninth(job, searched):
    run("plan", job, "--json")
    for number in (99, 100):
        files = {f"plans/plan-{number}.json": (job / "plans" / "plan-01.json").read_bytes()
                 .replace(b'"number": 1,\n "program"', f'"number": {number},\n "program"'.encode())}  # fmt: skip
        with Journal(job / "journal.jsonl") as journal:
            about = {"papers": ["plan"], "revision": number, "files": listed(files), "record": "", "rules": "",
                     "capacity": ""}  # fmt: skip
            keep(journal, files, "issue", about, by="A", source="plan")

    assert store.newest(open_job(job)).number == 100
    assert next_number(open_job(job).events, "plan") == 101


def test_a_folder_that_is_no_job_is_named(tmp_path):
    done = run("plan", tmp_path / "nowhere")

    assert done.returncode == 1
    assert "so it is no job; begin one with: recover start" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_of_a_kiln_that_nobody_has_looked_at_it_says_what_is_needed_and_plans_nothing(tmp_path):
    folder = plan_job.write(tmp_path / "job", {"scope.kilns": 1}).folder
    done = run("plan", folder)

    assert done.returncode == 0
    assert "Not known, and needed to plan for the lining: the shape of the chamber" in folded(done.stdout)
    assert store.newest(open_job(folder)).kilns[0].days == ()


def stored_otherwise(job, content):
    """Store a plan as another program would have."""
    files = {"plans/plan-01.json": content}
    with Journal(job / "journal.jsonl") as journal:
        about = {"papers": ["plan"], "revision": 1, "files": listed(files), "record": "", "rules": "", "capacity": ""}
        keep(journal, files, "issue", about, by="A", source="plan")


@pytest.mark.parametrize(
    ("file", "said"),
    [
        ("plan-older.json", "was made by an older version"),
        ("plan-other-format.json", "its format is 'recover-journal'"),
        ("plan-lacks.json", "is not a plan as this program stores it"),
        ("plan-cut.json", "cannot be read"),
        ("plan-list.json", "has no format"),
        ("plan-deep.json", "cannot be read"),
    ],
)
def test_a_broken_or_older_plan_is_set_aside_with_a_sentence_and_everything_else_goes_on(job, searched, file, said):
    stored_otherwise(job, (BAD / file).read_bytes())
    drafted = papers.report(job, assess(open_job(job)), LATER)
    done = run("plan", job, "--json")

    assert done.returncode == 0
    assert f"plans/plan-01.json: {said}" in drafted["no_plan"]
    assert f"plans/plan-01.json: {said}" in done.stderr
    assert "set aside in" in done.stderr
    assert kept(job)[Path("set-aside/plan-01.json")] == (BAD / file).read_bytes()
    assert store.newest(open_job(job)).number == 2
    assert integrity(job) == []
    assert len(searched) == 1


def test_a_plan_of_a_newer_program_is_left_where_it_is(job, searched):
    stored_otherwise(job, (BAD / "plan-newer.json").read_bytes())
    drafted = papers.report(job, assess(open_job(job)), LATER)
    done = run("plan", job, "--json")

    assert "newer version (file version 4, this program knows up to 3); update recover" in drafted["no_plan"]
    assert "newer version (file version 4" in done.stderr
    assert kept(job)[Path("plans/plan-01.json")] == (BAD / "plan-newer.json").read_bytes()
    assert store.newest(open_job(job)).number == 2
    assert len(searched) == 1


def test_a_plan_that_somebody_changed_is_none_and_is_left_for_the_proof_of_the_job(job, searched):
    run("plan", job, "--json")
    (job / "plans" / "plan-01.json").write_bytes(b"{}")
    done = run("plan", job, "--json")

    assert done.returncode == 0
    assert "plan-01.json: is not the file that was taken in" in done.stderr
    assert (job / "plans" / "plan-01.json").read_bytes() == b"{}"
    assert store.newest(open_job(job)).number == 2


def test_a_search_that_fails_leaves_a_job_without_a_plan_and_its_report_says_so(job, searched, monkeypatch):
    """What was set aside stays so, and nothing is stored."""
    stored_otherwise(job, (BAD / "plan-older.json").read_bytes())

    def fails(*_):
        raise SimulationError("the balances of a run do not close")

    monkeypatch.setattr(planning, "kiln_plans", fails)
    done = run("plan", job, "--json")

    assert done.returncode == 1
    assert "the balances of a run do not close" in done.stderr
    assert "was set aside" in papers.report(job, assess(open_job(job)), LATER)["no_plan"]
    assert integrity(job) == []
