"""Settings of the whole test run."""

from __future__ import annotations

import os

from hypothesis import settings

# No deadline: a busy machine is no failure. In CI the same examples every time, so that a red run can be
# repeated; elsewhere new ones, so that more is found.
settings.register_profile("house", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("house")
