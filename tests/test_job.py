"""A job: a folder that opens in ten years, and shows whether anything in it was changed."""

import shutil
from datetime import timedelta
from pathlib import Path
from shlex import split

import pytest

from examples.story import tell
from recover.base.errors import AnswerError, DataError, JobError, command
from recover.job.folder import Settings, open_job, start
from recover.job.journal import VERSION, Journal, utc_now
from recover.job.mending import integrity, mend
from recover.judged.assessment import assess
from recover.judged.release import _taking_back, release, withdraw
from recover.plan import store
from recover.profiles import profile
from recover.report import papers
from tests.gates import ENDS, assessed_at, completed, said
from tests.school import school

JOBS = Path(__file__).parent / "jobs"

SETTINGS = Settings("j", "uk", "A4", "Europe/London")


NOT_COPIED = {"first-look": 75, "record": 76}
"""The papers of which the folder of the first version lacks the HTML, and the lines that know it."""


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_a_job_of_every_version_opens_whole(version):
    """The folder was written by the version that its name says, and is never regenerated."""
    folder = JOBS / f"v{version}"
    found = assess(open_job(folder))

    assert [str(problem) for problem in integrity(folder)] == [
        f"papers/{kind}-01.html: is missing (journal line {line}); put it back from a copy"
        for kind, line in (NOT_COPIED if version == 1 else {}).items()
    ]
    assert found.answers.given["event.water_line@kiln/1"].value == 640
    assert found.answers.issued[0].by == "A. Repairer"


def test_what_an_earlier_program_released_is_signed_anew_on_what_is_looked_at_anew():
    """It wrote down neither when and by whom a thing was seen, nor what a release rested on."""
    hold = next(hold for hold in assess(open_job(JOBS / "v1")).holds if hold.point.id == "hands_off")
    (old,) = hold.ended

    assert hold.state == "closed"
    assert (old.release.by, old.ended) == (
        "E. Lectrician", "an older version wrote it down, without what it rested on",
    )  # fmt: skip
    for slate in ("slate 7 (", "slate 8 ("):
        said = next(one for one in hold.missing if slate in one)
        assert "when it was seen or measured is not written down; look or measure again" in said
        assert "nobody put a name and a capacity to it" in said


def test_a_release_ends_when_something_it_rests_on_changes(tmp_path):
    from recover.asked.compiled import questionnaire
    from recover.interview.engine import Item
    from recover.interview.session import Session
    from recover.job.journal import Journal

    folder = school(tmp_path / "job")
    before = {hold.point.id: hold.state for hold in assess(open_job(folder)).holds}
    with Journal(folder / "journal.jsonl") as journal:
        session = Session(open_job(folder), journal, None, by="A", source="test")
        session._append_given(
            Item(questionnaire().questions["safe.upstream"], "kiln/1"),
            "safe.upstream@kiln/1",
            "off",
            "",
            {"value": "off"},
        )
    holds = {hold.point.id: hold for hold in assess(open_job(folder)).holds}
    (ended,) = holds["hands_off"].ended

    assert before["hands_off"] == before["own_heat"] == "released"
    assert holds["hands_off"].missing == (
        "isolated and locked off upstream, at a place reached dry (not met by slate 7 (switched off, but not locked))",
    )
    assert ended.release.by == "E. Lectrician"
    assert "slate 7 was answered anew" in ended.ended
    assert [holds[name].state for name in ("hands_off", "isolated", "energise", "own_heat")] == ["closed"] * 4


def test_two_people_sign_for_the_first_heating_and_each_is_told_who_is_still_to_sign(tmp_path):
    folder, now = tmp_path / "job", utc_now()
    for step, _ in tell(folder, now):
        if step.sign == "energise":
            break

    def sign(by, role, licence="0001-demo"):
        return release(folder, point="own_heat", at="", by=by, role=role, licence=licence, clock=lambda: now)

    first = sign("E. Lectrician", "electrician")
    with pytest.raises(AnswerError, match=r"e lectrician has signed .* already; still to sign: whoever") as twice:
        sign("e lectrician", "attendant")
    assert "two people sign, so that is somebody other than e lectrician" in str(twice.value)
    with pytest.raises(AnswerError, match=r"that was A\. Tendant, by the answers; they sign, or B\. Other"):
        sign("B. Other", "attendant")
    second = sign("A. Tendant", "attendant", "")

    assert first.startswith("signed: First heating with its own elements (Kiln 1), by E. Lectrician, electrician")
    assert "; still to sign: whoever attends from beginning to end (" in first
    assert second.startswith("released: First heating with its own elements (Kiln 1), by A. Tendant, attendant")
    with pytest.raises(
        AnswerError, match=r"is signed for by E\. Lectrician, electrician, 0001-demo; A\. Tendant"
    ) as told:
        sign("C. Third", "electrician")
    assert "--withdraw" in str(told.value)
    for by, role in (("A. Tendant", "attendant"), ("A. Djuster", "insurer")):
        with pytest.raises(AnswerError, match="nothing is left to sign"):
            sign(by, role)


