"""Any wall and any schedule as a command: a run of the drying model as text, table, document or curves."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from threading import Timer
from typing import TYPE_CHECKING, TextIO

import click

from recover.commands.options import say

if TYPE_CHECKING:
    from recover.physics.grid import Accuracy
    from recover.physics.sensitivity import Sensitivity
    from recover.physics.wallfile import Study

DRAWS, SEED = 256, 1
"""On how many draws, and from which seed, it is found what decides."""

COMPILING_S = 4.0
"""Longer than this, a run is waiting for its code to be compiled, or is a long one."""


@click.command()
@click.argument("wall", type=click.Path(path_type=Path, dir_okay=False), metavar="WALL.toml")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
@click.option("--csv", "as_csv", is_flag=True, help="Print the table as CSV and nothing else.")
@click.option("--plot", type=click.File("w", encoding="utf-8", lazy=True), metavar="FILE.svg",
              help="Draw it as well.")  # fmt: skip
@click.option("--accuracy", type=click.Choice(["rough", "quick", "normal", "fine"]),
              help="How finely it is cut; the file's, if not given. A second run tells what that misses.")  # fmt: skip
@click.option("--sensitivity", is_flag=True, help="Say what decides how long it takes, and what to measure.")
@click.option("--hours", type=float, help="How long; the file's, if not given.")
@click.option("--every", "every_h", type=float, help="Hours from row to row; the file's, if not given.")
def simulate(
    wall: Path, as_json: bool, as_csv: bool, plot: TextIO | None, accuracy: Accuracy | None, sensitivity: bool,
    hours: float | None,
    every_h: float | None,
) -> None:  # fmt: skip
    """Run any wall and any schedule through the drying model: heat, vapour, air and liquid, layer by layer.

    It is a calculation with assumed inputs, not a measurement, and releases nothing.
    The files in examples/walls show every key of a wall file.

    \b
    Example:  recover simulate examples/walls/brick-and-fibre.toml
              recover simulate examples/walls/dense-castable.toml --hours 200 --every 12
              recover simulate examples/walls/brick-and-fibre.toml --sensitivity
              recover simulate my-wall.toml --csv > my-wall.csv
              recover simulate my-wall.toml --plot my-wall.svg
    """
    from recover.physics.wallfile import read
    from recover.report import simulation

    if as_json and as_csv:
        raise click.UsageError("Standard output takes one of them: give --json or --csv, not both.")
    if sensitivity and as_csv:
        raise click.UsageError("The table of --csv has no place for --sensitivity: leave one out.")
    asked = read(wall)
    study = replace(asked, hours=asked.hours if hours is None else hours,
                    every_h=asked.every_h if every_h is None else every_h,
                    accuracy=accuracy or asked.accuracy)  # fmt: skip
    with patience():
        from recover.physics import drying

        cut = drying.ACCURACIES[study.accuracy]
        run = drying.simulate(study.setup, study.moments_h(), *cut, around=study.around, profiles=plot is not None)
        missed = None if as_csv else drying.discretisation(run, study.accuracy)
        decided = _decided(wall, study) if sensitivity else None
    shown = simulation.view(study, run, missed, decided)
    if as_json:
        say(json.dumps(shown, ensure_ascii=False, indent=1))
    elif as_csv:
        click.echo(simulation.csv_text(shown), nl=False)
    else:
        say("\n".join(simulation.text_lines(shown)))
    if plot:
        from recover.report.plots import run_figure

        plot.write(run_figure(run, study.title, simulation.shown_hours(run)))
        say(f"written: {plot.name}", err=as_json or as_csv)


def _decided(wall: Path, study: Study) -> Sensitivity:
    """Return what decides how long a wall takes. Raises QuantityError where no layer names its material."""
    from recover.base.errors import QuantityError
    from recover.physics.ensemble import simulate_many
    from recover.physics.sensitivity import sensitivity
    from recover.physics.wallfile import read_drawn

    setups, ranks = read_drawn(wall, DRAWS, SEED)
    if "moves" not in ranks.drawn:
        raise QuantityError("--sensitivity", "layers given as numbers", "a layer that names its material: it has spans")
    return sensitivity(simulate_many(setups, study.moments_h()), ranks.drawn)


def _working() -> str:
    """Say what takes so long, as far as it is known by now."""
    kernel = sys.modules.get("recover.physics.kernel")
    if getattr(kernel, "not_kept", None):
        keep = "to keep it, let NUMBA_CACHE_DIR name a folder where you may write"
        return f"Working. The drying model is compiled in every run, as nothing can be kept on this disk; {keep} ..."
    return "Working. The first run on a machine compiles the drying model; later ones start at once ..."


@contextmanager
def patience(*, quiet: bool = False) -> Iterator[None]:
    """Say on the error stream what is waited for, when it takes long; to a program that reads a document, nothing."""
    waiting = Timer(COMPILING_S, lambda: say(_working(), err=True))
    waiting.daemon = True
    if not quiet:
        waiting.start()
    try:
        yield
    finally:
        waiting.cancel()
