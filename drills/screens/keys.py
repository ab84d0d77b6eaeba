"""The taster's own keys, from the settings to what the library understands."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Mapping

from textual.binding import Binding, InvalidBinding

from drills import paths
from drills.errors import UsageError


def keymap(keys: Mapping[str, str]) -> dict[str, str]:
    """Keys by binding id, each as the library calls it: “;” is semicolon.

    UsageError names an id that no screen has, or a key that cannot be read.
    """
    known = binding_ids() if keys else set()
    named = {}
    for name, key in keys.items():
        if name not in known:
            from difflib import get_close_matches

            near = get_close_matches(name, sorted(known), 1)
            hint = f"; did you mean {near[0]}?" if near else ""
            raise UsageError(f"{paths.settings_file()}: keys: no screen has {name}{hint}")
        try:
            unrolled = list(Binding.make_bindings([Binding(key.strip(), "")]))
        except InvalidBinding as error:
            raise UsageError(
                f"{paths.settings_file()}: keys: {name} is on “{key}”, which is no key"
            ) from error
        named[name] = ",".join(one.key for one in unrolled)
    return named


def binding_ids() -> set[str]:
    """The ids of all keys on all screens."""
    import drills.screens as package
    from drills.screens.app import CrosspourApp

    owners: list[type] = [CrosspourApp]
    # Only who changes keys waits for all screens to be loaded.
    for module in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
        owners += vars(importlib.import_module(module.name)).values()
    return {
        binding.id
        for owner in owners
        if isinstance(owner, type)
        for binding in Binding.make_bindings(vars(owner).get("BINDINGS", ()))
        if binding.id
    }
