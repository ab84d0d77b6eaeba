"""What a column may be called, in English, French, German, Italian and Spanish."""

from __future__ import annotations

from collections.abc import Mapping

from cards.lexicon import ALCOHOL, DEPTH, HUE

CALLED, WAS, FIRST, RUNNER_UP = "called", "was", "first", "runner_up"
DATE, FLIGHT, POSITION, NOTE = "date", "flight", "position", "note"
CALLED_VINTAGE, FIRST_VINTAGE, WAS_VINTAGE = "called_vintage", "first_vintage", "was_vintage"
CALLED_SURENESS, FIRST_SURENESS = "called_sureness", "first_sureness"
LABEL_ALCOHOL, PRICE, SECONDS = "label_alcohol", "price", "seconds"
APPEARANCE, NOSE, PALATE = "appearance", "nose", "palate"
WORLD, CLIMATE, AGE = "world", "climate", "age"
CANDIDATES, DESCRIPTORS, ABSENT, FREE = "candidates", "descriptors", "absent", "free"
CALLED_KEY, WAS_KEY, FIRST_KEY, RUNNER_UP_KEY = (
    "called_key",
    "was_key",
    "first_key",
    "runner_up_key",
)
CANDIDATE_KEYS, MARK = "candidate_keys", "mark"
PLANNED, CODE = "planned", "code"

