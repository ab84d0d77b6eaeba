"""What the tables promise."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import create_mock_engine
from sqlalchemy.dialects import postgresql, sqlite

from drills.errors import StorageError
from drills.storage.engine import building_engine, locate
from drills.storage.kinds import UtcTime
from drills.storage.repository import Repository
from drills.storage.tables import metadata
from drills.storage.upgrade import MIGRATIONS, REVISIONS, _migrate, build
from tests.storage.making import answer, contrast, intake, memory, pour

DIALECT = postgresql.dialect()  # type: ignore[no-untyped-call]


def built(file: Path) -> Path:
    file.touch()
    with building_engine(locate(file)).begin() as connection:
        build(connection)
    return file


def migrated(file: Path) -> Path:
    file.touch()
    with building_engine(locate(file)).begin() as connection:
        _migrate(connection, MIGRATIONS, REVISIONS[-1])
    return file


def schema(file: Path) -> set[tuple[str, str, str]]:
    with closing(sqlite3.connect(file)) as reader:
        rows = reader.execute("SELECT type, name, coalesce(sql, '') FROM sqlite_master")
        return {(kind, name, "".join(sql.split())) for kind, name, sql in rows}


def test_the_migrations_lead_to_the_tables_of_the_code(tmp_path: Path) -> None:
    with building_engine(locate(migrated(tmp_path / "a.sqlite3"))).begin() as connection:
        options = {"compare_type": True, "compare_server_default": True}
        context = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(context, metadata) == []


def test_a_new_file_has_the_same_schema_as_a_migrated_one(tmp_path: Path) -> None:
    new, old = schema(built(tmp_path / "new")), schema(migrated(tmp_path / "old"))
    assert new == old
    assert len(new) > 25


def test_the_known_revisions_are_those_of_the_migrations() -> None:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    found = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    assert tuple(reversed(found)) == REVISIONS


def test_every_constraint_has_a_name_that_a_later_migration_can_use() -> None:
    nameless = [
        (table.name, constraint)
        for table in metadata.tables.values()
        for constraint in table.constraints
        if not constraint.name
    ]
    assert nameless == []


def test_on_a_server_too_the_index_of_counted_answers_leaves_the_undone_out() -> None:
    said: list[str] = []
    server = create_mock_engine(
        "postgresql://", lambda ddl, *_, **__: said.append(str(ddl.compile(dialect=DIALECT)))
    )
    metadata.create_all(server, checkfirst=False)
    index = next(words for words in said if "ix_answer_counted" in words)
    assert index.endswith("WHERE undone_at IS NULL")


@given(
    st.datetimes(min_value=datetime(1900, 1, 1), max_value=datetime(2200, 1, 1)),
    st.integers(-14 * 60, 14 * 60),
)
def test_a_time_of_any_zone_comes_back_as_the_same_moment_in_utc(
    wall: datetime, offset: int
) -> None:
    moment = wall.replace(tzinfo=timezone(timedelta(minutes=offset)))
    kind, dialect = UtcTime(), sqlite.dialect()
    stored = kind.process_bind_param(moment, dialect)
    assert stored is not None
    assert stored.tzinfo is None
    back = kind.process_result_value(stored, dialect)
    assert back == moment
    assert back is not None
    assert back.tzinfo is UTC


def test_a_time_without_a_zone_is_refused(repository: Repository, me: int) -> None:
    repository.add_contrasts([contrast(1)])
    drill = repository.start_drill(me, 600)
    with pytest.raises(ValueError, match="without a zone"):
        repository.record_answer(
            answer(me, 1, drill.id, answered_at=datetime(2026, 3, 1, 9), counts=False), None
        )


@pytest.mark.parametrize(
    "wrong",
    [
        {"truth": "c"},
        {"sureness": 0},
        {"sureness": 4},
        {"grade": 0},
        {"grade": 5},
        {"seconds": -0.1},
        {"contrast_id": 99},
        {"drill_id": 99},
        {"taster_id": 99},
        {"form": None},
    ],
)
def test_an_answer_out_of_range_is_refused_and_leaves_nothing(
    repository: Repository, me: int, wrong: dict[str, Any]
) -> None:
    repository.add_contrasts([contrast(1)])
    drill = repository.start_drill(me, 600)
    values = {"taster_id": me, "contrast_id": 1, "drill_id": drill.id, "counts": False} | wrong
    with pytest.raises(StorageError):
        repository.record_answer(answer(**values), None)
    assert repository.answers_of_drill(drill.id) == []


@pytest.mark.parametrize(
    "wrong",
    [
        {"id": 0},
        {"id": 2**63},
        {"wine_a": "verdejo", "wine_b": "albarino"},
        {"wine_a": "verdejo", "wine_b": "verdejo"},
        {"sides": 0},
        {"sides": 4},
    ],
)
def test_a_contrast_out_of_range_is_refused(repository: Repository, wrong: dict[str, Any]) -> None:
    with pytest.raises((StorageError, OverflowError)):
        repository.keep_contrasts([contrast(5), contrast(7, **wrong)], "f")
    assert repository.contrast(5) is None
    assert repository.kept_fingerprint() is None


def test_the_largest_stable_id_is_kept_whole(repository: Repository) -> None:
    repository.keep_contrasts([contrast(1, id=2**63 - 1)], "f")
    assert repository.contrast(2**63 - 1) == contrast(1, id=2**63 - 1)


def test_deleting_a_taster_takes_all_of_theirs_and_nothing_else(
    repository: Repository, me: int, file: Path
) -> None:
    other = repository.taster("other").id
    repository.add_contrasts([contrast(1)])
    for taster in (me, other):
        drill = repository.start_drill(taster, 600)
        repository.record_answer(answer(taster, 1, drill.id), memory(taster, 1))
        repository.record_pours(taster, intake(), [pour("p")])
    repository.close()
    with closing(sqlite3.connect(file)) as editor:
        editor.execute("PRAGMA foreign_keys = ON")
        editor.execute("DELETE FROM taster WHERE id = ?", (me,))
        editor.commit()
        left = {
            table: editor.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
            for table in ("answer", "memory", "drill", "pour", "flight", "intake", "contrast")
        }
    assert left == dict.fromkeys(left, 1)


def test_a_contrast_with_answers_cannot_be_deleted(
    repository: Repository, me: int, file: Path
) -> None:
    repository.add_contrasts([contrast(1)])
    drill = repository.start_drill(me, 600)
    repository.record_answer(answer(me, 1, drill.id, counts=False), None)
    with closing(sqlite3.connect(file)) as editor:
        editor.execute("PRAGMA foreign_keys = ON")
        with pytest.raises(sqlite3.IntegrityError):
            editor.execute("DELETE FROM contrast")
