"""Whether the tests notice: the program is made wrong in one place at a time, and its fast tests are run.

A campaign of many minutes, outside the suite:

    python -m tests.mutants code [MODULE ...]    comparisons, and/or, min/max, any/all, not, numbers (cosmic-ray)
    python -m tests.mutants data [KIND ...]      one entry of a data file removed, or a limit made milder

Each mutant runs in a process of its own, forked from this one, which has loaded the libraries and nothing of the
program; nothing is written to the tree. A first run without a mutant says which tests pass, how long each takes and
which lines of code it comes through; a mutant of code is tried with the tests that come through its line.
"""

from __future__ import annotations

import csv
import os
import pickle
import random
import re
import signal
import sys
import time
import tomllib
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from math import inf, isinf
from pathlib import Path
from tempfile import NamedTemporaryFile, gettempdir
from typing import Any

ROOT = Path(__file__).parent.parent
SAMPLE, SEED = int(os.environ.get("MUTANT_SAMPLE", "150")), 1
"""How many mutants of a module are tried where there are more, and how they are drawn."""

SLOW_S, LONG_S, PATIENCE_S = 12.0, 30.0, 180.0
"""A test that takes longer is left out; how long tests of a line may take together, the quickest first; a mutant that
keeps the tests busy for longer is caught."""

STORY = Path(gettempdir()) / "story-of-the-gates.pickle"

WORKERS = int(os.environ.get("MUTANT_WORKERS", "2"))

LAWS = ("tests/test_gates.py::test_no_worse_answer_opens_anything",
        "tests/test_gates.py::test_own_heat_hangs_on_every_answer_but_these",
        "tests/test_readings.py::test_ohms_farther_off_never_make_an_outcome_milder",
        "tests/test_readings.py::test_what_is_not_measured_stands_for_all_it_could_be")  # fmt: skip
"""Tests of minutes, for what the others leave."""

MODULES = {
    "base/conditions": ("conditions", "wetmap"),
    **dict.fromkeys(("asked/components", "asked/possible", "asked/facts", "asked/answers"), (
        "counted", "assessed", "limits_hold", "wetmap", "gates", "fires", "kilns", "interview", "evidence",
        "seen_before", "undone", "rating")),
    "asked/replay": ("order", "counted", "seen_before", "undone", "signatures", "answered_again", "report",
                     "files/test_rescue"),
    "asked/told": ("order", "counted", "seen_before", "undone", "signatures", "answered_again", "evidence",
                   "files/test_rescue"),
    "judged/signatures": ("signatures", "holds", "undone", "seen_before", "gates", "job"),
    "judged/holds": ("holds", "gates", "undone", "seen_before"),
    "judged/admissible": ("limits_hold", "holds", "undone", "seen_before", "gates", "answered_again", "counted",
                          "signatures"),
    "judged/failed": ("judged", "answered_again", "interview", "undone", "seen_before", "measured"),
    "judged/release": ("job", "gates"),
    "judged/live": ("live", "suspended"),
    "judged/assessment": ("assessed", "hazards", "assessment", "done"),
    "judged/wetmap": ("wetmap", "dryout"), "judged/readings": ("rating", "power"), "judged/dryout": ("dryout",),
    "rules/table": ("tables", "rules"), "engineering/sums": ("judged", "power"),
    "engineering/insulation": ("electrical", "judged", "rating", "profiles"),
    "engineering/leakage": ("electrical", "judged", "rating", "profiles"),
    "plan/proof": ("programmes", "controller"), "plan/limits": ("plan_limits", "plan_asked"),
}  # fmt: skip
"""What is mutated, and the test files that should notice."""


@dataclass(frozen=True)
class Mutant:
    """One change: where it is, in words, and how a process makes it before the program is loaded."""

    of: str
    place: str
    make: Callable[[], None]
    line: int = 0


