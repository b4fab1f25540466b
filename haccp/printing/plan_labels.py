"""The words that the plan's template itself prints, beside its content."""

from haccp.language import phrase


def labels() -> dict[str, str]:
    return _headings() | _columns() | _sentences() | _blanks()


def _headings() -> dict[str, str]:
    return {
        "about": phrase("Draft of a HACCP plan, Food Code 8-201.14"),
        "settle": phrase("To settle first"),
        "nothing_to_settle": phrase(
            "Nothing: every food on record has a flow, and every check can show what it serves."
        ),
        "contents": phrase("Contents"),
        "general": phrase("General information"),
        "thermometers": phrase("Thermometers"),
        "units": phrase("Holding units"),
        "categories": phrase("Categories of TCS food"),
        "flows": phrase("Flow of each food"),
        "hazards": phrase("Hazards and controls"),
        "critical_steps": phrase("Steps: critical or not, and why"),
        "points": phrase("Critical control points"),
        "critical_limits": phrase("Critical limits"),
        "actions": phrase("Corrective actions"),
        "time_control": phrase("Written procedure: time as the control (3-501.19)"),
        "checks": phrase("Checks, and what they can show"),
        "verification": phrase("Verification"),
        "records": phrase("Records"),
        "documents": phrase("Supporting documents"),
        "approval": phrase("Approval"),
        "sources": phrase("Sources"),
        "this_paper": phrase("This paper and the record"),
        "forms": phrase("Blank log sheets"),
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
        "food": phrase("Food"),
        "process": phrase("Process"),
        "no_flow": phrase("NO FLOW"),
        "on_record": phrase("On record"),
        "steps_read": phrase("Steps read, in how many batches"),
        "foods": phrase("Foods"),
        "step": phrase("Step"),
        "hazard": phrase("Hazard, and why"),
        "likely": phrase("Likely"),
        "severe": phrase("Severe"),
        "controlled": phrase("Controlled at"),
        "control": phrase("Control"),
        "point": phrase("Point"),
        "reason": phrase("Why critical, or why not"),
        "asks": phrase("Asks for"),
        "section": phrase("Section"),
        "source": phrase("Source"),
        "when": phrase("When"),
        "done": phrase("What is done"),
        "rests_on": phrase("Section and basis"),
        "check": phrase("Check"),
        "unseen": phrase("Unseen at most"),
        "serves": phrase("What it has to show"),
        "shown": phrase("Shown"),
        "would": phrase("What would show it"),
        "what": phrase("What"),
        "how_often": phrase("How often"),
        "by_whom": phrase("By whom"),
        "kept": phrase("Kept"),
        "date": phrase("Date"),
    }


def _sentences() -> dict[str, str]:
    return {
        "about_flows": phrase(
            "A thick frame is a critical control point. Limits that depend on how it is "
            "delivered, heated or held stand with their control point."
        ),
        "about_hazards": phrase(
            "Hazards of these foods. How likely and how severe is ours for large batches, by "
            "common practice, no source: whoever approves the plan judges both against the foods "
            "made here."
        ),
        "about_points": phrase(
            "A number in brackets names the source in which a limit was read; what was not read "
            "says on what it rests."
        ),
        "left_out": phrase("Not in this plan, as nothing here is done so:"),
        "no_time_control": phrase(
            "No food here is under time as the control. Before one is, a written procedure is "
            "made and kept here (3-501.19(A))."
        ),
        "about_checks": phrase(
            "Between two good looks nothing is known. What is unseen at most is the interval and "
            "the grace by which a look may be late; only what lasts longer is seen for certain. "
            "Where a check cannot show its limit, look oftener, or let an instrument record."
        ),
        "about_kept": phrase(
            "For how long, by the limits in force. Where the kitchen or its authority keeps "
            "records longer, that holds."
        ),
        "who_decides": phrase(
            "A person decides on every corrective action and signs it; the cause is put right, too."
        ),
        "attached_forms": phrase("The blank log sheets follow; haccp forms prints them alone."),
        "local_rule": phrase("Local rule in place of the published one"),
        "head": phrase(
            "Record: {seq} entries, {digest}. The same bytes again: {command}",
            seq="{seq}",
            digest="{digest}",
            command="{command}",
        ),
    }


def _blanks() -> dict[str, str]:
    """Name the ruled spaces for what only people know."""
    return {
        "permit_holder": phrase("Permit holder"),
        "telephone": phrase("Telephone, mail"),
        "equipment": phrase("Equipment for cooking, cooling and holding beside these"),
        "ingredients": phrase("Ingredients, materials and equipment"),
        "recipe": phrase("Recipe or formulation, with the procedures for each step"),
        "other_hazards": phrase("Other hazards of these foods: chemical, physical, allergens"),
        "kept_for": phrase("Kept for, and where"),
        "training": phrase("Training plan for cooks, managers and the person in charge"),
        "attached": phrase("Recipes, formulations and other documents attached"),
        "written_by": phrase("Written by"),
        "in_charge": phrase("Person in charge"),
        "authority": phrase("Regulatory authority, where required"),
    }
