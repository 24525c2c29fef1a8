"""Reads sentences out of a data file in the shape of a Protocol, so that mypy sees each name and each place.

An annotated name is a plain text, lines, texts by key, or a section of its own. A method is a sentence with places: its
parameters are the places, and called with them it is the sentence filled in. One that is told of a `number` may be a
table of the plural forms of its language.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Set
from inspect import isfunction, signature
from string import Formatter
from types import SimpleNamespace
from typing import Any, get_args, get_origin, get_type_hints

from recover.base.counted import PluralForm, plural_form
from recover.base.errors import DataError, Problem

PLAIN = (str, list[str])
"""What is printed as it stands: it has no places."""


def sentences(content: Mapping[str, Any], name: str, shape: type) -> Any:
    """Return the sentences of the file `name` as `shape`, a Protocol.

    Raises DataError with every name that is missing or that nothing asks for, and every sentence whose places are not
    those of its method. Lines that are told together, and the texts by key of one shape, may each leave places out.
    """
    problems: list[Problem] = []
    read = _Reader(name, problems).section(shape, content, "")
    if problems:
        raise DataError(problems)
    return read


class _Reader:
    """Makes sections and sentences, and writes down what is wrong with them."""

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file, self.problems = file, problems

    def wrong(self, where: str, what: str, remedy: str) -> None:
        self.problems.append(Problem(f"{self.file} [{where}]", what, remedy))

    def section(self, shape: type, content: Mapping[str, Any], where: str) -> SimpleNamespace:
        declared = {**get_type_hints(shape), **dict(_methods(shape))}
        self.names(declared, content, where)
        return SimpleNamespace(**{
            name: self.one(kind, content[name], f"{where}.{name}".lstrip(".")) for name, kind in declared.items()
            if name in content
        })  # fmt: skip

    def names(self, declared: Mapping[str, Any], content: Mapping[str, Any], where: str) -> None:
        for name in sorted(declared.keys() - content.keys()):
            self.wrong(where, f"{name!r} is missing", "write its sentence")
        for name in sorted(content.keys() - declared.keys()):
            self.wrong(where, f"nothing asks for {name!r}", "remove it, or declare it")

    def one(self, kind: Any, content: Any, where: str) -> Any:
        if isfunction(kind):
            return self.sentence(kind, content, where)
        if get_origin(kind) is Mapping:
            keys, of = get_args(kind)
            self.names(dict.fromkeys(get_args(keys) or content), content, where)
            return {key: self.one(of, text, f"{where}.{key}") for key, text in content.items()}
        if kind in PLAIN:
            return self.plain(kind, content, where)
        if isfunction(vars(kind).get("__call__")):
            return self.sentence(vars(kind)["__call__"], content, where)
        return self.section(kind, content, where)

    def plain(self, kind: Any, content: Any, where: str) -> Any:
        texts = [content] if kind is str else content
        if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
            self.wrong(where, "is no text of its kind", "see the other entries of the file for the form")
        elif places := sorted({place for text in texts for place in _places(text)}):
            self.wrong(where, f"has the places {places}, which nobody fills", "declare a sentence with these places")
        return content

    def sentence(self, declared: Callable[..., str], content: Any, where: str) -> Callable[..., Any]:
        takes = signature(declared).parameters.keys() - {"self"}
        if isinstance(content, dict):
            return self.by_number(takes, content, where)
        lines = content if isinstance(content, list) else [content]
        has = {place for line in lines for place in _places(line)}
        if has - takes or (takes - has and isinstance(content, str)):
            self.wrong(where, f"has the places {sorted(has)}", f"expected {sorted(takes)}")
        if isinstance(content, str):
            return content.format
        return lambda **told: [line.format(**told) for line in lines]

    def by_number(self, takes: Set[str], forms: Mapping[str, str], where: str) -> Callable[..., str]:
        if "other" not in forms or set(forms) - set(get_args(PluralForm)) or "number" not in takes:
            self.wrong(where, "is no sentence by number", "write its forms, `other` among them, and give it a `number`")
        for form, text in forms.items():
            if {*_places(text), "number"} != takes:
                self.wrong(f"{where}.{form}", f"has the places {_places(text)}", f"expected {sorted(takes)}")
        return lambda **told: (forms.get(plural_form(told["number"])) or forms["other"]).format(**told)


def _methods(shape: type) -> Iterator[tuple[str, Callable[..., str]]]:
    return ((name, one) for name, one in vars(shape).items() if isfunction(one) and not name.startswith("_"))


def _places(text: str) -> list[str]:
    """Return the names of the places of a text; a text that is none has none."""
    return [name for _, name, _, _ in Formatter().parse(str(text)) if name]
