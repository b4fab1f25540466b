"""What guards the entries of a server's database, and whether it is as it was made.

Whoever owns the database can take any guard away, and put it back. `record verify` says what is
missing now; what was changed meanwhile is found by the chain and by heads that are kept elsewhere.
"""

import re
from hashlib import sha256

import sqlalchemy as sa

from haccp.record.sentences import differing

# Each guard by name, with what makes it one; of several rows of a name all count. Every PostgreSQL
# from 14 to 18 has the same words for it: roles and columns by name and never by number, privileges
# written out and without the owner's own (17 has one more), NOT NULL of its column alone (18 makes
# it a constraint).
_THERE = """
    WITH haccp AS (SELECT oid FROM pg_namespace WHERE nspname = 'haccp'),
    held (name, owner, rights, on_column) AS (
        SELECT 'schema haccp', nspowner, nspacl, NULL FROM pg_namespace JOIN haccp USING (oid)
        UNION ALL
        SELECT 'function ' || proname, proowner, coalesce(proacl, acldefault('f', proowner)), NULL
        FROM pg_proc JOIN haccp ON haccp.oid = pronamespace
        UNION ALL
        SELECT 'table ' || relname, relowner, relacl, NULL
        FROM pg_class JOIN haccp ON haccp.oid = relnamespace
        UNION ALL
        SELECT 'table ' || relname, relowner, attacl, attname
        FROM pg_class c JOIN haccp ON haccp.oid = relnamespace
            JOIN pg_attribute ON attrelid = c.oid AND attnum > 0
    )
    SELECT name, concat_ws(' ', 'right of', coalesce(rolname, 'PUBLIC'), privilege_type,
        is_grantable, on_column)
    FROM held CROSS JOIN aclexplode(rights) LEFT JOIN pg_roles ON pg_roles.oid = grantee
    WHERE grantee <> owner
    UNION ALL
    SELECT 'schema haccp', pg_get_userbyid(nspowner) FROM pg_namespace JOIN haccp USING (oid)
    UNION ALL
    SELECT 'trigger ' || tgname, concat_ws(' ', tgenabled, pg_get_triggerdef(t.oid))
    FROM pg_trigger t JOIN pg_class c ON c.oid = tgrelid JOIN haccp ON haccp.oid = relnamespace
    WHERE NOT tgisinternal
    UNION ALL
    SELECT 'function ' || proname, concat_ws(' ', pg_get_userbyid(proowner), lanname, prokind,
        prosecdef, proleakproof, proisstrict, provolatile, proparallel, proconfig,
        pg_get_function_arguments(p.oid), pg_get_function_result(p.oid), prosrc,
        pg_get_function_sqlbody(p.oid))
    FROM pg_proc p JOIN haccp ON haccp.oid = pronamespace JOIN pg_language l ON l.oid = prolang
    UNION ALL
    SELECT 'table ' || relname, concat_ws(' ', relkind, relpersistence, relrowsecurity,
        pg_get_userbyid(relowner), CASE relkind WHEN 'v' THEN reloptions END)
    FROM pg_class JOIN haccp ON haccp.oid = relnamespace
    WHERE relkind IN ('r', 'v', 'm', 'p', 'f')
    UNION ALL
    SELECT 'table ' || relname, concat_ws(' ', attname, format_type(atttypid, atttypmod), collname,
        attnotnull, attidentity, attgenerated, pg_get_expr(adbin, adrelid))
    FROM pg_class c JOIN haccp ON haccp.oid = relnamespace JOIN pg_attribute ON attrelid = c.oid
        LEFT JOIN pg_attrdef ON adrelid = c.oid AND adnum = attnum
        LEFT JOIN pg_collation o ON o.oid = attcollation
    WHERE relkind IN ('r', 'v', 'm', 'p', 'f') AND attnum > 0 AND NOT attisdropped
    UNION ALL
    SELECT 'table ' || relname, concat_ws(' ', conname, convalidated, pg_get_constraintdef(k.oid),
        (SELECT count(*) FROM pg_trigger t WHERE tgconstraint = k.oid AND tgenabled <> 'O'))
    FROM pg_constraint k JOIN pg_class c ON c.oid = conrelid JOIN haccp ON haccp.oid = relnamespace
    WHERE contype <> 'n'
    UNION ALL
    SELECT 'table ' || relname, concat_ws(' ', inhrelid::regclass, 'of', inhparent::regclass)
    FROM pg_inherits JOIN pg_class c ON c.oid IN (inhrelid, inhparent)
        JOIN haccp ON haccp.oid = relnamespace WHERE relkind IN ('r', 'p', 'f')
    UNION ALL
    SELECT 'view ' || relname, pg_get_viewdef(c.oid)
    FROM pg_class c JOIN haccp ON haccp.oid = relnamespace WHERE relkind IN ('v', 'm')
    UNION ALL
    SELECT 'rule ' || rulename, concat_ws(' ', ev_enabled, pg_get_ruledef(r.oid))
    FROM pg_rewrite r JOIN pg_class c ON c.oid = ev_class JOIN haccp ON haccp.oid = relnamespace
    WHERE rulename <> '_RETURN'
    UNION ALL
    SELECT 'policy of ' || relname || ' ' || polname, concat_ws(' ', polpermissive, polcmd,
        polroles, pg_get_expr(polqual, polrelid), pg_get_expr(polwithcheck, polrelid))
    FROM pg_policy JOIN pg_class c ON c.oid = polrelid JOIN haccp ON haccp.oid = relnamespace
    UNION ALL
    SELECT 'index ' || relname, concat_ws(' ', indisvalid, pg_get_indexdef(c.oid))
    FROM pg_index JOIN pg_class c ON c.oid = indexrelid JOIN haccp ON haccp.oid = relnamespace
    WHERE indisunique
    UNION ALL
    SELECT 'operator ' || oprname, oprcode::text
    FROM pg_operator JOIN haccp ON haccp.oid = oprnamespace
    UNION ALL
    SELECT 'right to make things in schema public', '' FROM pg_namespace
    WHERE nspname = 'public' AND has_schema_privilege('public', oid, 'CREATE')
    UNION ALL
    SELECT 'right to make large objects', '' FROM pg_proc
    WHERE proname IN ('lo_create', 'lo_creat', 'lo_from_bytea')
        AND has_function_privilege('public', oid, 'EXECUTE')
    UNION ALL
    SELECT 'right of account ' || rolname, '' FROM pg_roles r
    WHERE (rolname = 'haccp_owner' OR rolname ~ '^[kd]_[0-9a-f]{16}$')
        AND (rolsuper OR rolbypassrls OR rolcreaterole OR rolcreatedb OR rolreplication
            OR rolname = 'haccp_owner' AND rolcanlogin
            OR EXISTS (SELECT FROM pg_auth_members WHERE r.oid IN (roleid, member)))
"""

