"""Where a job stands as a command: the fifth file of the command line."""

from __future__ import annotations

import json
from pathlib import Path

import click

from recover.commands.options import look_of, say


@click.command()
@click.argument("job", type=click.Path(path_type=Path, file_okay=False))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def status(job: Path, as_json: bool) -> None:
    """Say on one screen where a job stands: what is next, by whom, until when; each kiln, its day, what is left.

    Beside it the last round of readings and its bands, what would end the day, and the drying so far as a small plot.
    It tells by the newest plan, computes nothing and releases nothing.

    \b
    Example:  recover status school-kiln
              recover status school-kiln --json
    """
    from recover.job.folder import open_job
    from recover.judged.assessment import assess
    from recover.report.status import screen
    from recover.report.status_view import status_view

    opened = open_job(job)
    look = look_of(opened, job, assess(opened))
    if as_json:
        click.echo(json.dumps(status_view(look), ensure_ascii=False, indent=1))
    else:
        say("\n".join(screen(look)))
