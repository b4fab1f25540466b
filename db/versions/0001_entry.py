"""The record: one append-only table of chained entries."""

from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


# A server holds a chain for each kitchen, under the role that the kitchen logs in as. All may read
# and insert, nobody may do more: whose rows they are is said by row security, and a role that is no
# kitchen's has none. Privileges go to PUBLIC, since whoever belongs to a role that privileges were
# granted to can take them from it, and from everybody (DROP OWNED BY). Nobody has UPDATE or
# DELETE on a whole table: with it goes the right to lock it against all others; to update single
# columns does not give it.
_ON_A_SERVER = (
    # a kitchen's number is the number in the name of its role: nothing has to be looked up, and
    # whoever asks for it learns no more than the name says
    """
    CREATE FUNCTION kitchen_of(who name) RETURNS bigint LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
        SELECT CASE WHEN who ~ '^k_[0-9a-f]{16}$'
            THEN ('x' || substr(who::text, 3))::bit(64)::bigint END
    $$
    """,
    """
    CREATE TABLE kitchen (
        id bigint PRIMARY KEY,
        role name NOT NULL UNIQUE,
        name text NOT NULL UNIQUE,
        CHECK (id = kitchen_of(role))
    )
    """,
    # a kitchen's writers wait for each other on its row
    """
    CREATE TABLE queue (
        kitchen bigint PRIMARY KEY REFERENCES kitchen (id),
        nothing boolean
    )
    """,
    """
    CREATE TABLE entry (
        seq bigint NOT NULL CHECK (seq >= 1),
        kind text COLLATE "C" NOT NULL,
        entered_at text COLLATE "C" NOT NULL,
        at text COLLATE "C" NOT NULL,
        person text COLLATE "C" NOT NULL,
        batch text COLLATE "C",
        unit text COLLATE "C",
        corrects bigint CHECK (corrects < seq),
        body text COLLATE "C" NOT NULL CHECK (json_typeof(body::json) IS NOT NULL),
        previous text COLLATE "C" NOT NULL CHECK (length(previous) = 64),
        digest text COLLATE "C" NOT NULL CHECK (length(digest) = 64),
        kitchen bigint NOT NULL DEFAULT kitchen_of(current_user),
        PRIMARY KEY (kitchen, seq),
        FOREIGN KEY (kitchen, corrects) REFERENCES entry (kitchen, seq)
    )
    """,
    """
    CREATE UNIQUE INDEX entry_corrected_once ON entry (kitchen, corrects)
    WHERE corrects IS NOT NULL
    """,
    "CREATE UNIQUE INDEX entry_opening_a_batch ON entry (kitchen, batch) WHERE kind = 'batch'",
    """
    CREATE FUNCTION entry_is_never_changed() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        RAISE EXCEPTION 'the record is append-only: % is refused', TG_OP
            USING ERRCODE = 'restrict_violation';
    END $$
    """,
    """
    CREATE TRIGGER entry_is_never_updated BEFORE UPDATE ON entry
    FOR EACH ROW EXECUTE FUNCTION entry_is_never_changed()
    """,
    """
    CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
    FOR EACH ROW EXECUTE FUNCTION entry_is_never_changed()
    """,
    """
    CREATE TRIGGER entry_is_never_emptied BEFORE TRUNCATE ON entry
    FOR EACH STATEMENT EXECUTE FUNCTION entry_is_never_changed()
    """,
    # with the rights of who inserts: it neither sees nor tells anything of another kitchen's chain
    # STABLE as what it calls, so that it is written into its caller's own statement
    """
    CREATE FUNCTION digest_of(
        previous text, seq bigint, kind text, entered_at text, at text, person text, batch text,
        unit text, corrects bigint, body text
    ) RETURNS text LANGUAGE sql STABLE PARALLEL SAFE AS $$
        SELECT encode(sha256(convert_to(
            '[' || to_json(previous) || ',' || seq || ',' || to_json(kind)
            || ',' || to_json(entered_at) || ',' || to_json(at) || ',' || to_json(person)
            || ',' || coalesce(to_json(batch)::text, 'null')
            || ',' || coalesce(to_json(unit)::text, 'null')
            || ',' || coalesce(corrects::text, 'null') || ',' || to_json(body) || ']',
            'UTF8')), 'hex')
    $$
    """,
    """
    CREATE FUNCTION entry_follows() RETURNS trigger LANGUAGE plpgsql
    SET search_path = haccp, pg_temp AS $$
    DECLARE
        last_seq bigint;
        last_digest text;
    BEGIN
        SELECT seq, digest INTO last_seq, last_digest FROM entry
            WHERE kitchen = NEW.kitchen ORDER BY seq DESC LIMIT 1;
        IF NEW.seq IS DISTINCT FROM coalesce(last_seq, 0) + 1
            OR NEW.previous IS DISTINCT FROM coalesce(last_digest, repeat('0', 64)) THEN
            RAISE EXCEPTION 'the record is append-only: entry no. % does not follow', NEW.seq
                USING ERRCODE = 'restrict_violation';
        END IF;
        IF NEW.digest IS DISTINCT FROM digest_of(
            NEW.previous, NEW.seq, NEW.kind, NEW.entered_at, NEW.at, NEW.person, NEW.batch,
            NEW.unit, NEW.corrects, NEW.body
        ) THEN
            RAISE EXCEPTION 'entry no. % is not what its digest says', NEW.seq
                USING ERRCODE = 'check_violation';
        END IF;
        RETURN NEW;
    END $$
    """,
    """
    CREATE TRIGGER entry_follows BEFORE INSERT ON entry
    FOR EACH ROW EXECUTE FUNCTION entry_follows()
    """,
    # also where a session plays a replica, which other triggers do not notice
    *(
        f"ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_{name}"
        for name in ("is_never_updated", "is_never_deleted", "is_never_emptied", "follows")
    ),
    *(
        statement
        for table in ("queue", "entry")
        for statement in (
            f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY",
            f"""
            CREATE POLICY own_kitchen ON {table}
            USING (kitchen = (SELECT kitchen_of(current_user)))
            WITH CHECK (kitchen = (SELECT kitchen_of(current_user)))
            """,
        )
    ),
    "GRANT SELECT, INSERT ON entry TO PUBLIC",
    "GRANT SELECT, UPDATE (nothing) ON queue TO PUBLIC",
    "GRANT SELECT ON alembic_version TO PUBLIC",
)


def upgrade() -> None:
    """Create the table in a file, or for every kitchen of a server."""
    if op.get_bind().dialect.name == "postgresql":
        for statement in _ON_A_SERVER:
            op.execute(statement)
        return
    _in_a_file()


def _in_a_file() -> None:
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
