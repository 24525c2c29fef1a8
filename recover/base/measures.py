"""The one reader and printer of numbers with units, and of moments.

People write `430 mm`, `17 in`, `5 ft 8 1/2 in`, `0.4 Mohm`, `1 h 30 min`, `about 0,4 MΩ`. What they write is looked up
in the table `units.toml` and never evaluated; all else is refused in a sentence, with the nearest reading. A decimal
comma is taken; a comma before exactly three digits is refused: a thousand to some, a thousandth to others.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cache
from itertools import pairwise
from math import floor
from zoneinfo import ZoneInfo

from recover.base.datafile import load
from recover.base.errors import AnswerError


@dataclass(frozen=True, kw_only=True)
class _Unit:
    """A unit: the dimension that it is `of`, what one of it is in that dimension's own unit, how it is written.

    A number of it is `times` that number, and `begins` more: degrees begin elsewhere.
    """

    id: str
    of: str
    times: float
    written: tuple[str, ...]
    begins: float = 0.0


@dataclass(frozen=True)
class _File:
    unit: list[_Unit]


@cache
def units() -> dict[str, _Unit]:
    """Return the units by id."""
    return {unit.id: unit for unit in load("base/units.toml", "recover-units", _File).unit}


def convert(value: float, unit: str, to: str) -> float:
    """Return a number of one unit as one of another of the same dimension.

    >>> round(convert(52, "degF", "degC"), 3), convert(1, "in", "mm")
    (11.111, 25.4)
    """
    one, other = units()[unit], units()[to]
    return (value * one.times + one.begins - other.begins) / other.times


@cache
def _spellings(dimension: str) -> tuple[tuple[str, _Unit], ...]:
    """Return every spelling of a dimension with its unit, the longest first."""
    found = [(spelling, unit) for unit in units().values() if unit.of == dimension for spelling in unit.written]
    return tuple(sorted(found, key=lambda pair: -len(pair[0])))


def _written_at(text: str, at: int, dimension: str) -> list[tuple[_Unit, int]]:
    """Return the units of a dimension that may be written at a place of a text, and where each ends; the longest alone.

    Several where the same letters in another case stand for another unit and the first letter does not tell.
    """
    for spelling, _ in _spellings(dimension):
        end = at + len(spelling)
        if text[at:end].casefold() == spelling.casefold() and not text[end : end + 1].isalpha():
            alike = [(s, u) for s, u in _spellings(dimension) if s.casefold() == spelling.casefold()]
            told = [(s, u) for s, u in alike if s[0] == text[at]] or alike
            return [(unit, end) for unit in dict.fromkeys(unit for _, unit in told)]
    return []


SYMBOLS = {
    "mm": "mm", "in": "in", "kg": "kg", "V": "V", "A": "A", "kW": "kW", "ohm": "Ω", "kohm": "kΩ", "Mohm": "MΩ",
    "hour": "h", "degC": "°C", "degF": "°F", "percent": "%", "uS/cm": "µS/cm", "mA": "mA", "mg/l": "mg/l",
    "m": "m", "litre": "l", "ms": "ms", "kWh": "kWh", "day": "days", "m3/h": "m³/h", "l/day": "l/day",
}  # fmt: skip
"""How each unit that a question may use is printed."""

IMPERIAL = {"mm": "in", "degC": "degF", "kg": "lb"}

CLOCKS_APART = timedelta(minutes=10)
"""How far two clocks may differ before what one of them wrote counts as of a time to come."""


def is_writable(words: str) -> bool:
    """Say whether words can be written down and printed: nothing that is no text, moves a cursor or turns a line.

    Two marks of no width join and part the letters of names.
    """
    return words.replace("\u200c", "").replace("\u200d", "").isprintable()


def as_written(content: bytes) -> str:
    """Return bytes as they can be written down: what is no text, and what cannot be printed, by its number."""
    text = content.decode("utf-8", "backslashreplace")
    return "".join(one if one.isprintable() else one.encode("unicode_escape").decode() for one in text)


def as_shown(text: str) -> str:
    """Return text as a terminal can be given it: what moves a cursor or turns a line round, by its number."""
    return "".join(one.encode("unicode_escape").decode() if _steers(one) else one for one in text)


def _steers(letter: str) -> bool:
    """Whether a letter commands a terminal, and writes nothing; two marks of no width join and part letters."""
    commands = unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Zl", "Zp")
    return commands and letter not in "\n\t\u200c\u200d\u00ad"


def is_ahead(told: datetime, of: datetime) -> bool:
    """Say whether a moment that was told had not come yet at another, beyond what two clocks may differ."""
    return told > of + CLOCKS_APART


AT_STAKE = {
    "ohm": "12 ohm", "kohm": "4.7 kohm", "Mohm": "0.4 Mohm", "uS/cm": "350 uS/cm", "degC": "21 degC",
}  # fmt: skip
"""The units that are confused with a thousand of them, or degrees with others, each with an example.

