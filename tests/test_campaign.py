"""A slice of each campaign (campaign.py), the same in every run; and each seen to find what it looks for."""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from recover.job import writing
from tests import campaign, faults

NOTHING = {}


@pytest.mark.parametrize("full", [False, True], ids=["killed", "disk full"])
def test_whatever_stops_a_verb_that_writes_nothing_is_lost_and_nobody_is_accused(full):
    row = campaign.kills(8, full=full)

    assert row.examples == NOTHING
    assert row.tried >= 50


def test_a_file_that_was_changed_shows_and_ends_nothing():
    assert campaign.tampering(300).examples == NOTHING


def test_whatever_is_typed_is_a_number_or_a_sentence():
    assert campaign.typed(1000).examples == NOTHING


def test_a_damaged_picture_is_taken_or_refused_and_starts_no_other_program():
    assert campaign.pictures(60).examples == NOTHING


def test_the_small_sums_end_in_a_result_or_a_sentence_whatever_they_are_given():
    assert campaign.sums(600).examples == NOTHING


# ---------------------------------------------------------------------------------------- each has been seen to fire


def test_a_file_that_is_written_before_its_note_shows_as_an_accusation(monkeypatch):
    """Without the note of what is being written an interruption looks like lines cut off."""
    monkeypatch.setattr(writing.Begun, "note", lambda _, journal: (journal.folder / writing.BEING_WRITTEN).touch())
    monkeypatch.setattr(campaign, "SCENES", {"issue": campaign.SCENES["issue"]})

    assert campaign.kills(40).faults["false alarm"]


def test_a_line_that_is_written_before_its_file_shows_as_lost_files(monkeypatch):
    def hasty(journal, contents, kind, data, *, by, source):
        event = journal.append(kind, dict(data), by=by, source=source)
        for name, content in contents.items():
            writing.write_whole(journal.folder / name, content)
        return event

    monkeypatch.setattr(writing, "keep", hasty)
    monkeypatch.setattr(campaign, "SCENES", {"photographs": campaign.SCENES["photographs"]})

    assert campaign.kills(40).faults["false alarm"]


def test_a_change_that_nothing_reads_shows_as_unnoticed(monkeypatch):
    monkeypatch.setattr(campaign, "integrity", lambda _: [])
    monkeypatch.setattr(campaign, "proved", lambda *_: b"")

    assert campaign.tampering(50).faults["unnoticed"]


def test_a_reader_that_evaluates_shows_as_a_traceback(monkeypatch):
    monkeypatch.setattr(campaign, "read_quantity", lambda text, _unit: eval(text))

    assert campaign.typed(50).faults["traceback"]


# ---------------------------------------------------------------------------------------- what a run touches

WORKS = {
    "answers": (campaign.begun, campaign.answered), "photographs": (campaign.begun_with_camera, campaign.photographed),
    "plan": (campaign.worked, campaign.planned), "issue": (campaign.worked, campaign.issued),
}  # fmt: skip


def touched_by(verb, job):
    """Return what a verb touches in a job, in the order in which it does."""
    before, work = WORKS[verb]
    before(job)
    return faults.run(lambda: work(job)).touched


@pytest.mark.parametrize("verb", WORKS)
def test_nothing_is_acknowledged_before_its_bytes_and_its_folder_are_synced(tmp_path, verb):
    """In the order of the calls: the file under its passing name, its folder, then the journal, then its line."""
    job = tmp_path / "job"
    touched = touched_by(verb, job)
    synced: list[str] = []
    lines = 0
    for event, about in touched:
        if event == "sync":
            synced.append(Path(about).relative_to(job).as_posix())
        elif event == "os.rename":
            assert Path(about).relative_to(job).as_posix() in synced, about
            synced.append(f"renamed in {Path(about).parent.relative_to(job).as_posix()}")
        elif event == "line":
            lines += 1
            assert synced[-1] == "journal.jsonl", about
            renamed = {one.removeprefix("renamed in ") for one in synced if one.startswith("renamed in ")}
            for folder in renamed:
                last = max(at for at, one in enumerate(synced) if one == f"renamed in {folder}")
                assert folder in synced[last:], about

    assert lines >= 1


WHOLE_VISIT = """
import os, sys
from contextlib import suppress
with suppress(OSError):
    import weasyprint  # looks for the libraries that it prints with by asking the linker, which is a program
job, answers, pictures = sys.argv[1:]
touched = []

def audited(event, about):
    if event == "open" and isinstance(about[2], int) and about[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
        touched.append(os.fsdecode(about[0]) if isinstance(about[0], str | bytes) else "")
    elif event in ("os.rename", "os.remove", "os.mkdir", "os.truncate"):
        touched.append(str(about[0]))
    elif event.startswith(("socket.", "subprocess.", "os.exec", "os.posix_spawn", "os.system")):
        touched.append("!" + event)

sys.addaudithook(audited)
from recover.commands.cli import main

for words in (
    ["start", job, "--answers", answers + "/call.toml"], ["inspect", job, "--answers", answers + "/answers.toml"],
    ["photo", job, pictures], ["assess", job], ["log", job], ["report", job, "--record"],
    ["report", job, "--issue", "--by", "A", "--as", "kiln repairer"], ["check", job], ["check", job, "--mend"],
    ["check", job, "--against", job + "/papers/record-01.pdf"],
):
    try:
        main(words)
    except SystemExit as left:
        print("left", words[0], left.code)
print("touched", *sorted(set(touched)), sep="\\n")
"""


def test_a_whole_visit_writes_in_its_job_and_in_caches_alone_and_opens_no_socket(tmp_path):
    """Every verb but the plan, in one process with its interpreter watched."""
    visit = Path(__file__).parents[1] / "examples" / "garden-room-splash"
    words = [str(tmp_path / "job"), str(visit), str(visit / "photographs")]
    done = subprocess.run([sys.executable, "-c", WHOLE_VISIT, *words], capture_output=True, text=True)
    told, _, touched = done.stdout.partition("touched\n")
    left = [line.split()[2] for line in told.splitlines() if line.startswith("left ")]
    caches = ("__pycache__", ".cache", "matplotlib", "fontconfig", "/dev/null", "numba", "/weasyprint-")
    named = [one for one in touched.split("\n") if one.startswith(("/", "!"))]  # others lie in a folder of those
    probe = re.compile(re.escape(tempfile.gettempdir()) + r"/[a-z0-9_]{8}")  # by which Python finds where it may write
    outside = [one for one in named if not one.startswith(str(tmp_path / "job")) and not probe.fullmatch(one)]

    assert left == ["0"] * 10, done.stderr
    assert [one for one in outside if not any(cache in one for cache in caches)] == []


@pytest.mark.parametrize("verb", WORKS)
def test_nothing_outside_the_job_is_opened_for_writing_and_no_socket_or_program(tmp_path, verb):
    job = tmp_path / "job"
    touched = touched_by(verb, job)
    written = [about for event, about in touched if event in ("open", "os.rename", "os.remove", "os.mkdir")]
    outside = [one for one in written if not Path(one).is_relative_to(job) and "__pycache__" not in one]

    assert outside == []
    assert not [event for event, _ in touched if event.startswith(("socket", "subprocess", "os.exec", "os.fork"))]
