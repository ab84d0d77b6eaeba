"""Whether a card that was shown still has the answer it had, after an edit of the table."""

from __future__ import annotations

from cards.cellar import Cellar
from cards.contrasts import LEAST_PROBABLE, THRESHOLD
from cards.evidence import posterior, weight
from cards.lexicon import DEPTH
from cards.questions import Form, Question
from cards.scale import Level

# Weights are sums of logarithms: an unchanged card must not fall by a rounding.
_ROUNDING = 1e-6


def still_right(cellar: Cellar, question: Question) -> bool:
    """Whether the right answer to a question is right by the table as it is now.

    Its readings must point to the same wine with the 85% that every card needs; where a level was
    asked, the same levels must be the typical ones.
    """
    profiles = cellar.table.profiles
    if not set(question.contrast.pair) <= profiles.keys():
        return False
    if question.form is Form.WHICH_LEVEL:
        profile = profiles[question.truth]
        (asked,) = question.readings
        typical = profile.structure.get(asked.attribute)
        if asked.attribute == DEPTH:
            typical = profile.depth
        right = {level for level in Level if question.options[level].distance == 0}
        return typical is not None and right == set(typical)
    true, other = cellar.picture(question.truth), cellar.picture(question.other)
    if question.form is Form.NAME_IT:
        words = {option.words for option in question.options}
        named = [key for key, profile in profiles.items() if profile.name in words]
        note = {reading.attribute: reading.reading for reading in question.readings}
        if len(named) < len(question.options):
            return False
        found = posterior([cellar.picture(key) for key in named], note)
        return found[question.truth] >= LEAST_PROBABLE - _ROUNDING
    total = sum(weight(r.reading, r.attribute, true, other) for r in question.readings)
    return total >= THRESHOLD - _ROUNDING
