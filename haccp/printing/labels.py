"""The words that a template itself prints, beside its content."""

from collections.abc import Callable
from typing import Any

from haccp.language import phrase
from haccp.printing import plan_labels, report_labels


def labels_of(template: str) -> dict[str, Any]:
    """Tell every label of a template, in the language of who reads the paper."""
    return _of_every_paper() | _OWN[template]()


def _of_every_paper() -> dict[str, str]:
    return {
        "continued": phrase("Continued:"),
        "printed": phrase("Printed"),
        # the template fills these in: only it knows the page
        "printed_on": phrase("Printed {printed}", printed="{printed}"),
        "page": phrase("Page {page} of {pages}", page="{page}", pages="{pages}"),
        "people": phrase("People who record"),
        "initials": phrase("Initials"),
        "name": phrase("Name"),
        "role": phrase("Role"),
    }


def _of_the_forms() -> dict[str, str]:
    return {
        "about": phrase("Blank log sheets with the limits in force"),
        "date": phrase("Date"),
        # the template fills these in: only it knows the sheet
        "sheet": phrase("Sheet {number} of {count}", number="{number}", count="{count}"),
        "copy": phrase("Copy no."),
        "permit": phrase("Permit {number}", number="{number}"),
        "missed": phrase("If a number is missed: do this, write it down, tell a manager"),
        "corrective": phrase("Corrective action"),
        "verified": phrase("Verified by (manager)"),
        "typed_in": phrase("Typed in by"),
        "type_later": phrase("Type in later, with the date and the time on the sheet:"),
        "many": phrase("Readings, many at once:"),
        "limits": phrase("Limits:"),
        "degrees": phrase(
            "All temperatures as the column says; write °F or °C where it is another."
        ),
    }


_OWN: dict[str, Callable[[], dict[str, Any]]] = {
    "report": report_labels.labels,
    "plan": plan_labels.labels,
    "forms": _of_the_forms,
    "curve": dict,
}
