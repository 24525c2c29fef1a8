"""A job in which every kind of file lies, for the tests of how files are kept, proved and held against papers."""

from shutil import copytree

import pytest

from tests import campaign


@pytest.fixture(scope="session")
def made(tmp_path_factory):
    """A job with answers, photographs, a plan and an issue, to be looked at."""
    return campaign.worked(tmp_path_factory.mktemp("kept") / "job")


@pytest.fixture
def job(made, tmp_path):
    """A copy of it, to be changed."""
    return copytree(made, tmp_path / "job")
