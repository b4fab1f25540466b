"""A server signs for what was handed over to it, and keeps what parts from its chain beside it."""

from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

_OWN = "(kitchen = (SELECT kitchen_of(current_user)))"
_COPIED = "seq, kind, entered_at, at, person, batch, unit, corrects, body, previous, digest"

_ON_A_SERVER = (
    # a key of 64 bytes, in the two forms that HMAC-SHA-256 needs (RFC 2104); nobody may read it
    "CREATE TABLE signing_key (inside bytea NOT NULL, outside bytea NOT NULL)",
    """
    DO $$
    DECLARE
        secret bytea := uuid_send(gen_random_uuid()) || uuid_send(gen_random_uuid())
            || uuid_send(gen_random_uuid()) || uuid_send(gen_random_uuid());
        one bytea := secret;
        two bytea := secret;
    BEGIN
        FOR i IN 0..63 LOOP
            one := set_byte(one, i, get_byte(secret, i) # 54);
            two := set_byte(two, i, get_byte(secret, i) # 92);
        END LOOP;
        INSERT INTO signing_key VALUES (one, two);
    END $$
    """,
    """
    CREATE TABLE receipt (
        kitchen bigint NOT NULL,
        seq bigint NOT NULL,
        digest text COLLATE "C" NOT NULL,
        received_at text COLLATE "C" NOT NULL,
        signature text COLLATE "C" NOT NULL,
        PRIMARY KEY (kitchen, seq)
    )
    """,
    """
    CREATE FUNCTION signature_of(record text, seq bigint, digest text, received_at text)
    RETURNS text LANGUAGE sql STABLE SET search_path = haccp, pg_temp AS $$
        SELECT encode(sha256(outside || sha256(inside || convert_to(
            concat_ws(E'\\n', 'haccp receipt', record, seq, digest, received_at), 'UTF8'))), 'hex')
        FROM signing_key
    $$
    """,
    "REVOKE EXECUTE ON FUNCTION signature_of FROM PUBLIC",
    # signs for the head of the caller's own chain and for nothing else; the same again where it did
    """
    CREATE FUNCTION sign_for_head() RETURNS void LANGUAGE plpgsql SECURITY DEFINER
    SET search_path = haccp, pg_temp AS $$
    DECLARE
        mine bigint := kitchen_of(session_user);
        record text;
        last entry;
        moment text := to_char(
            clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24\\:MI\\:SS"Z"');
    BEGIN
        SELECT digest INTO record FROM entry WHERE kitchen = mine AND seq = 1;
        SELECT * INTO last FROM entry WHERE kitchen = mine ORDER BY seq DESC LIMIT 1;
        IF record IS NOT NULL THEN
            INSERT INTO receipt VALUES (mine, last.seq, last.digest, moment,
                signature_of(record, last.seq, last.digest, moment))
            ON CONFLICT (kitchen, seq) DO NOTHING;
        END IF;
    END $$
    """,
    # says of a receipt that somebody shows whether this server signed it, and nothing else
    """
    CREATE FUNCTION is_signed(
        record text, seq bigint, digest text, received_at text, signature text
    ) RETURNS boolean LANGUAGE sql STABLE SECURITY DEFINER SET search_path = haccp, pg_temp AS $$
        SELECT signature_of(record, seq, digest, received_at) = signature
    $$
    """,
    """
    CREATE TABLE fork_entry (
        head text COLLATE "C" NOT NULL,
        LIKE entry,
        PRIMARY KEY (kitchen, head, seq)
    )
    """,
    "ALTER TABLE fork_entry ALTER COLUMN kitchen SET DEFAULT kitchen_of(current_user)",
    """
    CREATE TABLE fork (
        head text COLLATE "C" NOT NULL,
        after bigint NOT NULL,
        entries bigint NOT NULL CHECK (entries > 0),
        kept_at timestamptz NOT NULL DEFAULT now(),
        kitchen bigint NOT NULL DEFAULT kitchen_of(current_user),
        PRIMARY KEY (kitchen, head)
    )
    """,
    """
    CREATE FUNCTION fork_entry_follows() RETURNS trigger LANGUAGE plpgsql
    SET search_path = haccp, pg_temp AS $$
    DECLARE
        before text;
    BEGIN
        SELECT digest INTO before FROM fork_entry
            WHERE kitchen = NEW.kitchen AND head = NEW.head AND seq = NEW.seq - 1;
        IF before IS NULL THEN
            SELECT digest INTO before FROM entry
                WHERE kitchen = NEW.kitchen AND seq = NEW.seq - 1;
        END IF;
        IF NEW.previous IS DISTINCT FROM before OR NEW.digest IS DISTINCT FROM digest_of(
            NEW.previous, NEW.seq, NEW.kind, NEW.entered_at, NEW.at, NEW.person, NEW.batch,
            NEW.unit, NEW.corrects, NEW.body
        ) THEN
            RAISE EXCEPTION 'the record is append-only: entry no. % does not follow', NEW.seq
                USING ERRCODE = 'restrict_violation';
        END IF;
        RETURN NEW;
    END $$
    """,
    """
    CREATE FUNCTION fork_is_whole() RETURNS trigger LANGUAGE plpgsql
    SET search_path = haccp, pg_temp AS $$
    DECLARE
        counted bigint;
        ends text;
    BEGIN
        SELECT count(*), max(digest) FILTER (WHERE seq = NEW.after + NEW.entries)
            INTO counted, ends FROM fork_entry
            WHERE kitchen = NEW.kitchen AND head = NEW.head AND seq > NEW.after;
        IF counted <> NEW.entries OR ends IS DISTINCT FROM NEW.head THEN
            RAISE EXCEPTION 'the record is append-only: a branch is kept whole'
                USING ERRCODE = 'restrict_violation';
        END IF;
        RETURN NEW;
    END $$
    """,
    """
    CREATE TRIGGER fork_entry_follows BEFORE INSERT ON fork_entry
    FOR EACH ROW EXECUTE FUNCTION fork_entry_follows()
    """,
    """
    CREATE TRIGGER fork_is_whole BEFORE INSERT ON fork
    FOR EACH ROW EXECUTE FUNCTION fork_is_whole()
    """,
    "ALTER TABLE fork_entry ENABLE ALWAYS TRIGGER fork_entry_follows",
    "ALTER TABLE fork ENABLE ALWAYS TRIGGER fork_is_whole",
    *(
        statement
        for table in ("receipt", "fork", "fork_entry")
        for statement in (
            f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY",
            f"CREATE POLICY own_kitchen ON {table} USING {_OWN} WITH CHECK {_OWN}",
            f"""
            CREATE TRIGGER {table}_is_never_changed BEFORE UPDATE OR DELETE ON {table}
            FOR EACH ROW EXECUTE FUNCTION entry_is_never_changed()
            """,
            f"""
            CREATE TRIGGER {table}_is_never_emptied BEFORE TRUNCATE ON {table}
            FOR EACH STATEMENT EXECUTE FUNCTION entry_is_never_changed()
            """,
            f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {table}_is_never_changed",
            f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {table}_is_never_emptied",
        )
    ),
    "GRANT SELECT ON receipt TO PUBLIC",
    f"GRANT SELECT, INSERT (head, {_COPIED}) ON fork_entry TO PUBLIC",
    "GRANT SELECT, INSERT (head, after, entries) ON fork TO PUBLIC",
)


def upgrade() -> None:
    """Change no table of a file: what a server signed is entries of the record itself."""
    if op.get_bind().dialect.name == "postgresql":
        for statement in _ON_A_SERVER:
            op.execute(statement)
