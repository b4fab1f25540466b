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
    WITH schema AS (SELECT oid FROM pg_namespace WHERE nspname = 'haccp'),
    relation AS (
        SELECT c.*, CASE relkind WHEN 'v' THEN 'view ' ELSE 'table ' END || relname AS name
        FROM pg_class c JOIN schema ON schema.oid = relnamespace
        WHERE relkind IN ('r', 'v', 'm', 'p', 'f')
    ),
    field AS (
        SELECT name, relowner, pg_attribute.*
        FROM relation JOIN pg_attribute ON attrelid = relation.oid
        WHERE attnum > 0 AND NOT attisdropped
    ),
    held (name, owner, rights, on_field) AS (
        SELECT 'schema haccp', nspowner, nspacl, NULL FROM pg_namespace JOIN schema USING (oid)
        UNION ALL
        SELECT 'function ' || proname, proowner, coalesce(proacl, acldefault('f', proowner)), NULL
        FROM pg_proc JOIN schema ON schema.oid = pronamespace
        UNION ALL
        SELECT name, relowner, relacl, NULL FROM relation
        UNION ALL
        SELECT name, relowner, attacl, attname FROM field
    )
    SELECT name, concat_ws(' ', 'right of', coalesce(rolname, 'PUBLIC'), privilege_type,
        is_grantable, on_field)
    FROM held CROSS JOIN aclexplode(rights) LEFT JOIN pg_roles ON pg_roles.oid = grantee
    WHERE grantee <> owner
    UNION ALL
    SELECT 'schema haccp', pg_get_userbyid(nspowner) FROM pg_namespace JOIN schema USING (oid)
    UNION ALL
    SELECT name, concat_ws(' ', relkind, relpersistence, relrowsecurity,
        pg_get_userbyid(relowner), CASE relkind WHEN 'v' THEN reloptions END)
    FROM relation
    UNION ALL
    SELECT name, pg_get_viewdef(oid) FROM relation WHERE relkind IN ('v', 'm')
    UNION ALL
    SELECT name, concat_ws(' ', attname, format_type(atttypid, atttypmod), collname, attnotnull,
        attidentity, attgenerated, pg_get_expr(adbin, adrelid))
    FROM field LEFT JOIN pg_attrdef ON adrelid = attrelid AND adnum = attnum
        LEFT JOIN pg_collation ON pg_collation.oid = attcollation
    UNION ALL
    SELECT name, concat_ws(' ', conname, pg_get_constraintdef(k.oid),
        (SELECT count(*) FROM pg_trigger WHERE tgconstraint = k.oid AND tgenabled <> 'O'))
    FROM pg_constraint k JOIN relation ON relation.oid = conrelid WHERE contype <> 'n'
    UNION ALL
    SELECT name, concat_ws(' ', inhrelid::regclass, 'of', inhparent::regclass)
    FROM pg_inherits JOIN relation ON relation.oid IN (inhrelid, inhparent)
    UNION ALL
    SELECT 'trigger ' || tgname, concat_ws(' ', tgenabled, pg_get_triggerdef(t.oid))
    FROM pg_trigger t JOIN relation ON relation.oid = tgrelid WHERE NOT tgisinternal
    UNION ALL
    SELECT 'rule ' || rulename, concat_ws(' ', ev_enabled, pg_get_ruledef(r.oid))
    FROM pg_rewrite r JOIN relation ON relation.oid = ev_class WHERE rulename <> '_RETURN'
    UNION ALL
    SELECT 'policy of ' || relname || ' ' || polname, concat_ws(' ', polpermissive, polcmd,
        polroles, pg_get_expr(polqual, polrelid), pg_get_expr(polwithcheck, polrelid))
    FROM pg_policy JOIN relation ON relation.oid = polrelid
    UNION ALL
    SELECT 'index ' || c.relname, concat_ws(' ', indisvalid, pg_get_indexdef(c.oid))
    FROM pg_index JOIN pg_class c ON c.oid = indexrelid JOIN relation ON relation.oid = indrelid
    WHERE indisunique
    UNION ALL
    SELECT 'function ' || proname, concat_ws(' ', pg_get_userbyid(proowner), lanname, prokind,
        prosecdef, proleakproof, proisstrict, provolatile, proparallel, proconfig,
        pg_get_function_arguments(p.oid), pg_get_function_result(p.oid), prosrc,
        pg_get_function_sqlbody(p.oid))
    FROM pg_proc p JOIN schema ON schema.oid = pronamespace JOIN pg_language l ON l.oid = prolang
    UNION ALL
    SELECT 'operator ' || oprname, oprcode::text
    FROM pg_operator JOIN schema ON schema.oid = oprnamespace
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
    "function enter": "7f4aaac01a9bd76c",
    "function entry_follows": "a8c5f9fc7fb6aff7",
    "function entry_is_never_changed": "6c2adcf0df3bb93b",
    "function forget_settled": "dfa26532fe9d317b",
    "function fork_entry_follows": "3909d8000be48768",
    "function fork_is_whole": "20f115eaa5a79e66",
    "function is_signed": "5d1e09ac6c57fea8",
    "function kitchen_of": "572c4f21eec98e28",
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
    "index judged_trouble_pkey": "bfb0bc8f66003512",
    "index judged_undecided_pkey": "8c007dc10076fb02",
    "index kitchen_name_key": "fb2ac135e6129139",
    "index kitchen_pkey": "5aff50a84e82e643",
    "index kitchen_role_key": "51ee0372b774e0c5",
    "index officer_name_key": "e0dad7dcb8b5f5c5",
    "index officer_pkey": "ad90386b574f9fc2",
    "index pin_pkey": "32b00a22014841f2",
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
    "policy of receipt own_kitchen": "ba4323686885a165",
    "schema haccp": "91201ae29cb0785b",
    "table alembic_version": "fb06746b61606c23",
    "table derived_batch": "c89eac9ed0b2c9a4",
    "table derived_head": "c436c66c0af64eb2",
    "table derived_link": "2e9034238bd9c9a4",
    "table derived_settled": "bf377611dc2d5b38",
    "table derived_thread": "e1f2e3a2ddee5601",
    "table entry": "ae0be1b89a0fe197",
    "table fork": "cd94f56da4ce5b68",
    "table fork_entry": "3fa07bce89f5bed7",
    "table judged": "0849ed6c01e0a8a4",
    "table judged_cooled": "6a85bc35279a89e9",
    "table judged_cooling": "01a908d40c80f907",
    "table judged_trouble": "b6efc0293212ecb8",
    "table judged_undecided": "feaca5da6709ada8",
    "table kitchen": "f2adbecf2b04575d",
    "table officer": "e9b99d45a7ef20bc",
    "table pin": "1fd45efc7d8fdea1",
    "table receipt": "d8e5655adb7c259d",
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
    "view district": "414193f3c9678fc6",
    "view district_cooled": "ad4ea98c6d002942",
    "view district_kitchen": "47f50ab0d65a9d52",
    "view district_trouble": "d03bd9d022d1a99a",
    "view district_undecided": "4ae6b3eab24c7cbc",
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
