"""Sweetness bands, alcohol, grapes and ageing against the rules that the wines are made under."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest

from cards.profiles import STILL_CLASSES, SWEETNESS_CLASSES, Span
from cards.sweetness import class_problem, still_class
from cards.tables import Table

# --- bands of sweetness: Commission Delegated Regulation (EU) 2019/33, Annex III; the still bands
# --- also in the OIV Code of Oenological Practices, I.3.2 and I.3.3


@pytest.mark.parametrize(
    ("sugar", "acidity", "band"),
    [
        (0, 0, "dry"),
        (4, 0, "dry"),
        (4.1, 0, "medium dry"),
        (4.1, 2.0, "medium dry"),
        (4.1, 2.1, "dry"),
        # Dry up to 9 where the acidity is no more than 2 below the sugar.
        (9, 7, "dry"),
        (9, 6.9, "medium dry"),
        (9.1, 9, "medium dry"),
        (12, 0, "medium dry"),
        (12.1, 0, "medium"),
        (12.1, 2.0, "medium"),
        (12.1, 2.1, "medium dry"),
        # Medium dry up to 18 where the acidity is no more than 10 below.
        (18, 8, "medium dry"),
        (18, 7.9, "medium"),
        (18.1, 15, "medium"),
        (44.9, 9, "medium"),
        (45, 9, "sweet"),
        (200, 12, "sweet"),
    ],
)
def test_bands_of_still_wine_at_their_edges(sugar: float, acidity: float, band: str) -> None:
    assert still_class(sugar, acidity) == band


def test_bands_of_still_wine_in_tenths() -> None:
    """Every tenth of a gram against the rule in exact decimals."""
    for sugar in range(200):
        for acidity in range(0, 130, 3):
            s, a = Decimal(sugar) / 10, Decimal(acidity) / 10
            if s <= 4 or (s <= 9 and s - a <= 2):
                expected = "dry"
            elif s <= 12 or (s <= 18 and s - a <= 10):
                expected = "medium dry"
            else:
                expected = "medium"
            assert still_class(sugar / 10, acidity / 10) == expected, (s, a)


def test_less_than_no_sugar_is_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        still_class(-0.1)


# The widest range a class allows and, beyond it, the tolerance: 1 g/L still, 3 g/L sparkling.
STILL = {"dry": (0, 9), "medium dry": (4, 18), "medium": (12, 45), "sweet": (45, None)}
SPARKLING = {
    "brut nature": (0, 3),
    "extra brut": (0, 6),
    "brut": (0, 12),
    "extra dry": (12, 17),
    "dry": (17, 32),
    "medium dry": (32, 50),
    "sweet": (50, None),
}


def test_the_classes_are_those_of_the_regulation() -> None:
    assert tuple(STILL) == STILL_CLASSES
    assert SWEETNESS_CLASSES["sparkling"] == tuple(SPARKLING)


@pytest.mark.parametrize(
    ("style", "name", "low", "high", "tolerance"),
    [("white", name, *ends, 1) for name, ends in STILL.items()]
    + [("sparkling", name, *ends, 3) for name, ends in SPARKLING.items()],
)
def test_a_range_of_sugar_fits_its_class_within_the_tolerance(
    style: str, name: str, low: float, high: float | None, tolerance: float
) -> None:
    middle = low + 1
    if high is not None:
        assert class_problem(style, name, Span(middle, high)) == ""
        assert class_problem(style, name, Span(middle, high + tolerance)) == ""
        assert name in class_problem(style, name, Span(middle, high + tolerance + 0.1))
    if low:
        assert class_problem(style, name, Span(low - tolerance, middle)) == ""
        assert name in class_problem(style, name, Span(low - tolerance - 0.1, middle))


def test_every_wine_s_sugar_fits_its_class(table: Table) -> None:
    found = {
        key: problem
        for key, p in table.profiles.items()
        if (problem := class_problem(p.style, p.sugar_class, p.sugar))
    }
    assert not found


def test_every_wine_s_middle_sugar_is_of_its_class_with_the_acidity_it_needs(table: Table) -> None:
    """Still wines: the middle of the range is in the class at some acidity from 3 to 12 g/L."""
    wrong = {
        key: (p.sugar_class, p.sugar.middle)
        for key, p in table.profiles.items()
        if p.style != "sparkling"
        and p.sugar_class not in {still_class(p.sugar.middle, a) for a in range(3, 13)}
    }
    assert not wrong


# --- alcohol -------------------------------------------------------------------------------------

# Least alcohol, % vol, of the wine's own rules. Natural alcohol (Sancerre, Muscadet, Chablis,
# Condrieu, Vouvray) bounds the actual alcohol of a dry wine only from the side of ripeness: all of
# these are fermented dry or nearly so.
LEAST_ALCOHOL = {
    "sauvignon-sancerre": (10.5, "Décret of 20 October 1997, art. 2"),
    "melon-muscadet": (9, "Décret of 29 December 1994, art. 2"),
    "chardonnay-chablis": (10, "specification of Chablis"),
    "viognier-condrieu": (11.5, "specification of Condrieu"),
    "chenin-vouvray": (10, "specification of Vouvray"),
    "nebbiolo-barolo": (13, "DPR of 1 July 1980; disciplinare of 2011"),
    "sangiovese-brunello": (12.5, "disciplinare of Brunello di Montalcino"),
    "corvina-amarone": (14, "amendment of 2019"),
    "sangiovese-chianti-classico": (12, "disciplinare of Chianti Classico"),
    "tempranillo-rioja": (11.5, "Pliego of Rioja, BOE of 18 November 2021"),
    "tempranillo-rioja-gran-reserva": (11.5, "Pliego of Rioja, BOE of 18 November 2021"),
    "viura-rioja-aged": (10.5, "Pliego of Rioja, BOE of 18 November 2021"),
    "garnacha-priorat": (13.5, "specification of Priorat"),
    # Federspiel begins at 11.5; Steinfeder, below it, is not what the profile describes.
    "gruner-wachau": (11.5, "marks of Vinea Wachau"),
    "riesling-wachau": (11.5, "marks of Vinea Wachau"),
}


@pytest.mark.parametrize("wine", LEAST_ALCOHOL)
def test_nine_bottles_in_ten_reach_the_least_alcohol(table: Table, wine: str) -> None:
    least, source = LEAST_ALCOHOL[wine]
    assert table.profiles[wine].alcohol.low >= least, source


# Pliego of Jerez of 30 November 2011, part B.1: % vol; IVDP guide, chapter 3, for Port.
FORTIFIED_ALCOHOL = {
    "sherry-fino": (15, 17),
    "sherry-amontillado": (16, 22),
    "sherry-oloroso": (17, 22),
    "port-ruby-reserve": (19, 22),
    "port-lbv": (19, 22),
    "port-vintage": (19, 22),
    "port-tawny-10": (19, 22),
    "port-tawny-20": (19, 22),
}


@pytest.mark.parametrize("wine", FORTIFIED_ALCOHOL)
def test_fortified_wines_lie_within_their_alcohol(table: Table, wine: str) -> None:
    least, most = FORTIFIED_ALCOHOL[wine]
    alcohol = table.profiles[wine].alcohol
    assert least <= alcohol.low
    assert alcohol.high <= most


# --- sugar ---------------------------------------------------------------------------------------

# g/L, as above; Amarone by the amendment of 2019: 9 g/L at 14 % vol, a little more above that.
SUGAR = {
    "sherry-fino": (0, 5),
    "sherry-amontillado": (0, 5),
    "sherry-oloroso": (0, 5),
    "sherry-px": (212, 700),
    "corvina-amarone": (0, 9),
    # The class doce.
    "port-ruby-reserve": (85, 130),
    "port-lbv": (85, 130),
    "port-vintage": (85, 130),
    "port-tawny-10": (85, 130),
    "port-tawny-20": (85, 130),
}


@pytest.mark.parametrize("wine", SUGAR)
def test_sugar_lies_within_the_rule(table: Table, wine: str) -> None:
    least, most = SUGAR[wine]
    sugar = table.profiles[wine].sugar
    assert least <= sugar.low
    assert sugar.high <= most


def test_madeira_grows_sweeter_from_sercial_to_malmsey(table: Table) -> None:
    # Portaria, Jornal Oficial da Região Autónoma da Madeira, February 2015: Sercial below 1.5 °Bé,
    # Boal 2.5 to 3.5, Malvasia above 3.5.
    spans = [table.profiles[f"madeira-{kind}"].sugar for kind in ("sercial", "bual", "malmsey")]
    assert all(one.high <= next_.low for one, next_ in pairwise(spans)), [
        str(span) for span in spans
    ]


# --- grapes --------------------------------------------------------------------------------------

# Grapes, and the least share in per cent of them together, by the specification of each.
GRAPES: dict[str, tuple[tuple[str, ...], float]] = {
    "sauvignon-sancerre": (("sauvignon-blanc",), 100),
    "chardonnay-chablis": (("chardonnay",), 100),
    "viognier-condrieu": (("viognier",), 100),
    "nebbiolo-barolo": (("nebbiolo",), 100),
    "sangiovese-brunello": (("sangiovese",), 100),
    "sangiovese-chianti-classico": (("sangiovese",), 80),
    "corvina-amarone": (("corvina",), 45),
    "prosecco-brut": (("glera",), 85),
    "gruner-wachau": (("gruner-veltliner",), 85),
    # United States, 27 CFR 4.23: 75% of the grape named.
    "cabernet-napa": (("cabernet-sauvignon",), 75),
    "zinfandel-california": (("zinfandel",), 75),
    "merlot-washington": (("merlot",), 75),
    "chardonnay-california": (("chardonnay",), 75),
    "pinot-noir-sonoma": (("pinot-noir",), 75),
    "riesling-finger-lakes": (("riesling",), 75),
    # European Union, 2019/33 art. 50: 85% of the grape named.
    "gewurztraminer-alsace": (("gewurztraminer",), 85),
    "riesling-mosel": (("riesling",), 85),
    "riesling-rheingau": (("riesling",), 85),
    "pinot-grigio-veneto": (("pinot-gris",), 85),
    # Their specifications name the grape; the share was not seen, so Europe's minimum stands in.
    "melon-muscadet": (("melon-de-bourgogne",), 85),
    "chenin-vouvray": (("chenin-blanc",), 85),
}


@pytest.mark.parametrize("wine", GRAPES)
def test_grapes_reach_their_least_share(table: Table, wine: str) -> None:
    grapes, least = GRAPES[wine]
    shares = table.profiles[wine].grapes
    assert sum(shares[grape].low for grape in grapes) >= least


def test_amarone_holds_no_more_corvina_than_its_rule_allows(table: Table) -> None:
    assert table.profiles["corvina-amarone"].grapes["corvina"].high <= 95


# --- ageing --------------------------------------------------------------------------------------

# Least months in wood, and least months before release, by the rules named.
AGEING = {
    "nebbiolo-barolo": (18, 38, "disciplinare of 2011"),
    "sangiovese-brunello": (24, 28, "disciplinare: two years of wood and four months of bottle"),
    "tempranillo-rioja": (12, 36, "Pliego: Reserva"),
    "tempranillo-rioja-gran-reserva": (24, 60, "Pliego: Gran Reserva"),
    "champagne-brut": (0, 15, "specification: without vintage"),
}


@pytest.mark.parametrize("wine", AGEING)
def test_wines_are_kept_as_long_as_their_rule_asks(table: Table, wine: str) -> None:
    wood, before, source = AGEING[wine]
    profile = table.profiles[wine]
    assert profile.oak_months.low >= wood, source
    assert profile.release * 12 >= before, source


def test_barolo_is_garnet(table: Table) -> None:
    # Disciplinare of 2011: garnet with orange.
    assert table.profiles["nebbiolo-barolo"].hues[0] == "garnet"
