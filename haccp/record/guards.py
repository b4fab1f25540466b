"""What guards the entries of a server's database, and whether it is as it was made.

Whoever owns the database can take any guard away, and put it back. `record verify` says what is
missing now; what was changed meanwhile is found by the chain and by heads that are kept elsewhere.
"""

from hashlib import sha256

import sqlalchemy as sa

from haccp.language import message, phrase

# Each guard by name, with what makes it one.
_THERE = """
    SELECT 'trigger ' || t.tgname, concat_ws(' ', c.relname, t.tgenabled, t.tgtype, p.proname)
    FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid
    WHERE c.relnamespace = 'haccp'::regnamespace AND NOT t.tgisinternal
    UNION ALL
    SELECT 'function ' || proname, concat_ws(' ', prosecdef, proconfig, prosrc)
    FROM pg_proc WHERE pronamespace = 'haccp'::regnamespace
    UNION ALL
    SELECT 'table ' || c.relname, concat_ws(' ', c.relkind, c.relrowsecurity, o.rolname,
        (SELECT string_agg(concat_ws(' ', a.grantee, a.privilege_type), ',' ORDER BY
            a.grantee, a.privilege_type) FROM aclexplode(c.relacl) a WHERE a.grantee <> c.relowner),
        (SELECT string_agg(concat_ws(' ', n.attname, a.grantee, a.privilege_type), ',' ORDER BY
            n.attname COLLATE "C", a.grantee, a.privilege_type)
            FROM pg_attribute n CROSS JOIN LATERAL aclexplode(n.attacl) a
            WHERE n.attrelid = c.oid AND n.attnum > 0),
        CASE c.relkind WHEN 'v' THEN concat(c.reloptions::text, pg_get_viewdef(c.oid)) END)
    FROM pg_class c JOIN pg_roles o ON o.oid = c.relowner
    WHERE c.relnamespace = 'haccp'::regnamespace AND c.relkind IN ('r', 'v', 'm', 'p', 'f')
    UNION ALL
    SELECT 'policy of ' || c.relname || ' ' || p.polname, concat_ws(' ', p.polpermissive, p.polcmd,
        p.polroles, pg_get_expr(p.polqual, p.polrelid), pg_get_expr(p.polwithcheck, p.polrelid))
    FROM pg_policy p JOIN pg_class c ON c.oid = p.polrelid
    WHERE c.relnamespace = 'haccp'::regnamespace
    UNION ALL
    SELECT 'index ' || c.relname, concat_ws(' ', i.indisunique, i.indisvalid, i.indkey)
    FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
    WHERE c.relnamespace = 'haccp'::regnamespace AND i.indisunique
    UNION ALL
    SELECT 'this account', concat_ws(' ', rolsuper, rolbypassrls)
    FROM pg_roles WHERE rolname = current_user
"""

