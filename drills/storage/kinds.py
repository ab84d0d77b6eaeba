"""Kinds of column that several tables share."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import BigInteger, DateTime, Dialect, Integer, Text, TypeDecorator


class UtcTime(TypeDecorator[datetime]):
    """An aware datetime, kept as naive UTC; a naive one is refused (ValueError)."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002
    ) -> datetime | None:
        """Turn an aware time into naive UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a time without a zone cannot be stored: {value.isoformat()}")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002
    ) -> datetime | None:
        """Turn naive UTC into an aware time."""
        return None if value is None else value.replace(tzinfo=UTC)


# SQLite needs the very word INTEGER to make an id the row's own number.
STABLE_ID: Any = BigInteger().with_variant(Integer(), "sqlite")

# Sorted by code point everywhere, as Python sorts the two wines of a pair.
WINE_KEY: Any = Text().with_variant(Text(collation="C"), "postgresql")
