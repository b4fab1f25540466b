"""What is derived from the entries: kept beside them, rebuilt from them, never believed instead."""

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the derived tables; they take the place of the indexes by batch, unit, kind and time.

    An index that lost a row says nothing of it. A thread's entries are numbered without a gap, so
    that one that is missing is noticed. Whoever runs the migration fills them from the entries.
    """
    op.execute("""
        CREATE TABLE derived_thread (
            id INTEGER PRIMARY KEY,
            name TEXT NOT NULL UNIQUE,
            total INTEGER NOT NULL
        )
    """)
    op.execute("""
        CREATE TABLE derived_link (
            thread INTEGER NOT NULL,
            seq INTEGER NOT NULL,
            place INTEGER NOT NULL,
            PRIMARY KEY (thread, seq)
        ) WITHOUT ROWID
    """)
    op.execute("""
        CREATE TABLE derived_batch (
            code TEXT PRIMARY KEY,
            folded TEXT NOT NULL,
            called TEXT NOT NULL,
            called_folded TEXT NOT NULL,
            opened INTEGER NOT NULL,
            ended INTEGER
        ) WITHOUT ROWID
    """)
    op.execute("CREATE INDEX derived_batch_open ON derived_batch (opened) WHERE ended IS NULL")
    op.execute("CREATE INDEX derived_batch_by_end ON derived_batch (ended, opened)")
    op.execute("CREATE INDEX derived_batch_by_code ON derived_batch (folded)")
    op.execute("CREATE INDEX derived_batch_by_name ON derived_batch (called_folded)")
    op.execute("""
        CREATE TABLE derived_head (
            id INTEGER PRIMARY KEY CHECK (id = 1),
            seq INTEGER NOT NULL,
            digest TEXT NOT NULL,
            threads INTEGER NOT NULL,
            open_batches INTEGER NOT NULL,
            open_numbers INTEGER NOT NULL,
            reaches_back INTEGER NOT NULL,
            standing TEXT NOT NULL
        )
    """)
    op.execute("""
        CREATE TABLE derived_settled (
            thread INTEGER PRIMARY KEY,
            until INTEGER NOT NULL,
            judged_at INTEGER NOT NULL
        )
    """)
    for index in ("entry_by_batch", "entry_by_unit", "entry_by_kind", "entry_by_time"):
        op.execute(f"DROP INDEX {index}")
