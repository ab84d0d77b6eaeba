"""The best pair again and again: quick, explained in a sentence, and not always the best flight.

Covering pairs is not submodular (a wine is worth nothing until its partner is poured), so the known
bound for greedy covers (1 - 1/e: Nemhauser, Wolsey and Fisher, Mathematical Programming 14, 1978)
does not hold. Without budget and exclusions the flight holds the most valuable pair, and so at
least one part in k (k - 1) / 2 of the best flight of k wines; no more can be promised in general
than 1 / (k - 1): k / 2 separate pairs, each a little more valuable than every pair of a group of k
wines that are all confused with each other.
"""

from __future__ import annotations

from drills.pouring.field import PENCE, Field


def greedy(field: Field) -> frozenset[int] | None:
    """The places of a flight made by adding, each time, what is worth most per wine.

    What is added is a pair, or the missing wine of one. The rest is filled with the cheapest wines
    that fit. Where that runs into a dead end it is tried once more, adding only what leaves a way
    to fill at once; None where that finds no flight either.
    """
    return _added(field, careful=False) or _added(field, careful=True)


def _added(field: Field, *, careful: bool) -> frozenset[int] | None:
    clashing, paired = neighbours(field)
    chosen: frozenset[int] = frozenset()
    while True:
        steps = []
        for one, other, _ in field.stakes:
            added = frozenset((one, other)) - chosen
            if added and len(chosen) + len(added) <= field.pairing:
                gain = field.value(chosen | added) - field.value(chosen)
                steps.append((-gain / len(added), sorted(added)))
        for _, places in sorted(steps):
            wider = chosen | frozenset(places)
            if all(wider.isdisjoint(clashing[place]) for place in places) and (
                _filled(field, wider, clashing, paired) is not None
                if careful
                else _affordable(field, wider)
            ):
                chosen = wider
                break
        else:
            break
    return _filled(field, chosen, clashing, paired) if chosen else None


def _affordable(field: Field, chosen: frozenset[int]) -> bool:
    """Whether the budget reaches for these places and the cheapest others."""
    others = sorted(cost for n, cost in enumerate(field.costs) if n not in chosen)
    spent = sum(field.costs[place] for place in chosen)
    return spent + sum(others[: field.wines - len(chosen)]) <= field.budget + PENCE


def neighbours(field: Field) -> tuple[list[set[int]], list[set[int]]]:
    """For every place those that may not be poured with it, and those that are pairs with it."""
    clashing: list[set[int]] = [set() for _ in field.bottles]
    paired: list[set[int]] = [set() for _ in field.bottles]
    for one, other in field.clashes:
        clashing[one].add(other)
        clashing[other].add(one)
    for one, other, _ in field.stakes:
        paired[one].add(other)
        paired[other].add(one)
    return clashing, paired


def _filled(
    field: Field, chosen: frozenset[int], clashing: list[set[int]], paired: list[set[int]]
) -> frozenset[int] | None:
    """These places and the cheapest that are in no pair with any, within the budget."""
    filled = set(chosen)
    for place in sorted(range(len(field.bottles)), key=lambda place: (field.costs[place], place)):
        if len(filled) == field.wines:
            break
        if place not in filled and filled.isdisjoint(clashing[place] | paired[place]):
            filled.add(place)
    spent = sum(field.costs[place] for place in filled)
    if len(filled) < field.wines or spent > field.budget + PENCE:
        return None
    return frozenset(filled)
