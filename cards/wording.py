"""Cues in words: as a reading on a card, and as what a profile says."""

from __future__ import annotations

from cards.evidence import Reading
from cards.lexicon import ALCOHOL, DEPTH, HUE, Lexicon
from cards.profiles import Profile
from cards.scale import Level, Typical

_LEVEL_WORDS = {
    "mineral": ("little mineral", "a touch of mineral", "some mineral", "mineral", "very mineral"),
    "oak": ("no oak to speak of", "a touch of oak", "some oak", "marked oak", "heavy oak"),
    "sweetness": ("dry", "just off dry", "half sweet", "sweet", "very sweet"),
    "bitterness": (
        "no bitterness",
        "a touch of bitterness",
        "some bitterness",
        "clear bitterness",
        "strong bitterness",
    ),
    "body": ("light body", "med- body", "med body", "med+ body", "full body"),
    "finish": ("short finish", "med- finish", "med finish", "med+ finish", "long finish"),
    "intensity": ("shy nose", "med- nose", "med nose", "med+ nose", "strong nose"),
    DEPTH: ("very pale", "pale", "middling depth", "deep", "very deep"),
}


def words_for(attribute: str, reading: Reading, lexicon: Lexicon) -> str:
    """A reading in words: “high acid”, “alcohol 13.5% vol”, “petrol”, “no petrol”."""
    if attribute == ALCOHOL:
        return f"alcohol {float(reading):g}% vol"
    if attribute == HUE:
        return f"{str(reading).replace('-', ' ')} hue"
    if isinstance(reading, bool):
        name = lexicon.name_of(attribute)
        return name if reading else f"no {name}"
    level = Level(int(reading))
    special = _LEVEL_WORDS.get(attribute)
    return special[level] if special else f"{level.label} {attribute}"


def profile_words(profile: Profile, attribute: str, lexicon: Lexicon) -> str:
    """What a profile says of one cue, in a few words."""
    if attribute == ALCOHOL:
        return f"{profile.alcohol}% vol"
    if attribute == HUE:
        return ", ".join(hue.replace("-", " ") for hue in profile.hues)
    if attribute == DEPTH:
        return str(profile.depth)
    if attribute in profile.structure:
        return str(profile.structure[attribute])
    if attribute == "tannin":
        return "none"
    typical = profile.descriptors.get(attribute)
    if typical is not None:
        return str(typical)
    family = lexicon.family_of(attribute)
    near = [
        lexicon.name_of(key)
        for key, how in profile.descriptors.items()
        if how in (Typical.SIGNATURE, Typical.COMMON) and lexicon.family_of(key) == family
    ]
    return f"rather {near[0]}" if near else "not known for it"
