"""``python -m fieldtui``."""

import sys

from fieldtui.cli import main

sys.exit(main())
