"""Names resolve, or ask; a corpus of written names measures how often they do either."""

from __future__ import annotations

import csv
import random
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cards.errors import UnknownWine
from cards.names import SUGGESTIONS, WineNames
from cards.naming.folding import without_noise, words
from cards.tables import NamedThing, Names, Table
from tests.examples import examples

CORPUS = Path(__file__).with_name("name_variants.csv")
EXAMPLES = examples(300)


def corpus() -> Iterator[tuple[str, str]]:
    with CORPUS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            yield row["text"], row["wine"]


@pytest.fixture(scope="module")
def shipped(table: Table) -> Table:
    return table


@pytest.fixture(scope="module")
def names(shipped: Table) -> WineNames:
    return WineNames(shipped)


@pytest.fixture(scope="module")
def others(shipped: Table) -> WineNames:
    """Names that were never asked what `names` was."""
    return WineNames(shipped)


# The corpus


def test_corpus_is_large_and_well_formed(shipped: Table) -> None:
    lines = list(corpus())
    texts = [text for text, _ in lines]
    assert len(texts) == len(set(texts))
    assert sum(1 for _, wine in lines if wine) >= 400
    assert sum(1 for _, wine in lines if not wine) >= 80
    assert {wine for _, wine in lines if wine} == set(shipped.profiles)


def test_corpus_precision_and_recall(names: WineNames) -> None:
    right = wrong = 0
    wanted = 0
    for text, wine in corpus():
        found = names.resolve(text).wine
        wanted += bool(wine)
        right += bool(found) and found == wine
        wrong += bool(found) and found != wine
    assert right / (right + wrong) >= 0.995
    assert right / wanted >= 0.90


def test_what_is_asked_comes_with_the_right_suggestion(names: WineNames) -> None:
    missed = [(text, wine) for text, wine in corpus() if wine and not names.resolve(text).wine]
    for text, wine in missed:
        assert wine in names.resolve(text).suggestions, text


def test_every_name_in_the_table_resolves_or_is_shared(names: WineNames, shipped: Table) -> None:
    bearers: dict[str, set[str]] = {}
    for key, profile in shipped.profiles.items():
        listed = (profile.name, profile.short, *profile.synonyms, *shipped.names.wines.get(key, ()))
        for text in listed:
            bearers.setdefault("".join(words(text)), set()).add(key)
    for key, profile in shipped.profiles.items():
        for text in (profile.name, profile.short, *profile.synonyms):
            found = names.resolve(text)
            if bearers["".join(words(text))] == {key}:
                assert found.wine == key, text
            else:
                assert found.wine is None, text
                assert key in found.suggestions, text


def test_every_key_is_its_own_name(names: WineNames, shipped: Table) -> None:
    for key in shipped.profiles:
        assert names.resolve(key).wine == key
        assert names.resolve(f"  {key} ").how == "key"


# Folding and noise


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("Grüner Veltliner", "gruner veltliner"),
        ("WEIẞER Burgunder", "weisser burgunder"),
        ("Côte-Rôtie", "cote rotie"),
        ("St. Émilion", "saint emilion"),
        ("Ste-Croix", "saint croix"),
        ("N.Z. Pinot", "nz pinot"),
        ("Montepulciano d’Abruzzo", "montepulciano d abruzzo"),
        ("Xarel·lo", "xarello"),
        ("Sèvre & Maine", "sevre and maine"),
        ("ﬁno", "fino"),
        ("", ""),
        ("—…!", ""),
    ],
)
def test_folding(text: str, folded: str) -> None:
    assert " ".join(words(text)) == folded


@pytest.mark.parametrize(
    "noise",
    [
        "2019",
        "'19",
        "13.5%",
        "13,5 % vol",
        "14% ABV",
        "€25",
        "25 €",
        "$120",
        "GBP 30",
        "75cl",
        "0,75 l",
        "92 pts",
        "95/100",
        "17.5/20",
        "NV",
    ],
)
def test_noise_is_no_part_of_a_name(names: WineNames, noise: str) -> None:
    for text in (f"Chablis {noise}", f"{noise} Chablis", f"Chablis, {noise}, France"):
        assert names.resolve(text).wine == "chardonnay-chablis", text


def test_numbers_that_mean_something_stay() -> None:
    assert words(without_noise("Tawny 10 years old 2020")) == ("tawny", "10y")
    assert words(without_noise("1. Chablis 2018")) == ("chablis",)


@pytest.mark.parametrize("text", ["10 yr tawny", "10-year-old tawny", "Tawny 10 ans", "10yo Tawny"])
def test_age_of_a_tawny(names: WineNames, text: str) -> None:
    assert names.key(text) == "port-tawny-10"


# Never a silent wrong match


