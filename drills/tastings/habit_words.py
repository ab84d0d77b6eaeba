"""How a taster reads, in plain sentences."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from cards.lexicon import UNMEASURED
from cards.tables import Table
from drills.phrases import count
from drills.statistics.shares import Estimate
from drills.tastings.habits import LEAST_BIAS, LEAST_POURS, LevelBias, PersonalReading

_OF_STYLE = {
    "white": "whites",
    "rose": "rosés",
    "red": "reds",
    "sparkling": "sparkling wines",
    "sweet": "sweet wines",
    "fortified": "fortified wines",
}


def sentences(table: Table, found: PersonalReading) -> Iterable[str]:
    """What is worth saying of a taster's reading, what cannot be smelt first."""
    for smell in found.not_smelt:
        yield (
            f"You may not be able to smell {smell.smell.name}: noted in {smell.noted} of "
            f"{count(smell.pours, 'pour')} that show it, where {smell.expected:.0f} would be usual "
            f"for you; {smell.smell.share_words} cannot ({smell.citation.partition(':')[0]}). "
            "Ask somebody to pour you a clear example."
        )
    if found.alcohol is not None and found.alcohol.sure:
        bias = found.alcohol.bias
        yield (
            f"You call alcohol {abs(bias.value):.1f}% vol {_way(bias.value)}, "
            f"{count(found.alcohol.labels, 'label')} (90% interval {_interval(bias)})."
        )
    by_attribute: defaultdict[str, list[LevelBias]] = defaultdict(list)
    for one in found.levels:
        by_attribute[one.attribute].append(one)
    for attribute, biases in by_attribute.items():
        for one in _worth_saying(biases):
            where = f" in {_OF_STYLE[one.style]}" if one.style else ""
            caution = " (a word without a measured basis)" if attribute in UNMEASURED else ""
            yield (
                f"You call {attribute} {_levels(one.bias.value)} {_way(one.bias.value)}{where}, "
                f"{count(one.pours, 'pour')} (90% interval {_interval(one.bias)}){caution}."
            )
    smelt = {word for one in found.not_smelt for word in one.smell.descriptors}
    for caught in found.caught:
        if caught.seldom and caught.descriptor not in smelt:
            yield (
                f"You seldom note {table.lexicon.name_of(caught.descriptor)}: {caught.noted} of "
                f"{count(caught.pours, 'pour')} that show it, where {caught.expected:.0f} would be "
                "usual for you."
            )


def _worth_saying(biases: Sequence[LevelBias]) -> Sequence[LevelBias]:
    """The styles in which an attribute is called wrong, or all of them in one."""
    overall = next((one for one in biases if not one.style), None)
    sure = [one for one in biases if one.style and one.sure]
    if overall is None or not overall.sure:
        return sure
    if any(one.bias.value * overall.bias.value < 0 for one in sure):
        return sure
    if len(sure) == 1:
        # One style may make up all of it: then the others, together, show next to nothing.
        rest = overall.pours - sure[0].pours
        left = overall.bias.value * overall.pours - sure[0].bias.value * sure[0].pours
        if rest < LEAST_POURS or left / rest * overall.bias.value < LEAST_BIAS**2 / 2:
            return sure
    return [overall]


def _way(bias: float) -> str:
    return "high" if bias > 0 else "low"


def _levels(bias: float) -> str:
    quarters = round(4 * abs(bias))
    named = {1: "a quarter of a level", 2: "half a level", 3: "three quarters of a level"}
    if quarters in named:
        return named[quarters]
    return "a level" if quarters == 4 else f"{abs(bias):.1f} levels"


def _interval(estimate: Estimate) -> str:
    low, high = sorted((abs(estimate.low), abs(estimate.high)))
    if estimate.low <= 0 <= estimate.high:
        low = 0.0
    return f"{low:.1f} to {high:.1f}"
