"""The README is true: it begins with the job, and every verb has help and stands in it."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from recover.commands.cli import verbs

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")


def test_the_first_paragraph_states_the_job():
    first = README.split("\n\n")[1]

    for word in (
        "kiln",
        "under water",
        "inspection",
        "replaced",
        "kept",
        "switched on",
        "owner",
        "insurer",
        "electrician",
    ):
        assert word in first


def test_the_two_commands_stand_in_the_first_screen():
    screen = "\n".join(README.splitlines()[:24])

    assert "./examples/demo" in screen
    assert "./tests/run" in screen


@pytest.mark.parametrize("verb", sorted(verbs.commands))
def test_every_verb_has_help_with_an_example_and_stands_in_the_readme(verb):
    shown = CliRunner().invoke(verbs, [verb, "--help"])

    assert shown.exit_code == 0
    assert "Example:" in shown.output
    assert f"recover {verb}" in README


@pytest.mark.parametrize("system", ["Windows", "macOS", "Debian"])
def test_the_readme_says_how_to_install(system):
    assert f"| {system}" in README


def test_the_top_level_holds_what_the_guide_names():
    expected = {"README.md", "DEVELOPERS.md", "pyproject.toml", "recover", "templates", "tests", "examples"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.name != "dist"}

    assert found == expected
