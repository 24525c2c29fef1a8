"""What verbs share: words that are typed and kept, a job that is going to be written to, and how a verb ends."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from recover.base.errors import listed
from recover.base.measures import is_writable

if TYPE_CHECKING:
    from recover.base.errors import Problem
    from recover.job.folder import Job


class _PlainText(click.ParamType[str]):
    """A name, a role, a number: letters that can be written down and printed."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Take words as they are; refuse what is no text, or would move a cursor or turn a line round."""
        if is_writable(str(value)):
            return str(value)
        return self.fail("holds letters that cannot be written down; type it again", param, ctx)


WORDS = _PlainText()


def settled(folder: Path) -> Job:
    """Open a job that will be written to: prove that it can be, and say what an interruption had left."""
    from recover.job.folder import open_job
    from recover.job.kept import settle

    job = open_job(folder)  # where there is none, nothing is to be made by looking
    done = settle(folder)
    for line in done:
        click.echo(line, err=True)
    return open_job(folder) if done else job


def end_with(problems: Iterable[Problem]) -> None:
    """Show every problem and leave with its exit status, if there is any."""
    if found := list(problems):
        click.echo(listed(found), err=True)
        sys.exit(1)
