"""Searching the table: every word a list of wines is met in leads to the wine, and fast."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.naming.folding import words
from cards.naming.vocabulary import COUNTRIES
from cards.scale import Level, Typical
from cards.search_index import HIGH_ALCOHOL, LOW_ALCOHOL
from cards.searching import TableSearch
from cards.tables import Table, load_table


@pytest.fixture(scope="module")
def search(table: Table) -> TableSearch:
    """The index of the shipped table, built once as the screen builds it."""
    return TableSearch(table)


# ---- what tasters type


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("nz sauv", "sauvignon-marlborough"),
        ("NZ Sauvignon Blanc", "sauvignon-marlborough"),
        ("sauv nz", "sauvignon-marlborough"),
        ("tba", "riesling-trockenbeerenauslese"),
        ("gevrey", "pinot-noir-burgundy"),
        ("st julien", "cabernet-left-bank"),
        ("cote-rotie", "syrah-northern-rhone"),
        ("tawny 20", "port-tawny-20"),
        ("L.B.V.", "port-lbv"),
        ("blanc de blancs", "champagne-blanc-de-blancs"),
        ("cat pee", "sauvignon-marlborough"),
        ("wet wool loire", "chenin-vouvray"),
        ("aszú", "tokaji-aszu"),
        ("montalcino", "sangiovese-brunello"),
    ],
)
def test_what_a_taster_would_type_finds_the_wine_first(
    search: TableSearch, typed: str, first: str
) -> None:
    assert search.find(typed)[0] == first


@pytest.mark.parametrize("typed", ["spätburgunder", "spatburgunder", "Spaetburgunder", "SPÄTB"])
def test_accents_capitals_and_endings_do_not_matter(
    search: TableSearch, table: Table, typed: str
) -> None:
    found = search.find(typed)
    pinots = {key for key, wine in table.profiles.items() if "pinot-noir" in wine.grapes}
    assert set(found) == pinots
    # Those made of it come before those with some of it.
    assert found[0].startswith("pinot-noir")


def test_new_world_red_coconut_finds_just_those(search: TableSearch, table: Table) -> None:
    found = search.find("new world red coconut")
    expected = {
        key
        for key, wine in table.profiles.items()
        if wine.world == "new"
        and wine.style == "red"
        and wine.descriptors.get("coconut", Typical.NEVER) is not Typical.NEVER
    }
    assert set(found) == expected
    assert expected


def test_petrol_finds_those_it_marks_before_those_that_show_it_at_times(
    search: TableSearch, table: Table
) -> None:
    found = search.find("petrol")
    order = [table.profiles[key].descriptors["petrol"] for key in found]
    ranks = [list(Typical).index(typical) for typical in order]
    assert ranks == sorted(ranks)
    assert Typical.NEVER not in order
    noted = [w for w in table.profiles.values() if w.descriptors.get("petrol", "never") != "never"]
    assert len(found) == len(noted)


def test_a_strength_finds_the_wines_that_have_it(search: TableSearch, table: Table) -> None:
    for typed, strength in (("13.5", 13.5), ("13,5%", 13.5), ("14 %", 14.0)):
        expected = {
            key
            for key, wine in table.profiles.items()
            if wine.alcohol.low <= strength <= wine.alcohol.high
        }
        assert set(search.find(typed)) == expected
    reds = set(search.find("red"))
    assert set(search.find("red 13.5")) == reds & set(search.find("13.5"))


@pytest.mark.parametrize(
    ("typed", "attribute", "level"),
    [
        ("high acid", "acid", Level.HIGH),
        ("low tannin", "tannin", Level.LOW),
        ("marked oak", "oak", Level.MED_PLUS),
        ("full body", "body", Level.HIGH),
        ("no oak", "oak", Level.LOW),
        ("no bitterness", "bitterness", Level.LOW),
    ],
)
def test_structure_is_found_in_the_words_of_a_card(
    search: TableSearch, table: Table, typed: str, attribute: str, level: Level
) -> None:
    expected = {
        key
        for key, wine in table.profiles.items()
        if attribute in wine.structure and level in wine.structure[attribute]
    }
    assert set(search.find(typed)) == expected


def test_low_and_high_alcohol_are_bands(search: TableSearch, table: Table) -> None:
    middles = {key: wine.alcohol.middle for key, wine in table.profiles.items()}
    low = {key for key, middle in middles.items() if middle <= LOW_ALCOHOL}
    high = {key for key, middle in middles.items() if middle >= HIGH_ALCOHOL}
    assert set(search.find("low alcohol")) == low
    assert set(search.find("high alcohol")) == high


def test_a_whole_phrase_is_one_thing(search: TableSearch, table: Table) -> None:
    """“new world” is no “new” and “world”, “red” no redcurrant, “white pepper” no white wine."""
    worlds = {table.profiles[key].world for key in search.find("new world")}
    assert worlds == {"new"}
    assert all(
        "white-pepper" in table.profiles[key].descriptors for key in search.find("white pepper")
    )
    styles = [table.profiles[key].style for key in search.find("red")]
    assert {"white", "rose"}.isdisjoint(styles)
    reds = sum(style == "red" for style in styles)
    assert styles[:reds] == ["red"] * reds
    # While it is being typed it may still become a name.
    assert "dolcetto-dogliani" in search.find("dolce")
    assert "dolcetto-dogliani" not in search.find("dolce ")


def test_what_has_two_meanings_finds_both(search: TableSearch, table: Table) -> None:
    found = search.find("rose")
    styles = [table.profiles[key].style for key in found]
    rosés = sum(wine.style == "rose" for wine in table.profiles.values())
    assert styles[:rosés] == ["rose"] * rosés
    assert all("rose" in table.profiles[key].descriptors for key in found[rosés:])
    assert "gewurztraminer-alsace" in found


# ---- everything the table names


def test_every_wine_is_found_while_its_name_is_being_typed(
    search: TableSearch, table: Table
) -> None:
    for key, wine in table.profiles.items():
        for end in range(1, len(wine.short) + 1):
            assert key in search.find(wine.short[:end]), (key, wine.short[:end])


def test_every_name_of_a_wine_finds_it_among_the_first(search: TableSearch, table: Table) -> None:
    for key, wine in table.profiles.items():
        for name in (wine.name, wine.short, *wine.synonyms, *table.names.wines.get(key, ())):
            assert key in search.find(name), (key, name)
        assert key in search.find(wine.short)[:5], key


def test_every_name_of_a_grape_finds_the_wines_made_of_it(
    search: TableSearch, table: Table
) -> None:
    for grape, thing in table.names.grapes.items():
        made = {key for key, wine in table.profiles.items() if grape in wine.grapes}
        for name in (thing.name, *thing.synonyms):
            assert made <= set(search.find(name)), (grape, name)


def test_every_name_of_a_country_finds_its_wines(search: TableSearch, table: Table) -> None:
    for country in {wine.country for wine in table.profiles.values()}:
        wines = {key for key, wine in table.profiles.items() if wine.country == country}
        for name in (country, *COUNTRIES.get(country, ())):
            assert wines <= set(search.find(name)), (country, name)


def test_every_name_of_a_place_finds_its_classic_wine(search: TableSearch, table: Table) -> None:
    for place, thing in table.names.places.items():
        if thing.classic:
            for name in (thing.name, *thing.synonyms):
                assert thing.classic in search.find(name), (place, name)


def test_every_region_is_found(search: TableSearch, table: Table) -> None:
    for key, wine in table.profiles.items():
        assert key in search.find(wine.region)


def test_every_wording_of_a_descriptor_finds_the_wines_that_show_it(
    search: TableSearch, table: Table
) -> None:
    for key, descriptor in table.lexicon.descriptors.items():
        noted = {
            wine.key
            for wine in table.profiles.values()
            if wine.descriptors.get(key, Typical.NEVER) is not Typical.NEVER
        }
        for wording in descriptor.wordings:
            if words(wording):
                assert noted <= set(search.find(wording)), (key, wording)


def test_what_is_never_met_finds_nothing(
    shelve: Callable[..., Path], two_wines: dict[str, str]
) -> None:
    table = load_table(shipped=shelve(two_wines))
    search = TableSearch(table)
    assert search.find("lime") == ["right"]
    assert search.find("white pepper") == ["left"]
    assert search.find("lemon juice pepper") == ["left"]
    # A family's name finds whatever shows one of it, the most typical first.
    assert search.find("citrus") == ["right", "left"]


# ---- how words combine


def test_every_word_must_be_found(search: TableSearch) -> None:
    for one, other in (("riesling", "germany"), ("petrol", "dry"), ("cherry", "leather")):
        both = set(search.find(f"{one} {other}"))
        assert both == set(search.find(one)) & set(search.find(other))
        assert set(search.find(f"{other} {one}")) == both


def test_nothing_typed_lists_every_wine_by_style_and_name(
    search: TableSearch, table: Table
) -> None:
    for typed in ("", "   ", "—", "…!"):
        found = search.find(typed)
        assert set(found) == set(table.profiles)
        styles = [table.profiles[key].style for key in found]
        assert styles == sorted(styles, key=list(dict.fromkeys(styles)).index)


def test_nonsense_finds_nothing(search: TableSearch) -> None:
    assert search.find("zzqx") == []
    assert search.find("riesling zzqx") == []


def test_st_may_be_saint_or_the_beginning_of_a_word(search: TableSearch) -> None:
    found = search.find("st")
    assert "chenin-stellenbosch" in found
    assert "cabernet-left-bank" in found


@given(st.text(max_size=60))
@settings(max_examples=150, deadline=None)
def test_any_text_may_be_typed(text: str) -> None:
    found = _shared().find(text)
    assert len(found) == len(set(found))


_made: list[TableSearch] = []


def _shared() -> TableSearch:
    # Hypothesis calls the test many times over; the fixtures of a module are not for it.
    if not _made:
        _made.append(TableSearch(load_table()))
    return _made[0]


def test_a_table_without_wines_can_be_searched(
    shelve: Callable[..., Path], two_wines: dict[str, str]
) -> None:
    files = {shelf: text for shelf, text in two_wines.items() if "/" not in shelf}
    files["names.toml"] = files["names.toml"].replace('classic = "left"\n', "")
    search = TableSearch(load_table(shipped=shelve(files)))
    assert search.find("") == search.find("riesling") == []
