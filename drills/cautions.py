"""The cautions for people who taste, as screens and sheets give them."""

from __future__ import annotations

CAUTIONS = (
    ("Spit", "every pour, drink water between flights, and eat beforehand."),
    (
        "Do not drive.",
        "Spitting does not make driving safe: some alcohol gets into the blood all the same. Leave "
        "the car, and follow the law of the place where you are.",
    ),
    (
        "Pregnancy.",
        "Health authorities advise no alcohol at all in pregnancy. Smell and look, or sit it out.",
    ),
    (
        "Allergens.",
        "Wine may contain sulphites and traces of egg or milk. Ask what is in the glass before you "
        "taste if any of these harm you.",
    ),
    (
        "Teeth.",
        "Acid softens enamel. After a flight rinse with water, and let some time pass before you "
        "brush.",
    ),
    (
        "In doubt",
        "ask a clinician, above all if you take medicines or find it hard to stop. No amount of "
        "alcohol is known to be safe.",
    ),
)
