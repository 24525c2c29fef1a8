"""The compiled code on disk: renewed when its file changes, done without where it cannot be kept."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from recover.physics import kernel

PROGRAM = """
import sys
sys.path.insert(0, sys.argv[1])
import small
print(small.times(21.0), sum(small.times.stats.cache_hits.values()) if hasattr(small.times, "stats") else 0)
"""


def small_kernel(folder: Path, factor: int) -> None:
    """Write a file that compiles one small function by the kernel's own `compiled`."""
    source = Path(kernel.__file__).read_text()
    begin, end = source.index("not_kept: list"), source.index("# ---", source.index("def compiled("))
    (folder / "small.py").write_text(
        "from __future__ import annotations\nfrom collections.abc import Callable\nfrom typing import Any\n"
        f"from numba import njit\n\n{source[begin:end]}\n\n"
        f"@compiled(called=True)\ndef times(x):\n    return {factor} * x\n"
    )


def run(folder: Path, **environment: str) -> tuple[float, int]:
    """Return what the function gives in a new process, and how often it was taken from the disk."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(folder)],
        capture_output=True, text=True, check=True, env={**os.environ, **environment},
    )  # fmt: skip
    value, hits = done.stdout.split()
    return float(value), int(hits)


def test_what_is_compiled_is_kept_and_renewed_when_its_file_changes(tmp_path):
    cache = {"NUMBA_CACHE_DIR": str(tmp_path / "cache")}
    small_kernel(tmp_path, 2)
    assert run(tmp_path, **cache) == (42.0, 0)
    assert run(tmp_path, **cache) == (42.0, 1)

    small_kernel(tmp_path, 100)  # as long as before or not, and within the same second or not
    assert run(tmp_path, **cache) == (2100.0, 0)


def test_where_nothing_can_be_kept_it_is_compiled_all_the_same(tmp_path):
    small_kernel(tmp_path, 2)
    blocked = tmp_path / "not-a-folder"
    blocked.write_text("a file where a folder would have to be")

    # A cache folder, a home and a __pycache__ that are files can be written by nobody, not even by root.
    shutil.rmtree(tmp_path / "__pycache__", ignore_errors=True)
    (tmp_path / "__pycache__").write_text("")
    homes = dict.fromkeys(("HOME", "XDG_CACHE_HOME", "LOCALAPPDATA", "USERPROFILE"), str(blocked))
    assert run(tmp_path, PYTHONDONTWRITEBYTECODE="1", **homes) == (42.0, 0)


def test_all_compiled_code_stands_in_one_file():
    """What is kept is renewed with the file of the function, not with a file that it calls."""
    folder = Path(kernel.__file__).parents[1]
    users = [path for path in folder.rglob("*.py") if "numba" in path.read_text()]

    assert users == [Path(kernel.__file__)]
