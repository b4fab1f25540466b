"""Managers' PINs: the one table that changes, since a secret must be replaceable."""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_ON_A_SERVER = (
    """
    CREATE TABLE pin (
        initials text COLLATE "C" NOT NULL,
        hash text NOT NULL,
        failures integer NOT NULL DEFAULT 0,
        not_before text COLLATE "C" NOT NULL,
        kitchen bigint NOT NULL DEFAULT kitchen_of(current_user),
        PRIMARY KEY (kitchen, initials)
    )
    """,
    "ALTER TABLE pin ENABLE ROW LEVEL SECURITY",
    """
    CREATE POLICY own_kitchen ON pin
    USING (kitchen = (SELECT kitchen_of(current_user)))
    WITH CHECK (kitchen = (SELECT kitchen_of(current_user)))
    """,
    "GRANT SELECT, INSERT, UPDATE (hash, failures, not_before) ON pin TO PUBLIC",
)


def upgrade() -> None:
    """Hashes stand beside the record and not in it: an export or a printed page never holds one."""
    if op.get_bind().dialect.name == "postgresql":
        for statement in _ON_A_SERVER:
            op.execute(statement)
        return
    op.execute("""
        CREATE TABLE pin (
            initials TEXT PRIMARY KEY,
            hash TEXT NOT NULL,
            failures INTEGER NOT NULL DEFAULT 0,
            not_before TEXT NOT NULL
        )
    """)
