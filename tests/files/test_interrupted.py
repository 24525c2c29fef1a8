"""What an interruption leaves, and what lies in a job that should not: finished or set aside, and nobody accused."""

import json
import os
from itertools import product
from shutil import copytree, rmtree

import pytest
from click.testing import CliRunner

from recover.base.errors import JobError, JournalError, RecoverError
from recover.base.fingerprint import fingerprint, parts
from recover.commands.check_command import check
from recover.job.anchor import _interrupted_as, _issued_as
from recover.job.folder import open_job, start
from recover.job.journal import Event, Journal
from recover.job.kept import known, listed, next_number, papers_of
from recover.job.mending import UNKNOWN, integrity, mend, settle
from recover.job.writing import BEING_WRITTEN, keep, keep_picture  # fmt: skip
from recover.judged.assessment import assess
from recover.plan import store
from recover.report import papers
from tests import campaign, faults
from tests.campaign import SETTINGS, wrong


def test_an_issue_that_was_stopped_half_way_is_set_aside_and_its_number_is_not_given_again(job):
    at = next(at for at in range(1, 60) if _left(job, at) == ["recovery-02.pdf"])
    faults.run(lambda: campaign.issued(job), at)
    assert all("interruption" in what for what in wrong(job).values())
    told = settle(job)
    campaign.issued(job)

    assert "an interruption came while it was written; set aside in" in told[0]
    assert (job / "set-aside" / "recovery-02.pdf").exists()
    assert (job / "papers" / "recovery-03.pdf").exists()
    assert wrong(job) == {}


def test_an_issue_that_was_stopped_before_its_line_is_finished(job):
    """All of it is on the disk as it was to be written: nothing is lost, and the number is used."""
    lines = len(open_job(job).events)
    last = max(at for at in range(1, 60) if _still_unknown(job, at, lines))
    faults.run(lambda: campaign.issued(job), last)
    told = settle(job)

    assert "it is all kept" in told[0]
    assert open_job(job).events[-1].data["revision"] == 2
    assert wrong(job) == {}


def _left(job, at):
    """Return which papers of an issue lie in their place when it is stopped at an operation."""
    trial = copytree(job, job.parent / f"left-{at}")
    faults.run(lambda: campaign.issued(trial), at)
    return sorted(file.name for file in (trial / "papers").glob("*-02.*"))


def _still_unknown(job, at, lines):
    trial = copytree(job, job.parent / f"try-{at}")
    ended = faults.run(lambda: campaign.issued(trial), at, share=0)
    return ended.end == "killed" and len(open_job(trial).events) == lines


def test_a_paper_that_no_line_knows_is_told_from_an_interruption(job):
    """Its line was cut off, or it was put there: nothing says that it was being written."""
    lines = (job / "journal.jsonl").read_bytes().splitlines(keepends=True)
    (job / "journal.jsonl").write_bytes(b"".join(lines[:-1]))

    assert set(wrong(job).values()) == {UNKNOWN}
    assert UNKNOWN in settle(job)[0]
    assert next_number(open_job(job).events, "recovery") == 2


def test_a_forged_note_of_what_was_being_written_moves_nothing_out_of_the_job(job, tmp_path):
    outside = tmp_path / "mine.txt"
    outside.write_text("mine")
    of = {"sha256": "0" * 64, "length": 4, "to": "set-aside/mine.txt"}
    data = {"why": "", "files": {"../mine.txt": of, "papers/../../mine.txt": of}}
    note = {"kind": "set_aside", "data": data, "by": "A", "source": "check", "head": open_job(job).head}
    (job / BEING_WRITTEN).write_text(json.dumps(note))
    settle(job)

    assert outside.read_text() == "mine"
    assert wrong(job) == {}


@pytest.mark.parametrize("content", [b"", b"[]", b"{}", b"\xff", b"[" * 100_000, b'{"kind": 1}'])
def test_a_note_that_cannot_be_read_stops_nobody(job, content):
    (job / BEING_WRITTEN).write_bytes(content)

    assert list(wrong(job)) == [BEING_WRITTEN]
    assert settle(job) == []
    assert wrong(job) == {}


