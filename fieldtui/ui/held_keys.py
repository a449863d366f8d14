"""The one way by which keys come to a page: in the order they were pressed, one after the other.

A key is handed to the page in front once that page has been painted and takes keys, and once all is done
that the key before it led to. Until then it waits here: while a page is opened, while a value is on its
way to the disk, while what a key has begun is still busy. Nothing is lost on the way from one page to the
next, and no key passes another.

A line that has done with a key as soon as it has it (:class:`KeyedLine`) is called straight away. Behind
any other key a message follows through the queues, which would come before the paint at every digit.

Keys that waited are not for every page. Where something has failed, or a question has come up that nobody
meant to answer, they are forgotten: all of them until the hand stops, since a value without its first
digits is another value.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, TypeVar

from textual import events
from textual.app import App
from textual.dom import DOMNode
from textual.screen import Screen

R = TypeVar("R")
Pressed = events.Key | events.Paste

AT_ONCE = frozenset({"ctrl+c", "ctrl+q"})  # leaving the program waits for nothing
# A key may lead to a message, and that to another, each of which comes up to the application as the key did:
# Enter on a list says that a line was chosen, the list which choice that is, its screen what is to be opened.
_WAYS_UP = 4


class KeyedPage:
    """What a screen says about the keys it gets. One that is none of these takes whatever comes."""

    @property
    def takes_keys(self) -> bool:
        """False while what the last key led to is not done yet."""
        return True

    def wants_seen(self, event: Pressed) -> bool:
        """Whether this key counts only where it was pressed once the page was there to be seen."""
        return False

    def keys_dropped(self) -> None:
        """Keys were pressed before the page could be seen and were forgotten."""


class KeyedLine:
    """A widget that has done with a key once it has it, or makes its page say that no more are taken.

    Nothing need be waited for then, so that a digit is on the screen as soon as on a bare input.
    """

    def take_key(self, event: events.Key) -> bool:
        """Take the key; False where it is for others."""
        return False


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A key, and the sight it was pressed at, where a page could be seen and took keys."""

    event: Pressed
    seen: object | None
    is_sure: bool = False  # the program's own: it answers a question that the crew has seen elsewhere


