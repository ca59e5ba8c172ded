"""What every test stands on: no colour asked for by the surroundings, and repeatable random cases."""

import os

import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "house"))

COLOUR_SWITCHES = ("FORCE_COLOR", "CLICOLOR_FORCE", "GITHUB_ACTIONS", "NO_COLOR", "COLUMNS", "MPLBACKEND")


@pytest.fixture(autouse=True)
def _plain_surroundings(monkeypatch):
    for name in COLOUR_SWITCHES:
        monkeypatch.delenv(name, raising=False)
