"""Are the wines that the trade takes for each other near each other in the table?

The laterals below are common practice of the trade (no source), written from that practice by
hand; the lists that the profiles carry are not read. Nearness is the separation that is computed
from the facts of the two profiles. Where the trade names a grape or a kind (“Chenin”, “Madeira”),
any of its wines may stand for it.

The aim is that nine laterals in ten are among each other's nearest six of their style. The table
does not reach it: see `KNOWN_MISSES`.
"""

from __future__ import annotations

import itertools

import pytest
from scipy.stats import mannwhitneyu

from cards.cellar import Cellar
from cards.tables import Table

NEAREST = 6
AIM = 0.9

DRY_RIESLING = (
    "riesling-alsace",
    "riesling-rheingau",
    "riesling-wachau",
    "riesling-clare",
    "riesling-finger-lakes",
)
RIESLING = (*DRY_RIESLING, "riesling-mosel")
SAUVIGNON = ("sauvignon-sancerre", "sauvignon-marlborough")
CHENIN = ("chenin-vouvray", "chenin-vouvray-demi-sec", "chenin-stellenbosch")
PINOT_NOIR = (
    "pinot-noir-burgundy",
    "pinot-noir-oregon",
    "pinot-noir-central-otago",
    "pinot-noir-sonoma",
)
BORDEAUX = ("cabernet-left-bank", "merlot-right-bank")
GRENACHE = ("grenache-chateauneuf", "grenache-mclaren-vale", "garnacha-priorat")

Wines = tuple[str, ...]
LATERALS: dict[str, tuple[Wines, Wines]] = {
    "Torrontés/Gewürztraminer": (("torrontes-salta",), ("gewurztraminer-alsace",)),
    "Gewürztraminer/Viognier": (("gewurztraminer-alsace",), ("viognier-condrieu",)),
    "Riesling/Grüner": (RIESLING, ("gruner-wachau",)),
    "Mosel/Clare Riesling": (("riesling-mosel",), ("riesling-clare",)),
    "Grüner/Albariño": (("gruner-wachau",), ("albarino-rias-baixas",)),
    "Albariño/dry Riesling": (("albarino-rias-baixas",), DRY_RIESLING),
    "Sancerre/Marlborough": (("sauvignon-sancerre",), ("sauvignon-marlborough",)),
    "Sauvignon/Grüner": (SAUVIGNON, ("gruner-wachau",)),
    "Chablis/Muscadet": (("chardonnay-chablis",), ("melon-muscadet",)),
    "Chablis/Sancerre": (("chardonnay-chablis",), ("sauvignon-sancerre",)),
    "Meursault/California Chardonnay": (("chardonnay-meursault",), ("chardonnay-california",)),
    "Vouvray/South African Chenin": (("chenin-vouvray",), ("chenin-stellenbosch",)),
    "Chenin/Riesling": (CHENIN, RIESLING),
    "Pinot grigio/Soave": (("pinot-grigio-veneto",), ("garganega-soave",)),
    "Hunter Sémillon/Clare Riesling": (("semillon-hunter",), ("riesling-clare",)),
    "Burgundy/Oregon Pinot": (("pinot-noir-burgundy",), ("pinot-noir-oregon",)),
    "Pinot/Gamay": (PINOT_NOIR, ("gamay-beaujolais",)),
    "Barolo/Brunello": (("nebbiolo-barolo",), ("sangiovese-brunello",)),
    "Nebbiolo/Pinot": (("nebbiolo-barolo", "nebbiolo-barbaresco"), PINOT_NOIR),
    "Chianti/Rioja": (("sangiovese-chianti-classico",), ("tempranillo-rioja",)),
    "Rioja/Ribera": (("tempranillo-rioja",), ("tempranillo-ribera",)),
    "left/right bank": (("cabernet-left-bank",), ("merlot-right-bank",)),
    "Bordeaux/Napa": (BORDEAUX, ("cabernet-napa",)),
    "Cabernet Franc/Carmenère": (("cabernet-franc-chinon",), ("carmenere-colchagua",)),
    "Merlot/Malbec": (
        ("merlot-right-bank", "merlot-washington"),
        ("malbec-mendoza", "malbec-cahors"),
    ),
    "Malbec/Shiraz": (("malbec-mendoza", "malbec-cahors"), ("shiraz-barossa",)),
    "Syrah/Shiraz": (("syrah-northern-rhone",), ("shiraz-barossa",)),
    "Châteauneuf/Priorat": (("grenache-chateauneuf",), ("garnacha-priorat",)),
    "Grenache/Zinfandel": (GRENACHE, ("zinfandel-california",)),
    "Champagne/Cava": (("champagne-brut", "champagne-blanc-de-blancs"), ("cava-brut",)),
    "Cava/Prosecco": (("cava-brut",), ("prosecco-brut",)),
    "Sauternes/Tokaji": (("sauternes",), ("tokaji-aszu",)),
    "oloroso/Madeira": (
        ("sherry-oloroso",),
        ("madeira-sercial", "madeira-bual", "madeira-malmsey"),
    ),
}