@dataclass
class Known:
    """What the run without a mutant told of each test that passed: seconds, and the lines it came through."""

    seconds: dict[str, float] = field(default_factory=dict)
    lines: dict[str, set[tuple[str, int]]] = field(default_factory=dict)

    def quick(self) -> list[str]:
        return sorted((name for name in self.seconds if self.seconds[name] <= SLOW_S), key=self.seconds.__getitem__)

    def through(self, module: str, line: int) -> list[str]:
        """Return the quickest tests that come through a line, as many as take LONG_S; of a line that is read once, when
        the module is loaded, the quickest of all."""
        those = [name for name in self.quick() if (module, line) in self.lines.get(name, ())]
        found, left_s = [], LONG_S
        for name in those or self.quick():
            if left_s > 0:
                found.append(name)
                left_s -= self.seconds[name]
        return found


# ---------------------------------------------------------------------------------------- processes


def forked(work: Callable[[], int], patience_s: float) -> tuple[int, str]:
    """Run work in a process of its own and return its code (-1 if it was stopped) and what it printed."""
    with NamedTemporaryFile() as said:
        pid = os.fork()
        if pid == 0:
            os.setpgid(0, 0)
            os.dup2(said.fileno(), 1)
            os.dup2(said.fileno(), 2)
            code = 3
            try:
                code = int(work())
            finally:
                sys.stdout.flush()
                os._exit(code)
        code = _waited(pid, time.monotonic() + patience_s)
        return code, Path(said.name).read_text("utf-8", "replace")


