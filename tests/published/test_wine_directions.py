"""Which of two wines shows more of a cue: the table against what was measured or is agreed.

The measured directions carry the publication in which they were found; the directions of the
laterals are common practice of the trade, which has no source. Both lists were written by hand from
those statements and never from the profiles: a statement is a word such as “tropical fruit”, which
may stand for several descriptors; it holds when the weights of those descriptors, taken with their
sign, lean to the wine it names.
"""

from __future__ import annotations

import itertools

import pytest

from cards.cellar import Cellar
from cards.tables import Table

# Words of the statements that no single descriptor carries. A statement's word that is a descriptor
# or a structure word of the table stands for itself.
WORDS: dict[str, tuple[str, ...]] = {
    "tropical fruit": ("passion-fruit", "pineapple", "mango", "guava", "papaya", "kiwi", "lychee"),
    # 4MMP smells of box tree, 3MH of grapefruit, its acetate of passion fruit.
    "thiols": ("box-tree", "grapefruit", "passion-fruit"),
    "pyrazines": ("bell-pepper", "jalapeno", "grass", "asparagus", "tomato-leaf", "green-bean"),
    "green": ("bell-pepper", "jalapeno", "grass", "asparagus", "tomato-leaf", "pea", "nettle"),
    "pepper": ("white-pepper", "black-pepper"),
    "lees": ("bread-dough", "yeast", "brioche", "biscuit", "toasted-bread", "pastry"),
    "wax": ("beeswax", "lanolin", "paraffin", "honeycomb"),
    "crisp fruit": ("green-apple", "pear", "grapefruit", "lemon", "white-peach", "lime"),
    "earth": ("forest-floor", "mushroom", "wet-leaves", "potting-soil", "truffle", "beetroot"),
    "soil": ("potting-soil", "forest-floor", "graphite", "dust", "clay", "wet-leaves"),
    "red fruit": ("strawberry", "raspberry", "red-cherry", "red-plum", "sour-cherry", "redcurrant"),
    "bright fruit": ("raspberry", "red-cherry", "black-cherry", "blueberry", "pomegranate", "cola"),
    "dark fruit": ("blackberry", "black-plum", "black-cherry", "blueberry", "blackcurrant"),
    "cherry": ("red-cherry", "sour-cherry", "dried-cherry", "black-cherry"),
    "dried herbs": ("dried-herbs", "oregano", "thyme", "sage", "rosemary"),
    "plum": ("black-plum", "red-plum"),
    "leaf": ("leafy", "blackcurrant-leaf", "bell-pepper", "green-bean"),
    "olive": ("black-olive", "green-olive", "tapenade"),
    "phenols": ("tannin",),
    "sotolon": ("curry", "fenugreek", "walnut", "maple-syrup"),
    "oak taste": ("vanilla", "coconut", "butterscotch", "toast", "clove", "cedar"),
}


def leaning(cellar: Cellar, wine: str, other: str, word: str) -> float:
    """Decibans by which the cues of a word lean to `wine` against `other`."""
    wanted = WORDS.get(word, (word,))
    cues = cellar.cues(wine, other)
    return sum(cue.total if cue.more else -cue.total for cue in cues if cue.attribute in wanted)


def test_every_word_is_known_to_the_table(table: Table) -> None:
    known = {*table.lexicon.descriptors, "tannin"}
    assert not {cue for cues in WORDS.values() for cue in cues} - known


# --- measured in published studies ---------------------------------------------------------------

LUND = "Lund 2009, Am. J. Enol. Vitic. 60, 1"
BENKWITZ = "Benkwitz 2012, Am. J. Enol. Vitic. 63, 62"
PARR = "Parr 2014, Wine Studies 3, 4474"
GIACOSA = "Giacosa 2021, Food Research International (110 wines)"
FERREIRA = "Silva Ferreira 2003, J. Agric. Food Chem. 51, 4356"
ONG = "Ong & Acree 1999, J. Agric. Food Chem. 47, 665"
NAUER = "Nauer 2018, Mitteilungen Klosterneuburg"

