"""The one reader and printer of numbers with units, and of moments.

People write `430 mm`, `17 in`, `0.4 Mohm`, `1 1/2 h`, `0,4 MΩ`. A decimal comma is taken; a comma before exactly three
digits is refused, since it means a thousand to some and a thousandth to others. The only door to pint.
"""

from __future__ import annotations

import re
from datetime import datetime
from fractions import Fraction
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from recover.errors import AnswerError

SYMBOLS = {
    "mm": "mm", "in": "in", "kg": "kg", "V": "V", "A": "A", "kW": "kW", "ohm": "Ω", "kohm": "kΩ", "Mohm": "MΩ",
    "hour": "h", "degC": "°C", "degF": "°F", "percent": "%", "uS/cm": "µS/cm", "mA": "mA", "mg/l": "mg/l",
    "m": "m", "litre": "l", "ms": "ms", "kWh": "kWh", "day": "days", "m3/h": "m³/h", "l/day": "l/day",
}  # fmt: skip
"""How each unit that a question may use is printed."""

IMPERIAL = {"mm": "in", "degC": "degF", "kg": "lb"}

_CUBED = re.compile(r"(?<=[a-z])[3³]")
"""People write m3 and m³; pint reads m**3."""

_NUMBER = re.compile(r"^\s*([+-]?\d+\s+\d+/\d+|[+-]?\d+/\d+|[+-]?\d*[.,]?\d+(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")


def read_quantity(text: str, unit: str, *, unit_needed: bool = False) -> float:
    """Read a number as people write it and return it in `unit`; a bare number is in `unit` unless `unit_needed`.

    Raises AnswerError with what was expected.

    >>> read_quantity("17 in", "mm"), read_quantity("1 1/2 h", "hour"), read_quantity("400 kohm", "Mohm")
    (431.8, 1.5, 0.4)
    """
    example = f"a number and a unit, as in '430 {SYMBOLS.get(unit, unit)}'" if unit else "a number, as in '3'"
    found = _NUMBER.match(text.replace("\u2212", "-").replace("\u00a0", " "))
    if not found:
        raise AnswerError(f"{text!r} is not a number that can be read; expected {example}")
    number, written = _read_number(found[1]), found[2]
    if not written:
        if unit_needed:
            raise AnswerError(f"{text!r} has no unit; expected {example}")
        return number
    return _convert(number, written, unit, example)


def read_whole(text: str) -> int:
    """Read a whole number. Raises AnswerError."""
    if not re.fullmatch(r"\s*\d+\s*", text):
        raise AnswerError(f"{text!r} is not a whole number; expected one in figures, as in '2'")
    return int(text)


def read_moment(text: str, zone: ZoneInfo) -> datetime:
    """Read a local date and clock time, `2026-03-07 18:00`, as a moment in the job's zone. Raises AnswerError."""
    expected = "expected a date and a clock time, as in '2026-03-07 18:00'"
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise AnswerError(f"{text!r} is not a moment; {expected}") from error
    if len(text.strip()) <= len("2026-03-07"):
        raise AnswerError(f"{text!r} has no clock time; {expected} (guess the hour, and say so in a note)")
    moment = moment if moment.tzinfo else moment.replace(tzinfo=zone)
    return moment.astimezone(zone)


def show_quantity(value: float, unit: str, *, imperial: bool = False, figures: int = 3) -> str:
    """Print a number with its unit, three or four significant figures, a thin space between thousands.

    >>> show_quantity(431.8, "mm"), show_quantity(431.8, "mm", imperial=True), show_quantity(12, "Mohm")
    ('432 mm', '17 in (432 mm)', '12 MΩ')
    """
    own = f"{show_number(value, figures)} {SYMBOLS.get(unit, unit)}".strip()
    if not imperial or unit not in IMPERIAL:
        return own
    other = IMPERIAL[unit]
    return f"{show_number(_convert(value, unit, other, ''))} {SYMBOLS.get(other, other)} ({own})"


def show_number(value: float, figures: int = 3) -> str:
    """Print a number: whole from 100 upwards, below it to so many significant figures, no trailing zeros."""
    if abs(value) >= 100:
        return f"{value:,.0f}".replace(",", "\u202f")
    return f"{value:.{figures}g}"


def show_moment(moment: datetime) -> str:
    """Print a moment as ISO date and local clock time with the zone's name."""
    return f"{moment:%Y-%m-%d %H:%M} {moment.tzname()}"


def show_hours(hours: float) -> str:
    """Print a duration in hours, or in days and hours from two days upwards."""
    days, rest = divmod(round(hours), 24)
    return f"{days} days {rest} h" if days >= 2 else f"{show_number(hours)} h"


def show_hours_minutes(hours: float) -> str:
    """Print a duration as it is set on a controller: `4 h 10 min`, to the minute."""
    whole, minutes = divmod(round(hours * 60), 60)
    return " ".join(f"{part} {unit}" for part, unit in ((whole, "h"), (minutes, "min")) if part) or "0 min"


def _read_number(text: str) -> float:
    if "/" in text:
        return float(sum(Fraction(part) for part in text.split()))
    if re.fullmatch(r"[+-]?\d{1,3},\d{3}", text):
        raise AnswerError(f"{text!r} can be read in two ways; write it without a comma, or with a point")
    return float(text.replace(",", "."))


def _convert(number: float, written: str, unit: str, example: str) -> float:
    import pint

    registry = _registry()
    spelled = written.replace("Ohm", "ohm").replace("OHM", "ohm").replace("Ω", "ohm").replace("\u2126", "ohm")
    spelled = {"°C": "degC", "C": "degC", "°F": "degF", "F": "degF", "%": "percent", '"': "in"}.get(spelled, spelled)
    try:
        quantity = registry.Quantity(number, _CUBED.sub("**3", spelled))
        return float(quantity.to(_CUBED.sub("**3", unit) or "dimensionless").magnitude)
    except (pint.errors.PintError, AttributeError, TypeError, ValueError, AssertionError, SyntaxError) as error:
        wanted = SYMBOLS.get(unit, unit) or "a bare number"
        raise AnswerError(f"{written!r} is not a unit of this question ({wanted}); expected {example}") from error


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
