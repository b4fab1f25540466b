"""The record: one append-only table of chained entries."""

from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the table, what it is searched by, and the triggers that keep it append-only.

    Three triggers: SQLite fires none of the first two for INSERT OR REPLACE unless a connection
    asks for it, and a foreign program's connection does not.
    """
    op.execute("""
        CREATE TABLE entry (
            seq INTEGER PRIMARY KEY CHECK (seq >= 1),
            kind TEXT NOT NULL,
            entered_at TEXT NOT NULL,
            at TEXT NOT NULL,
            person TEXT NOT NULL,
            batch TEXT,
            unit TEXT,
            corrects INTEGER UNIQUE REFERENCES entry (seq) CHECK (corrects < seq),
            body TEXT NOT NULL CHECK (json_valid(body)),
            previous TEXT NOT NULL UNIQUE CHECK (length(previous) = 64),
            digest TEXT NOT NULL UNIQUE CHECK (length(digest) = 64)
        )
    """)
    op.execute("CREATE INDEX entry_by_batch ON entry (batch, seq) WHERE batch IS NOT NULL")
    op.execute("CREATE INDEX entry_by_unit ON entry (unit, at) WHERE unit IS NOT NULL")
    op.execute("CREATE INDEX entry_by_kind ON entry (kind, seq)")
    op.execute("CREATE INDEX entry_by_time ON entry (at)")
    op.execute("CREATE UNIQUE INDEX entry_opening_a_batch ON entry (batch) WHERE kind = 'batch'")
    op.execute("""
        CREATE TRIGGER entry_is_never_updated BEFORE UPDATE ON entry
        BEGIN SELECT RAISE(ABORT, 'the record is append-only: correct an entry by a new one'); END
    """)
    op.execute("""
        CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
        BEGIN SELECT RAISE(ABORT, 'the record is append-only: nothing is deleted'); END
    """)
    op.execute("""
        CREATE TRIGGER entry_is_never_replaced BEFORE INSERT ON entry
        WHEN EXISTS (
            SELECT 1 FROM entry
            WHERE seq = NEW.seq OR digest = NEW.digest OR previous = NEW.previous
               OR corrects = NEW.corrects
        )
        BEGIN SELECT RAISE(ABORT, 'the record is append-only: this entry has its successor'); END
    """)
    op.execute("""
        CREATE TRIGGER a_batch_code_is_used_once BEFORE INSERT ON entry
        WHEN NEW.kind = 'batch'
            AND EXISTS (SELECT 1 FROM entry WHERE kind = 'batch' AND batch = NEW.batch)
        BEGIN SELECT RAISE(ABORT, 'a batch code is used once'); END
    """)
