"""The files of a job: proved before they are read, finished or set aside after an interruption, never written over."""

import os
import shlex
from datetime import timedelta
from shutil import rmtree

import pytest

from recover.base.errors import AnswerError, DataError, JobError, command
from recover.interview import sittings
from recover.job.folder import open_job
from recover.job.journal import Journal, utc_now
from recover.job.kept import next_number
from recover.job.mending import integrity, mend, settle
from recover.job.writing import keep, keep_picture
from recover.judged.assessment import assess
from recover.judged.release import release
from recover.plan import store
from recover.report import papers
from recover.report.record import photographs
from tests import campaign
from tests.campaign import wrong
from tests.school import school

# ---------------------------------------------------------------------------------------- what is read is proved


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda file: file.write_bytes(file.read_bytes()[:-1]), "is not the file that was taken in (journal line"),
        (lambda file: file.write_bytes(b""), "is not the file that was taken in (journal line"),
        (lambda file: file.unlink(), "is missing (journal line"),
    ],
)
@pytest.mark.parametrize("name", ["photographs/slate-1 0.jpg", "papers/recovery-01.pdf", "plans/plan-01.json"])
def test_a_file_that_was_changed_emptied_or_is_missing_is_named_with_its_line(job, name, change, said):
    change(job / name)

    assert list(wrong(job)) == [name]
    assert wrong(job)[name].startswith(said)


def test_ramps_that_were_written_into_a_stored_plan_are_printed_nowhere(job):
    plan = job / "plans" / "plan-01.json"
    stored = plan.read_text("utf-8")
    plan.write_text(stored.replace('"ramp_k_h": 60', '"ramp_k_h": 300'), "utf-8")

    assert plan.read_text("utf-8") != stored
    with pytest.raises(DataError, match=r"plan-01.json: is not the file that was taken in .*plan again: recover plan"):
        store.newest(open_job(job))
    view = papers.report(job, assess(open_job(job)), campaign.NOW)
    assert view["plan"] is None
    assert "is not the file that was taken in" in view["no_plan"]


def test_photographs_that_were_swapped_are_not_shown_and_the_paper_says_so(job):
    one, other = (job / "photographs" / f"slate-1 {number}.jpg" for number in (0, 1))
    first = one.read_bytes()
    one.write_bytes(other.read_bytes())
    other.write_bytes(first)
    shown = photographs(open_job(job), assess(open_job(job)))

    assert [bool(row["src"]) for row in shown] == [False, False, True]
    assert ["is not the file" in row["problem"] for row in shown] == [True, True, False]
    assert [f"it is photographs/{name} as that was" in wrong(job)[f"photographs/{of}"]
            for of, name in ((one.name, other.name), (other.name, one.name))] == [True, True]  # fmt: skip


def test_a_lost_picture_is_said_with_the_command_that_takes_it_in_again(job):
    """Also of one in whose place another file lies, which is set aside before."""
    gone, changed = sorted((job / "photographs").iterdir())[:2]
    gone.unlink()
    changed.write_bytes(b"another")
    missing, other = (problem.remedy for problem in integrity(job))

    assert missing.endswith(f"or take it in again: recover photo {job} PICTURE")
    assert other.endswith(f"or recover check {job} --mend, then recover photo {job} PICTURE")


@pytest.mark.parametrize("name", ["photographs/slate-1 0.jpg", "papers/record-01.pdf", "plans/plan-01.json"])
def test_nothing_is_issued_on_a_job_with_a_file_that_does_not_match(job, name):
    (job / name).write_bytes(b"another")

    with pytest.raises(DataError, match=rf"{name}: is not the file.*\n.*nothing was issued; recover check"):
        papers.issue(job, assess(open_job(job)), "A. Repairer", "kiln repairer", campaign.NOW)
    assert next_number(open_job(job).events, "recovery") == 2


def test_what_is_past_mending_is_set_aside_by_name_and_work_goes_on(job):
    """A lost photograph must not stop a claim for ever; that it is lost stays written."""
    (job / "photographs" / "slate-1 0.jpg").unlink()
    (job / "plans" / "plan-01.json").write_bytes(b"{}")
    mend(job, "M. Ender")
    line = open_job(job).events[-1]

    assert wrong(job) == {}
    assert (line.kind, line.by, line.data["missed"]) == ("set_aside", "M. Ender", ["photographs/slate-1 0.jpg"])
    assert (job / "set-aside" / "plan-01.json").read_bytes() == b"{}"
    with pytest.raises(DataError, match=r"plan-01.json: was set aside, or is missing.*plan again: recover plan"):
        store.newest(open_job(job))
    assert next_number(open_job(job).events, "plan") == 2
    row = photographs(open_job(job), assess(open_job(job)))[0]
    assert (row["src"], "was set aside, or was missing" in row["problem"]) == ("", True)


