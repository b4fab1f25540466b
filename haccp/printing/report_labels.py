"""The words that the report's template itself prints, beside its content.

In a sentence *words* are bold, and the template fills in each ``{place}``, which may be a link or a
sign: it gets the sentence with its places.
"""

from typing import Any

from haccp.language import message, phrase
from haccp.rules.evidence import Verdict

# As it stands in a line; `rules.words.called` calls it out.
VERDICTS = {
    Verdict.MET: message("met"),
    Verdict.NOT_MET: message("not met"),
    Verdict.NOT_SHOWN: message("not shown"),
    Verdict.OPEN: message("open"),
    Verdict.STOPPED: message("stopped"),
}


def labels() -> dict[str, Any]:
    """Tell every label of the report in the language of who reads it."""
    return {
        "verdicts": {verdict.value: phrase(words) for verdict, words in VERDICTS.items()},
        **_first_page(),
        **_days(),
        **_coolings(),
        **_in_full(),
        **_holding(),
        **_beside(),
        **_signatures_and_limits(),
        **_record(),
        **_annex(),
    }


def _kept(*names: str) -> dict[str, str]:
    """Give places that stay in a sentence for the template to fill."""
    return {name: f"{{{name}}}" for name in names}


def _first_page() -> dict[str, Any]:
    return {
        "unreadable": phrase(
            "Entries that cannot be read: what they say is missing from every page here, and no "
            "verdict knows of it."
        ),
        "marks": phrase(
            "*Marks:* {marks} (reheated, discarded or used up in time)", **_kept("marks")
        ),
        "not_shown": phrase("Not shown"),
        "caution": phrase("Caution."),
        "head": phrase(
            "*Record* to entry {seq}, SHA-256 begins {digest}. The same bytes again: {command}",
            **_kept("seq", "digest", "command"),
        ),
        "contents": phrase("Contents:"),
        "deviations": phrase("Deviations, the undecided first"),
        "caught": phrase("Caught in time"),
        "verdict": phrase("Verdict"),
        "food_or_unit": phrase("Food or unit"),
        "happened": phrase("What happened"),
        "done_and_cause": phrase("What was done, by whom; cause"),
        "where_now": phrase("Where it is now"),
        "page_head": phrase("Page"),
        "taken_back": phrase("*Not met until corrected.* {words}", **_kept("words")),
        "still_open": phrase("Still open when this was printed"),
    }


def _days() -> dict[str, Any]:
    return {
        "the_day": phrase("The day"),
        "the_days": phrase("The days"),
        "day": phrase("Day"),
        "coolings": phrase("Coolings"),
        "hot_checks": phrase("Hot checks made of due"),
        "cold_checks": phrase("Cold checks made of due"),
        "thermometers": phrase("Thermometers"),
        "entered_late": phrase("Entered late"),
        "signed": phrase("Signed"),
    }


def _coolings() -> dict[str, Any]:
    return {
        "food": phrase("Food"),
        "amount_way": phrase("Amount, way"),
        "time_from": phrase("Time from"),
        "action": phrase("Action"),
        "by_verified": phrase("By; verified"),
        "on_page": phrase("page {page}", **_kept("page")),
        "not_yet": phrase("not yet"),
        "small_curves": phrase(
            "All on one scale, the numbers as above: hours from where the time counts. Stepped "
            "line and hatching: too warm for the time. Bar: when a level was passed, black in "
            "time, white too late."
        ),
    }


def _in_full() -> dict[str, Any]:
    return {
        "in_full": phrase("Deviations in full"),
        "large_curves": phrase(
            "✕: breaks a limit; □: thermometer in doubt. Stepped line and hatching: too warm for "
            "the time. Bar: when a level was passed, black in time, white too late."
        ),
        "key_alt": phrase("What the marks on the curves mean, in words beside each."),
        "no": phrase("No."),
        "taken": phrase("Taken"),
        "reading": phrase("Reading"),
        "step": phrase("Step"),
        "by": phrase("By"),
        "thermometer_note": phrase("Thermometer; note"),
        "why": phrase("*Why.* {words}", **_kept("words")),
        "done": phrase("*What was done.* {words}", **_kept("words")),
        "food_now": phrase("*Where the food is now.* {words}.", **_kept("words")),
        "others": phrase("*The others, alike.* {words}.", **_kept("words")),
        "account_of": phrase("*Account* of {words}.", **_kept("words")),
        "decision": phrase("Decision of a manager"),
        "decision_entered": phrase("(enter it in the record, too)"),
        "growth": phrase("What the figures of growth are"),
        "growth_note": phrase("Information only, see “{heading}”.", **_kept("heading")),
    }


