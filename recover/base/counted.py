"""Which form of a sentence a number takes, and how names and numbers are listed, in the language of the papers.

The only door to Babel, whose tables (CLDR) know the plural forms and the lists of every language.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Literal, cast

if TYPE_CHECKING:
    from babel import Locale

LANGUAGE = "en_GB"
"""What the papers and the screen are written in."""

PluralForm = Literal["zero", "one", "two", "few", "many", "other"]


def plural_form(number: float) -> PluralForm:
    """Return the form that a number takes: in English `one` of 1, `other` of all else."""
    whole = int(number) if number % 1 == 0 else number  # 1.0 is told as 1 is
    return cast(PluralForm, _language().plural_form(whole))


def by_number(number: float, *, one: str, other: str) -> str:
    """Return the text of the form that a number takes, with the number in its place.

    >>> by_number(1, one="{number} answer opens", other="{number} answers open")
    '1 answer opens'
    """
    return (one if plural_form(number) == "one" else other).format(number=number)


def any_of(names: Sequence[str]) -> str:
    """Return names as a list of which one will do.

    >>> any_of(["star", "delta", "single"])
    'star, delta or single'
    """
    from babel.lists import format_list

    return format_list(names, style="or", locale=_language())


@cache
def _language() -> Locale:
    from babel import Locale

    return Locale.parse(LANGUAGE)
