"""The line that an entry's digest is made of, whatever a damaged file holds in its columns."""

import json
from typing import Any

from hypothesis import example, given
from hypothesis import strategies as st

from haccp.record.chain import is_as_digested
from haccp.record.entries import CHAINED, line_of

# What SQLite may give: also a truth value or a number where a text was written, or bytes.
_VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(), st.text('"\\/\n\x00\x7f\u2028é😀')
)  # fmt: skip
_ROWS = st.fixed_dictionaries(dict.fromkeys(CHAINED, _VALUES))
_USUAL: dict[str, Any] = dict.fromkeys(CHAINED, "a\n") | {"seq": 7, "corrects": 3}


@given(_ROWS)
@example(_USUAL)
@example(_USUAL | {"batch": None, "unit": None, "corrects": None})
@example(_USUAL | {"seq": True})
@example(_USUAL | {"corrects": 1.0})
@example(_USUAL | {"person": 3})
def test_a_line_is_the_canonical_json_list_of_its_columns(row: dict[str, Any]) -> None:
    """DEVELOPERS.md, the chain: no spaces, UTF-8, not ASCII-escaped."""
    listed = [row[column] for column in CHAINED]
    assert line_of(row) == json.dumps(listed, ensure_ascii=False, separators=(",", ":"))


def test_what_no_json_can_hold_is_not_as_digested() -> None:
    assert not is_as_digested(_USUAL | {"person": b"JM", "digest": "0" * 64})
    assert not is_as_digested(_USUAL | {"seq": b"7", "digest": "0" * 64})