# As a database is made: the beginning of a digest of each guard's words.
AS_MADE: dict[str, str] = {
    "function digest_of": "9d3d48cf5d2cbdf7",
    "function entry_follows": "71023ea29b90493a",
    "function entry_is_never_changed": "6c2adcf0df3bb93b",
    "function forget_settled": "dfa26532fe9d317b",
    "function fork_entry_follows": "3909d8000be48768",
    "function fork_is_whole": "20f115eaa5a79e66",
    "function is_signed": "5d1e09ac6c57fea8",
    "function kitchen_of": "52fb2265c80cade2",
    "function sign_for_head": "9090a59751644156",
    "function signature_of": "c88b8e6ebf29b3b1",
    "index alembic_version_pkc": "7bce05331a0abe2e",
    "index derived_batch_pkey": "0c3201fff461e06f",
    "index derived_head_pkey": "e7891b73ba7b5146",
    "index derived_link_pkey": "b5229f009b3dd723",
    "index derived_settled_pkey": "37fdee135e310a32",
    "index derived_thread_kitchen_name_key": "d73d13fc76ae7d89",
    "index derived_thread_pkey": "6e03419740dd8656",
    "index entry_corrected_once": "16898ad7b8776b69",
    "index entry_opening_a_batch": "e04a8a73e291dc45",
    "index entry_pkey": "515d91df65dbb360",
    "index fork_entry_pkey": "b683cdfe17e9e6a4",
    "index fork_pkey": "477d977a46aa2b4a",
    "index judged_cooled_pkey": "86570e18e44c4aa7",
    "index judged_cooling_pkey": "5f195d2ed2317e54",
    "index judged_pkey": "1fc3300c177ee0cd",
    "index judged_undecided_pkey": "8c007dc10076fb02",
    "index kitchen_name_key": "fb2ac135e6129139",
    "index kitchen_pkey": "5aff50a84e82e643",
    "index kitchen_role_key": "51ee0372b774e0c5",
    "index officer_name_key": "e0dad7dcb8b5f5c5",
    "index officer_pkey": "ad90386b574f9fc2",
    "index pin_pkey": "32b00a22014841f2",
    "index queue_pkey": "2f2b7d3b13a9f988",
    "index receipt_pkey": "4399940a74c5a12d",
    "policy of derived_batch own_kitchen": "ba4323686885a165",
    "policy of derived_head own_kitchen": "ba4323686885a165",
    "policy of derived_link own_kitchen": "ba4323686885a165",
    "policy of derived_settled own_kitchen": "ba4323686885a165",
    "policy of derived_thread own_kitchen": "ba4323686885a165",
    "policy of entry own_kitchen": "ba4323686885a165",
    "policy of fork own_kitchen": "ba4323686885a165",
    "policy of fork_entry own_kitchen": "ba4323686885a165",
    "policy of pin own_kitchen": "ba4323686885a165",
    "policy of queue own_kitchen": "ba4323686885a165",
    "policy of receipt own_kitchen": "ba4323686885a165",
    "schema haccp": "91201ae29cb0785b",
    "table alembic_version": "6e4d35a7d67209f2",
    "table derived_batch": "dcf50173407dba91",
    "table derived_head": "1e2245e63630934e",
    "table derived_link": "bacbc4f0fba47fab",
    "table derived_settled": "fa4ced1e265acfca",
    "table derived_thread": "b2afb37cac55f38b",
    "table district": "c6787c7bdf2d682c",
    "table district_cooled": "4d4346de36e726e9",
    "table district_kitchen": "54a3f142c11d07f9",
    "table district_undecided": "9881c9765ed33455",
    "table entry": "90237e09f74083de",
    "table fork": "c5bc4ec312ea57e7",
    "table fork_entry": "e0d89dbcaa2ecceb",
    "table judged": "2dce526a81433ec9",
    "table judged_cooled": "c310fb5f5f57232d",
    "table judged_cooling": "0a8b8a0adbd30eea",
    "table judged_undecided": "666eac1fa6e32deb",
    "table kitchen": "2acd7339e66344a4",
    "table officer": "46ce33ed16b42468",
    "table pin": "f16235ca0ddefd61",
    "table queue": "3ed7f29eea2908d0",
    "table receipt": "31e110a3509f7e7c",
    "table signing_key": "15f242cb4e147a9e",
    "trigger entry_follows": "07ba1fa993e4ba4f",
    "trigger entry_is_never_deleted": "421499a1b721e057",
    "trigger entry_is_never_emptied": "52c1523ae25acae6",
    "trigger entry_is_never_updated": "e5ea6e3ea5120ce2",
    "trigger fork_entry_follows": "393e4c75f62e497c",
    "trigger fork_entry_is_never_changed": "6f04bb141d259dbf",
    "trigger fork_entry_is_never_emptied": "1db4536b51a652a8",
    "trigger fork_is_never_changed": "7c593007710f8ee8",
    "trigger fork_is_never_emptied": "07c790c427f28984",
    "trigger fork_is_whole": "53cc4a622b6e5730",
    "trigger receipt_is_never_changed": "2b3a7dc3890e7541",
    "trigger receipt_is_never_emptied": "38d78d60c5271712",
    "view district": "49c1a8c28d923f7e",
    "view district_cooled": "16a7b5879039c9e5",
    "view district_kitchen": "13778fe84e99e976",
    "view district_undecided": "64122ce7d3b17355",
}


def problems_of(connection: sa.Connection) -> list[str]:
    """Say which guards are gone, changed or added."""
    return differing(AS_MADE, guards(connection))


def guards(connection: sa.Connection) -> dict[str, str]:
    """Give each guard that is there now, by the beginning of its digest."""
    there: dict[str, list[str]] = {}
    for name, told in connection.exec_driver_sql(_THERE.replace("%", "%%")):
        words = _of_one_table(told) if name.startswith("view ") else told
        there.setdefault(name, []).append(" ".join(words.split()))
    return {
        name: sha256("\n".join(sorted(words)).encode()).hexdigest()[:16]
        for name, words in there.items()
    }


def _of_one_table(view: str) -> str:
    """Give a view's words as PostgreSQL has them since 16: a table that is alone is not named.

    What has more than one, or another query within, is worded the same by all.
    """
    found = re.findall(r"\bFROM (\w+)(?: (\w+))?;?$", view, re.MULTILINE)
    if len(found) != 1 or " JOIN " in view:
        return view
    return re.sub(rf"\b{found[0][1] or found[0][0]}\.", "", view)
