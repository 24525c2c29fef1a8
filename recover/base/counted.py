"""Which form of a sentence a number takes, and how names and numbers are listed, in the language of the papers.

The only door to Babel, whose tables (CLDR) know the plural forms and the lists of every language.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Literal, cast

if TYPE_CHECKING:
    from babel import Locale

LANGUAGE = "en"
"""What the papers and the screen are written in."""

PluralForm = Literal["zero", "one", "two", "few", "many", "other"]


def plural_form(number: float) -> PluralForm:
    """Return the form that a number takes: in English `one` of 1, `other` of all else."""
    return cast(PluralForm, _language().plural_form(number))


@cache
def _language() -> Locale:
    from babel import Locale

    return Locale.parse(LANGUAGE)
