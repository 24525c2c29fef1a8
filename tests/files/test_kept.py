"""The files of a job: proved before they are read, finished or set aside after an interruption, never written over."""


import pytest

from recover.base.errors import DataError
from recover.job.folder import open_job
from recover.job.journal import Journal
from recover.job.kept import keep_picture, mend, next_number
from recover.judged.assessment import assess
from recover.plan import store
from recover.report import papers
from recover.report.record import photographs
from tests import campaign
from tests.campaign import wrong

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