MEASURED = [
    ("sauvignon-marlborough", "sauvignon-sancerre", "tropical fruit", LUND),
    ("sauvignon-marlborough", "sauvignon-sancerre", "passion-fruit", LUND),
    ("sauvignon-marlborough", "sauvignon-sancerre", "thiols", BENKWITZ),
    ("sauvignon-marlborough", "sauvignon-sancerre", "pyrazines", LUND),
    ("sauvignon-sancerre", "sauvignon-marlborough", "flint", LUND),
    # What marked the Sauvignons that tasters called mineral; the table calls Sancerre that.
    ("sauvignon-sancerre", "sauvignon-marlborough", "mineral", PARR),
    ("sauvignon-sancerre", "sauvignon-marlborough", "chalk", PARR),
    ("sauvignon-marlborough", "sauvignon-sancerre", "green", PARR),
    ("sagrantino-montefalco", "corvina-valpolicella", "phenols", GIACOSA),
    ("sagrantino-montefalco", "corvina-amarone", "phenols", GIACOSA),
    ("port-tawny-20", "port-tawny-10", "sotolon", FERREIRA),
    ("gewurztraminer-alsace", "torrontes-salta", "lychee", ONG),
    ("gewurztraminer-alsace", "viognier-condrieu", "rose", ONG),
    ("gruner-wachau", "riesling-wachau", "pepper", NAUER),
]


@pytest.mark.parametrize(
    ("wine", "other", "word", "source"), MEASURED, ids=lambda value: value.split(",")[0]
)
def test_a_measured_direction_holds(
    cellar: Cellar, wine: str, other: str, word: str, source: str
) -> None:
    lean = leaning(cellar, wine, other, word)
    assert lean > 0, f"{source}: more {word} in {wine} than in {other}; the table leans {lean:.1f}"


CABERNETS = ("cabernet-left-bank", "cabernet-napa", "cabernet-coonawarra", "cabernet-maipo")
MERLOTS = ("merlot-right-bank", "merlot-washington")
SYRAHS = ("syrah-northern-rhone", "shiraz-barossa")
PINOTS = (
    "pinot-noir-burgundy",
    "pinot-noir-oregon",
    "pinot-noir-central-otago",
    "pinot-noir-sonoma",
)


@pytest.mark.parametrize(
    ("more", "less"),
    [(CABERNETS, MERLOTS), (CABERNETS, SYRAHS), (SYRAHS, PINOTS)],
    ids=["Cabernet over Merlot", "Cabernet over Syrah", "Syrah over Pinot"],
)
def test_tannin_follows_the_grapes(
    table: Table, more: tuple[str, ...], less: tuple[str, ...]
) -> None:
    """Harbertson 2008, Am. J. Enol. Vitic. 59, 210: mean tannin of 1,325 reds, mg/L: Cabernet 672,
    Merlot 559, Syrah 455, Pinot 348. These are means over a wide spread within each grape, so no
    pair of wines may be turned round, and the grapes' means must be in order.
    """
    middle = {key: table.profiles[key].structure["tannin"].middle for key in (*more, *less)}
    turned = [(a, b) for a, b in itertools.product(more, less) if middle[a] < middle[b]]
    assert not turned
    assert sum(map(middle.__getitem__, more)) / len(more) > (
        sum(map(middle.__getitem__, less)) / len(less)
    )


def test_tannin_tells_the_two_banks_of_bordeaux(cellar: Cellar) -> None:
    # Harbertson 2008, as above.
    assert leaning(cellar, "cabernet-left-bank", "merlot-right-bank", "tannin") > 0


def test_petrol_is_met_in_riesling_more_than_in_any_other_white(
    table: Table, cellar: Cellar
) -> None:
    """Sacks 2012, J. Agric. Food Chem. 60, 2998: TDN 6.4 ± 3.8 µg/L in Riesling, 1.3 ± 0.8 in
    wines of other grapes, threshold 2 µg/L.
    """
    whites = [p for p in table.profiles.values() if p.style == "white"]
    rieslings = [p.key for p in whites if "riesling" in p.grapes]
    others = [p.key for p in whites if "riesling" not in p.grapes]
    assert len(rieslings) >= 5
    assert len(others) >= 25
    wrong = [
        (riesling, other)
        for riesling, other in itertools.product(rieslings, others)
        if leaning(cellar, riesling, other, "petrol") <= 0
    ]
    assert not wrong


