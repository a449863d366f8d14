"""The collector of cyclic garbage, held back while a session is read."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """No search for cyclic garbage in here.

    Reading a session makes hundreds of thousands of objects that are all kept, none of them in a
    circle. The collector would go through all of them again and again and find nothing; on a long
    trail that takes as long as the reading itself.
    """
    was_at_work = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_at_work:
            gc.enable()
