"""What holds for every test: nothing outside its folders is written to, and a slow machine is no failure."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# Hints of the first sessions are kept in the user's own folder; programs that tests start inherit this.
os.environ["FIELDTUI_HINTS"] = "off"

# A busy machine, or one that measures coverage, makes inputs slowly; that is no fault of theirs.
settings.register_profile("any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("any machine")