def test_primitivo_is_the_strongest_of_the_italian_reds_from_fresh_grapes(table: Table) -> None:
    # Giacosa 2021, as above: 15.4 % vol on average. Amarone is made from dried grapes.
    reds = [p for p in table.profiles.values() if p.style == "red" and p.country == "Italy"]
    fresh = {p.key: p.alcohol.middle for p in reds if p.key != "corvina-amarone"}
    assert len(fresh) >= 10
    assert max(fresh, key=lambda key: fresh[key]) == "primitivo-manduria"
    primitivo = table.profiles["primitivo-manduria"].alcohol
    assert primitivo.low <= 15.4 <= primitivo.high


def test_eucalyptus_is_a_mark_of_australian_reds(table: Table, cellar: Cellar) -> None:
    """Australian Wine Research Institute: 1,8-cineole above its threshold of 1.1 µg/L in 40% of 146
    Australian reds, below 0.8 µg/L in whites.
    """
    for shiraz_or_cabernet in ("shiraz-barossa", "cabernet-coonawarra"):
        for european in ("syrah-northern-rhone", "cabernet-left-bank", "merlot-right-bank"):
            assert leaning(cellar, shiraz_or_cabernet, european, "eucalyptus") > 0
        whites = [p.key for p in table.profiles.values() if p.style == "white"]
        found = cellar.picture(shiraz_or_cabernet).chance_noted("eucalyptus")
        assert found >= 0.4
        assert all(cellar.picture(white).chance_noted("eucalyptus") < found for white in whites)


# --- the trade's laterals: common practice, no source --------------------------------------------

# (wine, lateral): what the first shows more of, what the second shows more of.
PRACTICE: dict[tuple[str, str], tuple[tuple[str, ...], tuple[str, ...]]] = {
    ("torrontes-salta", "gewurztraminer-alsace"): (
        ("acid", "bitterness"),
        ("body", "lychee", "alcohol"),
    ),
    ("gewurztraminer-alsace", "viognier-condrieu"): (("rose",), ("apricot",)),
    ("riesling-alsace", "gruner-wachau"): (("petrol",), ("white-pepper",)),
    ("riesling-mosel", "riesling-clare"): (("sweetness",), ("alcohol", "lime")),
    ("gruner-wachau", "albarino-rias-baixas"): (("white-pepper",), ("peach", "saline")),
    ("albarino-rias-baixas", "riesling-alsace"): (("saline",), ("petrol",)),
    ("sauvignon-sancerre", "sauvignon-marlborough"): (("flint",), ("passion-fruit",)),
    ("sauvignon-sancerre", "gruner-wachau"): (("pyrazines",), ("white-pepper",)),
    ("sauvignon-marlborough", "gruner-wachau"): (("pyrazines",), ("white-pepper",)),
    ("chardonnay-chablis", "melon-muscadet"): (("crisp fruit", "intensity"), ("lees",)),
    ("chardonnay-chablis", "sauvignon-sancerre"): ((), ("pyrazines",)),
    ("chardonnay-meursault", "chardonnay-california"): (("acid",), ("oak", "alcohol")),
    ("chenin-vouvray", "chenin-stellenbosch"): (("wool", "acid"), ("tropical fruit",)),
    ("chenin-vouvray", "riesling-alsace"): (("quince", "wool"), ("petrol",)),
    ("pinot-grigio-veneto", "garganega-soave"): (("pear",), ("almond",)),
    ("semillon-hunter", "riesling-clare"): (("wax",), ("alcohol", "lime")),
    ("pinot-noir-burgundy", "pinot-noir-oregon"): (("earth",), ("bright fruit",)),
    ("pinot-noir-burgundy", "gamay-beaujolais"): (("oak", "earth"), ("banana", "bubblegum")),
    ("nebbiolo-barolo", "sangiovese-brunello"): (
        ("rose", "tar"),
        ("depth", "cherry", "dried herbs"),
    ),
    ("nebbiolo-barolo", "pinot-noir-burgundy"): (("tannin",), ()),
    ("nebbiolo-barbaresco", "pinot-noir-burgundy"): (("tannin",), ()),
    ("sangiovese-chianti-classico", "tempranillo-rioja"): (
        ("acid", "dried herbs"),
        ("coconut", "dill"),
    ),
    ("tempranillo-rioja", "tempranillo-ribera"): (("red fruit",), ("dark fruit", "tannin")),
    ("cabernet-left-bank", "merlot-right-bank"): (("blackcurrant",), ("plum",)),
    ("cabernet-left-bank", "cabernet-napa"): (("soil",), ("alcohol", "oak")),
    ("cabernet-franc-chinon", "carmenere-colchagua"): (
        ("red fruit", "acid"),
        ("body", "dark fruit"),
    ),
    ("merlot-right-bank", "malbec-mendoza"): (("leaf",), ("violet",)),
    ("malbec-mendoza", "shiraz-barossa"): ((), ("pepper",)),
    ("syrah-northern-rhone", "shiraz-barossa"): (("olive", "smoke"), ("jam", "eucalyptus")),
    ("grenache-chateauneuf", "garnacha-priorat"): (("garrigue",), ("slate", "oak")),
    ("grenache-mclaren-vale", "zinfandel-california"): (("strawberry",), ("depth", "jam")),
    ("champagne-brut", "cava-brut"): (("brioche", "acid"), ("dust",)),
    ("cava-brut", "prosecco-brut"): (("lees",), ("pear",)),
    ("sauternes", "tokaji-aszu"): (("oak", "body"), ("acid",)),
    ("sherry-oloroso", "madeira-bual"): ((), ("sweetness", "acid")),
}


