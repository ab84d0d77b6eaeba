"""What a group's counts are worth to a newcomer: `python -m tests.simulations.groups [GROUPS]`.

Groups of simulated tasters share hard pairs that the table does not know of. A newcomer starts
with the table's prior or the group's, learns from every pour as the program does, and each prior
foretells every pour before it is called. Nothing here is drawn from the model that the prior
assumes: rates are logistic-normal, not Beta, and all wines that one may be called share one pour.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import Any

import numpy as np

from drills.confusions import PRIOR_POURS, prior_rate
from drills.statistics.group_prior import (
    GroupCounts,
    Prior,
    counts_of_taster,
    credit,
    group_prior,
    of_both,
    trust,
)
from tests.simulations.__main__ import interval

SEED = 31
WINES, LATERALS = 40, 5
# How much pairs differ from the table in a group, and tasters from their group, in logits.
BEYOND_TABLE, BETWEEN_TASTERS = 1.0, 0.6
# Pours of each wine by each taster, on average.
POURS = 3.0
NEWCOMER_POURS = 4


@dataclass(frozen=True)
class Group:
    """A group and a newcomer, by ordered pairs: what the table expects, and the true rates."""

    pairs: list[tuple[str, str]]
    expected: Any
    counts: GroupCounts
    newcomer: Any


def make_group(rng: Any, tasters: int, *, alike: float = 1.0) -> Group:
    """A group of so many tasters.

    `alike` is the correlation between what the group and the newcomer find hard beyond the table:
    1 for a newcomer like them, 0 for one who has nothing in common with them, -1 for one who finds
    hard what they find easy.
    """
    pairs, expected = [], []
    for was in range(WINES):
        for called in rng.choice([w for w in range(WINES) if w != was], LATERALS, replace=False):
            pairs.append((f"wine {called}", f"wine {was}"))
            expected.append(prior_rate(rng.gamma(2.0, 4.0)))
    table = np.clip(np.array(expected), 1e-4, 0.4)
    shared, own = rng.normal(0, BEYOND_TABLE, (2, len(pairs)))
    logit = np.log(table / (1 - table))
    counts = GroupCounts()
    for _ in range(tasters):
        rates = _rates(logit + shared + rng.normal(0, BETWEEN_TASTERS, len(pairs)))
        counts += _tasted(rng, pairs, rates, rng.poisson(POURS, WINES))
    theirs = alike * shared + np.sqrt(1 - alike**2) * own
    newcomer = _rates(logit + theirs + rng.normal(0, BETWEEN_TASTERS, len(pairs)))
    return Group(pairs, table, counts, newcomer)


def _rates(logit: Any) -> Any:
    """Rates of each pair; the laterals of one wine share what can go wrong in one pour."""
    rates = (1 / (1 + np.exp(-logit))).reshape(WINES, LATERALS)
    return (rates / np.maximum(rates.sum(axis=1, keepdims=True) / 0.95, 1)).ravel()


def _tasted(rng: Any, pairs: list[tuple[str, str]], rates: Any, pours: Any) -> GroupCounts:
    calls: list[tuple[str, str | None, int]] = []
    for was, number in enumerate(pours):
        of_wine = slice(was * LATERALS, (was + 1) * LATERALS)
        chance = [*rates[of_wine], 1 - rates[of_wine].sum()]
        drawn = rng.multinomial(number, chance)
        name = f"wine {was}"
        names = [called for called, _ in pairs[of_wine]] + [name]
        calls += [(name, called, int(times)) for called, times in zip(names, drawn, strict=True)]
    return counts_of_taster((was, called, times) for was, called, times in calls if times)


def losses(rng: Any, group: Group, pours: int = NEWCOMER_POURS) -> dict[str, Any]:
    """What each prior loses by not knowing the newcomer's rates, by pours of each wine before.

    In thousandths of a nat a pour and pair: the log loss less that of who knows the true rates.
    `group` follows the group whatever the newcomer does, `both` is the program's way.
    """
    believed = credit(group.counts, expected_of(group))
    tables = [Prior(float(t), PRIOR_POURS) for t in group.expected]
    groups = [
        group_prior(group.counts, believed, *pair, table.rate) or table
        for pair, table in zip(group.pairs, tables, strict=True)
    ]
    true = group.newcomer
    least = _loss(true, true)
    confused = np.zeros(len(group.pairs))
    found: dict[str, list[float]] = {"table": [], "group": [], "both": []}
    for gone in range(pours):
        trusted = trust((y, gone, *two) for y, *two in zip(confused, groups, tables, strict=True))
        mixed = [of_both(*two, trusted) for two in zip(groups, tables, strict=True)]
        for name, priors in (("table", tables), ("group", groups), ("both", mixed)):
            rate, worth = np.array([(one.rate, one.pours) for one in priors]).T
            told = (rate * worth + confused) / (worth + gone)
            found[name].append(1000 * (_loss(true, told) - least))
        for was in range(WINES):
            of_wine = slice(was * LATERALS, (was + 1) * LATERALS)
            chance = [*true[of_wine], 1 - true[of_wine].sum()]
            confused[of_wine] += rng.multinomial(1, chance)[:-1]
    return {name: np.array(values) for name, values in found.items()}


def _loss(true: Any, told: Any) -> float:
    p = np.clip(told, 1e-6, 1 - 1e-6)
    return float(-(true * np.log(p) + (1 - true) * np.log1p(-p)).mean())


def expected_of(group: Group) -> Any:
    """What the table expects of (called, was), as `credit` asks it."""
    known = dict(zip(group.pairs, group.expected, strict=True))
    return lambda called, was: float(known.get((called, was), 0.0))


def compare(tasters: int, alike: float, groups: int, seed: int = SEED) -> dict[str, Any]:
    """The losses of each prior, a row a group."""
    found: dict[str, list[Any]] = {}
    for number in range(groups):
        rng = np.random.default_rng([seed, number])
        for name, values in losses(rng, make_group(rng, tasters, alike=alike)).items():
            found.setdefault(name, []).append(values)
    return {name: np.array(rows) for name, rows in found.items()}


def main(groups: int) -> None:
    """Print the table of DEVELOPERS.md."""
    before = (0, 1, 3)
    print("| tasters, newcomer | " + " | ".join(f"after {n} pours of each" for n in before) + " |")
    print("|---|" + "---|" * len(before))
    for tasters in (1, 3, 10, 30):
        for alike in (1.0, 0.5, 0.0, -1.0):
            found = compare(tasters, alike, groups)
            cells = []
            for n in before:
                table = found["table"][:, n]
                gains = [interval(table - found[name][:, n]) for name in ("group", "both")]
                told = ", ".join(f"{more:+.1f} ± {half:.1f}" for more, half in gains)
                cells.append(f"{table.mean():.1f}; {told}")
            print(f"| {tasters}, alike {alike:g} | " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
