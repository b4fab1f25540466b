"""An entry, and all that is derived of it, in one statement of a server; the head is the queue."""

from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

_ON_A_SERVER = (
    # says the same as before, at less than half the cost: each statement asks it several times
    """
    CREATE OR REPLACE FUNCTION kitchen_of(who name) RETURNS bigint
    LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
        SELECT CASE WHEN octet_length(who::text) = 18 AND who ~ '^k_[0-9a-f]+$'
            THEN ('x' || substr(who::text, 3))::bit(64)::bigint END
    $$
    """,
    # A kitchen's writers wait for each other on its head, which is there from the first: one row
    # is locked and written, where two were.
    """
    INSERT INTO derived_head (
        kitchen, id, seq, digest, threads, open_batches, open_numbers, reaches_back, standing
    )
    SELECT id, 1, 0, repeat('0', 64), 0, 0, 0, 0, '' FROM kitchen
    WHERE NOT EXISTS (SELECT FROM derived_head WHERE derived_head.kitchen = kitchen.id)
    """,
    # at 20 nearly every update of a row looked for what it could tidy up
    "ALTER TABLE derived_head SET (fillfactor = 50)",
    "DROP TABLE queue",
    # What follows is checked by the trigger: that the numbers have no gap, so that an entry of
    # each lower number is there to be corrected, and the lengths of digests follow from the
    # chain. A CHECK is read and prepared anew by each statement.
    """
    ALTER TABLE entry
        DROP CONSTRAINT entry_seq_check,
        DROP CONSTRAINT entry_check,
        DROP CONSTRAINT entry_body_check,
        DROP CONSTRAINT entry_previous_check,
        DROP CONSTRAINT entry_digest_check,
        DROP CONSTRAINT entry_kitchen_corrects_fkey
    """,
    """
    CREATE OR REPLACE FUNCTION entry_follows() RETURNS trigger LANGUAGE plpgsql
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
        IF NEW.corrects NOT BETWEEN 1 AND NEW.seq - 1 OR json_typeof(NEW.body::json) IS NULL THEN
            RAISE EXCEPTION 'entry no. % corrects none, or its body is none', NEW.seq
                USING ERRCODE = 'check_violation';
        END IF;
        RETURN NEW;
    END $$
    """,
    # With the rights of who calls it: it does nothing that the caller could not do in single
    # statements. Each table is named with its schema: it asks for nobody's search_path. Row by
    # row: that costs less than sets for the few that most calls have, and needs no statistics.
    """
    CREATE FUNCTION enter(
        after bigint, seen text, entries entry[], threads_begun derived_thread[],
        threads_gone_on derived_thread[], links derived_link[], batches_opened derived_batch[],
        batches_changed derived_batch[], head derived_head
    ) RETURNS boolean LANGUAGE plpgsql AS $$
    DECLARE
        e haccp.entry;
        t haccp.derived_thread;
        l haccp.derived_link;
        b haccp.derived_batch;
    BEGIN
        -- waits for who enters, and then finds another head than the one that was seen
        UPDATE haccp.derived_head h
            SET seq = head.seq, digest = head.digest, threads = head.threads,
                open_batches = head.open_batches, open_numbers = head.open_numbers,
                reaches_back = head.reaches_back, standing = head.standing
            WHERE h.id = 1 AND h.seq = after AND h.digest = seen;
        IF NOT FOUND THEN
            RETURN false;
        END IF;
        FOREACH e IN ARRAY entries LOOP
            INSERT INTO haccp.entry (
                seq, kind, entered_at, at, person, batch, unit, corrects, body, previous, digest
            ) VALUES (
                e.seq, e.kind, e.entered_at, e.at, e.person, e.batch, e.unit, e.corrects, e.body,
                e.previous, e.digest
            );
        END LOOP;
        FOREACH t IN ARRAY threads_begun LOOP
            INSERT INTO haccp.derived_thread (id, name, total) VALUES (t.id, t.name, t.total);
        END LOOP;
        FOREACH t IN ARRAY threads_gone_on LOOP
            UPDATE haccp.derived_thread d SET total = t.total WHERE d.id = t.id;
        END LOOP;
        FOREACH l IN ARRAY links LOOP
            INSERT INTO haccp.derived_link (thread, seq, place) VALUES (l.thread, l.seq, l.place);
        END LOOP;
        FOREACH b IN ARRAY batches_opened LOOP
            INSERT INTO haccp.derived_batch (code, folded, called, called_folded, opened, ended)
            VALUES (b.code, b.folded, b.called, b.called_folded, b.opened, b.ended);
        END LOOP;
        FOREACH b IN ARRAY batches_changed LOOP
            UPDATE haccp.derived_batch d
                SET folded = b.folded, called = b.called, called_folded = b.called_folded,
                    opened = b.opened, ended = b.ended
                WHERE d.code = b.code;
        END LOOP;
        PERFORM FROM haccp.entry d WHERE d.seq = head.seq AND d.digest = head.digest;
        IF NOT FOUND THEN
            RAISE EXCEPTION 'entry no. % was swallowed', head.seq USING ERRCODE = 'data_exception';
        END IF;
        RETURN true;
    END $$
    """,
)


def upgrade() -> None:
    """Change nothing of a file: to ask costs no way there."""
    if op.get_bind().dialect.name == "postgresql":
        for statement in _ON_A_SERVER:
            op.execute(statement)
