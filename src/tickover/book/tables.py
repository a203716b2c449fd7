"""The tables of a book as they are now; how they came to be stands in `migrations`."""

from __future__ import annotations

from sqlalchemy import (
    Column,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData()

builds = Table(
    "builds",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("name", Text, nullable=False),
    Column("created_at", String(32), nullable=False),
    Column("created_by", Text, nullable=False),
    Column("last_number", Integer, nullable=False),
    Column("head", String(64), nullable=False),  # checksum of the last entry
)

entries = Table(
    "entries",
    metadata,
    Column("build", String(64), ForeignKey("builds.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("id", String(32), nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", String(32), nullable=False),
    Column("kept_at", String(32), nullable=False),
    Column("by", Text, nullable=False),
    Column("body", Text, nullable=False),  # canonical JSON
    Column("checksum", String(64), nullable=False),  # over the row and the checksum before it
    UniqueConstraint("build", "id"),
)

blobs = Table(
    "blobs",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("size", Integer, nullable=False),
    Column("data", LargeBinary, nullable=False),
)