# The first headings of a list are preferred where two columns could be meant.
HEADINGS: Mapping[str, tuple[str, ...]] = {
    CALLED: (
        *("called", "final call", "call", "my call", "verdict", "conclusion", "final", "answer"),
        *("called wine", "i called", "i said", "called as"),
        *("annonce", "annonce finale", "annoncé", "conclusion finale", "réponse", "proposition"),
        *("ansage", "letzte ansage", "angesagt", "urteil", "antwort", "getippt", "tipp"),
        *("chiamata", "chiamata finale", "verdetto", "risposta", "conclusione", "detto"),
        *("llamada", "llamada final", "veredicto", "respuesta", "conclusión", "dicho"),
    ),
    WAS: (
        *("was", "it was", "reveal", "revealed", "revealed wine", "revealed as", "identity"),
        *("actual", "actual wine", "true wine", "truth", "poured", "wine poured", "label"),
        *("c'était", "révélé", "révélation", "vin révélé", "vin servi", "identité", "étiquette"),
        *("war", "es war", "aufgedeckt", "auflösung", "enthüllt", "tatsächlich", "etikett"),
        *("era", "svelato", "rivelato", "vino svelato", "identità", "etichetta"),
        *("fue", "revelado", "vino revelado", "identidad", "etiqueta", "vino servido"),
        *("wine", "vin", "wein", "vino", "bottle", "bouteille", "flasche", "bottiglia", "botella"),
    ),
    FIRST: (
        *("first call", "first", "instinct", "first impression", "initial call", "first thought"),
        *("première annonce", "première idée", "première impression", "premier", "première"),
        *("erste ansage", "erster tipp", "erster eindruck", "erste", "erster", "instinkt"),
        *("prima chiamata", "prima idea", "prima impressione", "prima", "istinto"),
        *("primera llamada", "primera idea", "primera impresión", "primera", "instinto"),
    ),
    RUNNER_UP: (
        *("runner-up", "runner", "second choice", "second call", "second", "alternative"),
        *("deuxième choix", "second choix", "deuxième", "deuxième annonce", "alternative"),
        *("zweite wahl", "zweiter tipp", "zweite ansage", "zweite", "zweiter"),
        *("seconda scelta", "seconda chiamata", "seconda", "alternativa"),
        *("segunda opción", "segunda llamada", "segunda", "segunda elección"),
    ),
    DATE: (
        *("date", "tasted on", "tasting date", "date tasted", "day", "tasted", "when"),
        *("date de dégustation", "jour", "dégusté le"),
        *("datum", "tag", "verkostet am"),
        *("data", "giorno", "data degustazione"),
        *("fecha", "día", "fecha de cata"),
    ),
    FLIGHT: (
        *("flight", "tasting", "session", "event", "group", "series", "flight name"),
        *("dégustation", "séance", "série"),
        *("verkostung", "weinprobe", "probe", "serie", "degustation", "reihe"),
        *("degustazione", "batteria", "sessione"),
        *("cata", "sesión", "tanda"),
    ),
    POSITION: (
        *("pour", "no", "number", "pour no", "wine no", "position", "glass", "order", "num", "nr"),
        *("numéro", "verre", "n", "ordre", "vin no"),
        *("nummer", "glas", "reihenfolge", "wein nr"),
        *("numero", "bicchiere", "posizione", "ordine"),
        *("número", "copa", "posición", "orden"),
    ),
    NOTE: (
        *("note", "notes", "comment", "comments", "remark", "remarks", "tasting note"),
        *("commentaire", "commentaires", "remarque", "remarques"),
        *("notiz", "notizen", "bemerkung", "bemerkungen", "anmerkung", "kommentar"),
        *("nota", "commento", "commenti", "osservazioni"),
        *("notas", "comentario", "comentarios", "observaciones"),
    ),
    CALLED_VINTAGE: (
        *("called vintage", "vintage called", "final vintage", "vintage guess", "call vintage"),
        *("guessed vintage", "my vintage", "final call vintage"),
        *("millésime annoncé", "millésime proposé", "jahrgang angesagt", "angesagter jahrgang"),
        *("jahrgang getippt", "annata chiamata", "annata detta", "añada llamada", "añada dicha"),
    ),
    FIRST_VINTAGE: (
        *("first vintage", "first call vintage", "vintage first", "initial vintage"),
        *("premier millésime", "erster jahrgang", "prima annata", "primera añada"),
    ),
    WAS_VINTAGE: (
        *("vintage", "was vintage", "actual vintage", "revealed vintage", "true vintage", "year"),
        *("reveal vintage", "vintage was", "millésime", "année", "jahrgang", "annata"),
        *("añada", "cosecha", "año"),
    ),
    CALLED_SURENESS: (
        *("sureness", "how sure", "sure", "confidence", "final sureness", "called sureness"),
        *("certainty", "certitude", "assurance", "sicherheit", "gewissheit", "wie sicher"),
        *("sicurezza", "certezza", "seguridad", "certeza", "confianza"),
    ),
    FIRST_SURENESS: (
        *("first sureness", "first confidence", "first call sureness", "how sure at first"),
        *("première certitude", "erste sicherheit", "prima sicurezza", "primera seguridad"),
    ),
    LABEL_ALCOHOL: (
        *("label alcohol", "alcohol label", "alcohol on the label", "actual alcohol"),
        *("true alcohol", "label abv", "abv label", "actual abv", "abv", "labelled alcohol"),
        *("alcool étiquette", "alcool réel", "alkohol etikett", "alkohol laut etikett"),
        *("alcol etichetta", "alcol reale", "alcohol etiqueta", "alcohol real"),
    ),
    PRICE: ("price", "cost", "prix", "preis", "prezzo", "precio"),
    SECONDS: (
        *("seconds", "duration", "clock", "time taken", "secondes", "durée", "sekunden", "dauer"),
        *("secondi", "durata", "segundos", "duración"),
    ),
    APPEARANCE: (
        *("appearance", "look", "sight", "aspect", "robe", "œil", "aussehen", "optik", "auge"),
        *("aspetto", "vista", "aspecto"),
    ),
    NOSE: ("nose", "smell", "nez", "nase", "geruch", "naso", "olfatto", "nariz", "olfato"),
    PALATE: (
        *("palate", "taste", "mouth", "bouche", "goût", "gaumen", "mund", "geschmack"),
        *("palato", "bocca", "gusto", "boca", "paladar", "sabor"),
    ),
    WORLD: (
        *("world", "old or new world", "old/new", "old world new world", "monde"),
        *("welt", "alte oder neue welt", "mondo", "mundo"),
    ),
    CLIMATE: ("climate", "climat", "klima", "clima"),
    AGE: (
        *("age", "wine age", "maturity", "âge", "maturité", "alter", "reife", "età"),
        *("edad", "madurez"),
    ),
    CANDIDATES: (
        *("candidates", "considered", "possibilities", "shortlist", "possible wines"),
        *("candidats", "kandidaten", "in frage", "candidati", "candidatos"),
    ),
    DESCRIPTORS: (
        *("descriptors", "aromas", "flavours", "flavors", "aromas and flavours", "smells"),
        *("aromas and flavors", "aroma", "words", "descripteurs", "arômes", "arôme"),
        *("deskriptoren", "aromen", "descrittori", "aromi", "profumi", "descriptores"),
    ),
    ABSENT: (
        *("not found", "looked for and not found", "absent", "absents", "nicht gefunden"),
        *("non trovati", "no encontrados", "ausentes", "assenti"),
    ),
    FREE: ("other words", "free", "autres mots", "andere wörter", "altre parole", "otras palabras"),
    "sweetness": (
        *("sweetness", "sweet", "sugar", "douceur", "sucrosité", "sucre", "süße", "süsse"),
        *("restsüße", "dolcezza", "zucchero", "dulzor", "dulce", "azúcar"),
    ),
    "acid": (
        *("acid", "acidity", "acidité", "acide", "säure", "acidità", "acido", "acidez", "ácido"),
    ),
    "tannin": (
        *("tannin", "tannins", "tanin", "tanins", "tannine", "gerbstoff", "gerbstoffe"),
        *("tannino", "tannini", "tanino", "taninos"),
    ),
    "body": ("body", "weight", "corps", "körper", "corpo", "cuerpo"),
    "bitterness": (
        *("bitterness", "bitter", "amertume", "amer", "bitterkeit", "amarezza", "amaro"),
        *("amargor", "amargo"),
    ),
    "intensity": (
        *("intensity", "nose intensity", "aroma intensity", "intensité", "intensité du nez"),
        *("intensität", "intensität der nase", "intensità", "intensità del naso", "intensidad"),
    ),
    "mineral": (
        *("mineral", "minerality", "minéral", "minéralité", "mineralität", "mineralisch"),
        *("minerale", "mineralità", "mineralidad"),
    ),
    "oak": (
        *("oak", "wood", "oak level", "chêne", "bois", "boisé", "eiche", "holz", "rovere"),
        *("legno", "roble", "madera", "barrica"),
    ),
    "finish": (
        *("finish", "length", "finale en bouche", "longueur", "persistance", "abgang"),
        *("nachhall", "länge", "lunghezza", "persistenza", "finale", "longitud", "persistencia"),
        *("final de boca",),
    ),
    ALCOHOL: (
        *("alcohol % vol", "alcohol", "alcohol guess", "called alcohol", "alcohol called"),
        *("alc", "alc % vol", "alcool", "alcool annoncé", "alkohol", "alkohol angesagt"),
        *("alcol", "alcol chiamato", "alcohol dicho", "alcohol llamado"),
    ),
    HUE: (
        *("hue", "colour", "color", "couleur", "teinte", "farbe", "farbton", "colore", "tinta"),
        *("tonalità", "tonalidad", "tono"),
    ),
    DEPTH: (
        *("depth", "depth of colour", "depth of color", "colour depth", "color depth"),
        *("colour intensity", "color intensity", "profondeur", "intensité de la couleur"),
        *("farbtiefe", "tiefe", "profondità", "intensità del colore", "profundidad", "capa"),
    ),
    CALLED_KEY: ("called key", "called wine key"),
    WAS_KEY: ("was key", "revealed key"),
    FIRST_KEY: ("first key", "first call key"),
    RUNNER_UP_KEY: ("runner-up key",),
    CANDIDATE_KEYS: ("candidate keys",),
    MARK: ("mark",),
    PLANNED: ("flight number", "planned flight", "number of the flight"),
    CODE: (
        *("code", "glass code", "blind code", "three-digit code", "code du verre", "glascode"),
        *("codice", "código"),
    ),
}
