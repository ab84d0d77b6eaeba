"""The garbage collector, held while the program starts.

Starting makes hundreds of thousands of objects that all stay. The collector would walk them again
and again: a tenth of the time to the first card, and later a pause of some 20 ms in the midst of a
drill. So it waits until the first screen stands, and leaves alone whatever is there by then.
"""

from __future__ import annotations

import gc

_held = False


def hold_collector() -> None:
    """Let no collection happen until `free_collector`."""
    global _held
    _held = True
    gc.disable()


def free_collector() -> None:
    """Let the collector work again, on what is made from now on; nothing where it was not held."""
    global _held
    if _held:
        _held = False
        gc.freeze()
        gc.enable()
