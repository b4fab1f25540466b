"""What is derived from the entries: kept beside them, rebuilt from them, never believed instead."""

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_KITCHEN = "kitchen bigint NOT NULL DEFAULT kitchen_of(current_user)"
_ON_A_SERVER = (
    f"""
    CREATE TABLE derived_thread (
        id bigint NOT NULL,
        name text COLLATE "C" NOT NULL,
        total bigint NOT NULL,
        {_KITCHEN},
        PRIMARY KEY (kitchen, id),
        UNIQUE (kitchen, name)
    ) WITH (fillfactor = 60)
    """,
    f"""
    CREATE TABLE derived_link (
        thread bigint NOT NULL,
        seq bigint NOT NULL,
        place bigint NOT NULL,
        {_KITCHEN},
        PRIMARY KEY (kitchen, thread, seq)
    )
    """,
    f"""
    CREATE TABLE derived_batch (
        code text COLLATE "C" NOT NULL,
        folded text COLLATE "C" NOT NULL,
        called text COLLATE "C" NOT NULL,
        called_folded text COLLATE "C" NOT NULL,
        opened bigint NOT NULL,
        ended bigint,
        {_KITCHEN},
        PRIMARY KEY (kitchen, code)
    )
    """,
    "CREATE INDEX derived_batch_open ON derived_batch (kitchen, opened) WHERE ended IS NULL",
    "CREATE INDEX derived_batch_by_end ON derived_batch (kitchen, ended, opened)",
    "CREATE INDEX derived_batch_by_code ON derived_batch (kitchen, folded)",
    "CREATE INDEX derived_batch_by_name ON derived_batch (kitchen, called_folded)",
    f"""
    CREATE TABLE derived_head (
        id integer NOT NULL CHECK (id = 1),
        seq bigint NOT NULL,
        digest text COLLATE "C" NOT NULL,
        threads bigint NOT NULL,
        open_batches bigint NOT NULL,
        open_numbers bigint NOT NULL,
        reaches_back bigint NOT NULL,
        standing text COLLATE "C" NOT NULL,
        {_KITCHEN},
        PRIMARY KEY (kitchen, id)
    ) WITH (fillfactor = 20)
    """,
    f"""
    CREATE TABLE derived_settled (
        thread bigint NOT NULL,
        until bigint NOT NULL,
        judged_at bigint NOT NULL,
        {_KITCHEN},
        PRIMARY KEY (kitchen, thread)
    )
    """,
    *(
        statement
        for table in ("thread", "link", "batch", "head", "settled")
        for statement in (
            f"ALTER TABLE derived_{table} ENABLE ROW LEVEL SECURITY",
            f"""
            CREATE POLICY own_kitchen ON derived_{table}
            USING (kitchen = (SELECT kitchen_of(current_user)))
            WITH CHECK (kitchen = (SELECT kitchen_of(current_user)))
            """,
            f"GRANT SELECT, INSERT ON derived_{table} TO PUBLIC",
        )
    ),
    "GRANT UPDATE (total) ON derived_thread TO PUBLIC",
    """
    GRANT UPDATE (folded, called, called_folded, opened, ended) ON derived_batch TO PUBLIC
    """,
    """
    GRANT UPDATE (seq, digest, threads, open_batches, open_numbers, reaches_back, standing)
    ON derived_head TO PUBLIC
    """,
    "GRANT UPDATE (until, judged_at) ON derived_settled TO PUBLIC",
    # the one thing that is deleted, of the caller's own rows: to grant DELETE would let it lock
    """
    CREATE FUNCTION forget_settled(before bigint) RETURNS void LANGUAGE sql SECURITY DEFINER
    SET search_path = haccp, pg_temp
    AS $$ DELETE FROM derived_settled
          WHERE kitchen = kitchen_of(session_user) AND until < before $$
    """,
)


def upgrade() -> None:
    """Create the derived tables; they take the place of the indexes by batch, unit, kind and time.

    An index that lost a row says nothing of it. A thread's entries are numbered without a gap, so
    that one that is missing is noticed. Whoever runs the migration fills them from the entries.
    """
    if op.get_bind().dialect.name == "postgresql":
        for statement in _ON_A_SERVER:
            op.execute(statement)
        return
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
