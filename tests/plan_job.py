"""A job with a small kiln, one thin wet ring of brick, so that it plans in seconds; written by a clock of its own."""

from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

from recover.job.folder import Job, Settings, journal, open_job
from recover.job.journal import Journal
from tests.conftest import events_of
from tests.test_wetmap import HEIGHTS, KILN

VISIT = datetime(2026, 3, 10, 9, 0, tzinfo=UTC)
SETTINGS = Settings("small", "uk", "A4", "Europe/London")
SMALL = {
    **HEIGHTS,
    f"identity.floor_face{KILN}": 215, f"identity.floor_under{KILN}": 190, f"event.water_line{KILN}": 430,
    f"identity.shape{KILN}": "round", f"identity.inside_width{KILN}": 200, f"identity.inside_height{KILN}": 250,
    f"lining.parts{KILN}": ["wall", "floor"], "lining.layers@kiln/1/part/wall": 1,
    "layer.thickness@kiln/1/part/wall/layer/1": 40, "layer.thickness@kiln/1/part/floor/layer/1": 40,
    f"casing.build{KILN}": "framed", "event.salt": "fresh", "event.source": "mains", "safe.hazards": ["none"],
    f"identity.kw{KILN}": 2.0, "plan.supply_kw": 3.0, f"element.alloy{KILN}": "fecral", f"event.mould{KILN}": "none",
    f"safe.asbestos{KILN}": "papers", "safe.water_gone": "yes", "event.water_out": "2026-03-09T08:00:00+00:00",
}  # fmt: skip
CONTROLLED = {
    **SMALL, f"scope.control{KILN}": ["electronic"], f"control.probe_type{KILN}": "S", f"control.set_type{KILN}": "K",
    f"control.letters{KILN}": ["K", "N"], f"control.kept{KILN}": 4, f"control.steps{KILN}": 8,
    f"control.ramps{KILN}": "rate", f"control.ramp_rates{KILN}": "1 to 300", f"control.degrees{KILN}": "C",
    f"control.degree_step{KILN}": 1, f"control.least{KILN}": 20, f"control.longest_hold{KILN}": 24,
    f"control.waits{KILN}": "yes", f"control.starts{KILN}": "present", f"control.hot_start{KILN}": "yes",
    f"control.overshoot{KILN}": 5, f"control.cutout_probe{KILN}": "match", f"control.learnt{KILN}": "papers",
}  # fmt: skip
"""Its controller is well known, and cannot be set to the letter of its probe."""


def write(folder: Path, given=SMALL, at: datetime = VISIT) -> Job:
    """Begin a job with these answers, all of one moment."""
    folder.mkdir(parents=True)
    with Journal(folder / "journal.jsonl", lambda: at) as lines:
        opening = {"format": journal.FORMAT, "version": journal.VERSION, **asdict(SETTINGS)}
        lines.append("start", opening, by="A. Repairer", source="test")
    return say(folder, given, at)


def say(folder: Path, given, at: datetime = VISIT) -> Job:
    """Write answers into the journal of a job."""
    with Journal(folder / "journal.jsonl", lambda: at) as lines:
        for event in events_of(given):
            lines.append(event.kind, event.data, by="A. Repairer", source="test")
    return open_job(folder)
