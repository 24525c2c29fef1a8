"""The school's job, told from its call to its own heat: once in a run of the tests; whoever begins there takes a copy.

Telling it takes seconds, and some thirty tests begin where it ends.
"""

import os
from datetime import datetime, timedelta
from pathlib import Path
from shutil import copytree
from tempfile import mkdtemp

import portalocker

from examples.story import tell
from recover.job.journal import utc_now

if "RECOVER_SCHOOL" not in os.environ:  # the workers of a run inherit both from who begins them
    os.environ |= {"RECOVER_SCHOOL": mkdtemp(prefix="recover-school-"), "RECOVER_SCHOOL_ENDS": utc_now().isoformat()}

PLACE = Path(os.environ["RECOVER_SCHOOL"])
"""Where the jobs of this run lie."""

ENDS = datetime.fromisoformat(os.environ["RECOVER_SCHOOL_ENDS"]).replace(microsecond=0) - timedelta(minutes=1)
"""When its own heat is released: a minute before this run began."""


def school(into: Path, ends: datetime = ENDS) -> Path:
    """Copy the job as it stands when its own heat is released to a new folder."""
    told = PLACE / f"{ends:%Y%m%d-%H%M%S}"
    with portalocker.Lock(f"{told}.lock", timeout=600):
        if not told.exists():
            list(tell(told.with_suffix(".part"), ends))
            told.with_suffix(".part").rename(told)
    return Path(copytree(told, into))