def test_every_lateral_of_the_page_is_a_pair_of_the_table(table: Table) -> None:
    assert not {wine for pair in PRACTICE for wine in pair} - table.profiles.keys()


STATEMENTS = [
    (wine, other, word)
    for (first, second), (ours, theirs) in PRACTICE.items()
    for wine, other, words in ((first, second, ours), (second, first, theirs))
    for word in words
]


@pytest.mark.parametrize(("wine", "other", "word"), STATEMENTS)
def test_the_trade_s_cue_points_as_the_trade_says(
    cellar: Cellar, wine: str, other: str, word: str
) -> None:
    lean = leaning(cellar, wine, other, word)
    assert lean > 0, f"more {word} in {wine} than in {other}; the table leans {lean:.1f} db"


@pytest.mark.parametrize("pair", PRACTICE, ids="/".join)
def test_every_lateral_can_be_asked(cellar: Cellar, pair: tuple[str, str]) -> None:
    """A pair that the trade takes for each other is taught by at least three contrasts."""
    assert len(cellar.contrasts(*pair)) >= 3


def test_calls_of_white_grapes(table: Table) -> None:
    """Common practice, no source: what the trade calls the grape by."""
    wines = table.profiles
    gruner = wines["gruner-wachau"]
    assert gruner.structure["acid"].high == 4
    assert gruner.structure["body"].middle <= 2
    assert "white-pepper" in gruner.descriptors
    for sauvignon in ("sauvignon-sancerre", "sauvignon-marlborough"):
        assert wines[sauvignon].structure["acid"].high == 4
        assert wines[sauvignon].descriptors["gooseberry"] in ("signature", "common")
    # Chardonnay is no aromatic grape: quieter in the nose than those that are, oak apart.
    aromatic = (
        "gewurztraminer-alsace",
        "torrontes-salta",
        "muscat-alsace",
        "sauvignon-marlborough",
    )
    quietest = min(wines[key].structure["intensity"].middle for key in aromatic)
    assert wines["chardonnay-chablis"].structure["intensity"].middle < quietest
    assert wines["viognier-condrieu"].structure["body"].middle >= 3
    assert wines["gewurztraminer-alsace"].alcohol.high >= 14
    torrontes = wines["torrontes-salta"]
    assert torrontes.alcohol.middle < wines["gewurztraminer-alsace"].alcohol.middle
    # Its palate is quieter than its nose promises.
    assert torrontes.structure["intensity"].middle > torrontes.structure["finish"].middle