A reading in one of them is never a bare number.
"""

DONT_KNOW = ("?", "unknown", "dont know", "don't know", "do not know", "not known")
"""How people write that they do not know."""

_ISO = re.compile(r"(?P<year>\d{4})-(?P<month>\d\d?)-(?P<day>\d\d?)")
_DOTTED = re.compile(r"(?P<day>\d\d?)\.\s?(?P<month>\d\d?)\.(?:\s?(?P<year>\d{4}))?")
_SLASHED = re.compile(r"(?P<day>\d\d?)[/-](?P<month>\d\d?)(?:[/-](?P<year>\d{4}))?")
_NAMED = re.compile(r"(?P<day>\d\d?)(?:st|nd|rd|th)?\.? (?P<month>[a-z]{3,9})\.?(?:,? (?P<year>\d{4}))?")
_NAMED_FIRST = re.compile(r"(?P<month>[a-z]{3,9})\.? (?P<day>\d\d?)(?:st|nd|rd|th)?(?:,? (?P<year>\d{4}))?")
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip
_CLOCK = re.compile(
    r"(?P<day>.*?)(?:^|\s)\s*(?P<hour>\d\d?)(?::(?P<minute>\d\d))?\s*(?P<half>[ap]\.?m\.?)?", re.IGNORECASE
)

_FRACTIONS = dict(zip("½¼¾⅓⅔⅛⅜⅝⅞", ["1/2", "1/4", "3/4", "1/3", "2/3", "1/8", "3/8", "5/8", "7/8"], strict=True))
_NUMBER = re.compile(
    r"[+-]?(?:\d{1,9} +\d{1,3}/\d{1,3}|\d{1,3}/\d{1,3}|\d{1,12}(?:[.,]\d{1,12})?(?:[eE][+-]?\d{1,2})?|[.,]\d{1,12})"
)
_ABOUT = re.compile(r"^(?:about|approximately|approx\.?|roughly|circa|ca\.?|some|~|≈)\s*", re.IGNORECASE)
_LONGEST, _LARGEST = 60, 1e15
"""What is longer, or larger, is no measurement."""


def read_quantity(text: str, unit: str, *, unit_needed: bool = False, bounds: str = "") -> float:
    """Read a number as people write it and return it in `unit`; a bare number is in `unit` unless `unit_needed`.

    `bounds` says what can be right, as `0 % to 100 %`; it stands in the refusal in the place of an example.

    Raises AnswerError with what was expected.

    >>> read_quantity("1 in", "mm"), read_quantity("1 1/2 h", "hour"), read_quantity("400 kohm", "Mohm")
    (25.4, 1.5, 0.4)
    """
    example = _example(unit, bounds, needed=unit_needed)
    said = _plain(text)
    terms, rest = _terms(text, said, unit)
    if not terms:
        raise AnswerError(f"{quoted(text)} is not a number that can be read; expected {example}")
    if rest:
        raise AnswerError(_goes_on(text, terms, rest, unit, example))
    if unit_needed and terms[0].unit is None:
        raise AnswerError(f"{quoted(text)} has no unit; expected {example}")
    value = _sum(terms, unit)
    if value is None or abs(value) > _LARGEST:
        raise AnswerError(f"{quoted(text)} is not a number that can be read; expected {example}")
    return value


@dataclass(frozen=True)
class _Term:
    """A number with the unit behind it, None where there is none; `written`, as it stands in the text."""

    number: float
    unit: _Unit | None
    written: str


def _plain(text: str) -> str:
    """Return what was typed with one sort of minus, blank and fraction, and without a word that it is about so much."""
    said = re.sub(r"(?<=\d)[\u202f\u2009](?=\d{3})", "", text.replace("\u2212", "-"))
    said = re.sub(r"\s+", " ", "".join(f" {_FRACTIONS[one]}" if one in _FRACTIONS else one for one in said)).strip()
    return _ABOUT.sub("", said)


def _terms(text: str, said: str, unit: str) -> tuple[list[_Term], str]:
    """Read numbers with their units from the start, `5 ft 8 in`; what cannot be read is left over."""
    terms: list[_Term] = []
    at = 0
    while at < min(len(said), _LONGEST) and (found := _NUMBER.match(said, at)):
        may = _written_at(said, _past_blank(said, found.end()), units()[unit].of) if unit else []
        written, end = may[0] if may else (None, found.end())
        if len(may) > 1 or (written and written.id == "mohm" and unit in ("kohm", "Mohm")):
            raise AnswerError(f"{quoted(text)} may be milliohm or megohm; write it out, as '0.4 megohm'")
        number = _read_number(found[0])
        if number is None:
            break
        terms.append(_Term(number, written, said[at:end]))
        at = _past_blank(said, end)
        if written is None:
            break
    return terms, said[at:]


def _past_blank(said: str, at: int) -> int:
    return at + said.startswith(" ", at)


def _goes_on(text: str, terms: list[_Term], rest: str, unit: str, example: str) -> str:
    """Say of what was typed how far it can be read, and what is not a unit of the question."""
    if re.match(r"(?:-|–|to |and |or )\s*\d", rest):
        return f"{quoted(text)} is more than one number; write the one that you trust, and the other in a note"
    if terms[-1].unit is None:
        wanted = SYMBOLS.get(unit, unit) or "a bare number"
        return f"{quoted(rest)} is not a unit of this question ({wanted}); expected {example}"
    read = " ".join(one.written for one in terms)
    return f"{quoted(text)} goes on after {read!r} with {quoted(rest)}; write {read!r}, and the rest in a note"


def _sum(terms: list[_Term], unit: str) -> float | None:
    """Return what the terms come to in a unit; None where they cannot stand together: `8 in 5 ft`, `3 ft 14 in`."""
    if terms[0].unit is None:
        return terms[0].number if len(terms) == 1 else None
    smaller = all(one.unit and two.unit and _makes_less(two, one.unit) for one, two in pairwise(terms))
    if not smaller or any(one.number < 0 or (one.unit and one.unit.begins) for one in terms[1:]):
        return None
    sign = -1 if terms[0].number < 0 else 1
    parts = [convert(one.number, one.unit.id, unit) for one in terms if one.unit]
    return parts[0] + sign * sum(parts[1:])


def _makes_less(term: _Term, than: _Unit) -> bool:
    """Whether a term comes to less than one of a greater unit; as much and more is a slip."""
    times = term.unit.times if term.unit else 1.0
    return times < than.times and times * term.number < than.times * (1 - 1e-9)


def quoted(text: str) -> str:
    """Return what was typed in quotation marks, as far as a person reads on."""
    return repr(text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…")


def _example(unit: str, bounds: str, *, needed: bool) -> str:
    """Return what would be taken: with an example where the unit must be written, else by the bounds."""
    if not unit:
        return "a number, as in '3'"
    if bounds and not needed:
        return f"a number from {bounds}"
    return f"a number and a unit, as in '{AT_STAKE.get(unit, f'430 {SYMBOLS.get(unit, unit)}')}'"


def read_whole(text: str) -> int:
    """Read a whole number of no more figures than anybody counts to. Raises AnswerError."""
    if not re.fullmatch(r"\s*\d{1,9}\s*", text):
        raise AnswerError(f"{quoted(text)} is not a whole number; expected one in figures, as in '2'")
    return int(text)


def read_moment(text: str, zone: ZoneInfo, today: date | None = None) -> datetime:
    """Read a local date and clock time as a moment in the job's zone. Raises AnswerError.

    `2026-03-07 18:00`, `7.3.2026 18:00`, `7 March 2026 6 pm`; where `today` is known also `18:00`, `yesterday 18:00`
    and a day without its year, which is the last one.

    >>> str(read_moment("yesterday 18:00", ZoneInfo("UTC"), date(2026, 3, 7)))
    '2026-03-06 18:00:00+00:00'
    """
    written = text.strip()
    moment = _iso(written) or _day_and_clock(written, today)
    moment = moment if moment.tzinfo else moment.replace(tzinfo=zone)
    try:
        return moment.astimezone(zone)
    except OverflowError as error:
        raise AnswerError(f"{written!r} is not a moment; expected one as '2026-03-07 18:00'") from error


def _iso(written: str) -> datetime | None:
    """Read a moment in ISO form; None where it is in another form, or is a day without a clock time."""
    try:
        return datetime.fromisoformat(written) if len(written) > len("2026-03-07") else None
    except ValueError:
        return None


def _day_and_clock(written: str, today: date | None) -> datetime:
    expected = "expected a date and a clock time, as in '2026-03-07 18:00'"
    said = _ABOUT.sub("", written)
    if said and _day(said, today):
        raise AnswerError(f"{written!r} has no clock time; {expected} (guess the hour, and say so in a note)")
    found = _CLOCK.fullmatch(said)
    clock = _clock(found) if found else None
    day = _day(found["day"].strip().rstrip(","), today) if found and clock else None
    if day is None or clock is None:
        raise AnswerError(f"{written!r} is not a moment; {expected}")
    return datetime.combine(day, clock)


def _clock(found: re.Match[str]) -> time | None:
    """Return a clock time, `18:00`, `6 pm`, `6:30 am`; None where it is none: a bare number is not."""
    half, hour, minute = (found["half"] or "")[:1].lower(), int(found["hour"]), int(found["minute"] or 0)
    if not (half or found["minute"]) or (half and not 1 <= hour <= 12):
        return None
    try:
        return time(hour % 12 + 12 * (half == "p") if half else hour, minute)
    except ValueError:
        return None


def read_date(text: str) -> date:
    """Read a date, `2026-12-01` or `1.12.2026`. Raises AnswerError."""
    day = _day(text.strip(), None)
    if day is None:
        raise AnswerError(f"{text!r} is not a date; expected one as '2026-12-01'")
    return day


def _day(written: str, today: date | None) -> date | None:
    """Read a day; None where it is none. Raises AnswerError where day and month can be told in two ways."""
    if today is not None and written.lower() in ("", "today", "yesterday"):
        return today - timedelta(days=written.lower() == "yesterday")
    found = _day_in(written.lower())
    if found is None or not (found["year"] or today):
        return None
    day, month = int(found["day"]), _month(found["month"])
    if found.re is _SLASHED:
        day, month = _in_order(written, day, month, found["year"] or "YYYY")
    try:
        if found["year"] or today is None:
            return date(int(found["year"]), month, day)
        this_year = date(today.year, month, day)
        return this_year if this_year <= today else date(today.year - 1, month, day)
    except ValueError:
        return None


def _day_in(written: str) -> re.Match[str] | None:
    """Find a day in one of the forms in which people write it."""
    forms = (_ISO, _DOTTED, _SLASHED, _NAMED, _NAMED_FIRST)
    return next((found for form in forms if (found := form.fullmatch(written))), None)


def _month(written: str) -> int:
    """Return the number of a month, by its number or its name; nought where there is no such month."""
    if written.isdecimal():
        return int(written)
    return next((number for number, name in enumerate(_MONTHS, start=1) if name.startswith(written)), 0)


def _in_order(written: str, one: int, other: int, year: str) -> tuple[int, int]:
    """Return day and month, written with strokes, where only one order can be meant. Raises AnswerError."""
    if one <= 12 and other <= 12 and one != other:
        raise AnswerError(f"{written!r} can be read in two ways: day or month first; write it as '{year}-MM-DD'")
    return (other, one) if other > 12 else (one, other)


def show_quantity(value: float, unit: str, *, imperial: bool = False, figures: int = 3) -> str:
    """Print a number with its unit, three or four significant figures, a thin space between thousands.

    >>> show_quantity(431.8, "mm"), show_quantity(431.8, "mm", imperial=True), show_quantity(12, "Mohm")
    ('432 mm', '17 in (432 mm)', '12 MΩ')
    """
    figure = show_number(value, figures)
    own = f"{figure} {_days(figure) if unit == 'day' else SYMBOLS.get(unit, unit)}".strip()
    if not imperial or unit not in IMPERIAL:
        return own
    other = IMPERIAL[unit]
    return f"{show_number(convert(value, unit, other))} {SYMBOLS.get(other, other)} ({own})"


def as_read(value: float, unit: str) -> int:
    """Return to how many significant figures a reading is printed: a weight to the gram, all else to three."""
    return 4 if unit == "kg" and abs(value) >= 1 else 3


def to_the_gram(kg: float) -> float:
    """Return the target of a weight to the gram, and never above it.

    >>> to_the_gram(0.9275), to_the_gram(1.2)
    (0.927, 1.2)
    """
    return floor(kg * 1000 + 1e-6) / 1000


def _days(figure: str) -> str:
    return "day" if figure == "1" else SYMBOLS["day"]


def show_number(value: float, figures: int = 3) -> str:
    """Print a number: whole from 100 upwards, below it to so many significant figures, no trailing zeros.

    >>> show_number(99.7, 2), show_number(0.0351, 2), show_number(1234)
    ('100', '0.035', '1\u202f234')
    """
    rounded = f"{value:.{figures}g}"
    return f"{value:,.0f}".replace(",", "\u202f") if abs(float(rounded)) >= 100 else rounded


def show_moment(moment: datetime) -> str:
    """Print a moment as ISO date and local clock time with the zone's name."""
    return f"{moment:%Y-%m-%d %H:%M} {moment.tzname()}"


