"""What all tests share."""

import os

from hypothesis import settings

pytest_plugins = ["helpers.validation"]

# Tests assert no times. Where a change is judged, the same examples are tried each time, so that a
# verdict can be had again; elsewhere new ones are sought at every run.
settings.register_profile("here", deadline=None)
settings.register_profile("judged", deadline=None, derandomize=True)
settings.load_profile("judged" if os.environ.get("CI") else "here")
