"""Numbers of a local code that cannot be meant, and none of them in what ships."""

import pytest

from haccp.errors import Refused
from haccp.limits import revisions, shipped
from haccp.limits.loader import take_overrides
from tests.local_codes import COLD_AT_38


def test_an_accuracy_is_compared_as_a_difference() -> None:
    accuracy = COLD_AT_38.replace("cold-holding", "thermometer-accuracy").replace("f = 38", "f = 2")
    base = shipped()
    take_overrides(base, accuracy.replace("c = 3", "c = 1"), "local.toml")
    for wrong in ("c = 3", "c = -1", "c = -17"):
        with pytest.raises(Refused, match=r"local\.toml, line 1"):
            take_overrides(base, accuracy.replace("c = 3", wrong), "local.toml")


def test_what_ships_holds_no_slip() -> None:
    """So that a local code may print what any of the codes that ship print."""
    from haccp.limits.loader import _levels, _slip

    sets = [shipped(f"{name}.{n}") for name, numbers in revisions().items() for n in numbers]
    for limit in (limit for one in sets for limit in one.limits):
        assert [_slip(limit, level) for level in _levels(limit)] == [None] * len(_levels(limit))
