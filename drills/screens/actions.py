"""Finding an action by its name: every key of the screen beneath, read from its live bindings."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import partial

from textual.command import CommandPalette, DiscoveryHit, Hit, Hits, Provider

from drills.screens.live_keys import Action, actions


class OwnActions(Provider):
    """What can be done on the screen beneath, in the words and with the keys of its help."""

    async def discover(self) -> Hits:
        """Everything, while nothing is typed."""
        for action in actions(self.screen, own=True):
            yield DiscoveryHit(action.words, self._doing(action), help=action.keys)

    async def search(self, query: str) -> Hits:
        """What the typed letters may mean."""
        matcher = self.matcher(query)
        for action in actions(self.screen, own=True):
            if (match := matcher.match(action.words)) > 0:
                words = matcher.highlight(action.words)
                yield Hit(match, words, self._doing(action), help=action.keys)

    def _doing(self, action: Action) -> Callable[[], Awaitable[bool]]:
        return partial(self.app.run_action, action.active.binding.action, action.active.node)


class ActionsScreen(CommandPalette):
    """The line to type an action's name into, and what it may mean."""

    # A picture that many terminals do not have.
    DEFAULT_CSS = "ActionsScreen SearchIcon { display: none; }"

    def __init__(self) -> None:
        super().__init__(providers=[OwnActions], placeholder="what to do")
