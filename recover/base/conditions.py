"""The one matcher behind every `when` and `ask_if`.

A condition is data: a table of references and tests, all of which must hold, or a list of such tables, one of which
must. A reference names an answer or a fact. What is not known stands for every value it could have, so a test has
three results: True, False, and None for "it depends". (Kleene's strong three-valued logic.)

    {fuel = "electric"}                       one value
    {fuel = ["gas", "wood"]}                  one of several; of a multiple answer: it names at least one of them
    {supplies = {lacks = ["solar"]}}               a multiple answer that names none of them
    {water_line_mm = {below = 300}}           a number below; also at_least, above
    {water_line_mm = {below = "@name"}}       the number has its home among the limits
    {water_line_mm = {above_answer = "kiln.height_mm"}}    two answers compared; also at_most_answer
    {"outcome:wiring" = ["keep"]}             what a rule table makes of the component
    {"measured:earth" = {above_answer = "measured:insulation"}}    when one was seen or measured beside another moment

`measured:QUESTION` is the moment at which the answer that stands was seen or measured, whether the question is still
asked or not; it depends where nobody wrote that down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

Possible = frozenset[Any] | None
"""The values that a reference may have; None where any value is possible, empty where it has none (not asked)."""

Look = Callable[[str], Possible]
"""Finds the possible values of a reference."""

Condition = dict[str, Any] | list[dict[str, Any]]

NUMBER_TESTS = frozenset({"below", "at_least", "above"})
ANSWER_TESTS = frozenset({"above_answer", "at_most_answer"})
OF_TABLE, SINCE = "outcome:", " since "
"""How a condition names what a rule table makes of a component; by what was seen since something was renewed."""

TESTS = NUMBER_TESTS | ANSWER_TESTS | {"lacks"}

MEASURED = "measured:"
"""What marks a reference to the moment of an answer."""


def alternatives(condition: Condition) -> list[dict[str, Any]]:
    """Return a condition as the list of its alternative tables; one table is a list of one."""
    return condition if isinstance(condition, list) else [condition]


def holds(condition: Condition, look: Look, limits: Mapping[str, float] | None = None) -> bool | None:
    """Say whether a condition holds, does not, or depends on what is not known. An empty table holds."""
    found = {
        all_of(_test(test, look(name), look, limits or {}) for name, test in table.items())
        for table in alternatives(condition)
    }
    return True if True in found else None if None in found else False


def certain(condition: Condition, look: Look, limits: Mapping[str, float] | None = None) -> bool:
    """Say whether a condition certainly holds, and look no further than it takes to know that."""
    return any(
        all(_test(test, look(name), look, limits or {}) for name, test in table.items())
        for table in alternatives(condition)
    )


def all_of(results: Iterable[bool | None]) -> bool | None:
    """Kleene's conjunction: False if any is False, else None if any is None, else True."""
    seen = set(results)
    return False if False in seen else None if None in seen else True


def references(condition: Condition) -> set[str]:
    """Return every name that a condition refers to."""
    names = set()
    for table in alternatives(condition):
        for name, test in table.items():
            names.add(name)
            if isinstance(test, Mapping):
                names |= {other for key, other in test.items() if key in ANSWER_TESTS}
    return names


def timed_wrongly(condition: Condition) -> list[str]:
    """Return each reference to the moment of an answer that is compared with something other than an answer."""
    return [
        name
        for table in alternatives(condition)
        for name, test in table.items()
        if name.startswith(MEASURED) and not (isinstance(test, Mapping) and set(test) <= ANSWER_TESTS)
    ]


def named_values(test: Any) -> tuple[Any, ...]:
    """Return the values that a plain test accepts; or refuses by `lacks`; empty for numbers."""
    if isinstance(test, Mapping):
        return tuple(test.get("lacks", ()))
    return tuple(test) if isinstance(test, list) else (test,)


def thresholds(condition: Condition) -> set[tuple[str, Any]]:
    """Return each number test's reference and threshold (a number, or the name of a limit as `@name`)."""
    return {
        (name, test[key])
        for table in alternatives(condition)
        for name, test in table.items()
        if isinstance(test, Mapping)
        for key in NUMBER_TESTS & set(test)
    }


def malformed(condition: Condition) -> list[str]:
    """Say in words what is wrong with the form of a condition; empty when nothing is."""
    faults = []
    for table in alternatives(condition):
        for name, test in table.items():
            if isinstance(test, Mapping):
                unknown = set(test) - TESTS
                faults += [f"the test {key!r} of {name!r} is not known" for key in sorted(unknown)]
            if isinstance(test, list | Mapping) and not test:
                faults.append(f"the test of {name!r} is empty")
    return faults


def _test(test: Any, possible: Possible, look: Look, limits: Mapping[str, float]) -> bool | None:
    if possible is None:
        return None
    if isinstance(test, Mapping):
        return all_of(_compare(key, bound, possible, look, limits) for key, bound in test.items())
    accepted = set(named_values(test))
    return _unanimous(_accepts(accepted, value) for value in possible)


def _accepts(accepted: set[Any], value: Any) -> bool:
    return bool(accepted & value) if isinstance(value, frozenset) else value in accepted


def _compare(key: str, bound: Any, possible: frozenset[Any], look: Look, limits: Mapping[str, float]) -> bool | None:
    if key == "lacks":
        return _unanimous((not _accepts(set(bound), value) for value in possible), of_nothing=True)
    bounds: Possible = frozenset({bound})
    if key in ANSWER_TESTS:
        bounds = look(bound)
    elif isinstance(bound, str):
        bounds = frozenset({limits[bound.removeprefix("@")]})
    if bounds is None:
        return None
    compare = _COMPARISONS[key]
    return _unanimous(compare(value, other) for value in possible for other in bounds)


def _unanimous(results: Iterable[bool], of_nothing: bool = False) -> bool | None:
    seen = set(results) or {of_nothing}
    return seen.pop() if len(seen) == 1 else None


_COMPARISONS: dict[str, Callable[[Any, Any], bool]] = {
    "below": lambda value, bound: value < bound,
    "at_least": lambda value, bound: value >= bound,
    "above": lambda value, bound: value > bound,
    "above_answer": lambda value, bound: value > bound,
    "at_most_answer": lambda value, bound: value <= bound,
}
