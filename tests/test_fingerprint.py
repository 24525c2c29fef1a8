"""The fingerprint: changed by every number and every sentence that decides, and by nothing else."""

import re
import shutil
from pathlib import Path

import pytest

import recover
from recover.base.fingerprint import (
    COMPILED,
    KERNEL,
    ONLY_SAID,
    PROGRAM,
    _parts_of,
    changed_since,
    fingerprint,
    parts,
)
from recover.commands.check_command import ROOMS

PACKAGE = Path(recover.__file__).parent
DATA = sorted(file.relative_to(PACKAGE) for file in PACKAGE.rglob("*.toml"))
DECIDE = [file for file in DATA if file.parts[0] not in ONLY_SAID]


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    """The data of the package and its compiled modules, and nothing else of it."""
    folder = tmp_path_factory.mktemp("data")
    for file in [*DATA, *map(Path, COMPILED)]:
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(PACKAGE / file, folder / file)
    return folder


def changed(data, file, text):
    """Return the parts with a file of other text, and put it back."""
    before = (data / file).read_bytes()
    try:
        (data / file).write_text(text, "utf-8")
        return _parts_of(data)
    finally:
        (data / file).write_bytes(before)


def spread(found, most=4):
    """Return some of what was found: from the first to the last."""
    return found[:: max(1, len(found) // most)]


def nudged(text):
    """Yield a text with a number made greater, and with a sentence made longer, in some places each."""
    lines = [match for match in re.finditer(r"^(?!\s*#).*$", text, re.M) if match[0].strip()]
    at = [line.start() + number.end() for line in lines for number in re.finditer(r"(?<![\w.])\d+(?![\w.])", line[0])]
    yield from (text[:end] + "1" + text[end:] for end in spread(at))
    ends = [line.start() + said.end() - 1 for line in lines for said in re.finditer(r'"[^"\\]+"', line[0])]
    yield from (text[:end] + " not" + text[end:] for end in spread(ends))


def test_every_paper_carries_the_fingerprint_of_the_data_as_it_lies(data):
    assert parts() == _parts_of(data)


def test_the_one_over_all_changes_with_every_part(monkeypatch):
    now, before = parts(), fingerprint()
    for room in now:
        monkeypatch.setattr("recover.base.fingerprint.parts", lambda room=room: {**now, room: "another"})

        assert fingerprint.__wrapped__() != before


@pytest.mark.parametrize("file", DECIDE, ids=str)
def test_a_number_or_a_sentence_that_decides_changes_it(data, file):
    found = list(nudged((PACKAGE / file).read_text("utf-8")))

    assert found
    assert parts() not in [changed(data, file, text) for text in found]


@pytest.mark.parametrize("file", [Path("rules/wiring.toml"), Path("profiles/uk.toml")], ids=str)
def test_a_remark_an_empty_line_and_an_other_end_of_lines_do_not(data, file):
    text = (PACKAGE / file).read_text("utf-8")

    for other in (f"# a remark\n\n{text}\n# and another\n", text.replace("\n", "\r\n"), text.replace("\n", "\n\n")):
        assert changed(data, file, other) == parts()


@pytest.mark.parametrize("file", [file for file in DATA if file not in DECIDE], ids=str)
def test_words_on_paper_and_screen_do_not(data, file):
    assert changed(data, file, "") == parts()


def test_no_sentence_of_several_lines_hides_a_line_that_looks_like_a_remark():
    for file in DECIDE:
        assert not re.search(r'"""[^"]*\n\s*#', (PACKAGE / file).read_text("utf-8")), file


def test_the_version_of_the_program_changes_it(data, monkeypatch):
    monkeypatch.setattr(recover, "__version__", "0.0.0")

    assert _parts_of(data) != parts()


@pytest.mark.parametrize("file", COMPILED)
def test_another_line_in_what_is_compiled_is_a_change_of_the_kernel(data, file):
    """A remark is none."""
    source = (PACKAGE / file).read_text("utf-8")

    assert changed_since(changed(data, file, f"{source}\nONE_MORE = 1\n")) == [KERNEL]
    assert changed(data, file, f"{source}\n# a remark\n") == parts()


def test_every_module_that_is_compiled_counts():
    """Whatever is handed to the compiler is in a module whose source is in the fingerprint."""
    compiles = re.compile(r"^\s*@(?:compiled|n?jit|vectorize)\b|numba import|kernel import .*\bcompiled\b", re.M)
    sources = {file.relative_to(PACKAGE).as_posix(): file.read_text("utf-8") for file in PACKAGE.rglob("*.py")}
    found = {name for name, text in sources.items() if compiles.search(text)}

    assert found == set(COMPILED)


@pytest.mark.parametrize("file", spread(DECIDE, most=12), ids=str)
def test_a_change_is_of_the_room_whose_file_it_is_in(data, file):
    before = (data / file).read_bytes()
    try:
        (data / file).write_text(next(nudged((PACKAGE / file).read_text("utf-8"))), "utf-8")
        then = _parts_of(data)
    finally:
        (data / file).write_bytes(before)

    assert changed_since(then) == [file.parts[0]]
    assert changed_since(parts()) == []


def test_another_version_of_the_program_is_a_change_of_the_program(data, monkeypatch):
    monkeypatch.setattr("recover.__version__", "0.0.0")

    assert changed_since(_parts_of(data)) == [PROGRAM]


def test_every_part_has_its_words():
    assert set(parts()) <= set(ROOMS)
