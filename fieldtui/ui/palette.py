"""The command palette: the actions of the screen in front, from the table."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

from fieldtui.ui.actions import Action, actions_of, key_name
from fieldtui.ui.widgets.key_bar import KeyBar


class ActionCommands(Provider):
    """Finds an action by its label or by what its help says."""

    async def discover(self) -> Hits:
        for action in self._actions():
            yield DiscoveryHit(_title(action), self._begin(action), help=action.help)

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for action in self._actions():
            score = max(matcher.match(action.label), matcher.match(action.help))
            if score > 0:
                yield Hit(score, _title(action), self._begin(action), help=action.help)

    def _actions(self) -> tuple[Action, ...]:
        bars = self.screen.query(KeyBar)
        return actions_of(bars.first().screen_name) if bars else ()

    def _begin(self, action: Action) -> Callable[[], Coroutine[None, None, None]]:
        form = "act('{name}')" if action.screen == "walk" else "{name}"
        return partial(self.screen.run_action, form.format(name=action.name))


def _title(action: Action) -> str:
    return f"{action.label} ({' '.join(map(key_name, action.keys))})"
