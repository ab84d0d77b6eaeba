"""Words that stand beside grapes and places in a wine's name, and what they say of the wine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping


def _each(phrases: str) -> tuple[str, ...]:
    return tuple(phrases.split())


# They change nothing: kinds of appellation, the bottle, small words of five languages.
NOISE = (
    *_each(
        "a al and aoc aop app appellation at ava bottle bottled by controlee cru cuvee d da das de"
    ),
    *_each(
        "dei del dell della delle degli des di do doc doca docg domaine dop doq dos du e ein el en"
    ),
    *_each(
        "et from glass i igp igt im in it its l la le les los nv of on pdo pgi protegee the u und"
    ),
    *_each(
        "un une vdp vin vine vines vinho vino "
        "wein wijn wine wines y blend superiore classico annata"
    ),
    *_each("estate chateau weingut bodega bodegas tenuta quinta vineyard vineyards winery"),
    "old vine",
    "old vines",
    "vieilles vignes",
    "alte reben",
    "viñas viejas",
    "vecchie vigne",
    "grand cru",
    "grand vin",
    "premier cru",
    "1er cru",
    "1er",
    "sur lie",
    "non vintage",
    "gran selezione",
    "erste lage",
    "grosse lage",
    "single vineyard",
    "cru classé",
    "cru bourgeois",
)

# A text with one of these is no plain name: it denies, compares or hesitates, it changes the grape
# that stands beside it, or it means a drink that the profile of that grape and place is not.
STOPS = (
    *_each(
        "not no non nicht kein pas or ou oder vs versus than like ish style styled type similar"
    ),
    *_each("maybe either neither unlike except without sans ohne senza sin"),
    *_each("petit petite gris grise grigio noir nero nera gentile vert verte verde meunier"),
    *_each("chinato vinegar vermouth grappa brandy cognac armagnac marc mulled cask cider beer"),
    *_each("orange macerated maceration amphora qvevri natural piquette nouveau novello feinherb"),
    *_each("halbtrocken mistelle ratafia ambré tuilé hors szamorodni eszencia clairet alcoholfree"),
    "alcohol free",
    "de alcoholised",
)

_COLOUR = {
    "white": _each("white blanc blanche blanco blanca bianco bianca weiss weisser weißwein branco"),
    "red": _each("red rouge rosso tinto tinta rot roter rotwein negre vermelho"),
    "rose": _each("rosé rosato rosado roséwein pink blush chiaretto"),
}
_FIZZ = {
    "sparkling": (
        *_each("sparkling fizz mousseux pétillant spumante frizzante espumoso espumante"),
        "traditional method",
        "méthode traditionnelle",
        "metodo classico",
        "perlwein",
        "schaumwein",
    ),
    "still": ("still", "tranquille"),
}
# Only for sparkling wine; “demi-sec”, “dry” and the like are told apart by the style of the wine.
_DOSAGE = {
    "brut": ("brut",),
    "extra brut": ("extra brut",),
    "brut nature": ("brut nature", "zero dosage", "non dosé", "pas dosé", "dosage zéro"),
    "extra dry": ("extra dry", "extra sec", "extra seco"),
}
_SWEETNESS = {
    "dry": (
        *_each("dry sec secco seco trocken tr száraz gg"),
        "bone dry",
        "grosses gewächs",
    ),
    "off-dry": (
        *_each("tendre abboccato amabile demisec semisec semiseco"),
        "off dry",
        "medium dry",
        "semi dry",
        "half dry",
        "demi sec",
        "semi seco",
        "semi sec",
    ),
    "sweet": (
        *_each("sweet doux moelleux liquoreux dolce dulce süß süss edelsüß doce dessert sticky"),
        *_each("botrytis botrytised botrytized"),
        "noble rot",
    ),
}
# A wine must bear the word among its own names, or it is another wine.
_KIND = {
    "kabinett": ("kabinett", "kab"),
    "spätlese": ("spätlese",),
    "auslese": ("auslese",),
    "beerenauslese": ("beerenauslese", "ba"),
    "trockenbeerenauslese": ("trockenbeerenauslese", "tba", "trocken beeren auslese"),
    "icewine": ("icewine", "ice wine", "eiswein", "vin de glace"),
    "late harvest": (
        "late harvest",
        "late picked",
        "vendange tardive",
        "vendanges tardives",
        "vt",
        "vendemmia tardiva",
        "vendimia tardía",
        "colheita tardia",
        "sélection de grains nobles",
        "sgn",
    ),
    "passito": ("passito", "straw wine", "vin de paille", "strohwein", "schilfwein"),
    "recioto": ("recioto",),
    "amarone": ("amarone",),
    "ripasso": ("ripasso", "valpolicella ripasso"),
    "rosso di": ("rosso di montalcino", "rosso di montepulciano", "rosso di montefalco"),
    "vin santo": ("vin santo", "vinsanto"),
    "vin jaune": ("vin jaune", "yellow wine"),
    "fino": ("fino",),
    "manzanilla": ("manzanilla",),
    "amontillado": ("amontillado",),
    "oloroso": ("oloroso",),
    "palo cortado": ("palo cortado",),
    "cream": ("cream", "pale cream", "medium sherry"),
    "ruby": ("ruby",),
    "tawny": ("tawny",),
    "late bottled vintage": ("late bottled vintage", "lbv"),
    "crusted": ("crusted", "crusting"),
    "colheita": ("colheita",),
    "rainwater": ("rainwater",),
    "aszú": ("aszú",),
    "blanc de blancs": ("blanc de blancs", "bdb"),
    "blanc de noirs": ("blanc de noirs", "bdn"),
    "crémant": ("crémant",),
    "sekt": ("sekt", "winzersekt"),
    "pét-nat": ("pét nat", "pétillant naturel", "méthode ancestrale"),
    "liqueur": ("liqueur",),
}
_FORTIFIED = {"fortified": ("vdn", "vin doux naturel", "fortified", "liquoroso", "licoroso")}
# Steps of ageing: they choose between wines that differ in them and mean nothing elsewhere.
_TIER = {
    "joven": ("joven", "vin de l'année"),
    "crianza": ("crianza",),
    "reserva": ("reserva", "riserva", "reserve", "réserve"),
    "gran reserva": ("gran reserva", "gran riserva"),
}
_RIPENESS = {
    "steinfeder": ("steinfeder",),
    "federspiel": ("federspiel",),
    "smaragd": ("smaragd",),
}
_AGE = {
    "aged": (
        *_each("aged mature old developed evolved vieux vieille gereift invecchiato añejo"),
        "bottle aged",
        "museum release",
    ),
    "young": ("young", "jeune", "jung", "giovane", "youthful"),
}
_YEARS = {
    "10": ("10y", "ten year old", "ten year", "ten years old"),
    "20": ("20y", "twenty year old", "twenty year", "twenty years old"),
    "30": ("30y", "thirty year old", "thirty years old"),
    "40": ("40y", "forty year old", "forty years old"),
}
_VINTAGE = {"vintage": ("vintage", "millésimé", "millésime", "millesimato")}
_OAK = {
    "oaked": (
        *_each("oaked barrique barriqued wooded"),
        "barrel aged",
        "barrel fermented",
        "fût de chêne",
    ),
    "unoaked": ("unoaked", "unwooded", "inox", "stainless steel"),
}

STYLES: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "colour": _COLOUR,
    "fizz": _FIZZ,
    "dosage": _DOSAGE,
    "sweetness": _SWEETNESS,
    "kind": _KIND,
    "fortified": _FORTIFIED,
    "tier": _TIER,
    "ripeness": _RIPENESS,
    "age": _AGE,
    "years": _YEARS,
    "vintage": _VINTAGE,
    "oak": _OAK,
}
# These choose among the wines that are left; all others decide which wines are left.
CHOOSING = ("tier", "ripeness", "age", "years", "vintage")

COUNTRIES: Mapping[str, tuple[str, ...]] = {
    "Argentina": ("argentina", "argentine", "argentinian", "argentinien", "argentino", "arg"),
    "Australia": ("australia", "australian", "aussie", "aus", "oz", "australie", "australien"),
    "Austria": ("austria", "austrian", "österreich", "autriche", "österreichisch"),
    "Canada": ("canada", "canadian", "kanada", "canadá"),
    "Chile": ("chile", "chilean", "chili", "cile"),
    "France": ("france", "french", "frankreich", "francia", "frança", "français"),
    "Germany": (
        "germany",
        "german",
        "deutschland",
        "allemagne",
        "alemania",
        "germania",
        "alemanha",
    ),
    "Greece": ("greece", "greek", "grèce", "griechenland", "grecia"),
    "Hungary": ("hungary", "hungarian", "hongrie", "ungarn", "ungheria", "hungría"),
    "Italy": ("italy", "italian", "italia", "italie", "italien", "itália"),
    "New Zealand": (
        "new zealand",
        "nz",
        "kiwi",
        "neuseeland",
        "nouvelle-zélande",
        "nueva zelanda",
        "nuova zelanda",
        "nova zelândia",
    ),
    "Portugal": ("portugal", "portuguese", "portogallo", "portugais", "português"),
    "South Africa": (
        "south africa",
        "south african",
        "s africa",
        "s african",
        "sa",
        "rsa",
        "südafrika",
        "afrique du sud",
        "sudafrica",
        "sudáfrica",
    ),
    "Spain": ("spain", "spanish", "españa", "espagne", "spanien", "spagna", "espanha"),
    "Switzerland": ("switzerland", "swiss", "schweiz", "suisse", "svizzera", "suiza"),
    "United Kingdom": ("united kingdom", "uk", "england", "english", "angleterre", "inghilterra"),
    "United States": (
        "united states",
        "usa",
        "us",
        "america",
        "american",
        "états-unis",
        "estados unidos",
        "stati uniti",
        "vereinigte staaten",
    ),
}

# Words of the trade that lie a letter or two from a name of the table and are no slip of the pen.
STRANGERS = (
    *_each("albarin torrontel torontel maipu moscatello moscadello moscadelle muscadel muscadine"),
    *_each("vespaiola vespolina verdisco albillo chemin montagne rossese riesel rieslaner cortona"),
    *_each("corvo barbarossa champagny cornalin carmenet savigny rolland chatelain merit"),
)


def style_phrases() -> Iterator[tuple[str, str, str]]:
    """Every style word as (phrase, category, value)."""
    for category, values in STYLES.items():
        for value, phrases in values.items():
            for phrase in phrases:
                yield phrase, category, value