def test_a_start_that_was_broken_off_is_begun_again(tmp_path):
    """Before its first line was whole: neither verb sends the user to the other."""
    folder = tmp_path / "job"
    (folder / "photographs").mkdir(parents=True)
    (folder / "journal.jsonl").write_bytes(b'{"n":1,"at":"2026')

    with pytest.raises(JobError, match="begin with: recover start"):
        open_job(folder)
    assert len(start(folder, SETTINGS, by="A").events) == 1


def test_nothing_is_written_over_and_nothing_through_a_link(job, tmp_path):
    def kept_over(name):
        about = {"papers": ["recovery"], "revision": 1, "files": listed({name: b"{}"}), "record": "", "rules": "",
                 "capacity": ""}  # fmt: skip
        with Journal(job / "journal.jsonl") as journal:
            keep(journal, {name: b"{}"}, "issue", about, by="A", source="report")

    with pytest.raises(JobError, match="nothing is ever overwritten"):
        kept_over("papers/recovery-01.json")
    (tmp_path / "elsewhere").mkdir()
    (job / "plans").rename(tmp_path / "plans")
    (job / "plans").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(JobError, match="is a link to another place"):
        kept_over("plans/plan-09.json")
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_a_stale_note_moves_nothing_over_what_was_set_aside(job):
    """Mending was stopped after its line and before its note was gone; the user put the original back, as advised."""
    name = "photographs/slate-1 0.jpg"
    original = (job / name).read_bytes()
    (job / name).write_bytes(b"changed")
    mend(job, "M. Ender")
    line = open_job(job).events[-1]
    note = {"kind": line.kind, "data": line.data, "by": line.by, "source": line.source, "head": line.before}
    (job / BEING_WRITTEN).write_text(json.dumps(note))
    (job / name).write_bytes(original)
    settle(job)

    assert (job / "set-aside" / "slate-1 0.jpg").read_bytes() == b"changed"
    assert (job / name).read_bytes() == original
    assert wrong(job) == {}


def test_two_interruptions_accuse_nobody(job):
    """The issue is stopped, then the settling at each of its operations."""
    at = next(at for at in range(1, 60) if len(_left(job, at)) == 3)
    faults.run(lambda: campaign.issued(job), at)
    for again in range(1, 40):
        trial = copytree(job, job.parent / f"again-{again}")
        faults.run(lambda trial=trial: settle(trial), again)

        assert UNKNOWN not in wrong(trial).values(), again
        settle(trial)
        assert wrong(trial) == {}


@pytest.mark.parametrize("kind", ["release", "answer", "start"])
def test_a_note_writes_no_line_but_of_files(job, kind):
    """Whoever can put a file into the folder must not be able to sign by it."""
    data = {"release": {"hold_point": "hands_off", "at": "kiln/1"}, "answer": {"question": "x", "state": "unknown"},
            "start": {"format": "recover-journal", "version": 3}}[kind]  # fmt: skip
    note = {"kind": kind, "data": data, "by": "E. Lectrician", "source": "log", "head": open_job(job).head}
    (job / BEING_WRITTEN).write_text(json.dumps(note))
    before = open_job(job).events
    settle(job)

    assert open_job(job).events == before


ODD = {
    "a link to nowhere": lambda place: place.symlink_to("nowhere"),
    "a link out of the job": lambda place: place.symlink_to(place.parents[2] / "secret"),
    "a pipe": os.mkfifo, "a folder": lambda place: place.mkdir(),
}  # fmt: skip


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("name", ["papers/recovery-02.pdf", "plans/zz"])
def test_what_is_no_plain_file_is_set_aside_unread(job, tmp_path, odd, name):
    (tmp_path / "secret").write_text("secret")
    ODD[odd](job / name)

    assert wrong(job) == {name: UNKNOWN}
    settle(job)
    assert wrong(job) == {}
    campaign.issued(job)
    assert wrong(job) == {}


def test_a_name_that_is_no_text_is_set_aside_under_one_that_is(job):
    (job / "papers" / os.fsdecode(b"k\xf6ln.pdf")).write_bytes(b"x")
    settle(job)

    assert wrong(job) == {}
    assert open_job(job).events[-1].data["files"]["papers/k\\xf6ln.pdf"]["length"] == 1