@pytest.fixture
def hazards_cleared_in_a_wrong_role(tmp_path):
    """The school's repairer signs for its owner's side that the hazards are cleared."""
    folder, now = tmp_path / "job", utc_now()
    for step, _ in tell(folder, now):
        if step.sign == "hazards":
            break
    withdraw(folder, "hazards", "", by="D. Holder", role="duty_holder", reason="a slip", clock=lambda: now)
    told = release(folder, "hazards", "", by="A. Repairer", role="owner", clock=lambda: now)
    return folder, now, told


def hazards(folder):
    return next(hold for hold in assess(open_job(folder)).holds if hold.point.id == "hazards")


def test_a_signature_in_a_role_in_which_the_person_never_spoke_says_so_and_how_it_is_taken_back(
    hazards_cleared_in_a_wrong_role,
):
    _, _, told = hazards_cleared_in_a_wrong_role

    assert "A. Repairer spoke as kiln repairer before, never as owner. If that was a slip: recover log " in told
    assert "--withdraw hazards --by 'A. Repairer' --as owner" in told


def test_who_may_sign_takes_a_wrong_signature_back_and_it_ends_for_good(hazards_cleared_in_a_wrong_role):
    folder, now, _ = hazards_cleared_in_a_wrong_role
    with pytest.raises(AnswerError, match=r"is signed for by A\. Repairer, owner; if that was a slip: recover log"):
        release(folder, "hazards", "", by="F. Hansen", role="owner", clock=lambda: now)
    told = withdraw(folder, "hazards", "", by="F. Hansen", role="owner", reason="a slip", clock=lambda: now)
    closed = hazards(folder)
    release(folder, "hazards", "", by="F. Hansen", role="owner", clock=lambda: now)
    signed = hazards(folder)

    assert told.startswith("taken back: Hazards cleared")
    assert closed.state == "ready for release"
    assert closed.ended[-1].ended.startswith("taken back by F. Hansen, owner (journal line ")
    assert [one.by for one in signed.signed] == ["F. Hansen"]
    assert len(signed.ended) == 2


def test_nobody_takes_back_what_neither_they_nor_their_role_signs_for(hazards_cleared_in_a_wrong_role):
    folder, now, _ = hazards_cleared_in_a_wrong_role
    lines = len(open_job(folder).events)
    with pytest.raises(
        AnswerError, match=r"has nothing to take back under Hazards cleared; signed under it is A\. Rep"
    ):
        withdraw(folder, "hazards", "", by="A. Tendant", role="attendant", reason="a slip", clock=lambda: now)

    assert len(open_job(folder).events) == lines
    assert hazards(folder).state == "released"


def test_another_licence_number_of_the_same_person_is_remarked(tmp_path):
    folder, now = school(tmp_path / "job"), utc_now()
    sign = {"by": "E. Lectrician", "role": "electrician", "clock": lambda: now}
    withdraw(folder, "hands_off", "", reason="a slip", **sign)
    told = release(folder, "hands_off", "", licence="HWK-0815", **sign)

    assert "E. Lectrician signed with 0001-demo before, and now with HWK-0815: look whether one is a slip." in told


def test_what_comes_after_a_signature_that_is_taken_back_closes_too(tmp_path):
    folder, now = school(tmp_path / "job"), utc_now()
    withdraw(folder, "hands_off", "", by="E. Lectrician", role="electrician", reason="a slip", clock=lambda: now)
    states = {hold.point.id: hold.state for hold in assess(open_job(folder)).holds}

    assert [states[name] for name in ("isolated", "energise", "own_heat")] == ["closed"] * 3


def test_a_release_names_a_hold_point_that_there_is_and_of_two_kilns_which(tmp_path):
    job = start(tmp_path / "j", SETTINGS, by="A")
    with Journal(job.journal) as journal:
        said = {"question": "scope.kilns", "state": "given", "value": 2, "said": "2"}
        journal.append("answer", said, by="A", source="test")

    def refused(point, at=""):
        with pytest.raises(AnswerError) as told:
            release(job.folder, point, at, by="E. Lectrician", role="electrician", licence="1")
        return str(told.value)

    assert refused("energise") == "energise stands for kiln/1, kiln/2; say which with --component"
    assert "there is no hold point 'firing'; expected one of hands_off, " in refused("firing")
    assert "there is no hold point 'energise' of kiln/3; expected" in refused("energise", "kiln/3")
    assert refused("energise", "kiln/2").startswith("Energising stays closed; missing:")


