"""Every number of the program's data says where it comes from; what leads nowhere is found, wherever it stands."""

import shutil
from importlib.resources import files
from pathlib import Path

import pytest

from recover.base.sources import authority_problems

SPOILT = [
    ("physics/materials.toml", 'source = "vdi-heat-atlas"', 'source = "no-such"', "'no-such' is not known"),
    ("physics/materials.toml", "{ low = 450, mid = 490,", "{ low = 495, mid = 490,", "is not in order"),
    ("engineering/elements.toml", 'basis = "document", source = "alloy-handbook", clause = "data of the alloys"',
     'basis = "document"', "names no clause"),
    ("profiles/own_limits.toml", 'basis = "own_limit"', 'because_of = "own_limit"', "has no authority"),
    ("engineering/supply.toml", '63, 80]\nbasis = ', '63, 80]\nbecause_of = ', "has no authority"),
    ("plan/cards.toml", 'source = "alloy-handbook"', 'source = "alloy-hand"', "'alloy-hand' is not known"),
    ("rules/shut.toml", 'clause = "drying and fans"', 'clause = ""', "names no clause"),
    ("base/sources.toml", 'id = "nema-2016"', 'id = "nobody-cites-me"', "'nema-2016' is not known"),
]  # fmt: skip


def test_every_number_and_every_citation_of_the_program_has_its_authority():
    assert authority_problems() == []


@pytest.mark.parametrize(("file", "good", "bad", "says"), SPOILT, ids=[f"{one[0]}: {one[3]}" for one in SPOILT])
def test_what_is_spoilt_in_any_file_is_found(file, good, bad, says, tmp_path, monkeypatch):
    package = shutil.copytree(Path(str(files("recover"))), tmp_path / "recover", ignore=shutil.ignore_patterns("*.py"))
    text = (package / file).read_text("utf-8")
    (package / file).write_text(text.replace(good, bad, 1), "utf-8")
    if file == "base/sources.toml":
        monkeypatch.setattr("recover.base.sources.bibliography", lambda: _read(package))

    assert good in text
    assert any(says in str(problem) for problem in authority_problems(package))


def _read(package):
    import tomllib

    return {one["id"]: one for one in tomllib.loads((package / "base/sources.toml").read_text("utf-8"))["source"]}


def test_a_source_that_nobody_cites_is_found(monkeypatch):
    from recover.base.sources import bibliography

    more = {**bibliography(), "nobody": next(iter(bibliography().values()))}
    monkeypatch.setattr("recover.base.sources.bibliography", lambda: more)

    assert [problem.where for problem in authority_problems()] == ["base/sources.toml [nobody]"]