@pytest.mark.parametrize("name", [".DS_Store", "Thumbs.db", "desktop.ini", "._slate-22.jpg"])
def test_what_systems_leave_in_a_folder_is_nobodys_doing(job, name):
    for folder in ("photographs", "papers", "plans"):
        (job / folder / name).write_bytes(b"x")

    assert wrong(job) == {}
    assert settle(job) == []


def test_a_draft_goes_through_no_link(job, tmp_path):
    """Neither through the folder nor through a name that could be guessed."""
    (tmp_path / "victim").write_text("mine")
    (job / "papers" / ".recovery-draft.pdf.part").symlink_to(tmp_path / "victim")
    papers.draft(job, assess(open_job(job)), "tag", campaign.NOW)
    (job / "papers").rename(tmp_path / "papers")
    (tmp_path / "elsewhere").mkdir()
    (job / "papers").symlink_to(tmp_path / "elsewhere")

    with pytest.raises(JobError, match="is a link to another place"):
        papers.draft(job, assess(open_job(job)), "tag", campaign.NOW)
    assert (tmp_path / "victim").read_text() == "mine"
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_a_journal_that_is_a_link_is_refused_and_a_job_that_is_one_is_not(job, tmp_path):
    (tmp_path / "way").symlink_to(job)
    campaign.issued(tmp_path / "way")
    assert wrong(job) == {}

    (job / "journal.jsonl").rename(tmp_path / "j")
    (job / "journal.jsonl").symlink_to(tmp_path / "j")
    for verb in (open_job, settle):
        with pytest.raises(RecoverError, match="is a link to another place"):
            verb(job)


def test_a_photograph_that_was_renamed_is_named_back(job):
    name = "photographs/slate-1 0.jpg"
    (job / name).rename(job / "photographs" / "kiln plate.jpg")

    assert "is photographs/slate-1 0.jpg as it was taken in" in wrong(job)["photographs/kiln plate.jpg"]
    mend(job)
    assert (job / name).exists()
    assert wrong(job) == {}
    assert open_job(job).events[-1].kind == "issue"  # nothing was set aside


def test_the_rest_of_an_issue_whose_line_was_torn_is_no_accusation(job):
    """A disk that wrote the last line by half kept the files of it; of its hashes none can be read."""
    content = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(content[: content.rindex(b'"files"') + 30])

    assert UNKNOWN not in wrong(job).values()
    told = mend(job)
    assert "the journal's last line was cut off" in told[0]
    assert "keeps what is left of it" in told[0]
    assert UNKNOWN not in " ".join(told)
    assert wrong(job) == {}


@pytest.mark.parametrize("left", [b'"capacity"', b'"record"', b'".json":'])
def test_what_was_issued_stays_issued_where_the_end_of_its_line_is_lost(job, left):
    """The papers are in other hands: what is left of the line names them with their hashes."""
    content, papers_out = (job / "journal.jsonl").read_bytes(), sorted((job / "papers").glob("*-01.*"))
    out = papers_out[0].read_bytes()
    at = content.rindex(left) if left != b'".json":' else content.rindex(b'"length"')
    (job / "journal.jsonl").write_bytes(content[: at + len(left)])
    (told,) = settle(job)

    assert "issued, and the journal's line of that was cut off; it is written anew" in told
    assert _issued_as(open_job(job), out)
    assert all(paper.exists() for paper in papers_out)
    assert wrong(job) == {}
    assert next_number(open_job(job).events, "recovery") == 2


def test_the_remains_of_an_issue_are_not_used_up_by_whoever_is_stopped_first(job):
    """The line that keeps them was written, and nothing came of it."""
    content = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(content[: content.rindex(b'"capacity"')])
    with Journal(job / "journal.jsonl"):
        pass
    (told,) = settle(job)

    assert "issued, and the journal's line of that was cut off" in told
    assert wrong(job) == {}


@pytest.mark.parametrize("cut", [90, 300])
def test_whatever_stops_the_mending_of_a_torn_line_its_issue_is_written_anew(job, cut):
    """Of what is left of the line nothing is cut off before it is kept elsewhere; also where the disk stays full."""
    path, base = job / "journal.jsonl", job.parent / "base"
    path.write_bytes(path.read_bytes()[:-cut])
    copytree(job, base)
    points = faults.run(lambda: settle(copytree(base, job.parent / "counted"))).operations
    for at, full in product(range(1, points + 1), (False, True)):
        rmtree(job)
        copytree(base, job)
        faults.run(lambda: settle(job), at, full=full)
        assert UNKNOWN not in wrong(job).values()
        assert UNKNOWN not in " ".join(settle(job))
        assert [one.data["revision"] for one in open_job(job).events if "recovery" in papers_of(one)] == [1]