def show_hours(hours: float) -> str:
    """Print a duration in hours, or in days and hours from two days upwards."""
    days, rest = divmod(round(hours), 24)
    return f"{days} days {rest} h" if days >= 2 else f"{show_number(hours)} h"


def show_span(span: timedelta) -> str:
    """Print how far apart two days are, as people say it: hours, days, months, years.

    >>> show_span(timedelta(hours=30)), show_span(timedelta(days=245)), show_span(timedelta(days=1100))
    ('30 h', '8 months', '3 years')
    """
    if span < timedelta(days=60):
        return show_hours(span.total_seconds() / 3600) if span.days < 2 else f"{span.days} days"
    return f"{round(span.days / 30.44)} months" if span.days < 730 else f"{round(span.days / 365.25)} years"


def show_hours_minutes(hours: float) -> str:
    """Print a duration as it is set on a controller: `4 h 10 min`, to the minute."""
    whole, minutes = divmod(round(hours * 60), 60)
    return " ".join(f"{part} {unit}" for part, unit in ((whole, "h"), (minutes, "min")) if part) or "0 min"


def _read_number(text: str) -> float | None:
    """Return a number as it was written; None where it is none. Raises AnswerError where it can be read in two ways."""
    if "/" in text:
        whole, _, part = text.rpartition(" ")
        above, below = part.lstrip("+-").split("/")
        if not int(below):
            return None
        sign = -1 if text.startswith("-") else 1
        return sign * (abs(float(whole or 0)) + int(above) / int(below))
    if re.fullmatch(r"[+-]?\d{1,3},\d{3}", text):
        raise AnswerError(f"{text!r} can be read in two ways; write it without a comma, or with a point")
    return float(text.replace(",", "."))
