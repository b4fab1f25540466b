"""What an officer must be told of a kitchen beside its results; kitchens that are retired."""

from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

_ON_A_SERVER = (
    "ALTER TABLE kitchen ADD COLUMN retired_at timestamptz",
    # how many branches were kept beside the chain when it was judged: one more is news of it
    "ALTER TABLE judged ADD COLUMN branches integer NOT NULL DEFAULT 0",
    # 'rewritten' stays, whatever is judged later; the others go with what they tell of
    """
    CREATE TABLE judged_trouble (
        kitchen bigint NOT NULL REFERENCES kitchen (id),
        kind text COLLATE "C" NOT NULL CHECK (kind IN ('rewritten', 'refused', 'clock behind')),
        seq bigint NOT NULL,
        found_at text COLLATE "C" NOT NULL,
        PRIMARY KEY (kitchen, kind)
    )
    """,
    """
    CREATE OR REPLACE VIEW district_kitchen WITH (security_barrier) AS
    SELECT k.name, coalesce(last.seq, 0) AS entries, last.entered_at AS last_entered_at,
        j.seq AS judged, j.judged_at, j.holds_until, j.quiet_from, j.limits, j.version,
        j.digest = (SELECT digest FROM entry WHERE kitchen = j.kitchen AND seq = j.seq)
            AS is_in_chain,
        j.branches IS DISTINCT FROM (SELECT count(*) FROM fork WHERE kitchen = k.id) AS parted,
        to_char(k.retired_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24\\:MI\\:SS"Z"') AS retired_at
    FROM officer o JOIN kitchen k ON k.district = o.district
        LEFT JOIN judged j ON j.kitchen = k.id
        LEFT JOIN LATERAL (
            SELECT seq, entered_at FROM entry WHERE kitchen = k.id ORDER BY seq DESC LIMIT 1
        ) last ON true
    WHERE o.role = current_user
    """,
    # what a branch that came since may contradict is not counted
    """
    CREATE OR REPLACE VIEW district_cooled WITH (security_barrier) AS
    WITH mine AS MATERIALIZED (
        SELECT k.id, k.name
        FROM officer o JOIN kitchen k ON k.district = o.district JOIN judged j ON j.kitchen = k.id
        WHERE o.role = current_user
            AND j.digest = (SELECT digest FROM entry WHERE kitchen = j.kitchen AND seq = j.seq)
            AND j.branches = (SELECT count(*) FROM fork WHERE kitchen = j.kitchen)
    )
    SELECT mine.name AS kitchen, c.month, c.counted_by, c.name, c.met, c.not_met, c.not_shown
    FROM mine JOIN judged_cooled c ON c.kitchen = mine.id
    """,
    """
    CREATE VIEW district_trouble WITH (security_barrier) AS
    SELECT k.name AS kitchen, t.kind, t.seq, t.found_at
    FROM officer o JOIN kitchen k ON k.district = o.district JOIN judged_trouble t
        ON t.kitchen = k.id
    WHERE o.role = current_user
    """,
    "GRANT SELECT ON district_trouble TO PUBLIC",
)


def upgrade() -> None:
    """Change nothing of a file: it holds one kitchen."""
    if op.get_bind().dialect.name == "postgresql":
        for statement in _ON_A_SERVER:
            op.execute(statement)
