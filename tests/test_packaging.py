"""What is built holds all that the program reads, and finds it where it is installed."""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parents[1]
FONTS = ("fonts.conf", "fonts.css", "OFL.txt", ".woff")
READ_AT_RUN_TIME = (".toml", "recover/LICENSE", "recover/py.typed", *FONTS)


def names(folder: Path) -> set[str]:
    """The files below a folder of the checkout, by their paths in the checkout."""
    return {
        path.relative_to(CHECKOUT).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and path.parent.name != "__pycache__"
    }


def run(*command: str | Path, **kept: str) -> str:
    """Run a command away from the checkout, so that it is not found for standing in it."""
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", **kept}
    done = subprocess.run(command, cwd=CHECKOUT.root, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def origin_and_templates(**kept: str) -> tuple[Path, set[str]]:
    """From where `recover` is imported, and the templates that it finds there."""
    ask = (
        "import recover; from recover.report.pdf import _template_folder;"
        "print(recover.__file__, *(path.name for path in _template_folder().iterdir()), sep='\\n')"
    )
    origin, *templates = run(sys.executable, "-c", ask, **kept).splitlines()
    return Path(origin).parent, set(templates)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the source distribution, and the wheel that was built from that, not from the checkout."""
    folder = tmp_path_factory.mktemp("built")
    run(sys.executable, "-m", "build", "--no-isolation", "--outdir", folder, CHECKOUT)
    return folder


@pytest.fixture(scope="module")
def wheel(built: Path) -> Path:
    return next(built.glob("*.whl"))


def test_the_wheel_holds_the_package_and_the_templates_and_nothing_else(wheel: Path) -> None:
    held = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    assert held == names(CHECKOUT / "recover") | {f"recover/{name}" for name in names(CHECKOUT / "templates")}
    for ending in READ_AT_RUN_TIME:
        assert any(name.endswith(ending) for name in held), ending


def test_the_wheel_carries_both_licences(wheel: Path) -> None:
    held = zipfile.ZipFile(wheel).namelist()
    assert {name.split("/licenses/")[1] for name in held if "/licenses/" in name} == {
        "recover/LICENSE",
        "recover/report/fonts/OFL.txt",
    }


def test_the_source_distribution_is_enough_to_try_and_to_test_the_program(built: Path) -> None:
    with tarfile.open(next(built.glob("*.tar.gz"))) as archive:
        held = {name.partition("/")[2] for name in archive.getnames()}
    examples = {name for name in names(CHECKOUT / "examples") if not name.startswith("examples/job/")}
    assert held >= names(CHECKOUT / "recover") | names(CHECKOUT / "templates") | names(CHECKOUT / "tests") | examples
    assert held >= {"README.md", "DEVELOPERS.md", "pyproject.toml", ".setup.sh", ".pins"}
    assert not any(name.startswith(("examples/job", ".venv", "dist")) for name in held)


def test_an_installed_wheel_finds_its_templates(wheel: Path, tmp_path: Path) -> None:
    run(sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--target", tmp_path, wheel)
    origin, templates = origin_and_templates(PYTHONPATH=str(tmp_path))
    assert origin == tmp_path / "recover"
    assert templates == {path.name for path in (CHECKOUT / "templates").iterdir()}


def test_an_editable_checkout_reads_its_own_templates() -> None:
    origin, templates = origin_and_templates()
    assert origin == CHECKOUT / "recover"
    assert templates == {path.name for path in (CHECKOUT / "templates").iterdir()}