def test_a_name_is_not_given_to_another_picture_after_the_first_was_set_aside(job):
    name, about = "slate-1 0.jpg", {"id": "P09", "taken": None, "question": "", "bound_by": "", "printable": True}
    (job / "photographs" / name).write_bytes(b"changed")
    mend(job, "M. Ender")
    with Journal(job / "journal.jsonl") as journal:
        other = keep_picture(journal, name, campaign.picture(50), about, by="A", source="photo")
        same = keep_picture(journal, name, campaign.picture(0), {**about, "id": "P10"}, by="A", source="photo")

    assert (other.data["file"], same.data["file"]) == ("photographs/slate-1 0 (2).jpg", f"photographs/{name}")
    first, *_, of_other, again = photographs(open_job(job), assess(open_job(job)))
    assert (first["src"] == again["src"], bool(of_other["src"])) == (True, True)
    assert wrong(job) == {}


def test_a_picture_that_was_lost_is_put_back_by_taking_it_in_again(job, tmp_path):
    name = "photographs/slate-1 0.jpg"
    outside = tmp_path / "slate-1 0.jpg"
    outside.write_bytes((job / name).read_bytes())
    key = next(one.question for one in assess(open_job(job)).answers.photographs if one.file == name)

    for lose in (lambda: (job / name).unlink(), lambda: (job / name).write_bytes(b"another")):
        lose()
        mend(job)
        told = []
        assert sittings.photographs(open_job(job), [outside], key, "A", tell=told.append) == []
        assert "put back" in told[0]
        assert (job / name).read_bytes() == outside.read_bytes()
        assert wrong(job) == {}

    assert sittings.photographs(open_job(job), [outside], key, "A", tell=told.append) == []
    assert "was here before" in told[-1]


def test_a_lost_picture_that_is_taken_in_for_another_question_is_there_again(job, tmp_path):
    """What is acknowledged is on the disk, whether a line knew it before or not."""
    name = "photographs/slate-1 0.jpg"
    outside = tmp_path / "slate-1 0.jpg"
    outside.write_bytes((job / name).read_bytes())
    (job / name).unlink()
    taken = sittings.photographs(open_job(job), [outside], "scope.kilns", "A", tell=lambda _: None)

    assert taken == []
    assert (job / name).read_bytes() == outside.read_bytes()
    assert wrong(job) == {}


def consented(job, picture):
    """Tell a story in which the insurer's agreement is shown by a photograph alone, and signed for."""
    school(job)
    said = {"question": "claim.consent", "state": "given", "value": "given", "who": "A. Djuster", "role": "insurer",
            "measured": (utc_now() - timedelta(minutes=5)).isoformat(timespec="minutes")}  # fmt: skip
    with Journal(job / "journal.jsonl") as journal:
        journal.append("answer", said, by="A. Djuster", source="test")
    picture.write_bytes(campaign.picture(5))
    sittings.photographs(open_job(job), [picture], "claim.consent", "A. Djuster", tell=lambda _: None)
    release(job, "consent", "", by="A. Djuster", role="insurer")


def consent(job):
    return next(hold for hold in assess(open_job(job)).holds if hold.point.id == "consent")


def test_a_photograph_that_is_missing_or_another_one_opens_no_hold_point(tmp_path):
    """What shows it can be looked at no more; once it is put back as it was taken in it shows it again."""
    job, outside = tmp_path / "job", tmp_path / "slate-50.jpg"
    consented(job, outside)
    (picture,) = (job / "photographs").iterdir()
    said = "no paper or photograph is named that shows it (photograph P01 is missing, or not as it was taken in)"
    assert consent(job).state == "released"
    for lose in (picture.unlink, lambda: picture.write_bytes(campaign.picture(6))):
        lose()
        assert said in " ".join(consent(job).missing)
        assert [one.where for one in assess(open_job(job)).of_files] == [f"photographs/{picture.name}"]
        with pytest.raises(AnswerError, match="nothing is signed while this is so"):
            release(job, "consent", "", by="A. Djuster", role="insurer")
        picture.write_bytes(outside.read_bytes())
        assert consent(job).state == "released"

    picture.unlink()
    mend(job)
    assert said in " ".join(consent(job).missing)
    sittings.photographs(open_job(job), [outside], "claim.consent", "A. Djuster", tell=lambda _: None)
    assert consent(job).state == "ready for release"  # the journal said that it was gone: what ended is signed anew


def test_a_lost_picture_is_not_put_over_another_file(job, tmp_path):
    name = "photographs/slate-1 0.jpg"
    outside = tmp_path / "slate-1 0.jpg"
    outside.write_bytes((job / name).read_bytes())
    key = next(one.question for one in assess(open_job(job)).answers.photographs if one.file == name)
    (job / name).write_bytes(b"another")

    with pytest.raises(JobError, match=r"is not the file that was taken in: recover check .* --mend sets it aside"):
        sittings.photographs(open_job(job), [outside], key, "A", tell=print)
    assert (job / name).read_bytes() == b"another"