@pytest.mark.parametrize("place", ["Chile", "South Africa", "Styria", "Touraine", "Washington"])
def test_a_grape_is_not_pulled_to_another_place(names: WineNames, place: str) -> None:
    found = names.resolve(f"Sauvignon Blanc, {place}")
    assert found.wine is None
    assert found.suggestions


def test_a_place_is_not_pulled_to_another_grape(names: WineNames) -> None:
    for text in ("Marlborough Riesling", "Barossa Riesling", "Oregon Chardonnay", "Gavi rosso"):
        assert names.resolve(text).wine is None, text


def test_unknown_words_ask_unless_grape_and_place_stand_beside_them(names: WineNames) -> None:
    assert names.resolve("Felton Road Pinot Noir, Central Otago").wine == "pinot-noir-central-otago"
    assert names.resolve("Felton Road Pinot Noir").wine is None
    assert names.resolve("Sauvignon Blanc, Neverland").wine is None


def test_a_slip_of_the_pen_must_be_small_for_the_length(names: WineNames) -> None:
    assert names.resolve("Sauvingon Blanc, Malborough").how == "typo"
    for text in ("Cavo", "Gavo", "Sove", "Portt wine"):
        assert names.resolve(text).wine is None, text
    # Grapes and places of their own, a letter or two from another.
    for text in ("Cabernet Sauvignon, Maipú", "Torrontel", "Albarín", "Ribeira Sacra", "Verdelho"):
        assert names.resolve(text).wine is None, text


def test_a_misspelt_mark_is_not_passed_over_as_a_growers_name(names: WineNames) -> None:
    assert names.resolve("Riesling, Mosel, Auselse").wine == "riesling-mosel-auslese"


@pytest.mark.parametrize(
    ("text", "wine"),
    [
        *(
            (text, "grenache-chateauneuf")
            for text in ("CdP", "C.d.P.", "c d p", "C/d/P", "“C-d-P”")
        ),
        ("(PX)", "sherry-px"),
        ("★ Barolo ★", "nebbiolo-barolo"),
        ("~~~~~~~~~~~~ Barolo", "nebbiolo-barolo"),
        ("Chablis™", "chardonnay-chablis"),
        # Letters with signs between them, and signs that only look like letters.
        *((text, None) for text in ("v>p", "g!g", "l-m|b v", "'/c\\a", "ca(((((((((())))va")),
        *((text, None) for text in ("㏄", "Ⓖ Ⓖ", "&$㏄…[«", "#…㏄.㏄")),
        # Two letters in a text that is otherwise not understood.
        *((text, None) for text in ("xqzt wfmp cc", "cc lorem ipsum")),
        ("CC 2019", "sangiovese-chianti-classico"),
    ],
)
def test_a_wine_is_named_by_letters_that_stand_together(
    names: WineNames, text: str, wine: str | None
) -> None:
    assert names.resolve(text).wine == wine


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    letters=st.lists(st.sampled_from("abcdefgilmnoprstvxz"), min_size=2, max_size=8),
    sign=st.sampled_from("!#$%()*,:;<=>?@[]^_{|}~"),
)
def test_letters_scattered_among_signs_name_no_wine(
    names: WineNames, letters: list[str], sign: str
) -> None:
    assert names.resolve(sign.join(letters)).wine is None


def test_shared_names_ask_with_every_bearer(names: WineNames) -> None:
    found = names.resolve("GSM")
    assert found.wine is None
    assert found.how == "several"
    assert set(found.suggestions) >= {"grenache-chateauneuf", "grenache-mclaren-vale"}


def test_key_raises_with_suggestions(names: WineNames) -> None:
    with pytest.raises(UnknownWine) as several:
        names.key("Pinot Noir")
    assert several.value.several
    assert 2 <= len(several.value.suggestions) <= SUGGESTIONS
    with pytest.raises(UnknownWine) as unknown:
        names.key("qwxz")
    assert not unknown.value.several
    assert unknown.value.suggestions == ()


# The taster's own names


def test_own_names_come_first_and_are_folded(shipped: Table) -> None:
    own = WineNames(shipped, {"Bordeaux": "cabernet-left-bank", "Gone": "no-such-wine"})
    assert own.resolve("BORDEAUX 2015").wine == "cabernet-left-bank"
    assert own.resolve("bordeaux").how == "own"
    assert own.resolve("Gone").wine is None
    assert WineNames(shipped).resolve("Bordeaux").wine is None


def test_own_names_cannot_take_a_key(shipped: Table) -> None:
    own = WineNames(shipped, {"riesling-mosel": "banyuls"})
    assert own.key("riesling-mosel") == "riesling-mosel"


# Small tables of our own