def _holding() -> dict[str, Any]:
    return {
        "holding": phrase("Holding"),
        "unit": phrase("Unit"),
        "food_in_it": phrase("Food in it"),
        "missed": phrase("? no"),
        "no_check": phrase("? no check"),
        "holding_key": [
            phrase("✕ boxed: out of limits"),
            phrase("?: thermometer in doubt, or check missed"),
            phrase("? no, hatched: a check was due, not made"),
            phrase("L: entered late"),
            phrase("blank: none due"),
        ],
    }


def _beside() -> dict[str, Any]:
    return {
        "beside": phrase("Thermometers, deliveries, changes"),
        "thermometer": phrase("Thermometer"),
        "checks": phrase("Checks"),
        "never_checked": phrase("no check on record"),
        "thermometer_checks": phrase("Thermometer checks"),
        "checked_in": phrase("Checked"),
        "in_doubt": phrase("Readings in doubt by a failed check"),
        "deliveries": phrase("Deliveries"),
        "read": phrase("Read"),
        "from_whom": phrase("From whom; where it is now"),
        "what": phrase("What"),
        "how_late": phrase("How late, and why"),
        "corrections": phrase("Corrections"),
        "corrects": phrase("Corrects"),
        "reason": phrase("Why"),
        "when": phrase("When"),
        "clock": phrase("The machine’s clock"),
        "clock_note": phrase(
            "The clock of the machine did not follow from the entry before. Times near these "
            "entries rest on it."
        ),
        "by_how_much": phrase("By how much"),
        "changes": phrase("The record, its PINs and the kitchen"),
    }


def _signatures_and_limits() -> dict[str, Any]:
    return {
        "signatures": phrase("Signatures and limits"),
        "signed_by": phrase("Signed by"),
        "note": phrase("Note"),
        "never_signed": phrase("No day of this period has been signed in the record."),
        "manager": phrase("Manager"),
        "inspector": phrase("Inspector"),
        "date": phrase("Date"),
        "recorded_by": phrase(
            "*People who record:* {people}. “By PIN” was proved by the person’s PIN; “initials "
            "only” are a manager’s, as anybody can type them.",
            **_kept("people"),
        ),
        "limits": phrase("Limits applied"),
        "limits_changed": phrase(
            "What began before a change is judged by the limits in force when it began."
        ),
        "in_force_from": phrase("In force from"),
        "limits_head": phrase("Limits"),
        "digest_head": phrase("SHA-256 begins"),
        "citation": phrase("Citation"),
        "limit_source": phrase("Limit; where it was read"),
        "local_rule": phrase("Local rule in place of the published one."),
        "table": phrase("The table: {words}.", **_kept("words")),
        "limits_digest": phrase("SHA-256 of these limits: {digest}", **_kept("digest")),
    }


def _record() -> dict[str, Any]:
    return {
        "this_paper": phrase("This paper and the record"),
        "printed_from": phrase(
            "Printed from the record up to entry {seq}, SHA-256 {digest}.",
            **_kept("seq", "digest"),
        ),
        "still_holds": phrase(
            "Whether today’s record still holds the entries that this was printed from, this "
            "says; it takes what the code holds, too: {command}.",
            **_kept("command"),
        ),
        "still_holds_short": phrase(
            "Whether today’s record still holds these entries: {command}",
            **_kept("command"),
        ),
        "unaltered": phrase(
            "Whether these pages are unaltered is shown by printing them again, by the command at "
            "the foot of page 1: an unaltered file has the same bytes, an unaltered print the "
            "same words."
        ),
        "code_alt": phrase("QR code of the last entry's number and the SHA-256 printed beside it"),
    }


def _annex() -> dict[str, Any]:
    return {
        "annex": phrase("Annex: all readings"),
        "while_in_it": phrase("while this food stood in it"),
        "units_in_part": phrase("Units are shown as far as this food stood in them."),
        "annex_key": phrase(
            "Each reading by its time, its entry's number in brackets; in {degree} where no degree "
            "is said.",
            **_kept("degree"),
        ),
        # as `kitchen.batch_facts` names the facts of a batch
        "amount": phrase("Amount"),
        "frozen": phrase("Frozen"),
        "tcs_food": phrase("TCS food"),
        "served": phrase("Served"),
        "account": phrase("Account"),
    }