def _waited(pid: int, until: float) -> int:
    while time.monotonic() < until:
        done, status = os.waitpid(pid, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    os.killpg(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    return -1


def tested(tests: Iterable[str], plugins: Iterable[object], *more: str) -> int:
    """Run tests by name in this process, up to the first that fails; 0 where all pass."""
    import pytest

    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    return int(pytest.main(["-q", "-p", "no:cacheprovider", *more, *tests], list(plugins)))


class Watch:
    """Writes down how long each passing test takes, and which lines of the modules it comes through.

    Seconds of the processor: how busy the machine is changes nothing.
    """

    def __init__(self) -> None:
        from coverage import Coverage

        self.known = Known()
        self._cover = Coverage(data_file=None, include=[str(ROOT / "recover" / f"{name}.py") for name in MODULES])
        self._cover.start()
        self._until_s = 0.0

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        self._cover.switch_context(nodeid)
        self._until_s = _worked_s()

    def pytest_runtest_logreport(self, report: Any) -> None:
        before, self._until_s = self._until_s, _worked_s()
        took = self.known.seconds.get(report.nodeid, 0.0) + self._until_s - before
        self.known.seconds[report.nodeid] = took if report.passed else inf

    def told(self) -> Known:
        self._cover.stop()
        data = self._cover.get_data()
        for name in MODULES:
            for line, tests in data.contexts_by_lineno(str(ROOT / "recover" / f"{name}.py")).items():
                for test in tests:
                    self.known.lines.setdefault(test, set()).add((name, line))
        return self.known


def _worked_s() -> float:
    """Return for how long this process, and those that it has waited for, have kept the processor."""
    return sum(os.times()[:4])


def known(files: list[str]) -> Known:
    """Return what a run without a mutant tells of test files; a file at a time."""
    found = Known()
    with ThreadPoolExecutor(WORKERS) as pool:
        for one in pool.map(_known_of, files):
            found.seconds |= one.seconds
            found.lines |= one.lines
    return found


def _known_of(file: str) -> Known:
    with NamedTemporaryFile() as kept:

        def work() -> int:
            if _begins_from_the_story(file):
                _from_the_story()
            watch = Watch()
            laws = [f"--deselect={law}" for law in LAWS]
            code = tested([file], [watch], *laws)
            Path(kept.name).write_bytes(pickle.dumps(watch.told()))
            return code

        code, said = forked(work, 900)
        print(f"{file}: {said.strip().splitlines()[-1] if said.strip() else code}", flush=True)
        return pickle.loads(Path(kept.name).read_bytes() or pickle.dumps(Known()))


def keep_the_story() -> None:
    """Write the school's job down once: it takes longer than most tests that begin from it."""

    def work() -> int:
        from tests.gates import completed

        STORY.write_bytes(pickle.dumps(completed()))
        return 0

    forked(work, 600)


def _begins_from_the_story(file: str) -> bool:
    return "tests.gates" in (ROOT / file).read_text("utf-8")


def _from_the_story() -> None:
    """Begin from the job as it was written down, by the program without a mutant."""
    from tests import gates

    events = pickle.loads(STORY.read_bytes())
    gates.completed = lambda: events


def caught(mutant: Mutant, tests: list[str]) -> bool:
    """Say whether one of the tests fails, or never ends, on a mutant."""

    def work() -> int:
        mutant.make()
        if any(map(_begins_from_the_story, {test.partition("::")[0] for test in tests})):
            _from_the_story()
        return tested(tests, (), "-x")

    return bool(tests) and forked(work, PATIENCE_S)[0] != 0


# ---------------------------------------------------------------------------------------- code


def mutants_of_code(module: str) -> list[Mutant]:
    """Return the mutants of a module; of more than SAMPLE, so many drawn by SEED, in the order of the file."""
    from cosmic_ray.mutating import mutate_code

    source = (ROOT / "recover" / f"{module}.py").read_text("utf-8")
    found = {}
    for name, operator in operators():
        occurrence = 0
        while (changed := mutate_code(source, operator, occurrence)) is not None:
            if changed != source and _compiles(changed) and not _decorates(source, changed):
                found.setdefault(changed, name)
            occurrence += 1
    every = sorted(found, key=lambda changed: (_line(source, changed), found[changed]))
    some = every if len(every) <= SAMPLE else sorted(random.Random(SEED).sample(every, SAMPLE), key=every.index)
    print(f"{module}: {len(every)} mutants, {len(some)} tried", flush=True)
    return [_of_code(module, source, changed) for changed in some]


def _of_code(module: str, source: str, changed: str) -> Mutant:
    line = _line(source, changed)
    words = changed.splitlines()[line - 1].strip()
    name = "recover." + module.replace("/", ".")
    path = ROOT / "recover" / f"{module}.py"
    return Mutant(module, f"{line}: {words}", lambda: _in_place_of(name, path, changed), line)


def _line(source: str, changed: str) -> int:
    pairs = enumerate(zip(source.splitlines(), changed.splitlines(), strict=False), start=1)
    return next((number for number, (one, other) in pairs if one != other), 0)


def _decorates(source: str, changed: str) -> bool:
    """Say whether only a decorator is changed: frozen or not, it judges the same."""
    return source.splitlines()[_line(source, changed) - 1].lstrip().startswith("@")


def _compiles(source: str) -> bool:
    try:
        compile(source, "mutant", "exec")
    except SyntaxError:
        return False
    return True


def _in_place_of(name: str, path: Path, source: str) -> None:
    """Have a module read from other source, whenever it is imported."""
    import importlib.abc
    import importlib.util

    class Finder(importlib.abc.MetaPathFinder, importlib.abc.InspectLoader):
        def find_spec(self, fullname: str, _path: object = None, _target: object = None) -> object:
            return importlib.util.spec_from_file_location(name, path, loader=self) if fullname == name else None

        def get_source(self, _name: str) -> str:
            return source

        def get_code(self, _name: str) -> object:
            return compile(source, str(path), "exec")

    sys.meta_path.insert(0, Finder())


COMPARISONS = ("Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt", "Gt_GtE", "Gt_LtE", "GtE_Gt", "GtE_Lt", "Eq_NotEq", "NotEq_Eq",
               "Is_IsNot", "IsNot_Is")  # fmt: skip
"""A comparison's neighbour and its opposite."""

SUMS = ("Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "BitAnd_BitOr")
OTHERS = ("AddNot", "ReplaceAndWithOr", "ReplaceOrWithAnd", "ReplaceTrueWithFalse", "ReplaceFalseWithTrue",
          "NumberReplacer", "ReplaceUnaryOperator_Delete_Not")  # fmt: skip


def operators() -> Iterator[tuple[str, object]]:
    """Yield the changes that are made: those of cosmic-ray that say something of a judgement, and three of our own."""
    from cosmic_ray.plugins import get_operator

    names = [f"ReplaceComparisonOperator_{name}" for name in COMPARISONS]
    names += [f"ReplaceBinaryOperator_{name}" for name in SUMS]
    for name in (*names, *OTHERS):
        yield name, get_operator(f"core/{name}")()
    for pair in (("min", "max"), ("any", "all")):
        yield from ((f"{one} to {other}", _Swapped(one, other)) for one, other in (pair, pair[::-1]))
    yield "in and not in", _Membership()


class _Swapped:
    """Calls one function in place of another."""

    def __init__(self, one: str, other: str) -> None:
        self.one, self.other = one, other

    def mutation_positions(self, node: object) -> Iterator[object]:
        if node.type == "name" and node.value == self.one and _is_called(node):  # type: ignore[attr-defined]
            yield node.start_pos, node.end_pos  # type: ignore[attr-defined]

    def mutate(self, node: object, _index: int) -> object:
        node.value = self.other  # type: ignore[attr-defined]
        return node


def _is_called(name: object) -> bool:
    after = name.get_next_leaf()  # type: ignore[attr-defined]
    before = name.get_previous_leaf()  # type: ignore[attr-defined]
    return after is not None and after.value == "(" and (before is None or before.value not in (".", "def"))


class _Membership:
    """Turns `in` into `not in` and back, where it is a comparison."""

    def mutation_positions(self, node: object) -> Iterator[object]:
        if node.type == "comparison" and self._word(node) in ("in", "not in"):  # type: ignore[attr-defined]
            yield node.start_pos, node.end_pos  # type: ignore[attr-defined]

    def mutate(self, node: object, _index: int) -> object:
        import parso

        other = "in" if self._word(node) == "not in" else "not in"
        node.children[1] = parso.parse(f" {other}")  # type: ignore[attr-defined]
        return node

    @staticmethod
    def _word(node: object) -> str:
        return " ".join(node.children[1].get_code().split())  # type: ignore[attr-defined]


# ---------------------------------------------------------------------------------------- data

Content = dict[str, Any]
Change = Callable[[Content], None]

QUESTIONS = ("claim", "energise", "event", "handover", "measure", "plan", "safe", "supply")
"""The files of questions that gates rest on."""

MILDER = 0.2
"""By how much of itself a limit is made milder."""

MOST = 2 * SAMPLE
"""How many mutants of a kind of data are tried where there are more."""


def of_data(kind: str, file: str, place: str, change: Change) -> Mutant:
    """Return a mutant of a data file of the program: its content changed after it was read, before it is shaped."""

    def make() -> None:
        from recover.base import datafile

        check = datafile.check_format

        def checked(content: Content, name: str, *more: Any) -> None:
            check(content, name, *more)
            if name == file:
                change(content)

        datafile.check_format = checked

    return Mutant(kind, f"{file} [{place}]", make)


def _content(file: str) -> Content:
    return tomllib.loads((ROOT / "recover" / file).read_text("utf-8"))


def _without(content: Content, *steps: Any) -> None:
    """Remove what stands at a place; a condition of one that is gone holds always."""
    for step in steps[:-1]:
        content = content[step]
    del content[steps[-1]]


def needs() -> Iterator[Mutant]:
    """Each need of a hold point removed, each part of one that asks several things at once, each hold point before it,
    each signature."""
    file = "rules/hold_points.toml"
    for at, point in enumerate(_content(file)["hold_point"]):
        for part in ("needs", "requires", "signatures"):
            for which, entry in enumerate(point.get(part, ())):
                what = entry["say"] if part == "needs" else entry
                yield _removed("needs", file, f"{point['id']}, {part}: {what}", "hold_point", at, part, which)
        for which, need in enumerate(point["needs"]):
            whens = need["when"] if isinstance(need["when"], list) else [need["when"]]
            for way, tests in enumerate(whens):
                steps = ("when", way) if isinstance(need["when"], list) else ("when",)
                for name in tests if len(tests) > 1 else ():
                    place = f"{point['id']}: {name} of {need['say']} ({way})"
                    yield _removed("needs", file, place, "hold_point", at, "needs", which, *steps, name)


def _removed(kind: str, file: str, place: str, *steps: Any) -> Mutant:
    return of_data(kind, file, place, lambda content: _without(content, *steps))


def evidence() -> Iterator[Mutant]:
    """Whatever a question asks of an answer that is to open something, removed: each instrument, way, paper."""
    for file in (f"asked/questionnaire/{name}.toml" for name in QUESTIONS):
        for at, question in enumerate(_content(file).get("question", ())):
            for part in ("holds_for", "attested", "instruments"):
                if question.get(part):
                    yield _removed("evidence", file, f"{question['id']}, {part}", "question", at, part)
            for part in ("taken", "documented"):
                for which, entry in enumerate(question.get(part, ())):
                    place = f"{question['id']}, {part}: {entry if isinstance(entry, str) else entry['say']}"
                    yield _removed("evidence", file, place, "question", at, part, which)


def limits() -> Iterator[Mutant]:
    """Each limit a fifth milder."""
    for file in ("own_limits", "uk", "eu", "us", "au_nz"):
        name = f"profiles/{file}.toml"
        content = _content(name)
        for at, limit in enumerate(content["limit"]):
            factor = 1 + MILDER if limit.get("stricter") == "less" else 1 - MILDER
            if not isinf(limit["value"]):
                yield _scaled(name, limit["id"], factor, "limit", at, "value")
        for part, key in (("earth", "ohm"), ("earth", "most_ohm"), ("earth", "step_ohm"), ("leakage", "least_ma"),
                          ("leakage", "most_ma"), ("leakage", "ma_per_kw")):  # fmt: skip
            if content.get(part, {}).get(key):
                yield _scaled(name, f"{part} {key}", 1 + MILDER, part, key)


def _scaled(file: str, place: str, factor: float, *steps: Any) -> Mutant:
    def change(content: Content) -> None:
        for step in steps[:-1]:
            content = content[step]
        content[steps[-1]] *= factor

    return of_data("limits", file, f"{place} times {factor:g}", change)


def cases() -> Iterator[Mutant]:
    """Each case of a fact, and each check, removed."""
    content = _content("asked/facts.toml")
    for at, fact in enumerate(content["fact"]):
        for which, case in enumerate(fact.get("cases", ())):
            place = f"{fact['id']}, case {which}: {case['value']}"
            yield _removed("cases", "asked/facts.toml", place, "fact", at, "cases", which)
    for at, check in enumerate(content["check"]):
        yield _removed("cases", "asked/facts.toml", f"check {check['id']}", "check", at)


def shut() -> Iterator[Mutant]:
    """Each closure that lets one of its ways stand open, or that is always clear; each test of its condition gone."""
    file = "rules/shut.toml"
    content = _content(file)
    for at, closure in enumerate(content["closure"]):
        ways = content["ways"] if closure["ways"] == ["all"] else closure["ways"]
        for way in ways:
            left = [one for one in ways if one != way]
            yield of_data("shut", file, f"{closure['id']} leaves {way} open", _set(left, "closure", at, "ways"))
        yield of_data("shut", file, f"{closure['id']} always clear", _set({}, "closure", at, "clear_when"))
        whens = closure["clear_when"] if isinstance(closure["clear_when"], list) else [closure["clear_when"]]
        for which, tests in enumerate(whens):
            steps = (which,) if isinstance(closure["clear_when"], list) else ()
            for name in tests if len(tests) > 1 else ():
                place = f"{closure['id']} clear without {name} ({which})"
                yield _removed("shut", file, place, "closure", at, "clear_when", *steps, name)


def _set(value: Any, *steps: Any) -> Change:
    def change(content: Content) -> None:
        for step in steps[:-1]:
            content = content[step]
        content[steps[-1]] = value

    return change


def cards() -> Iterator[Mutant]:
    """Each rule card removed, and each made one outcome milder."""
    for file in sorted((ROOT / "recover" / "rules").glob("*.toml")):
        content, name = _content(f"rules/{file.name}"), f"rules/{file.name}"
        for at, card in enumerate(content.get("card", ())):
            yield _removed(file.stem, name, f"{card['id']} removed", "card", at)
            place = content["scale"].index(card["outcome"])
            if place:
                milder = content["scale"][place - 1]
                yield of_data(file.stem, name, f"{card['id']} as {milder}", _set(milder, "card", at, "outcome"))


KINDS = {"needs": needs, "evidence": evidence, "limits": limits, "cases": cases, "shut": shut, "cards": cards}

FILES = {
    "needs": ("needs", "fires"), "evidence": ("limits_hold",),
    "limits": ("limits_hold", "profiles"),
    "cases": ("facts", "fires", "limits_hold", "power", "rules", "assessment", "materials_rules", "readings", "wetmap",
              "gates"),
    "shut": ("limits_hold", "hazards"), "cards": ("limits_hold", "rules"),
}  # fmt: skip
"""The test files that should notice, the quickest first."""


def sampled(mutants: list[Mutant], most: int) -> list[Mutant]:
    """Return all of them, or of more than `most` so many drawn by SEED, in their order."""
    return mutants if len(mutants) <= most else sorted(random.Random(SEED).sample(mutants, most), key=mutants.index)


def campaign_of_data(kinds: Iterable[str]) -> None:
    """Try the mutants of the data files, and print what survives."""
    for kind in kinds:
        started, every = time.monotonic(), list(KINDS[kind]())
        told, some = known(files_of(FILES[kind])), sampled(every, MOST)
        print(f"{kind}: {len(every)} mutants, {len(some)} tried", flush=True)
        rows = _rows_of_tables() if kind == "cards" else {}
        left = tried(some, lambda mutant, told=told, rows=rows: _nearest(told.quick(), rows, mutant))
        took = time.monotonic() - started
        print(f"{kind}: {len(some) - len(left)} of {len(some)} caught, {took:.0f} s", flush=True)


def _rows_of_tables() -> dict[str, str]:
    """Return the table that each row of the published rows speaks of, by the head of its test's name."""
    rows = csv.DictReader((ROOT / "tests" / "vectors" / "outcomes.csv").read_text("utf-8").splitlines())
    return {f"[{number}-": row["table"] for number, row in enumerate(rows, start=2)}


def _nearest(tests: list[str], rows: dict[str, str], mutant: Mutant) -> list[str]:
    """Return the tests of a mutant's table; where it is of no table, all, those first that name what it names."""
    if rows:
        heads = {test: test[test.find("[") :].partition("-")[0] + "-" for test in tests}
        mine = [test for test in tests if rows.get(heads[test]) == mutant.of]
        return [*mine, *(test for test in tests if f"[{mutant.of}]" in test or f"[{mutant.of}-" in test)]
    words = {test: [word for word in re.split(r"[-@\[\]]", test.partition("[")[2]) if len(word) > 4] for test in tests}
    return sorted(tests, key=lambda test: not any(word in mutant.place for word in words[test]))


# ---------------------------------------------------------------------------------------- the campaign


def files_of(names: Iterable[str]) -> list[str]:
    """Return the test files that are there."""
    files = (f"tests/{name}.py" if "/" in name else f"tests/test_{name}.py" for name in names)
    return [file for file in files if (ROOT / file).exists()]


def load_libraries() -> None:
    """Load what is not of the program once, before there are processes."""
    import hypothesis
    import numba
    import numpy
    import pydantic
    import pytest
    import scipy.optimize

    assert all((hypothesis, numba, numpy, pydantic, pytest, scipy.optimize))


def tried(mutants: list[Mutant], tests_of: Callable[[Mutant], list[str]]) -> list[Mutant]:
    """Try mutants and return those that no test notices."""

    def one(mutant: Mutant) -> bool:
        tests = tests_of(mutant)
        noticed = caught(mutant, tests)
        if not noticed:
            print(f"survives ({len(tests)} tests): {mutant.of} {mutant.place}", flush=True)
        return noticed

    with ThreadPoolExecutor(WORKERS) as pool:
        results = list(pool.map(one, mutants))
    return [mutant for mutant, noticed in zip(mutants, results, strict=True) if not noticed]


def campaign_of_code(modules: Iterable[str]) -> None:
    """Try the mutants of modules with the tests that come through their lines, and print what survives."""
    for module in modules:
        started, mutants, told = time.monotonic(), mutants_of_code(module), known(files_of(MODULES[module]))
        left = tried(mutants, lambda mutant, told=told: told.through(mutant.of, mutant.line))
        took = time.monotonic() - started
        print(f"{module}: {len(mutants) - len(left)} of {len(mutants)} caught, {took:.0f} s", flush=True)


def main(what: str, *names: str) -> None:
    """Run the campaign that is named."""
    load_libraries()
    keep_the_story()
    if what == "code":
        campaign_of_code(names or MODULES)
    elif what == "data":
        campaign_of_data(names or KINDS)


if __name__ == "__main__":
    main(*sys.argv[1:])