@pytest.mark.parametrize(
    ("left", "says"), [(b'"parts"', ""), (b'"record"', "by what rules it was made is no longer known")]
)
def test_of_an_issue_whose_line_was_cut_off_nobody_says_that_it_was_made_by_other_rules(job, left, says):
    files = {"papers/recovery-02.json": b"{}"}
    told = {"papers": ["recovery"], "revision": 2, "files": listed(files), "record": "", "rules": fingerprint(),
            "capacity": "owner", "parts": parts()}  # fmt: skip
    with Journal(job / "journal.jsonl") as journal:
        keep(journal, files, "issue", told, by="A", source="report")
    content = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(content[: content.rindex(left) + 40])
    said = CliRunner().invoke(check, [str(job), "--mend"]).output

    assert "issued, and the journal's line of that was cut off" in said
    assert "Since recovery 2 was made" not in said
    assert (says or "the chain holds") in said
    assert ("no longer known" in said) is bool(says)


def test_what_is_left_of_a_line_that_kept_the_rest_of_another_is_read_through(job):
    content = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(content[: content.rindex(b'"capacity"')])
    with Journal(job / "journal.jsonl"):
        pass
    content = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(content[:-90])
    told = settle(job)

    assert any("issued, and the journal's line of that was cut off" in one for one in told)
    assert wrong(job) == {}


@pytest.mark.parametrize("mark", ["\r\n", "\ufeff"])
def test_a_torn_issue_that_an_editor_saved_is_written_anew(job, mark):
    content = (job / "journal.jsonl").read_bytes()
    cut = content[: content.rindex(b'"capacity"')]
    saved = cut.replace(b"\n", b"\r\n") if mark == "\r\n" else mark.encode() + cut
    (job / "journal.jsonl").write_bytes(saved)
    told = mend(job)

    assert any("issued, and the journal's line of that was cut off" in one for one in told)
    assert wrong(job) == {}


def test_a_paper_whose_line_was_cut_off_is_not_called_altered(job):
    """The record's hash is in no line any more; its own bytes lie set aside."""
    papers_out = {paper.name: paper.read_bytes() for paper in (job / "papers").glob("*-01.pdf")}
    content = (job / "journal.jsonl").read_bytes()
    cut = content.index(b"record-01", content.rindex(b'"kind":"issue"'))
    (job / "journal.jsonl").write_bytes(content[:cut])
    mend(job)
    aside = [name for name, out in papers_out.items() if _interrupted_as(open_job(job), out)]

    assert aside == ["record-01.pdf"]
    assert wrong(job) == {}


@pytest.mark.parametrize(
    ("kind", "data", "cut", "again"),
    [
        ("release", {"hold_point": "own_heat", "at": "kiln/1", "duty": "attend", "role": "attendant"}, 90,
         "sign Own heat again (A. Yilmaz)"),
        ("answer", {"question": "identity.height@kiln/1", "state": "given", "value": 900.0}, 90,
         "answer identity.height@kiln/1 again (A. Yilmaz)"),
        ("note", {"question": "scope.fuel", "text": "by the meter\x1b[2J"}, 79,
         r"note “by the meter\x1b[2J” again (A. Yilmaz)"),
        ("withdrawal", {"role": "electrician", "releases": [3]}, 95, "take the signature back again (A. Yilmaz)"),
        ("withdrawal", {"role": "electrician", "releases": [3]}, 115, "take the signature back again (A. Yilmaz)"),
        ("answer", {"question": "scope.fuel", "state": "unknown"}, 170, "do again what came last"),
    ],
)  # fmt: skip
def test_whoever_said_what_was_cut_off_is_told_in_words_to_do_it_again(job, kind, data, cut, again):
    record = open_job(job)
    event = Event(len(record.events) + 1, campaign.NOW.isoformat(), "A. Yilmaz", "log", kind, data, record.head)
    with (job / "journal.jsonl").open("ab") as file:
        file.write(event.line()[:-cut])
    (problem,) = integrity(job)

    assert problem.remedy == f"the next line that is written keeps what is left; {again}"
    assert settle(job)[0].endswith(f". What to do: {again}")


