"""Managers' PINs: the one table that changes, since a secret must be replaceable."""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Hashes stand beside the record and not in it: an export or a printed page never holds one."""
    op.execute("""
        CREATE TABLE pin (
            initials TEXT PRIMARY KEY,
            hash TEXT NOT NULL,
            failures INTEGER NOT NULL DEFAULT 0,
            not_before TEXT NOT NULL
        )
    """)
