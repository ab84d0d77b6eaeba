"""Which column is which: headings in five languages, whatever their case, accents and order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cards.naming.folding import words
from drills.errors import IntakeError
from drills.tastings.cells import Cell, printable

CALLED, WAS, FIRST, RUNNER_UP = "called", "was", "first", "runner_up"
DATE, FLIGHT, POSITION, NOTE = "date", "flight", "position", "note"

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
}


def _folded(heading: str) -> str:
    """The heading without case, accents, spaces and underscores; “#” stands for a number."""
    return "".join(words(heading.replace("#", " no ").replace("№", " no ")))


_ROLES = {
    _folded(heading): (role, rank)
    for role, headings in reversed(list(HEADINGS.items()))
    for rank, heading in reversed(list(enumerate(headings)))
}


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each column stands. `heading` gives its name as the file writes it."""

    at: Mapping[str, int]
    headings: tuple[str, ...]
    warnings: tuple[str, ...] = ()

    def heading(self, role: str) -> str:
        """The heading of a column in the file, else the name it would have."""
        place = self.at.get(role)
        return role.replace("_", "-") if place is None else self.headings[place]

    @property
    def complete(self) -> bool:
        """Whether the columns say what was called and what it was."""
        return CALLED in self.at and WAS in self.at


def find_columns(cells: Sequence[Cell]) -> Columns:
    """The columns that a row of headings names; those it cannot place become warnings."""
    headings = tuple(" ".join(str(cell).split()) for cell in cells)
    claims: dict[str, list[tuple[int, int]]] = {}
    warnings: list[str] = []
    for place, heading in enumerate(headings):
        found = _ROLES.get(_folded(heading)) if len(heading) <= 60 else None
        if found is not None:
            role, rank = found
            claims.setdefault(role, []).append((rank, place))
        elif heading:
            warnings.append(f"column “{_short(heading)}” was not read")
    at: dict[str, int] = {}
    for role, places in claims.items():
        (_, best), *others = sorted(places)
        at[role] = best
        warnings.extend(
            f"column “{_short(headings[place])}” was not read: "
            f"“{_short(headings[best])}” says the same"
            for _, place in others
        )
    return Columns(at, headings, tuple(warnings))


def missing_columns(columns: Columns) -> IntakeError:
    """The error for a file that does not say what was called or what it was."""
    wanted = [
        f"“{role}” ({what})"
        for role, what in ((CALLED, "the final call"), (WAS, "the wine it was"))
        if role not in columns.at
    ]
    seen = ", ".join(f"“{_short(heading)}”" for heading in columns.headings[:20] if heading)
    return IntakeError(
        f"has no column {' and no column '.join(wanted)}; the headings found are {seen or 'none'}"
    )


def _short(heading: str) -> str:
    return printable(heading if len(heading) <= 40 else heading[:39] + "…")
