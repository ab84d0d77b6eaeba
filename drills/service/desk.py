"""The desk at which a taster works: the table, the database and the clock, opened when needed."""

from __future__ import annotations

import json
from collections.abc import Callable, Container, Iterable, Sequence
from contextlib import AbstractContextManager, nullcontext
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from cards.cellar import Cellar
from cards.contrasts import Contrast
from drills import paths
from drills.clock import Clock
from drills.errors import NotPossibleError, StorageError, UsageError
from drills.grading import Grade
from drills.memory import MemoryModel
from drills.settings import Settings, load_settings
from drills.storage.records import AnswerRecord, ContrastRecord, MemoryRecord, TasterRecord
from drills.table_cache import load_cached_table

if TYPE_CHECKING:
    from cards.names import WineNames
    from cards.tables import Table
    from drills.storage.repository import Repository

# Raised when the rules change by which contrasts are chosen, so that kept ones are chosen anew.
CHOICE = 4
# Under which key a taster's own numbers of the memory model are kept, with the taster's id.
OWN_NUMBERS = "memory numbers of "
# Under which key the counts of others are kept that a taster took in, with the taster's id.
GROUP_COUNTS = "group counts of "


def nobody(_: str) -> None:
    """Nobody is told."""


class Desk:
    """Everything a use case needs, each part made once, when it is first asked for.

    `database` is a file or a database URL; None means the usual place. `taster` is who works
    here; None leaves it to `CROSSPOUR_TASTER`, the settings, or the only taster there is.
    `waiting` is entered, with words for the taster, around what may take seconds; `tell` is given
    a line on what was done beside what was asked for.
    """

    def __init__(
        self,
        database: str | None = None,
        clock: Clock | None = None,
        taster: str | None = None,
        waiting: Callable[[str], AbstractContextManager[object]] = nullcontext,
        tell: Callable[[str], object] = nobody,
    ) -> None:
        self.location = paths.database_location(database)
        self.clock = clock or Clock()
        self.waiting, self.tell = waiting, tell
        self._name = taster

    @cached_property
    def settings(self) -> Settings:
        """The taster's settings."""
        return load_settings(paths.settings_file())

    @cached_property
    def memory(self) -> MemoryModel:
        """The memory model, with the taster's own numbers where such are kept."""
        return self._memory_of(self.taster.id)

    def _memory_of(self, taster_id: int) -> MemoryModel:
        own = self.repository.meta(f"{OWN_NUMBERS}{taster_id}")
        return MemoryModel(parameters=None if own is None else tuple(json.loads(own)["numbers"]))

    @cached_property
    def table(self) -> Table:
        """The profile table with the taster's own folder laid over it."""
        return self._load_table()

    @cached_property
    def cellar(self) -> Cellar:
        """The table as pictures."""
        return Cellar(self.table)

    @cached_property
    def names(self) -> WineNames:
        """The resolver of wine names, with those that the taster explained."""
        from cards.names import WineNames

        return WineNames(self.table, self._own_names())

    def _own_names(self) -> dict[str, str]:
        # Looking a wine up makes no database, and needs none that can be read.
        if "repository" not in self.__dict__ and not self.has_database():
            return {}
        try:
            known = self.repository.own_names(self.taster.id)
        except StorageError:
            return {}
        return {one.text: one.wine for one in known}

    def has_database(self) -> bool:
        """Whether the database is there already; one on a server is taken to be."""
        return "://" in self.location or Path(self.location).exists()

    @cached_property
    def repository(self) -> Repository:
        """The database, upgraded and with the contrasts of today's table in it."""
        from drills.storage.repository import open_repository

        repository = open_repository(self.location, clock=self.clock)
        if repository.upgrade_copy is not None:
            self.tell(
                "the database is upgraded to this version of the program; as it was before it is "
                f"at {repository.upgrade_copy}"
            )
        self._keep_contrasts(repository)
        return repository

    @cached_property
    def taster(self) -> TasterRecord:
        """Who drills.

        Raises:
            StorageError: there is no such taster, or nothing says which of several it is.
        """
        name = self._name or paths.taster_name() or self._taster_in_settings()
        found = self.repository.who(name or None)
        # Nothing should be asked of a server before it has what waited for it.
        self.repository.deliver(self._remembered)
        return found

    def _taster_in_settings(self) -> str:
        try:
            return self.settings.taster
        except (UsageError, NotPossibleError):
            # Where only one works, a mistake in the settings need not keep them from it.
            if len(self.repository.tasters()) > 1:
                raise
            return ""

    def _remembered(self, answers: Sequence[AnswerRecord]) -> MemoryRecord | None:
        """The memory that the answers to one contrast leave."""
        last = answers[-1]
        trace = self._memory_of(last.taster_id).replay(
            (Grade(one.grade), one.day) for one in answers
        )
        if trace is None:
            return None
        return MemoryRecord(
            last.taster_id,
            last.contrast_id,
            trace.stability,
            trace.difficulty,
            trace.last_day,
            trace.due_day,
            trace.answers,
            trace.slips,
            last.answered_at,
        )

    def close(self) -> None:
        """Let go of the database; what was read from it is read anew when it is next asked for."""
        opened = self.__dict__.get("repository")
        try:
            # What waits for a server is delivered here, which asks this desk for the memory model.
            if opened is not None:
                opened.close()
        finally:
            for made in ("memory", "names", "taster", "repository"):
                self.__dict__.pop(made, None)

    def short(self, wine: str) -> str:
        """The short name of a wine, or its key where the table no longer has it."""
        profile = self.table.profiles.get(wine)
        return profile.short if profile else wine

    def reload_table(self) -> None:
        """Take in what has changed in the taster's own folder, and bring the contrasts into step.

        Raises the first TableError of the files; then the table stays as it was.
        """
        self.table = self._load_table()
        for made in ("cellar", "names"):
            self.__dict__.pop(made, None)
        if "repository" in self.__dict__:
            self._keep_contrasts(self.repository)

    def _load_table(self) -> Table:
        if paths.unfinished_edit(paths.table_folder()).exists():
            from drills.overlay import settle

            settle(paths.table_folder())
        return load_cached_table(paths.cache_folder(), paths.table_folder())

    def ensure_pairs(self, pairs: Iterable[tuple[str, str]]) -> None:
        """Keep the contrasts of pairs that the table's own choice leaves out."""
        missing: list[Contrast] = []
        for pair in pairs:
            # Of a pair that left the table's choice, what was learnt may be all that is in use.
            known = {record.id for record in self.repository.contrasts_of_pair(*pair)}
            missing += [one for one in self.cellar.contrasts(*pair) if one.id not in known]
        if missing:
            self.repository.add_contrasts(as_records(missing))

    def _keep_contrasts(self, repository: Repository) -> None:
        fingerprint = f"{self.table.fingerprint}.{CHOICE}"
        kept = repository.kept_fingerprint()
        # One taster's own table must not end what another has learnt, so a group's contrasts change
        # only where whoever runs it says so.
        if kept == fingerprint or (kept is not None and repository.on_server):
            return
        with self.waiting(f"choosing the cards from {len(self.table.profiles)} wines"):
            self.choose_contrasts(repository)

    def choose_contrasts(self, repository: Repository) -> None:
        """Make the contrasts of today's table the ones in use, whatever was kept."""
        contrasts = self.cellar.all_contrasts()
        chosen = {contrast.pair for contrast in contrasts}
        # A pair that was mixed up once stays, however far apart the table puts the two.
        known = self.table.profiles.keys()
        confused = repository.confused_pairs() | self._confused_by_groups(repository)
        confused = {pair for pair in confused if set(pair) <= known}
        for pair in sorted(confused - chosen):
            contrasts += self.cellar.contrasts(*pair)
        contrasts += self._still_standing(repository, {contrast.id for contrast in contrasts})
        fingerprint = f"{self.table.fingerprint}.{CHOICE}"
        repository.keep_contrasts(as_records(contrasts), fingerprint)

    def _confused_by_groups(self, repository: Repository) -> set[tuple[str, str]]:
        """The pairs that others mix up, by the counts that tasters of this database took in."""
        found: set[tuple[str, str]] = set()
        for one in repository.tasters():
            text = repository.meta(f"{GROUP_COUNTS}{one.id}")
            if text is not None:
                from drills.service.group_counts import kept_pairs

                found |= kept_pairs(text)
        return found

    def _still_standing(self, repository: Repository, chosen: Container[int]) -> list[Contrast]:
        """What was learnt and is chosen no more though its answer stands: an edit must not cost it.

        A changed fact changes which cues of a pair tell most, and how near its wines are.
        """
        found = []
        for record in repository.learnt_contrasts():
            if (
                record.id in chosen
                or not {record.wine_a, record.wine_b} <= self.table.profiles.keys()
            ):
                continue
            cues = record.cues.split("+")
            if (contrast := self.cellar.contrast(record.wine_a, record.wine_b, cues)) is not None:
                found.append(contrast)
        return found


def as_records(contrasts: Sequence[Contrast]) -> list[ContrastRecord]:
    """Contrasts as storage keeps them, ranked in the given order."""
    return [
        ContrastRecord(
            id=one.id,
            wine_a=one.wine_a,
            wine_b=one.wine_b,
            cues="+".join(one.cues),
            sides=one.sides,
            bearing=one.bearing,
            rank=rank,
            strength=one.strength,
        )
        for rank, one in enumerate(contrasts)
    ]


def as_contrast(record: ContrastRecord) -> Contrast:
    """A kept contrast as the knowledge side knows it."""
    return Contrast(
        id=record.id,
        wine_a=record.wine_a,
        wine_b=record.wine_b,
        cues=tuple(record.cues.split("+")),
        sides=record.sides,
        bearing=record.bearing,
        strength=record.strength,
    )