def _with_names(table: Table, places: dict[str, NamedThing], **wines: tuple[str, ...]) -> Table:
    grapes = {"first": NamedThing("first", "First"), "second": NamedThing("second", "Second")}
    return replace(table, names=Names(grapes, places, wines))


def _table_of(shipped: Table, **changes: dict[str, Any]) -> Table:
    """A table of made-up wines, each a copy of Chablis with other names."""
    pattern = shipped.profiles["chardonnay-chablis"]
    plain = {"synonyms": (), "laterals": (), "region": "", "country": "Austria"}
    profiles = {
        key: replace(pattern, **{**plain, "key": key, "name": key, "short": key, **change})
        for key, change in ((name.replace("_", "-"), change) for name, change in changes.items())
    }
    return replace(shipped, profiles=profiles)


def test_places_that_lie_in_a_ring_do_not_hang(shipped: Table) -> None:
    places = {
        "here": NamedThing("here", "Here", within="there"),
        "there": NamedThing("there", "There", within="here"),
        "lost": NamedThing("lost", "Lost", within="nowhere", classic="no-such-wine"),
    }
    names = WineNames(_with_names(_table_of(shipped, first_here={}), places))
    assert names.resolve("Lost").wine is None
    assert names.resolve("first here").wine == "first-here"


def test_a_place_alone_needs_a_classic(shipped: Table) -> None:
    table = _table_of(shipped, first_here={"name": "Something"})
    bare = {"here": NamedThing("here", "Here")}
    assert WineNames(_with_names(table, bare)).resolve("Here").wine is None
    classic = {"here": NamedThing("here", "Here", classic="first-here")}
    assert WineNames(_with_names(table, classic)).resolve("Here").wine == "first-here"


def test_an_empty_table_knows_nothing(shipped: Table) -> None:
    empty = replace(shipped, profiles={}, names=Names({}, {}, {}))
    found = WineNames(empty).resolve("Chablis")
    assert (found.wine, found.suggestions) == (None, ())


# Nothing typed may break it


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(text=st.text(max_size=400))
def test_no_text_raises(names: WineNames, text: str) -> None:
    found = names.resolve(text)
    assert found.text == text
    assert len(found.suggestions) <= SUGGESTIONS
    assert len(set(found.suggestions)) == len(found.suggestions)
    assert (found.wine is None) == (found.how in ("several", "unknown"))


PIECES = [
    piece
    for line in (
        "Riesling Chablis Pinot Noir Blanc rosé NZ Mosel Auslese Sauvignon 10 2019 & St. - , ; ( '",
        "ß ü é \u0301 \u200b \x00 Bordeaux left bank aged dry or not Port tawny brut Asti d'",
    )
    for piece in line.split(" ")
]


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(parts=st.lists(st.sampled_from(PIECES), max_size=9), glue=st.sampled_from([" ", "", ", "]))
def test_no_heap_of_words_raises_and_answers_repeat(
    names: WineNames, others: WineNames, shipped: Table, parts: list[str], glue: str
) -> None:
    text = glue.join(parts)
    found = names.resolve(text)
    assert found == others.resolve(text)
    assert found.wine is None or found.wine in shipped.profiles
    assert set(found.suggestions) <= set(shipped.profiles)


def test_strings_at_random_are_answered_too(names: WineNames, shipped: Table) -> None:
    chance = random.Random(20_000)
    for _ in range(examples(4_000)):
        size = chance.randrange(24)
        text = "".join(chr(chance.choice((chance.randrange(0x250), chance.randrange(0x110000))))
                       for _ in range(size))  # fmt: skip
        found = names.resolve(text)
        assert {*found.suggestions, found.wine} <= {*shipped.profiles, None}, text
        assert (found.wine is None) == (found.how in ("several", "unknown")), text


def test_very_long_texts_are_cut_short(names: WineNames) -> None:
    assert names.resolve("Chablis " * 200_000).wine is None
    assert names.resolve("x" * 1_000_000).wine is None
    names.resolve(" ".join("abcdefgh"[k % 8] * 6 for k in range(42)))


# Cost


def test_the_index_is_built_when_a_name_is_first_looked_up(shipped: Table) -> None:
    names = WineNames(shipped)
    assert "index" not in vars(names)
    names.resolve("Cali cab")
    assert "index" in vars(names)


def test_repeats_are_remembered(names: WineNames) -> None:
    assert names.resolve("Cali cab") is names.resolve("Cali cab")


def test_names_load_nothing_heavy() -> None:
    code = (
        "import sys; from cards.names import WineNames; from cards.tables import load_table;"
        "n = WineNames(load_table()); n.resolve('Chablis'); n.resolve('NZ SB');"
        "print([m for m in ('rapidfuzz', 'numpy', 'sqlmodel', 'textual') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "[]"
