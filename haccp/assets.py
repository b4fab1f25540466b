"""Finds what travels beside the code: migrations, the page's template, the sample logs."""

from pathlib import Path


def folder(name: str) -> Path:
    """Give the folder `name`: inside the package if installed, beside it in a checkout."""
    package = Path(__file__).parent
    installed = package / f"_{name}"
    return installed if installed.is_dir() else package.parent / name
