"""A table of three invented whites: a look changes when a screen does, not when a fact does."""

from __future__ import annotations

from pathlib import Path

LEXICON = """
[families.fruit]
name = "fruit"
[families.stone]
name = "stone"
[families.wood]
name = "wood"
[families.herb]
name = "herb"

[descriptors.lemon]
name = "lemon"
family = "fruit"
[descriptors.mango]
name = "mango"
family = "fruit"
[descriptors.flint]
name = "flint"
family = "stone"
[descriptors.vanilla]
name = "vanilla"
family = "wood"
[descriptors.grass]
name = "grass"
family = "herb"
"""
NAMES = """
[grapes.greenling]
name = "Greenling"
[places.north]
name = "North"
country = "Austria"
"""
SOURCES = """
[sources.study]
citation = "An invented study (2020), Journal of Nothing 1, 1."
kind = "paper"
read = "text"
"""
CAUSES = """
[[causes]]
cue = "vanilla"
because = "Vanillin from new oak."
basis = "study"
[[causes]]
cue = "acid"
because = "Cool nights keep malic acid."
"""
WINE = """
name = "{name} Greenling"
short = "{name}"
synonyms = []
telling = "{telling}"
laterals = [{laterals}]
basis = "practice"
[grape]
shares = {{ greenling = "100" }}
[place]
country = "Austria"
region = "{name} valley"
world = "old"
climate = "cool"
[colour]
hue = ["{hue}"]
depth = "low to med-"
rim = "watery"
ageing = "turns yellow"
[alcohol]
low = {low}
high = {high}
[sugar]
class = "dry"
low = 1
high = 3
[structure]
acid = "{acid}"
body = "{body}"
sweetness = "low"
bitterness = "low"
intensity = "med"
mineral = "med"
oak = "{oak}"
finish = "med"
[oak]
vessel = "steel"
months = "0 to 12"
[age]
release = 1
window = "1 to 5"
quality = "good"
[descriptors]
{descriptors}
"""
WINES = {
    "north": {
        "name": "North",
        "telling": "Lemon and flint on a high, thin line of acid.",
        "laterals": '"south", "west"',
        "hue": "greenish",
        "low": "11.5",
        "high": "12.5",
        "acid": "high",
        "body": "med-",
        "oak": "low",
        "descriptors": 'lemon = "signature"\nflint = "signature"\ngrass = "common"\n'
        'vanilla = "never"',
    },
    "south": {
        "name": "South",
        "telling": "Mango and vanilla, broad and warm.",
        "laterals": '"north", "west"',
        "hue": "gold",
        "low": "13.5",
        "high": "14.5",
        "acid": "low to med-",
        "body": "med+ to high",
        "oak": "med+ to high",
        "descriptors": 'mango = "signature"\nvanilla = "signature"\nlemon = "occasional"\n'
        'flint = "never"',
    },
    "west": {
        "name": "West",
        "telling": "Grass and lemon without wood.",
        "laterals": '"north", "south"',
        "hue": "straw",
        "low": "12.0",
        "high": "13.0",
        "acid": "med to med+",
        "body": "med",
        "oak": "low",
        "descriptors": 'grass = "signature"\nlemon = "common"\nmango = "occasional"\n'
        'vanilla = "never"',
    },
}


def write_small_table(folder: Path) -> Path:
    """Write the files of the small table into a folder and return it."""
    (folder / "white").mkdir(parents=True)
    own = {
        "lexicon.toml": LEXICON,
        "names.toml": NAMES,
        "sources.toml": SOURCES,
        "causes.toml": CAUSES,
    } | {f"white/{key}.toml": WINE.format(**facts) for key, facts in WINES.items()}
    for shelf, text in own.items():
        (folder / shelf).write_text(text, encoding="utf-8")
    return folder