def test_a_torn_line_in_a_journal_that_an_editor_saved_is_said(job):
    before = (job / "journal.jsonl").read_bytes()
    number = len(open_job(job).events) + 1
    torn = b'{"n":%d,"at":"2026-03-10T09:00:00+00:00","by":"A. Repairer","source":"a' % number
    (job / "journal.jsonl").write_bytes((before + torn).replace(b"\n", b"\r\n") + b"\r\n")
    mend(job)

    assert any("torn" in event.data for event in open_job(job).events)


def test_a_torn_issue_whose_papers_are_others_is_not_written_anew(job):
    content = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(content[: content.rindex(b'"capacity"')])
    for paper in (job / "papers").glob("*-01.*"):
        paper.write_bytes(b"another")
    settle(job)

    assert not [event for event in open_job(job).events if event.kind == "issue" and "recovery" in papers_of(event)]


SAVED = {
    "an empty line": lambda text: text + b"\n", "other line ends": lambda text: text.replace(b"\n", b"\r\n"),
    "a mark": lambda text: b"\xef\xbb\xbf" + text, "wide letters": lambda text: text.decode().encode("utf-16"),
    "no last end": lambda text: text.replace(b"\n", b"\r\n")[:-2],
}  # fmt: skip


@pytest.mark.parametrize("how", SAVED)
def test_what_an_editor_did_to_a_journal_without_touching_its_words_is_undone(job, how):
    before = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(SAVED[how](before))

    assert "was saved by an editor" in wrong(job)["journal.jsonl"]
    with pytest.raises(JournalError, match="--mend puts it back"):
        open_job(job)
    assert "put back as it was written" in mend(job)[0]
    assert (job / "journal.jsonl").read_bytes().startswith(before)
    assert (job / "set-aside" / "journal.jsonl").read_bytes() == SAVED[how](before)
    assert wrong(job) == {}


def test_an_edited_word_is_not_undone(job):
    text = (job / "journal.jsonl").read_bytes().replace(b"900 mm", b"901 mm")
    (job / "journal.jsonl").write_bytes(text + b"\n")

    with pytest.raises(JournalError, match="one of the two was edited"):
        mend(job)


def test_of_two_starts_at_once_one_is_refused(tmp_path, monkeypatch):
    """Both found the folder empty; the second finds the first one's line when it has the lock."""
    start(tmp_path / "job", SETTINGS, by="A")
    monkeypatch.setattr("recover.job.folder._is_blank", lambda _: True)

    with pytest.raises(JobError, match="was begun by another program just now"):
        start(tmp_path / "job", SETTINGS, by="B")
    assert len(open_job(tmp_path / "job").events) == 1


LOST = {
    "every line end of an old system": lambda text: text.replace(b"\n", b"\r"),
    "the later line ends": lambda text: text[:2000] + text[2000:].replace(b"\n", b" "),
    "a line behind the last": lambda text: text + text.splitlines()[0],
    "other words behind it": lambda text: text + b"hello",
}


@pytest.mark.parametrize("how", LOST)
def test_what_is_no_torn_line_is_never_cut_off(job, how):
    """Only the beginning of the next line can be what a power cut left."""
    (job / "journal.jsonl").write_bytes(LOST[how]((job / "journal.jsonl").read_bytes()))
    before = (job / "journal.jsonl").read_bytes()

    assert integrity(job)
    for verb in (open_job, settle):
        with pytest.raises(JournalError):
            verb(job)
    with pytest.raises(JobError, match="exists already"):
        start(job, SETTINGS, by="A")
    assert (job / "journal.jsonl").read_bytes() == before


def test_old_line_ends_are_put_back(job):
    before = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(before.replace(b"\n", b"\r"))
    mend(job)

    assert (job / "journal.jsonl").read_bytes().startswith(before)
    assert wrong(job) == {}


