"""A verb as it is typed, run in this process: a new one takes longer to begin than most verbs to end."""

from dataclasses import dataclass

from click.testing import CliRunner

from recover.commands.cli import main


@dataclass(frozen=True)
class Done:
    """How a verb left, and what it printed."""

    returncode: int
    stdout: str
    stderr: str


def run(*words):
    """Run `recover` without a terminal, and nothing to read."""
    with CliRunner().isolation() as (out, err, _):
        try:
            main([*map(str, words)])
        except SystemExit as left:
            status = left.code
        return Done(status, *(stream.getvalue().decode() for stream in (out, err)))
