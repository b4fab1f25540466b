"""The tables of hazards and of what is kept: each row says on what it rests, and names what is."""

from haccp import limits
from haccp.limits.plan_tables import decisions, hazards, retention
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Step

BASES = ("verified", "from memory", "common practice")
KINDS = {kind for name in limits.revisions() for kind in limits.shipped(name).kinds} | {""}


def test_every_hazard_has_a_source_or_says_that_it_has_none() -> None:
    for one in hazards():
        assert one.basis in BASES, one.name
        assert bool(one.source) == (one.basis == "verified"), one.name
        assert bool(one.address) == bool(one.source), one.name


def test_every_hazard_is_judged_and_stands_at_a_step_of_kinds_that_there_are() -> None:
    assert len({one.name for one in hazards()}) == len(hazards())
    for one in hazards():
        assert one.steps and set(one.steps) <= set(Step), one.name
        assert set(one.kinds) <= KINDS, one.name
        assert one.sort in ("biological", "chemical", "physical")
        assert one.likelihood in ("low", "medium", "high")
        assert one.severity in ("mild", "serious", "fatal")
        assert one.why.endswith(".")


def test_every_kind_of_food_has_a_hazard_of_its_own() -> None:
    for kind in KINDS - {"commercial package"}:
        assert any(kind in one.kinds for one in hazards()), kind


def test_every_step_is_decided_and_a_critical_one_has_a_limit_and_a_hazard() -> None:
    """Food Code 8-201.14: a critical control point has critical limits."""
    assert set(decisions()) == set(Step)
    for step in Step:
        decided = decisions()[step]
        assert decided.critical == bool(TRAITS[step].limits), step
        assert decided.reason and decided.control
        assert any(step in one.steps for one in hazards()), step


def test_what_is_kept_names_sets_that_ship_and_on_what_it_rests() -> None:
    for row in retention():
        assert row.sets and set(row.sets) <= set(limits.revisions()), row.what
        assert set(row.kinds) <= KINDS
        assert row.basis in BASES
        assert bool(row.source) == (row.basis == "verified"), row.what