@pytest.mark.parametrize(
    ("name", "kept_as"),
    [
        ("12:30:00.jpg", "12_30_00.jpg"), ("what?.jpg", "what_.jpg"), ("a\\b.jpg", "a_b.jpg"), ("Con.jpg", "_Con.jpg"),
        ("U\u0308.jpg", "\u00dc.jpg"), ("x" * 200 + ".jpg", "x" * 120 + ".jpg"), ("end. ", "end"),
        ("plain.jpg", "plain.jpg"),
    ],
)  # fmt: skip
def test_a_picture_is_kept_under_a_name_that_every_system_can_hold(job, name, kept_as):
    about = {"id": "P90", "taken": None, "question": "", "bound_by": "hand", "printable": True}
    with Journal(job / "journal.jsonl") as journal:
        event = keep_picture(journal, name, b"a picture", about, by="A", source="test")

    assert event.data["file"] == f"photographs/{kept_as}"
    assert event.data.get("name", kept_as) == name
    assert wrong(job) == {}


def test_two_names_that_a_system_may_take_for_one_are_kept_apart(job):
    about = {"id": "P90", "taken": None, "question": "", "bound_by": "hand", "printable": True}
    with Journal(job / "journal.jsonl") as journal:
        for name, content in (("IMG_1.JPG", b"one"), ("img_1.jpg", b"other"), ("Img_1.jpg", b"third")):
            keep_picture(journal, name, content, about, by="A", source="test")

    names = [one.file for one in assess(open_job(job)).answers.photographs][-3:]
    assert names == ["photographs/IMG_1.JPG", "photographs/img_1 (2).jpg", "photographs/Img_1 (3).jpg"]


def test_nothing_is_begun_for_a_line_that_cannot_be_written(job):
    """A name that no line may hold is found out before any file is written, moved, or noted as being written."""
    (job / "photographs" / "stray.jpg").write_bytes(b"a stray")
    with pytest.raises(AnswerError, match="holds letters that cannot be written down"):
        mend(job, "A\u202eB")
    assert (job / "photographs" / "stray.jpg").exists()
    with Journal(job / "journal.jsonl") as journal, pytest.raises(AnswerError):
        keep(journal, {"papers/a.html": b"a"}, "issue", {}, by="A\u202eB", source="test")
    assert not (job / "papers" / "a.html").exists()

    mend(job, "A. Repairer")
    assert wrong(job) == {}


@pytest.mark.parametrize("name", ["of nobody.jpg", "Pat's kiln.jpg", "a “b” $HOME `x`.jpg", "a\nb.jpg", "a\x1bb\r.jpg"])
def test_what_takes_a_stray_picture_in_can_be_typed_as_it_is_printed(job, name):
    stray = job / "photographs" / name
    stray.write_bytes(b"a stray")
    (problem,) = integrity(job)

    typed = problem.remedy.partition(" takes it in")[0]
    plain = f"give it a name of plain letters, and take it in with {command('photo', job, 'FILE')}; or"
    assert str(problem).isprintable()
    assert shlex.split(typed) == ["recover", "photo", str(job), str(stray)] or problem.remedy.startswith(plain)
    assert name.isprintable() is not problem.remedy.startswith("give it")


@pytest.mark.parametrize("name", ["photographs", "papers", "plans", "set-aside"])
@pytest.mark.parametrize("kind", ["file", "link"])
def test_what_stands_where_a_job_has_a_folder_is_named(job, tmp_path, name, kind):
    if (job / name).exists():
        (job / name).rename(tmp_path / "away")
    if kind == "link":
        (tmp_path / "away").mkdir(exist_ok=True)
        (job / name).symlink_to(tmp_path / "away")
    else:
        (job / name).write_text("a file")

    expected = "is a link to another place" if kind == "link" else "is no folder of the job"
    assert wrong(job)[name] == expected


def test_a_draft_on_its_way_is_no_interruption(job):
    (job / "papers" / ".recover-draft-0123abcd.part").write_bytes(b"%PDF")
    lines = len(open_job(job).events)

    assert wrong(job) == {}
    settle(job)
    assert len(open_job(job).events) == lines
    assert (job / "papers" / ".recover-draft-0123abcd.part").exists()


@pytest.mark.parametrize("name", ["\x93" * 80 + ".pdf", "x" * 251 + ".pdf"])
def test_a_long_name_stops_nobody(job, name):
    (job / "papers" / name).write_bytes(b"there")
    mend(job)
    (job / "papers" / name).write_bytes(b"there again")
    mend(job)

    assert wrong(job) == {}


@pytest.mark.parametrize("name", ["photographs", "papers", "plans"])
def test_a_folder_that_is_a_link_is_said_also_where_no_file_of_it_is_known(job, name, tmp_path):
    lines = (job / "journal.jsonl").read_bytes().splitlines(keepends=True)
    (job / "journal.jsonl").write_bytes(lines[0])
    rmtree(job / name)
    (job / name).symlink_to(tmp_path)

    assert wrong(job)[name] == "is a link to another place"


def test_a_link_in_the_place_of_a_picture_that_leads_out_of_the_job_is_set_aside_at_once(job, tmp_path):
    (picture, *_) = sorted((job / "photographs").iterdir())
    outside = tmp_path / "outside.jpg"
    picture.rename(outside)
    picture.symlink_to(outside)
    said = " ".join(mend(job))

    assert "it is not the file that was taken in; set aside" in said
    assert not os.path.lexists(picture)
    assert outside.is_file()
    assert wrong(job) == {}