@pytest.mark.parametrize("tail", [b'{"n":%d,"at":"2026-03', b'{"n', b"\0\0\0\0", b'{"n":%d,"at":"2026\0\0'])
@pytest.mark.parametrize("ended", [b"", b"\n", b"\r\n"])
def test_a_torn_line_is_left_out_also_where_an_editor_ended_it(job, tail, ended):
    """A file system may fill up with nought what the power did not let it write."""
    before = (job / "journal.jsonl").read_bytes()
    number = len(open_job(job).events) + 1
    (job / "journal.jsonl").write_bytes(before + (tail % number if b"%d" in tail else tail) + ended)
    mend(job)

    assert (job / "journal.jsonl").read_bytes().startswith(before)
    assert wrong(job) == {}


def test_a_journal_without_a_line_is_not_mended_into_one(tmp_path):
    (tmp_path / "photographs").mkdir()
    (tmp_path / "journal.jsonl").write_bytes(b'{"n":1,"at":"2026')

    with pytest.raises(JobError, match="there is nothing to mend"):
        mend(tmp_path, "M. Ender")


def test_a_folder_that_is_a_link_is_named_and_its_files_are_not_written_down_as_missing(job, tmp_path):
    """The journal is not at fault; once the folder is back all is as it was."""
    (job / "papers").rename(tmp_path / "elsewhere")
    (job / "papers").symlink_to(tmp_path / "elsewhere")
    (problem,) = integrity(job)

    assert str(problem) == (
        "papers: is a link to another place; a job holds its files itself: put what it leads to in its place"
    )
    assert mend(job) == []
    (job / "papers").unlink()
    (tmp_path / "elsewhere").rename(job / "papers")
    assert wrong(job) == {}


def test_nothing_is_set_aside_out_of_the_job(job, tmp_path):
    (tmp_path / "out").mkdir()
    (job / "set-aside").symlink_to(tmp_path / "out")
    (job / "papers" / "stray.pdf").write_bytes(b"x")

    with pytest.raises(JobError, match="is a link to another place"):
        mend(job)
    assert list((tmp_path / "out").iterdir()) == []
    (job / "set-aside").unlink()
    assert settle(job)
    assert wrong(job) == {}


def test_a_note_moves_nothing_but_files_of_the_jobs_folders(job):
    """Not the journal either, by way of one of them."""
    of = {"sha256": "", "length": 0, "to": "set-aside/j"}
    data = {"why": "", "files": {"papers/../journal.jsonl": of}}
    note = {"kind": "set_aside", "data": data, "by": "A", "source": "check", "head": open_job(job).head}
    (job / BEING_WRITTEN).write_text(json.dumps(note))
    settle(job)

    assert (job / "journal.jsonl").exists()
    assert wrong(job) == {}


def test_of_two_pictures_that_are_alike_each_takes_its_own_place(job):
    about = {"id": "P09", "taken": None, "question": "", "bound_by": "", "printable": True}
    one, other = "photographs/slate-1 0.jpg", "photographs/other.jpg"
    content = (job / one).read_bytes()
    with Journal(job / "journal.jsonl") as journal:
        keep_picture(journal, "other.jpg", content, about, by="A", source="photo")
    for name in (one, other):
        (job / name).unlink()
    mend(job)
    for name in ("a.jpg", "b.jpg"):
        (job / "photographs" / name).write_bytes(content)
    mend(job)

    assert {one, other} <= known(open_job(job).events).keys()
    assert wrong(job) == {}


@pytest.mark.parametrize(("place", "said"), [("set-aside", "take"), (BEING_WRITTEN, "take")])
def test_what_stands_in_the_way_is_named_with_what_to_do(job, place, said):
    (job / "papers" / "stray.pdf").write_bytes(b"x")
    (job / place).mkdir() if place == BEING_WRITTEN else (job / place).write_bytes(b"")

    with pytest.raises(JobError, match=said):
        settle(job)
    (job / place).rmdir() if place == BEING_WRITTEN else (job / place).unlink()
    settle(job)
    assert wrong(job) == {}


def test_a_plan_that_was_lost_and_found_is_no_newer_for_it(job):
    campaign.planned(job)
    first = job / "plans" / "plan-01.json"
    content = first.read_bytes()
    first.unlink()
    mend(job)
    first.write_bytes(content)
    mend(job)

    assert wrong(job) == {}
    assert store.newest(open_job(job)).number == 2
