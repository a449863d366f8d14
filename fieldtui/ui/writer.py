"""One thread that does everything that waits for the disk, so that the screen stays alive."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")


class Writer:
    """Calls run one after the other on one thread; what they raise comes back to the caller."""

    def __init__(self) -> None:
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="fieldtui-writer")

    async def do(self, deed: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Run ``deed`` on the writer thread and wait for it without holding up the screen."""
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._thread, partial(deed, *args, **kwargs))

    def close(self) -> None:
        """Finish what was begun; nothing can be asked of the writer afterwards."""
        self._thread.shutdown(wait=True)
