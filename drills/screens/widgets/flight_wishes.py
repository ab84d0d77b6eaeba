"""What the next flight should be like, changed by keys of the screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

from textual.content import Content
from textual.widgets import Static

from drills.errors import UsageError
from drills.screens.ask import AskScreen
from drills.screens.in_place import put
from drills.service.flight_showing import Asked
from drills.tastings.cells import printable

if TYPE_CHECKING:
    from drills.screens.base import DeskScreen

_FEWEST, _MOST = 2, 24
# Where the second column begins.
_COLUMN = 32


class FlightWishes(Static):
    """Bottles, decoys, prices, origin, order, tasters: each with the key that changes it."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id, markup=False)
        self.asked = Asked()

    def on_mount(self) -> None:
        """Say what is asked for."""
        self._show()

    def _show(self) -> None:
        asked = self.asked
        key_of = cast("DeskScreen[Any]", self.screen).key_of
        rows = (
            (("more-bottles", "fewer-bottles"), "bottles", str(asked.bottles)),
            (("decoys",), "decoys", str(self._decoys)),
            (("budget",), "budget", _price(asked.budget, "none")),
            (("usual-price",), "unpriced", _price(asked.usual_price, "your cellar's")),
            (("cellar-only",), "from", "your cellar only" if asked.cellar_only else "anywhere"),
            (("white-first",), "order", "by style" if asked.white_first else "mixed"),
            (("share-wines",), "each", "some of the wines" if asked.shared else "all wines"),
            (("tasters",), "tasters", ", ".join(asked.tasters) or "you"),
        )
        cells = [
            Content.assemble(
                (f"{' '.join(map(key_of, keys)):>{3 if place % 2 == 0 else 1}} ", "bold"),
                (f"{label:<9} ", "dim"),
                (printable(value), ""),
            )
            for place, (keys, label, value) in enumerate(rows)
        ]
        lines = []
        for place in range(0, len(cells), 2):
            left, *right = cells[place : place + 2]
            lines.append(Content.assemble(left, " " * max(_COLUMN - left.cell_length, 2), *right))
        put(self, Content("\n").join(lines))

    @property
    def _decoys(self) -> int:
        from drills.pouring.choice import usual_decoys

        asked = self.asked
        return usual_decoys(asked.bottles) if asked.decoys is None else asked.decoys

    def change(self, **wishes: Any) -> None:
        """Ask for something else."""
        self.asked = replace(self.asked, **wishes)
        self._show()

    def change_bottles(self, by: int) -> None:
        """So many bottles more; the decoys follow."""
        self.change(bottles=min(max(self.asked.bottles + by, _FEWEST), _MOST), decoys=None)

    def change_decoys(self) -> None:
        """A decoy more; after the most none."""
        most = max(self.asked.bottles - 2, 0)
        self.change(decoys=(self._decoys + 1) % (most + 1))

    def ask_budget(self) -> None:
        """Ask what the bottles to buy may cost."""
        self._ask_price("What may the bottles to buy cost together? Empty: anything.", "budget")

    def ask_usual_price(self) -> None:
        """Ask what a bottle of unknown price costs."""
        self._ask_price(
            "What does a bottle cost whose price nobody knows? Empty: ask the cellar.",
            "usual_price",
        )

    def _ask_price(self, words: str, wish: str) -> None:
        self._ask(words, "", _read_price, lambda said: self.change(**{wish: _read_price(said)}))

    def ask_tasters(self) -> None:
        """Ask who tastes."""
        from drills.service.pouring import tasters_said

        def read(said: str) -> tuple[str, ...]:
            return tasters_said(said) if said.strip() else ()

        self._ask(
            "Who tastes? A number, or names with commas between. Empty: you alone.",
            ", ".join(self.asked.tasters),
            read,
            lambda said: self.change(tasters=read(said)),
        )

    def _ask(
        self, words: str, now: str, read: Callable[[str], Any], keep: Callable[[str], None]
    ) -> None:
        def said(answer: str | None) -> None:
            if answer is not None:
                keep(answer)

        self.app.push_screen(AskScreen(words, now, read), said)


def _price(price: float | None, none: str) -> str:
    return none if price is None else f"{price:g}"


def _read_price(said: str) -> float | None:
    from drills.tastings.figures import read_decimal

    if not said.strip():
        return None
    try:
        price = read_decimal(said)
    except ValueError as error:
        raise UsageError(str(error)) from None
    if price < 0:
        raise UsageError("a price is 0 or more")
    return price
