"""What holds for every test: nothing outside the folders that tests make is written to."""

from __future__ import annotations

import os

# Hints of the first sessions are kept in the user's own folder; programs that tests start inherit this.
os.environ["FIELDTUI_HINTS"] = "off"