# As a database is made: the beginning of a digest of each guard's words.
AS_MADE: dict[str, str] = {
    "function digest_of": "db742dc5f84c606b",
    "function enter": "356b07ee0deec3c7",
    "function entry_follows": "044d255974714dfa",
    "function entry_is_never_changed": "a4b6ac96200a6e1e",
    "function forget_settled": "71b5d8e809533ee7",
    "function fork_entry_follows": "dc43d0c2a3e11e0b",
    "function fork_is_whole": "01d249ff16f6ec92",
    "function is_signed": "9b58332773fdf6a3",
    "function kitchen_of": "097b6c43f9acb0ab",
    "function sign_for_head": "6dac053b43ee923f",
    "function signature_of": "a744467a2b20cba7",
    "index alembic_version_pkc": "c5e9ba762ae80726",
    "index derived_batch_pkey": "d681596e3012a15a",
    "index derived_head_pkey": "06ac8f6fb1339822",
    "index derived_link_pkey": "50488b3eb3b1a892",
    "index derived_settled_pkey": "2abeca7f3559b3cf",
    "index derived_thread_kitchen_name_key": "aa8b60d758dfac57",
    "index derived_thread_pkey": "2abeca7f3559b3cf",
    "index entry_corrected_once": "4f65db02d0c3849b",
    "index entry_opening_a_batch": "c08f1aba547b2617",
    "index entry_pkey": "28e4b2ddcfb7e1e4",
    "index fork_entry_pkey": "77dbf238856fb365",
    "index fork_pkey": "ff4a3b599a2b8f8e",
    "index judged_cooled_pkey": "0d5b8c940fc33d4f",
    "index judged_cooling_pkey": "222a40c1ed5f51e3",
    "index judged_pkey": "c5e9ba762ae80726",
    "index judged_undecided_pkey": "3847c08f0175745a",
    "index kitchen_name_key": "66568fee7e5c43de",
    "index kitchen_pkey": "c5e9ba762ae80726",
    "index kitchen_role_key": "de010a0bc2dd5be1",
    "index officer_name_key": "de010a0bc2dd5be1",
    "index officer_pkey": "c5e9ba762ae80726",
    "index pin_pkey": "ff4a3b599a2b8f8e",
    "index receipt_pkey": "3847c08f0175745a",
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
    "table alembic_version": "68526d2388a26333",
    "table derived_batch": "8a9af233936e0582",
    "table derived_head": "5838b3e0848924cb",
    "table derived_link": "9acc249cce2e8ef4",
    "table derived_settled": "b027b5b6ddfb4839",
    "table derived_thread": "9452c7b6a8f33303",
    "table district": "a2e1b61b01312fe7",
    "table district_cooled": "d843475606a753c7",
    "table district_kitchen": "98785891ac4699fa",
    "table district_undecided": "1aa171937b01b95c",
    "table entry": "9acc249cce2e8ef4",
    "table fork": "d2e78ffd94673990",
    "table fork_entry": "b30bf3b6fb8edbe6",
    "table judged": "33de0f896024623a",
    "table judged_cooled": "33de0f896024623a",
    "table judged_cooling": "33de0f896024623a",
    "table judged_undecided": "33de0f896024623a",
    "table kitchen": "33de0f896024623a",
    "table officer": "33de0f896024623a",
    "table pin": "7ca1e1a99dd5a334",
    "table receipt": "6903d88bfd1f0027",
    "table signing_key": "33de0f896024623a",
    "this account": "ab97a1f30e577f3f",
    "trigger entry_follows": "c64ec02f8b453df4",
    "trigger entry_is_never_deleted": "7eecec1852d30729",
    "trigger entry_is_never_emptied": "2cc0901fab332fc1",
    "trigger entry_is_never_updated": "7979d9dba527a7fb",
    "trigger fork_entry_follows": "40d69f71c7291a22",
    "trigger fork_entry_is_never_changed": "8566c725a4b083df",
    "trigger fork_entry_is_never_emptied": "07a033fe7dac094b",
    "trigger fork_is_never_changed": "48958b19ae56098c",
    "trigger fork_is_never_emptied": "c0e7972fc2823ad1",
    "trigger fork_is_whole": "c64eec589933b8a3",
    "trigger receipt_is_never_changed": "5afe7cab81e28916",
    "trigger receipt_is_never_emptied": "b69a0636f0ba273f",
}


def problems_of(connection: sa.Connection) -> list[str]:
    """Say which guards are gone, changed or added."""
    there = guards(connection)
    found = []
    for name in sorted(AS_MADE.keys() | there.keys()):
        if AS_MADE.get(name) != there.get(name):
            if name not in there:
                how = message("{name} of the server's guards is gone: somebody opened it.")
            elif name in AS_MADE:
                how = message("{name} of the server's guards is changed: somebody opened it.")
            else:
                how = message("{name} of the server's guards is added: somebody opened it.")
            found.append(phrase(how, name=repr(name)))
    return found


def guards(connection: sa.Connection) -> dict[str, str]:
    """Give each guard that is there now, by the beginning of its digest."""
    return {
        str(name): sha256(" ".join(str(words).split()).encode()).hexdigest()[:16]
        for name, words in connection.exec_driver_sql(_THERE.replace("%", "%%"))
    }
