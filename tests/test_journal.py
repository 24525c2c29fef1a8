"""The journal is evidence: nothing is lost that was on the disk, and nothing is changed unseen."""

import hashlib
import json
import multiprocessing
from pathlib import Path

import pytest

from recover.base.errors import AnswerError, JournalError
from recover.job.journal import FORMAT, VERSION, Journal, inspect, read

pytestmark = pytest.mark.quick

START = {"format": FORMAT, "version": VERSION, "job": "j", "profile": "uk", "paper": "A4", "zone": "UTC"}


@pytest.fixture
def path(tmp_path):
    with Journal(tmp_path / "journal.jsonl") as journal:
        journal.append("start", START, by="A", source="test")
        for number in range(3):
            journal.append("answer", {"question": f"q{number}", "state": "unknown"}, by="A", source="test")
    return tmp_path / "journal.jsonl"


def test_each_line_carries_the_hash_of_the_line_before(path):
    lines = path.read_bytes().splitlines()

    assert [json.loads(line)["before"] for line in lines[1:]] == [
        hashlib.sha256(line).hexdigest() for line in lines[:-1]
    ]
    assert read(path).head == hashlib.sha256(lines[-1]).hexdigest()


_END = len(',"before":"') + 64 + len('"}')
"""How long the end is that every line has; what stands in it is known."""


def test_a_file_cut_at_any_byte_opens_with_everything_but_the_torn_line(path, tmp_path):
    whole = path.read_bytes()
    cut = tmp_path / "cut.jsonl"
    for size in range(len(whole) + 1):
        cut.write_bytes(whole[:size])
        line_end = whole.find(b"\n", size)
        only_its_end_is_lost = line_end - _END <= size <= line_end and not whole[:size].endswith(b"\n")
        expected = whole[:size].count(b"\n") + only_its_end_is_lost

        assert len(read(cut).events) == expected


@pytest.mark.parametrize("lost", [1, 2, 40, _END, _END + 1])
def test_a_lost_line_end_loses_no_line(path, lost):
    """As an editor leaves a file, or a copy that stopped short: what every line ends with is known."""
    whole = path.read_bytes()
    path.write_bytes(whole[:-lost])
    assert len(read(path).events) == 4

    with Journal(path) as journal:
        journal.append("answer", {"question": "again", "state": "unknown"}, by="A", source="test")

    assert path.read_bytes().startswith(whole)
    assert [event.data.get("question") for event in read(path).events] == [None, "q0", "q1", "q2", "again"]


def test_line_ends_of_another_system_are_one_complaint(path):
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))

    _, problems = inspect(path)

    assert [problem.what.partition(":")[0] for problem in problems] == ["was saved by an editor"]


def test_any_flipped_bit_is_a_sentence(path):
    """Every bit of the file, one at a time: what is read is the same file or a named line."""
    whole = path.read_bytes()
    for at in range(0, len(whole) * 8, 5):
        flipped = bytearray(whole)
        flipped[at // 8] ^= 1 << at % 8
        path.write_bytes(flipped)
        record, problems = inspect(path)

        assert problems or record.torn or bytes(flipped) == whole or record.events != read_of(whole, path)


def read_of(content, path):
    path.write_bytes(content)
    return read(path).events


def test_a_hundred_faults_are_twenty_and_a_number(path):
    path.write_bytes(b"no line\n" * 100)

    with pytest.raises(JournalError, match="and 80 more"):
        read(path)


def test_a_line_that_is_nested_without_end_is_no_journal_line(path):
    path.write_bytes(path.read_bytes() + b"[" * 100_000 + b"\n")

    _, problems = inspect(path)

    assert [problem.what for problem in problems] == ["is no journal line"]


def test_writing_goes_on_after_a_torn_line(path):
    path.write_bytes(path.read_bytes()[: -_END - 3])

    with Journal(path) as journal:
        journal.append("answer", {"question": "again", "state": "unknown"}, by="A", source="test")

    events = read(path).events
    assert [event.data.get("question") for event in events] == [None, "q0", "q1", None, "again"]
    assert events[3].kind == "set_aside"
    assert '"question":"q2"' in events[3].data["torn"]  # what is left of it can be read


def test_an_edited_line_is_named(path):
    path.write_bytes(path.read_bytes().replace(b'"q1"', b'"q7"'))

    with pytest.raises(JournalError, match=r"journal.jsonl line 4: does not continue line 3: one of the two"):
        read(path)


def test_a_removed_line_is_named(path):
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:2] + lines[3:]))

    with pytest.raises(JournalError, match=r"line 3: does not continue") as told:
        read(path)
    assert str(told.value).count("does not continue") == 1  # once, and not of every line after it
    assert "What can be done: recover check" in str(told.value)


