"""Reads a TOML data file of the program into frozen dataclasses; the one door by which the program's own data enters.

Every file begins with its format and version. A key that no field takes is refused, and every problem of a file is
shown at once, with the file's name and the place in it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Hashable, Iterator
from dataclasses import replace
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from stat import S_ISREG
from typing import Any, TypeVar, cast

from recover.base.errors import DataError, Problem

T = TypeVar("T")
VERSION = 1
_LARGEST_BYTES = 10_000_000


def load(name: str, file_format: str, shape: type[T], folder: Traversable | Path | None = None) -> T:
    """Read the data file `name` (a path below the package, or below `folder`) as `shape`. Raises DataError."""
    try:
        return parse((folder or files("recover")).joinpath(name).read_text("utf-8"), name, file_format, shape)
    except (OSError, UnicodeDecodeError) as error:
        raise DataError([Problem(name, f"cannot be read ({error})", "name a text file that exists")]) from error


def data_files(package: Traversable) -> list[tuple[str, str]]:
    """Return every data file of a package with its text, in the order of their names."""
    return sorted(_below(package, ""))


def _below(folder: Traversable, within: str) -> Iterator[tuple[str, str]]:
    for one in folder.iterdir():
        name = f"{within}{one.name}"
        if one.is_dir():
            yield from _below(one, f"{name}/")
        elif name.endswith(".toml"):
            yield name, one.read_text("utf-8")


def read_own(path: Path, file_format: str, shape: type[T], newest: int = VERSION) -> T:
    """Read a file that somebody wrote, as `shape`. Raises DataError for what is no text of a size that people write."""
    try:
        found = path.stat()
        if not S_ISREG(found.st_mode) or found.st_size > _LARGEST_BYTES:
            what = f"is no plain file of at most {_LARGEST_BYTES // 10**6} MB"
            raise DataError([Problem(str(path), what, "name a text file")])
        return parse(path.read_text("utf-8-sig"), path.name, file_format, shape, newest)
    except (OSError, UnicodeDecodeError) as error:
        raise DataError([Problem(str(path), f"cannot be read ({error})", "name a text file that exists")]) from error


def parse(text: str, name: str, file_format: str, shape: type[T], newest: int = VERSION) -> T:
    """Read TOML text as `shape`, checking its `format` and `version` (up to the `newest` that is known) first.

    Raises DataError naming `name`.
    """
    try:
        content = tomllib.loads(text)
        too_long = any(abs(number) >= _BEYOND_TOML for number in _whole_numbers(content))
    except tomllib.TOMLDecodeError as error:
        raise DataError([Problem(name, f"is not TOML ({error})", "mend the line that is named")]) from error
    except ValueError as error:
        raise _too_long(name) from error
    except RecursionError as error:
        raise DataError([Problem(name, "is nested too deeply to be read", "mend its brackets and dots")]) from error
    if too_long:
        raise _too_long(name)
    check_format(content, name, file_format, newest)
    return shaped({key: value for key, value in content.items() if key not in ("format", "version")}, name, shape)


_BEYOND_TOML = 2**63
"""What no whole number of TOML comes to; Python would read any, and then could not print it."""


def _too_long(name: str) -> DataError:
    return DataError([Problem(name, "holds a whole number longer than TOML knows", "write what was counted")])


def _whole_numbers(content: Any) -> Iterator[int]:
    """Yield every whole number in plain data."""
    if isinstance(content, int):
        yield content
    elif isinstance(content, dict | list):
        for one in content.values() if isinstance(content, dict) else content:
            yield from _whole_numbers(one)


def check_format(content: Any, name: str, file_format: str, newest: int) -> None:
    """Refuse content of another format, or of a version newer than `newest`. Raises DataError."""
    if not isinstance(content, dict) or content.get("format") != file_format:
        what = f"its format is {content.get('format')!r}" if isinstance(content, dict) else "has no format"
        raise DataError([Problem(name, what, f"expected {file_format!r}")])
    version = content.get("version")
    if type(version) is not int or version < 1:
        raise DataError([Problem(name, f"its version is {version!r}", "expected a whole number from 1")])
    if version > newest:
        what = f"was written by a newer version (file version {version}, this program knows up to {newest})"
        raise DataError([Problem(name, what, "update recover; the file is left as it is")])


def shaped(content: Any, name: str, shape: type[T]) -> T:
    """Turn plain data into a frozen dataclass; unknown keys are refused. Raises DataError with every problem."""
    from pydantic import ValidationError

    try:
        return cast(T, _adapter(cast(Hashable, shape)).validate_python(content))
    except ValidationError as error:
        raise DataError(_problems(error, name, content)) from error


@cache
def _adapter(shape: Hashable) -> Any:
    """Return the reader of a shape: made once, since making it takes longer than reading a file with it."""
    from pydantic import ConfigDict, TypeAdapter, with_config

    return TypeAdapter(with_config(ConfigDict(extra="forbid"))(cast(type, shape)))


def _problems(error: Any, name: str, content: Any) -> list[Problem]:
    found = []
    for fault in error.errors(include_url=False):
        place = _place(fault["loc"], content)
        where = f"{name} [{place}]" if place else name
        cause = fault.get("ctx", {}).get("error")
        if isinstance(cause, DataError):  # a shape refused its own values, and has said so in a sentence
            found += [replace(one, where=f"{where} {one.where}") for one in cause.problems]
        else:
            found.append(Problem(where, _wrong(fault), "see the other entries of the file for the form"))
    return found


def _wrong(fault: Any) -> str:
    """Say what is wrong, in a word where pydantic has a sentence for programmers."""
    if fault["type"] in ("unexpected_keyword_argument", "extra_forbidden"):
        return f"the key {fault['loc'][-1]!r} is not known"
    if fault["type"] == "missing":
        return "is missing"
    return f"{fault['msg'].lower()}, found {fault['input']!r}"


def _place(location: tuple[int | str, ...], content: Any) -> str:
    """Name the place of a fault by the `id` or `name` of the entry it stands in, which a person can search for."""
    words: list[str] = []
    for step in location:
        try:
            content = content[step]
        except (KeyError, IndexError, TypeError):
            content = None
        entry = content if isinstance(content, dict) else {}
        words.append(str(entry.get("id", entry.get("name", step))))
    return " ".join(words)
