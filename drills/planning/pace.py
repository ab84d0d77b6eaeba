"""How long a card takes this taster, by its form: what one form tells is lent to the others.

The natural logarithm of an answer's seconds is taken as normal about a mean of its own for every
form. A form's mean is the population's, moved by what this taster is slower or faster in all forms
and by what is theirs in this form alone; all three are normal, so that the posterior mean has a
closed form: the shrinkage of the two-stage linear model (Lindley and Smith, Journal of the Royal
Statistical Society B 34, 1972, 1). Few answers leave the population's pace, many the taster's own,
and a form that is seldom asked borrows from the others.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from cards.questions import Form

# Mean seconds of a card with all that belongs to it, before anything is known of a taster, and the
# standard deviations of the logarithm: of tasters, of a taster's forms, of answers (all our
# assumptions).
POPULATION: Mapping[Form, float] = {
    Form.WHICH_GLASS: 12.0,
    Form.WHICH_CUE: 15.0,
    Form.WHICH_LEVEL: 12.0,
    Form.NAME_IT: 25.0,
}
TASTER_SPREAD, FORM_SPREAD, ANSWER_SPREAD = 0.4, 0.25, 0.5
# The pace is that of so many latest answers of all forms: it changes with practice.
LATEST = 400
# A pause is no part of a card, and what is shorter is a slip of the finger.
SHORTEST, LONGEST = 0.5, 60.0


@dataclass(frozen=True, slots=True)
class Pace:
    """Expected seconds of a card of each form, and how many answers that rests on."""

    seconds: Mapping[Form, float]
    answers: Mapping[Form, int]

    def over(self, shares: Mapping[Form, float]) -> float:
        """Expected seconds where each form is asked with its share."""
        whole = sum(shares.values())
        return sum(self.seconds[form] * share for form, share in shares.items()) / whole


def pace_of(times: Iterable[tuple[Form, float]]) -> Pace:
    """The pace that cards of known form and seconds speak for.

    With r the mean residual of a form from the population's logarithm, over n answers, and v =
    FORM_SPREAD² + ANSWER_SPREAD² / n: the taster's own offset is sum(r / v) / (1 / TASTER_SPREAD² +
    sum(1 / v)); a form lies FORM_SPREAD² / v of the way from it to r. Seconds are means of the
    log-normal.
    """
    within = ANSWER_SPREAD**2
    number = dict.fromkeys(Form, 0)
    total = dict.fromkeys(Form, 0.0)
    for form, seconds in times:
        number[form] += 1
        # The mean of a log-normal lies half a variance above the exponential of its mean logarithm.
        usual = math.log(POPULATION[form]) - within / 2
        total[form] += math.log(min(max(seconds, SHORTEST), LONGEST)) - usual
    spread = {form: FORM_SPREAD**2 + within / n for form, n in number.items() if n}
    weight = 1 / TASTER_SPREAD**2 + sum(1 / v for v in spread.values())
    own = sum(total[form] / number[form] / v for form, v in spread.items()) / weight
    found = {}
    for form in Form:
        moved = own
        if form in spread:
            moved += FORM_SPREAD**2 / spread[form] * (total[form] / number[form] - own)
        found[form] = POPULATION[form] * math.exp(moved)
    return Pace(found, number)
