"""Sweetness bands of the European regulation, as functions of residual sugar and total acidity."""

from __future__ import annotations

from cards.profiles import Span

# Commission Delegated Regulation (EU) 2019/33, Annex III part B (still) and part A (sparkling);
# the still bands were seen in the OIV Code of Oenological Practices I.3, the rest is from memory.
STILL_LIMITS = (("dry", 4.0), ("medium dry", 12.0), ("medium", 45.0))
_BALANCED = {"dry": (9.0, 2.0), "medium dry": (18.0, 10.0)}
STILL_TOLERANCE = 1.0
SPARKLING_BANDS = {
    "brut nature": (0.0, 3.0),
    "extra brut": (0.0, 6.0),
    "brut": (0.0, 12.0),
    "extra dry": (12.0, 17.0),
    "dry": (17.0, 32.0),
    "medium dry": (32.0, 50.0),
    "sweet": (50.0, 700.0),
}
SPARKLING_TOLERANCE = 3.0


def still_class(sugar: float, total_acidity: float = 0.0) -> str:
    """The band of a still wine with `sugar` g/L and `total_acidity` g/L (as tartaric acid).

    Dry reaches 9 g/L where the acidity is no more than 2 below the sugar, medium dry 18 g/L where
    it is no more than 10 below. Medium ends below 45, where sweet begins.
    """
    if sugar < 0:
        raise ValueError("residual sugar cannot be negative")
    for name, limit in STILL_LIMITS[:2]:
        most, gap = _BALANCED[name]
        # Rounded, for tenths are not exact: 8.3 - 6.3 comes out a hair above 2.
        if sugar <= limit or (sugar <= most and round(sugar - total_acidity, 9) <= gap):
            return name
    return "medium" if sugar < STILL_LIMITS[2][1] else "sweet"


def class_problem(style: str, name: str, sugar: Span) -> str:
    """Why a typical range of sugar does not fit its class, or an empty text."""
    if style == "sparkling":
        low, high = SPARKLING_BANDS.get(name, (0.0, 700.0))
        tolerance = SPARKLING_TOLERANCE
    else:
        # The widest band that a class can have: the acidity of a typical wine is not in the table.
        bounds = {"dry": (0.0, 9.0), "medium dry": (4.0, 18.0), "medium": (12.0, 45.0)}
        low, high = bounds.get(name, (45.0, 700.0))
        tolerance = STILL_TOLERANCE
    if sugar.low < low - tolerance or sugar.high > high + tolerance:
        return f"{sugar} g/L does not fit “{name}” ({low:g} to {high:g})"
    return ""