class KeyedApp(App[R]):
    """Hands out the keys."""

    HURRY_S: ClassVar[float] = 0.4  # a key that comes sooner is of the same run; common practice, no source

    def __init__(self) -> None:
        super().__init__()
        self._waiting: deque[_Waiting] = deque()
        self._is_handing = False  # a key is on its way
        self._painted: Screen[object] | None = None  # the page in front, once it stands as it is
        self._sight = object()  # what can be seen, until a page changes
        self._dropped: tuple[Screen[object], float] | None = None  # where keys were last dropped, and when
        self._opening: list[Screen[object]] = []  # those from which another page is being opened

    def on_mount(self) -> None:  # the toolkit calls that of the application built on this as well
        self.screen_change_signal.subscribe(self, lambda _: self.page_changed(), immediate=True)
        self.page_changed()

    # --- which page gets the next key -----------------------------------------------------

    @property
    def is_painted(self) -> bool:
        """Whether the page in front can be seen as it stands."""
        return bool(self.screen_stack) and self._painted is self.screen

    @property
    def takes_keys(self) -> bool:
        """Whether a key pressed now counts at once."""
        return not self._is_handing and not self._waiting and self._page_takes_keys

    @property
    def _page_takes_keys(self) -> bool:
        if not self.is_painted or self.screen in self._opening:
            return False
        return not isinstance(self.screen, KeyedPage) or self.screen.takes_keys

    def page_changed(self) -> None:
        """Another page is in front, or it says something else: it is seen once it is painted."""
        self._painted = None
        self._sight = object()
        if self.screen_stack:
            self.screen.call_after_refresh(self._page_painted, self.screen)

    async def _page_painted(self, screen: Screen[object]) -> None:
        if self.screen_stack and screen is self.screen:
            self._painted = screen
            await self._hand_next()

    def hold_keys(self) -> Screen[object]:
        """From the page in front another one is opened: until :meth:`release_keys` keys wait."""
        screen: Screen[object] = self.screen
        self._opening.append(screen)
        return screen

    def release_keys(self, screen: Screen[object]) -> None:
        """What was opened from ``screen`` is there, or will not come."""
        self._opening.remove(screen)
        self.keys_go_on()

    # --- keys -----------------------------------------------------------------------------

    async def on_event(self, event: events.Event) -> None:
        if isinstance(event, events.Key | events.Paste) and not event.is_forwarded and not _is_at_once(event):
            if not self._is_of_dropped():
                self._waiting.append(_Waiting(event, self._sight if self._page_takes_keys else None))
                await self._hand_next()
        else:
            await super().on_event(event)

    def put_keys_first(self, names: Sequence[str]) -> None:
        """Keys that count as pressed before those that wait."""
        keys = [events.Key(name, name if len(name) == 1 else None) for name in names]
        self._waiting.extendleft(_Waiting(key, None, is_sure=True) for key in reversed(keys))

    def forget_keys(self) -> None:
        """Something has come that nobody meant the waiting keys for, nor those of the same run to come."""
        if self.screen_stack and any(not waiting.is_sure for waiting in self._waiting):
            self._dropped = self.screen, self._now()
        self._waiting.clear()

    def keys_go_on(self) -> None:
        """The page in front may take keys again."""
        self.call_later(self._hand_next)

    async def _hand_next(self) -> None:
        """The key that has waited longest, where it can be handed out now; and those after it."""
        while not self._is_handing and self._waiting and self._page_takes_keys:
            await self._hand_one()

    async def _hand_one(self) -> None:
        waiting, screen = self._waiting.popleft(), self.screen
        # Keys of one run follow sooner than they are done with. Each was pressed at what it goes to,
        # as long as none before it has changed that.
        is_seen = waiting.is_sure or waiting.seen is self._sight
        if not is_seen and isinstance(screen, KeyedPage) and screen.wants_seen(waiting.event):
            self.forget_keys()
            self._dropped = screen, self._now()
            screen.keys_dropped()
            return
        taker = self.focused or screen
        if (
            isinstance(taker, KeyedLine)
            and isinstance(waiting.event, events.Key)
            and taker.take_key(waiting.event)
        ):
            return
        self._is_handing = True
        await super().on_event(waiting.event)
        self._follow(taker, taker, _WAYS_UP)

    def _is_of_dropped(self) -> bool:
        """Whether a key that comes now is the next of those that were just dropped on the page in front."""
        if self._dropped is None:
            return False
        page, when = self._dropped
        if page is not self.screen or self._now() - when >= self.HURRY_S:
            self._dropped = None
            return False
        self._dropped = page, self._now()
        return True

    @staticmethod
    def _now() -> float:
        return asyncio.get_running_loop().time()

    def _follow(self, node: DOMNode | None, taker: DOMNode, ways: int) -> None:
        """Go up to the application behind a key, queue by queue, so that it is done when this comes there."""
        while node is not None and node is not self:
            if node.call_later(self._follow, node.parent, taker, ways):
                return
            node = node.parent  # this one has gone in the meantime
        self.call_later(self._came_up, taker, ways - 1)

    async def _came_up(self, taker: DOMNode, ways: int) -> None:
        if ways:
            self._follow(taker, taker, ways)
            return
        self._is_handing = False
        await self._hand_next()


def _is_at_once(event: Pressed) -> bool:
    return isinstance(event, events.Key) and event.key in AT_ONCE


# --- for pages and widgets, which may stand in another application, as in tests --------------------


def page_changed(node: DOMNode) -> None:
    """The page says something else than before; see :meth:`KeyedApp.page_changed`."""
    if isinstance(node.app, KeyedApp):
        node.app.page_changed()


def keys_go_on(node: DOMNode) -> None:
    """The page takes keys again."""
    if isinstance(node.app, KeyedApp):
        node.app.keys_go_on()


def forget_keys(node: DOMNode) -> None:
    """What was begun did not happen: forget the keys pressed in the meantime."""
    if isinstance(node.app, KeyedApp):
        node.app.forget_keys()


def put_keys_first(node: DOMNode, names: Sequence[str]) -> None:
    """Keys that count as pressed before those that wait."""
    if isinstance(node.app, KeyedApp):
        node.app.put_keys_first(names)
