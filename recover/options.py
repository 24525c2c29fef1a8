"""What is typed on the command line and kept: words."""

from __future__ import annotations

from typing import Any

import click


class PlainText(click.ParamType[str]):
    """A name, a role, a number: letters that can be written down and printed."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Take words as they are; refuse what is no text, or would move a cursor or turn a line round."""
        if str(value).isprintable() and not any("\ud800" <= letter <= "\udfff" for letter in value):
            return str(value)
        return self.fail("holds letters that cannot be written down; type it again", param, ctx)


WORDS = PlainText()
