"""The words that a template itself prints, beside its content."""

from collections.abc import Callable
from typing import Any

from haccp.language import phrase
from haccp.printing import report_labels


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


def _of_the_plan() -> dict[str, str]:
    return _headings() | _columns() | _sentences() | _blanks()


def _headings() -> dict[str, str]:
    return {
        "about": phrase("Draft of a HACCP plan, Food Code 8-201.14"),
        "general": phrase("General information"),
        "thermometers": phrase("Thermometers"),
        "units": phrase("Holding units"),
        "categories": phrase("Categories of TCS food"),
        "flows": phrase("Flow of each food"),
        "hazards": phrase("Hazards and controls"),
        "points": phrase("Critical control points"),
        "critical_limits": phrase("Critical limits"),
        "actions": phrase("Corrective actions"),
        "verification": phrase("Verification"),
        "records": phrase("Records"),
        "documents": phrase("Supporting documents"),
        "approval": phrase("Approval"),
        "this_paper": phrase("This paper and the record"),
    }


def _columns() -> dict[str, str]:
    return {
        "thermometer": phrase("Thermometer"),
        "accuracy": phrase("Accuracy"),
        "last_check": phrase("Last check"),
        "unit": phrase("Unit"),
        "holds": phrase("Holds food"),
        "limit": phrase("Limit"),
        "checked": phrase("Checked"),
        "kind": phrase("Kind"),
        "foods": phrase("Foods"),
        "step": phrase("Step"),
        "hazard": phrase("Hazard"),
        "control": phrase("Control"),
        "point": phrase("Point"),
        "asks": phrase("Asks for"),
        "section": phrase("Section"),
        "source": phrase("Source"),
        "when": phrase("When"),
        "done": phrase("What is done"),
        "rests_on": phrase("Section and basis"),
        "what": phrase("What"),
        "how_often": phrase("How often"),
        "by_whom": phrase("By whom"),
        "date": phrase("Date"),
    }


def _sentences() -> dict[str, str]:
    return {
        "about_categories": phrase(
            "Foods that need time and temperature control for safety, by the kind that their "
            "limits go by."
        ),
        "about_flows": phrase(
            "A thick frame is a critical control point. Limits that depend on how it is "
            "delivered, heated or held stand with their control point."
        ),
        "no_steps": phrase("Its steps are not entered."),
        "about_hazards": phrase(
            "Common practice, no source: whoever approves the plan checks this against the foods "
            "made here."
        ),
        "local_rule": phrase("Local rule in place of the published one"),
        "who_decides": phrase(
            "A person decides on every corrective action and signs it; the cause is put right, too."
        ),
    }


def _blanks() -> dict[str, str]:
    """Name the ruled spaces for what only people know."""
    return {
        "permit_holder": phrase("Permit holder"),
        "in_charge": phrase("Person in charge"),
        "address": phrase("Address"),
        "telephone": phrase("Telephone, mail"),
        "equipment": phrase("Equipment for cooking, cooling and holding beside these"),
        "ingredients": phrase("Ingredients, materials and equipment"),
        "recipe": phrase("Recipe or formulation, with the procedures for each step"),
        "other_hazards": phrase("Other hazards of these foods: chemical, physical, allergens"),
        "reviewed_again": phrase("This plan is reviewed again: when, by whom"),
        "kept_for": phrase("Kept for, and where"),
        "training": phrase("Training plan for cooks, managers and the person in charge"),
        "attached": phrase("Recipes, formulations and other documents attached"),
        "written_by": phrase("Written by"),
        "authority": phrase("Regulatory authority, where required"),
    }


_OWN: dict[str, Callable[[], dict[str, Any]]] = {
    "report": report_labels.labels,
    "plan": _of_the_plan,
    "forms": _of_the_forms,
    "curve": dict,
}
