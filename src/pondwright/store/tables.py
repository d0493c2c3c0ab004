"""Tables of the store: jobs, their append-only edits, snapshots, named versions, files, logs, past jobs."""

from __future__ import annotations

from sqlalchemy import (
    Column,
    Float,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData()

store_format = Table("store_format", metadata, Column("format", Integer, nullable=False))

job = Table(
    "job",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("archived", Integer, nullable=False),
    Column("demo", Integer, nullable=False),
    Column("shown_units", Text, nullable=False),
    Column("rev", Integer, nullable=False),
    Column("created", Float, nullable=False),
    Column("changed", Float, nullable=False),
)

edit = Table(
    "edit",
    metadata,
    Column("job", Text, ForeignKey("job.id"), nullable=False),
    Column("rev", Integer, nullable=False),
    Column("id", Text, nullable=False),
    Column("base", Integer, nullable=False),
    Column("author", Text, nullable=False),
    Column("time", Float, nullable=False),
    Column("label", Text, nullable=False),
    Column("ops", Text, nullable=False),
    PrimaryKeyConstraint("job", "rev"),
    UniqueConstraint("job", "id"),
)

snapshot = Table(
    "snapshot",
    metadata,
    Column("job", Text, ForeignKey("job.id"), nullable=False),
    Column("rev", Integer, nullable=False),
    Column("body", Text, nullable=False),
    PrimaryKeyConstraint("job", "rev"),
)

version = Table(
    "version",
    metadata,
    Column("job", Text, ForeignKey("job.id"), nullable=False),
    Column("name", Text, nullable=False),
    Column("rev", Integer, nullable=False),
    Column("signed_by", Text, nullable=False),
    Column("time", Float, nullable=False),
    Column("figures", Text, nullable=False),
    PrimaryKeyConstraint("job", "name"),
)

file = Table(
    "file",
    metadata,
    Column("hash", Text, primary_key=True),
    Column("media_type", Text, nullable=False),
    Column("body", LargeBinary, nullable=False),
)

log = Table(
    "log",
    metadata,
    Column("job", Text, ForeignKey("job.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("id", Text, nullable=False),
    Column("body", Text, nullable=False),
    PrimaryKeyConstraint("job", "number"),
    UniqueConstraint("job", "id"),
)

past_job = Table(
    "past_job",
    metadata,
    Column("id", Text, primary_key=True),
    Column("body", Text, nullable=False),
)