def test_a_line_that_is_none_is_named_and_all_problems_are_shown_at_once(path):
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([lines[0], b"not json\n", b'{"n": 3}\n', lines[3]]))

    _, problems = inspect(path)

    assert [problem.where for problem in problems] == [f"journal.jsonl line {number}" for number in (2, 3, 4)]


def test_a_newer_journal_is_refused_and_left_untouched(tmp_path):
    path = tmp_path / "journal.jsonl"
    with Journal(path) as journal:
        journal.append("start", {**START, "version": VERSION + 1}, by="A", source="test")
    before = path.read_bytes()

    with (
        pytest.raises(JournalError, match=f"newer version \\({VERSION + 1}, this program knows up to {VERSION}\\)"),
        Journal(path),
    ):
        pass

    assert path.read_bytes() == before


def _try_to_open(path, result):
    try:
        with Journal(path):
            result.put("opened")
    except JournalError as error:
        result.put(str(error))


def test_a_second_writer_is_refused_while_the_first_has_the_file(path):
    context = multiprocessing.get_context("spawn")
    result = context.Queue()
    with Journal(path):
        other = context.Process(target=_try_to_open, args=(path, result))
        other.start()
        message = result.get(timeout=60)
        other.join()

    assert "another program is writing to it" in message


def test_the_stamp_is_the_journals_own_reading_of_the_clock(path):
    assert all(event.moment.tzinfo is not None for event in read(path).events)


MEASURED = {"question": "q", "state": "given", "value": 1, "said": "1"}


@pytest.mark.parametrize(
    "data",
    [
        {**MEASURED, "measured": "0206-03-10T09:20:00+00:00"},
        {**MEASURED, "measured": "9999-12-31T23:59:00+00:00"},
        {**MEASURED, "value": 10**5000},
        {**MEASURED, "value": float("nan")},
        {**MEASURED, "said": "J\udcf6rg"},
        {**MEASURED, "said": "A\x1b]0;owned"},
        {**MEASURED, "said": "A\u202eB"},
        {**MEASURED, "more": 1},
    ],
)
def test_nothing_is_written_that_nobody_could_read(path, data):
    before = path.read_bytes()

    with Journal(path) as journal, pytest.raises(AnswerError):
        journal.append("answer", data, by="A", source="test")
    assert path.read_bytes() == before


@pytest.mark.parametrize("place", [b'"by":"', b'"source":"', b'"question":"'])
@pytest.mark.parametrize("letters", [r"\u202e", r"\u001b]0;owned", r"\ud800", "\u2028"])
def test_nothing_is_read_that_could_not_be_written(path, place, letters):
    """A chain that holds proves who wrote nothing: the same letters are refused in a line that another hand wrote."""
    *lines, last = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines, last.replace(place, place + letters.encode(), 1)]))

    (problem,) = inspect(path)[1]
    assert problem.what == "holds letters that are never written down"


def test_nothing_is_written_into_a_file_that_another_program_put_in_its_place(path, tmp_path):
    """As a folder does that is kept alike on several machines."""
    copy = tmp_path / "copy"
    copy.write_bytes(path.read_bytes())

    with Journal(path) as journal:
        journal.append("answer", {"question": "mine", "state": "unknown"}, by="A", source="test")
        copy.replace(path)
        with pytest.raises(JournalError, match=r"another file in its place .*; the answer after line 5 is not kept"):
            journal.append("answer", {"question": "lost", "state": "unknown"}, by="A", source="test")
    (kept,) = (tmp_path / "set-aside").iterdir()
    assert [event.data.get("question") for event in read(kept).events][-1] == "mine"


def test_nothing_is_written_behind_what_another_program_wrote(path):
    with Journal(path) as journal:
        with path.open("ab") as other:
            other.write(b"x")
        with pytest.raises(JournalError, match="another program changed it"):
            journal.append("answer", {"question": "lost", "state": "unknown"}, by="A", source="test")


def test_what_is_left_of_a_torn_line_is_kept_whatever_stands_in_it(path):
    number = len(path.read_bytes().splitlines()) + 1
    with path.open("ab") as file:
        file.write(f'{{"n":{number},"at":"2026'.encode() + b"\0\1\xff\x1b[2J")
    with Journal(path):
        pass

    assert read(path).events[-1].data["torn"].endswith("2026\\x00\\x01\\xff\\x1b[2J")


def test_a_torn_line_stays_where_its_remains_cannot_be_kept(path, monkeypatch):
    whole = path.read_bytes()
    path.write_bytes(whole[:-90])

    def full(_path, _to):
        raise OSError("no space left")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(JournalError, match="it is left as it is: free some space"), Journal(path):
        pass
    assert path.read_bytes() == whole[:-90]
    assert list(path.parent.iterdir()) == [path]
