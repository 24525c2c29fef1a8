"""A verb as it is typed, run in this process: a new one takes longer to begin than most verbs to end."""

from subprocess import CompletedProcess

from click.testing import CliRunner

from recover.commands.cli import main


def run(*words):
    """Run `recover` without a terminal and with nothing to read; return what a process of its own would."""
    typed = [*map(str, words)]
    with CliRunner().isolation() as (out, err, _):
        try:
            main(typed)
        except SystemExit as left:
            return CompletedProcess(typed, left.code, *(stream.getvalue().decode() for stream in (out, err)))