def test_a_folder_that_holds_something_is_no_place_for_a_new_job(tmp_path):
    (tmp_path / "letter.txt").write_text("dear")

    with pytest.raises(JobError, match="exists already; name a new folder"):
        start(tmp_path, SETTINGS, by="A")


def test_a_folder_without_a_journal_is_no_job(tmp_path):
    with pytest.raises(JobError, match=r"holds no journal.jsonl"):
        open_job(tmp_path)


def test_a_journal_cut_before_its_first_line_ended_says_so(tmp_path):
    job = start(tmp_path / "j", SETTINGS, by="A")
    job.journal.write_bytes(job.journal.read_bytes()[:20])

    with pytest.raises(JobError, match="holds no whole line"):
        open_job(tmp_path / "j")


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        (("j", "mars", "A4", "UTC"), "the profile 'mars' is not known; expected one of uk, eu, us, au_nz"),
        (("j", "uk", "A3", "UTC"), "the paper size 'A3' is not known"),
        (("j", "uk", "A4", "Nowhere"), "the time zone 'Nowhere' is not known"),
    ],
)
def test_settings_that_no_part_could_work_with_are_refused(settings, message):
    with pytest.raises(AnswerError, match=message):
        Settings(*settings)


def test_lines_removed_from_the_end_show_by_the_papers_that_were_issued_on_them(tmp_path):
    """The chain alone cannot show that its end is gone."""
    folder = tmp_path / "job"
    shutil.copytree(JOBS / "v1", folder)
    lines = (folder / "journal.jsonl").read_bytes().splitlines(keepends=True)
    (folder / "journal.jsonl").write_bytes(b"".join(line for line in lines if b'"kind":"issue"' not in line))

    assert open_job(folder)
    assert {problem.where for problem in integrity(folder)} == {
        f"papers/{kind}-01.{suffix}" for kind in ("first-look", "record") for suffix in ("json", "pdf")
    }


PLAN = "plans/plan-01.json"


@pytest.fixture
def planned(tmp_path):
    """A copy of the job with a plan."""
    return Path(shutil.copytree(JOBS / "v1-plan", tmp_path / "planned"))


def test_a_plan_that_an_earlier_program_stored_is_told_and_everything_else_goes_on(planned):
    """The folder was written by the program that first stored plans, and is never regenerated."""
    with pytest.raises(DataError, match="was made by an older version; plan again: recover plan"):
        store.newest(open_job(planned))
    view = papers.report(planned, assess(open_job(planned)), utc_now())

    assert integrity(planned) == []
    assert view["plan"] is None
    assert "was made by an older version" in view["no_plan"]


def test_what_is_set_aside_of_an_earlier_program_is_kept_and_told_in_the_journal(planned):
    before = (planned / PLAN).read_bytes()
    (told,) = store.set_aside(open_job(planned), by="A. Repairer")

    assert "plans/plan-01.json: was made by an older version; set aside in" in told
    assert (planned / "set-aside" / "plan-01.json").read_bytes() == before
    assert integrity(planned) == []
    assert store.set_aside(open_job(planned), by="A. Repairer") == []


def test_a_plan_that_was_changed_is_missing_or_that_nobody_stored_shows(planned):
    plan = planned / PLAN
    shutil.copy(plan, planned / "plans" / "plan-02.json")
    plan.write_text(plan.read_text("utf-8").replace('"way": "', '"way": "x'), "utf-8")
    changed, stray = integrity(planned)
    plan.unlink()
    missing, _ = integrity(planned)

    assert (changed.where, stray.where, missing.where) == (PLAN, "plans/plan-02.json", PLAN)
    assert "is not the file that was taken in (journal line" in str(changed)
    assert "no line of the journal knows it" in str(stray)
    assert "is missing (journal line" in str(missing)


def test_lines_removed_from_the_end_show_by_the_plan_that_was_stored_on_them(planned):
    lines = (planned / "journal.jsonl").read_bytes().splitlines(keepends=True)
    (planned / "journal.jsonl").write_bytes(b"".join(line for line in lines if b'"kind":"issue"' not in line))

    assert open_job(planned)
    assert [problem.where for problem in integrity(planned)] == [PLAN]


def test_a_missing_photograph_shows(tmp_path):
    folder = tmp_path / "job"
    shutil.copytree(JOBS / "v1", folder)
    next((folder / "photographs").iterdir()).unlink()

    assert "is missing (journal line" in str(integrity(folder))


