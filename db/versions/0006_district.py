"""Districts of a server: what was judged of each kitchen, and officers who may read it."""

from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

# An officer's kitchens of which what was judged is in their chain: of the others nothing is shown.
_IN_ITS_CHAIN = """
    SELECT k.id, k.name
    FROM officer o JOIN kitchen k ON k.district = o.district JOIN judged j ON j.kitchen = k.id
    WHERE o.role = current_user
        AND j.digest = (SELECT digest FROM entry WHERE kitchen = j.kitchen AND seq = j.seq)
"""

# Nobody but the owner reads or writes these tables: no kitchen can make its own results look
# better than they were judged. An officer reads them by views, which show of a district what is
# its officer's, and to anybody else nothing; no policy of a kitchen's own tables is widened.
_ON_A_SERVER = (
    "ALTER TABLE kitchen ADD COLUMN district text",
    """
    CREATE TABLE officer (
        role name PRIMARY KEY,
        name text NOT NULL UNIQUE,
        district text NOT NULL
    )
    """,
    # up to which entry a kitchen was judged, by which limits, and how long that holds
    """
    CREATE TABLE judged (
        kitchen bigint PRIMARY KEY REFERENCES kitchen (id),
        seq bigint NOT NULL,
        digest text COLLATE "C" NOT NULL,
        limits text NOT NULL,
        version text NOT NULL,
        judged_at text COLLATE "C" NOT NULL,
        holds_until text COLLATE "C" NOT NULL,
        quiet_from text COLLATE "C" NOT NULL
    )
    """,
    """
    CREATE TABLE judged_undecided (
        kitchen bigint NOT NULL REFERENCES judged (kitchen),
        number integer NOT NULL,
        subject text NOT NULL,
        verdict text NOT NULL,
        limit_name text NOT NULL,
        citation text NOT NULL,
        since text COLLATE "C",
        PRIMARY KEY (kitchen, number)
    )
    """,
    """
    CREATE TABLE judged_cooling (
        kitchen bigint NOT NULL REFERENCES judged (kitchen),
        batch text COLLATE "C" NOT NULL,
        number integer NOT NULL,
        month text COLLATE "C" NOT NULL,
        food text COLLATE "C" NOT NULL,
        method text COLLATE "C" NOT NULL,
        verdict text COLLATE "C" NOT NULL CHECK (verdict IN ('met', 'not met', 'not shown')),
        PRIMARY KEY (kitchen, batch, number)
    )
    """,
    "CREATE INDEX judged_cooling_by_month ON judged_cooling (kitchen, month)",
    # the same, counted: a year of a thousand kitchens is added up at once
    """
    CREATE TABLE judged_cooled (
        kitchen bigint NOT NULL REFERENCES judged (kitchen),
        month text COLLATE "C" NOT NULL,
        counted_by text COLLATE "C" NOT NULL CHECK (counted_by IN ('kitchen', 'food', 'method')),
        name text COLLATE "C" NOT NULL,
        met integer NOT NULL,
        not_met integer NOT NULL,
        not_shown integer NOT NULL,
        PRIMARY KEY (kitchen, month, counted_by, name)
    )
    """,
    """
    CREATE VIEW district WITH (security_barrier) AS
    SELECT name AS officer, district FROM officer WHERE role = current_user
    """,
    # each last entry by its key: never a walk through all entries
    """
    CREATE VIEW district_kitchen WITH (security_barrier) AS
    SELECT k.name, coalesce(last.seq, 0) AS entries, last.entered_at AS last_entered_at,
        j.seq AS judged, j.judged_at, j.holds_until, j.quiet_from, j.limits, j.version,
        j.digest = (SELECT digest FROM entry WHERE kitchen = j.kitchen AND seq = j.seq)
            AS is_in_chain
    FROM officer o JOIN kitchen k ON k.district = o.district
        LEFT JOIN judged j ON j.kitchen = k.id
        LEFT JOIN LATERAL (
            SELECT seq, entered_at FROM entry WHERE kitchen = k.id ORDER BY seq DESC LIMIT 1
        ) last ON true
    WHERE o.role = current_user
    """,
    f"""
    CREATE VIEW district_undecided WITH (security_barrier) AS
    WITH mine AS MATERIALIZED ({_IN_ITS_CHAIN})
    SELECT mine.name AS kitchen, u.number, u.subject, u.verdict, u.limit_name, u.citation, u.since
    FROM mine JOIN judged_undecided u ON u.kitchen = mine.id
    """,
    f"""
    CREATE VIEW district_cooled WITH (security_barrier) AS
    WITH mine AS MATERIALIZED ({_IN_ITS_CHAIN})
    SELECT mine.name AS kitchen, c.month, c.counted_by, c.name, c.met, c.not_met, c.not_shown
    FROM mine JOIN judged_cooled c ON c.kitchen = mine.id
    """,
    "GRANT SELECT ON district, district_kitchen, district_undecided, district_cooled TO PUBLIC",
)


def upgrade() -> None:
    """Change nothing of a file: it holds one kitchen."""
    if op.get_bind().dialect.name == "postgresql":
        for statement in _ON_A_SERVER:
            op.execute(statement)
