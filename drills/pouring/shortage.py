"""Why no flight fits: what is short, and by how much."""

from __future__ import annotations

from drills.errors import PouringError
from drills.phrases import count
from drills.pouring.field import Field
from drills.pouring.programme import Programme


def no_pair(field: Field) -> PouringError:
    """Why flights fit, and none of them covers a weak pair."""
    if not field.stakes:
        if field.not_told:
            return PouringError(
                "no weak pair can be poured: of those whose wines can both be had "
                "no strong cue tells any apart"
            )
        return PouringError("of no weak pair can both wines be had")
    free = Programme(field, budget=False)
    free.one_pair()
    if (least := _least_cost(free)) is not None:
        return _over(field, f"the cheapest flight of {field.wines} wines with a weak pair", least)
    return PouringError(
        f"no weak pair can be poured beside {field.wines - 2} other wines: "
        "ask for fewer wines or decoys"
    )


def what_is_short(field: Field) -> PouringError:
    """Why no flight fits at all: money, decoys, or wines that a strong cue tells apart."""
    least = _least_cost(Programme(field, budget=False))
    if least is not None:
        return _over(field, f"the cheapest flight of {field.wines} wines", least)
    programme = Programme(field, budget=False, decoys=0)
    found = programme.maximise({programme.decoy(place): 1.0 for place in range(programme.wines)})
    if found is not None:
        most = len(found.decoys)
        return PouringError(
            f"{count(field.decoys, 'decoy is', 'decoys are')} wanted and {most} can be had in no "
            f"weak pair with another pour: {field.decoys - most} short"
        )
    programme = Programme(field, budget=False, decoys=0, whole=False)
    found = programme.maximise(programme.poured(*range(programme.wines)))
    most = 0 if found is None else len(found.pairs | found.decoys)
    return PouringError(
        f"{field.wines} wines are wanted and {most} can be poured side by side so that a strong "
        f"cue tells each from every other: {field.wines - most} short"
    )


def _least_cost(programme: Programme) -> float | None:
    """What the cheapest flight within the constraints costs; None where there is none."""
    costs = programme.field.costs
    found = programme.maximise(
        {
            column: -cost
            for place, cost in enumerate(costs)
            for column in (programme.pair(place), programme.decoy(place))
        }
    )
    return None if found is None else sum(costs[place] for place in found.pairs | found.decoys)


def _over(field: Field, what: str, least: float) -> PouringError:
    return PouringError(
        f"{what} costs {least:.2f} to buy, {least - field.budget:.2f} over the budget of "
        f"{field.budget:.2f}"
    )