def test_a_clock_that_is_set_back_gives_a_signature_no_new_life():
    """The evidence of a day ago is out of date; a line written then says that a day has passed."""
    events = completed()
    late = ENDS + timedelta(hours=36)
    noted = said(events, "scope.fuel", at=late, value="electric", said="electric")
    before = {hold.point.id: hold.state for hold in assessed_at(noted, late + timedelta(minutes=1)).holds}
    back = {hold.point.id: hold.state for hold in assessed_at(noted, ENDS + timedelta(minutes=1)).holds}

    assert before["own_heat"] == "closed"
    assert back == before
    again = said(noted, "scope.fuel", at=ENDS + timedelta(minutes=2), value="electric", said="electric")
    stray = {hold.point.id: hold.state for hold in assessed_at(again, ENDS + timedelta(minutes=3)).holds}
    assert stray["own_heat"] == "closed"  # whatever is written by the clock that stands back


def test_a_line_of_a_time_that_has_not_come_is_disowned_by_a_named_person_and_nothing_up_to_it_is_evidence(tmp_path):
    ahead = utc_now() + timedelta(days=400)
    job = start(tmp_path / "j", SETTINGS, by="A", clock=lambda: ahead)
    with pytest.raises(AnswerError, match=r"the other one was wrong: recover check .* --mend"):
        release(job.folder, "hands_off", "kiln/1", by="E. Lectrician", role="electrician", licence="1")
    (said_so,) = mend(job.folder, "A. Repairer")
    assert "had run ahead" in said_so
    assert mend(job.folder, "A. Repairer") == []
    with pytest.raises(AnswerError, match="say which with --component"):  # the clock holds nobody back any more
        release(job.folder, "hands_off", "", by="E. Lectrician", role="electrician", licence="1")


def test_what_is_said_of_a_clock_that_ran_ahead_names_the_journal(tmp_path):
    from recover.commands.check_command import _history

    job = start(tmp_path / "j", SETTINGS, by="A")
    with Journal(job.journal, lambda: utc_now() + timedelta(days=2)) as journal:
        journal.append("answer", {"question": "scope.kilns", "state": "unknown"}, by="A", source="test")
    mend(tmp_path / "j", "A")
    last = open_job(tmp_path / "j").events[-1]

    assert _history(last, set()).startswith(f"{last.at[:10]} journal.jsonl: a computer's clock had run ahead")


def test_nobody_signs_by_a_clock_that_stands_before_the_last_line(tmp_path):
    job = start(tmp_path / "j", SETTINGS, by="A", clock=lambda: ENDS)
    with pytest.raises(AnswerError, match="Nothing is signed until its clock is set right"):
        release(job.folder, "hands_off", "kiln/1", by="E. Lectrician", role="electrician", licence="1",
                clock=lambda: ENDS - timedelta(days=1))  # fmt: skip


def test_a_renamed_journal_is_named_and_papers_without_one_are_no_job(tmp_path):
    job = start(tmp_path / "j", SETTINGS, by="A")
    job.journal.rename(tmp_path / "j" / "journal.txt")
    with pytest.raises(JobError, match=r"and journal\.txt looks like it: rename it back to journal\.jsonl"):
        open_job(job.folder)
    (tmp_path / "j" / "journal.txt").unlink()
    with pytest.raises(JobError, match="look for the journal in a copy of the job"):
        open_job(job.folder)


def test_a_command_that_is_printed_can_be_typed_where_the_folder_has_a_blank():
    assert command("log", "school kiln", "--release", "lift") == "recover log 'school kiln' --release lift"
    assert command("check", "school-kiln") == "recover check school-kiln"


def test_a_command_that_is_printed_does_no_more_than_it_says_whatever_a_person_or_a_folder_is_called():
    """The shell reads each word as it was meant; a folder whose name begins with a dash is no option."""
    name = 'Pat "Sp" $(id)'
    printed = command("log", "job", "--release", "lift", "--by", name)

    assert split(printed) == ["recover", "log", "job", "--release", "lift", "--by", name]
    assert "'" + name + "'" in printed
    assert command("check", Path("-j"), "--mend") == "recover check ./-j --mend"
    assert command("photo", "-j", Path("-j", "slate 1.jpg")) == "recover photo ./-j './-j/slate 1.jpg'"


def test_a_name_with_signs_of_the_shell_is_quoted_where_a_signature_is_taken_back(tmp_path):
    job = start(tmp_path / "j", SETTINGS, by="A")
    hold = next(one for one in assess(job).holds if one.point.id == "hands_off")
    country = profile("uk")
    words = split(_taking_back(job.folder, hold, 'Pat "Sp" $(id)', country.role[0]))

    assert words[words.index("--by") + 1] == 'Pat "Sp" $(id)'
