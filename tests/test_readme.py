"""README and guide are true: the job first, every verb, every link, every word once; each is read in one sitting."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from recover.commands.cli import verbs

pytestmark = pytest.mark.quick

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


def test_the_readme_is_two_screens():
    lines = README.splitlines()

    assert len(lines) <= 110
    assert [line for line in lines if len(line) > 160] == []


def test_the_guide_is_read_in_one_sitting():
    assert len((ROOT / "DEVELOPERS.md").read_text("utf-8").split()) <= 2500


DOCUMENTS = sorted(
    page for page in (*ROOT.glob("*.md"), *(ROOT / "examples").rglob("*.md"), *(ROOT / "recover").rglob("*.md"))
    if ROOT / "examples" / "job" not in page.parents
)  # fmt: skip


@pytest.mark.parametrize("page", DOCUMENTS, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_link_leads_somewhere(page):
    links = re.findall(r"\]\(([^)#\s]+)", page.read_text("utf-8"))

    assert [link for link in links if not (page.parent / link).exists()] == []


def test_every_document_is_reached_from_the_readme():
    seen, ahead = set(), [ROOT / "README.md"]
    while ahead:
        page = ahead.pop().resolve()
        if page in seen or page.suffix != ".md":
            continue
        seen.add(page)
        ahead += [page.parent / link for link in re.findall(r"\]\(([^)#\s]+)", page.read_text("utf-8"))]

    assert [page for page in DOCUMENTS if page not in seen] == []


def test_every_word_of_the_glossary_stands_once_and_has_a_home():
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    glossary = guide.split("## Glossary")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (?!word)(\w[^|]*) \| [^|]+ \| `([^`|]+)` \| [^|]+ \|$", glossary, re.M)
    words = [row[0] for row in rows]

    assert len(rows) == glossary.count("\n|") - 2
    assert len(words) == len(set(words))
    assert [home for _, home in rows if not any((ROOT / "recover").rglob(home.rstrip("/")))] == []
