"""What is installed: pinned by hash, each with a reason, none with a known vulnerability."""

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement
from packaging.specifiers import SpecifierSet
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
LOCK = (ROOT / "requirements.lock").read_text(encoding="utf-8")
PINS = dict(re.findall(r"^([a-z0-9_.-]+)==(\S+)", LOCK, re.MULTILINE))
ADVISORIES = tomllib.loads((ROOT / "tests/advisories.toml").read_text(encoding="utf-8"))["advisory"]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def vulnerable(pins: Iterable[tuple[str, str]]) -> list[str]:
    known: list[dict[str, Any]] = ADVISORIES
    return [
        f"{name} {version}: {one['id']}"
        for name, version in pins
        for one in known
        if one["package"] == canonicalize_name(name)
        and SpecifierSet(one["affected"], prereleases=True).contains(version)
    ]


def test_no_pinned_version_has_a_known_vulnerability() -> None:
    assert vulnerable(PINS.items()) == []


def test_a_vulnerable_version_would_be_named() -> None:
    assert vulnerable([("Mako", "1.3.10"), ("pillow", "11.2.1"), ("pillow", "11.3.0")]) == [
        "Mako 1.3.10: GHSA-v92g-xgxw-vvmm",
        "pillow 11.2.1: CVE-2025-48379",
    ]


def test_every_advisory_is_about_a_pinned_package() -> None:
    assert {one["package"] for one in ADVISORIES} <= {canonicalize_name(name) for name in PINS}
    assert {one["basis"] for one in ADVISORIES} <= {"verified", "from memory"}


def test_every_pin_has_its_hashes() -> None:
    blocks = re.split(r"^(?=[a-z0-9_.-]+==)", LOCK, flags=re.MULTILINE)[1:]
    assert len(blocks) == len(PINS)
    assert all("--hash=sha256:" in block for block in blocks)


def test_every_dependency_is_pinned_and_has_a_reason() -> None:
    reasons = (
        (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("| dependency |")[1].lower()
    )
    for requirement in PROJECT["dependencies"]:
        name = Requirement(requirement).name
        assert canonicalize_name(name) in {canonicalize_name(pin) for pin in PINS}, name
        assert f"\n| {name}" in reasons, name