# Laterals that are not among each other's nearest six. Most are wines of one grape from two places,
# or of two grapes of one place, whose profiles were sharpened until cards could tell them apart:
# the descriptors that differ outweigh all that the wines share, and agreement between two
# profiles counts for nothing in a separation. To take a pair off this list is work on the
# profiles or the measure, not on this test.
KNOWN_MISSES = frozenset(
    {
        "Torrontés/Gewürztraminer",
        "Riesling/Grüner",
        "Mosel/Clare Riesling",
        "Sancerre/Marlborough",
        "Vouvray/South African Chenin",
        "Chenin/Riesling",
        "Hunter Sémillon/Clare Riesling",
        "Pinot/Gamay",
        "Barolo/Brunello",
        "Chianti/Rioja",
        "Rioja/Ribera",
        "Bordeaux/Napa",
        "Cabernet Franc/Carmenère",
        "Merlot/Malbec",
        "Malbec/Shiraz",
        "Syrah/Shiraz",
        "Châteauneuf/Priorat",
        "Grenache/Zinfandel",
    }
)


@pytest.fixture(scope="module")
def ranks(table: Table, cellar: Cellar) -> dict[tuple[str, str], int]:
    """The rank of a wine among another's neighbours of its style, 1 the nearest."""
    styles: dict[str, list[str]] = {}
    for key, profile in table.profiles.items():
        styles.setdefault(profile.style, []).append(key)
    return {
        (wine, other): rank
        for wines in styles.values()
        for wine in wines
        for rank, (other, _) in enumerate(cellar.laterals(wine, wines), 1)
    }


def best(ranks: dict[tuple[str, str], int], name: str) -> tuple[int, int]:
    """The worse and the better of the two ranks of a lateral, for the pair that stands nearest."""
    pairs = itertools.product(*LATERALS[name])
    return min((max(ranks[a, b], ranks[b, a]), min(ranks[a, b], ranks[b, a])) for a, b in pairs)


def test_every_lateral_is_in_the_table(table: Table) -> None:
    named = {wine for sides in LATERALS.values() for wines in sides for wine in wines}
    assert not named - table.profiles.keys()


@pytest.fixture(scope="module")
def missed(ranks: dict[tuple[str, str], int]) -> dict[str, tuple[int, int]]:
    """The laterals that are not among each other's nearest, and their ranks either way."""
    places = {name: best(ranks, name) for name in LATERALS}
    return {name: place for name, place in places.items() if place[0] > NEAREST}


def test_the_laterals_that_are_known_to_stand_apart_are_all_that_do(
    missed: dict[str, tuple[int, int]],
) -> None:
    assert missed.keys() == KNOWN_MISSES, missed


@pytest.mark.xfail(strict=True, reason="the aim is missed: see KNOWN_MISSES")
def test_nine_laterals_in_ten_are_nearest_neighbours(missed: dict[str, tuple[int, int]]) -> None:
    assert len(LATERALS) - len(missed) >= AIM * len(LATERALS)


def test_laterals_are_nearer_than_other_pairs(table: Table, cellar: Cellar) -> None:
    """The weaker claim, which holds: laterals stand nearer than the other pairs of their style."""
    named = {frozenset(pair) for sides in LATERALS.values() for pair in itertools.product(*sides)}
    near: list[float] = []
    far: list[float] = []
    for one, other in itertools.combinations(table.profiles, 2):
        if table.profiles[one].style == table.profiles[other].style:
            place = near if frozenset((one, other)) in named else far
            place.append(cellar.separation(one, other))
    # Every pair that a lateral may stand for is counted, not the nearest only.
    assert len(near) >= 60
    assert mannwhitneyu(near, far, alternative="less").pvalue < 1e-3
