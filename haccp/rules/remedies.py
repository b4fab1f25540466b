"""What is usually done about a deviation. The tool proposes; a person decides and signs."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from haccp.language import message, phrase
from haccp.rules.evidence import Finding, Reading, Reason, Step, Verdict

VERIFIED, FROM_MEMORY = message("verified"), message("from memory")
LOCAL, PRACTICE = message("local code"), message("common practice, no source")


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One thing to do: short and imperative, for a terminal and for paper.

    `when` is the condition under which it may be chosen, empty for always; `until` the latest
    moment for it, reckoned from the longest time that the record allows. `citation` is the section
    or code it rests on, `basis` whether that was read in `source`. All are told as it is made, in
    the language of who reads it then.
    """

    text: str
    citation: str
    source: str = ""
    basis: str = field(default_factory=lambda: phrase(PRACTICE))
    when: str = ""
    until: datetime | None = None

    @property
    def gives_up(self) -> bool:
        """Whether the food is thrown away or sent back: the safe answer."""
        return self.text in (phrase(_DISCARD), phrase(_REJECT))

    @property
    def words(self) -> str:
        """Say what to do, and when it may be done."""
        if not self.when:
            return self.text
        return phrase("{what_to_do}, if {when}.", what_to_do=self.text.rstrip("."), when=self.when)


_DISCARD, _REJECT = message("Discard it."), message("Reject it and write down why.")
_DELAWARE_REHEAT = message("Delaware Food Code 3-403.11, which adopts the Food Code text")
_RAPID_GUIDE = message(
    "Minnesota 4626.0390 and 2VAC5-585-810 (Virginia), which adopt the Food Code text"
)
_COOLING_GUIDE = message("FDA Food Code Annex 5 and USDA sample HACCP procedures for schools")
_HOLDING_GUIDE = message("USDA sample HACCP procedure for schools, holding hot and cold food")
_PRINCIPLE_5 = message("HACCP principle 5")

# Held food may be saved within this of its last good reading: _HOLDING_GUIDE, from memory. Other
# advice goes up to 4 hours; this is the stricter.
SAVED_WITHIN = timedelta(hours=2)

RAPID_WAYS = message(
    "shallow pans, smaller portions, stirring in an ice bath, ice as an ingredient, a blast "
    "chiller, containers that conduct"
)
_COOL_AGAIN = message("Reheat it to 165 °F (74 °C) for 15 s, then cool it again by another method.")


def _cool_faster(until: datetime | None) -> Option:
    return Option(
        text=phrase("Cool it faster: {ways}.", ways=phrase(RAPID_WAYS)),
        citation="3-501.15(A)",
        source=phrase(_RAPID_GUIDE),
        basis=phrase(VERIFIED),
        until=until,
    )


def _decide() -> Option:
    return Option(
        text=phrase("Release it, with the reason."),
        citation=phrase(_PRINCIPLE_5),
        when=phrase("a manager decides, and something else shows that the limit was kept"),
    )


def options(
    finding: Finding, *, last: Reading | None, now: datetime, late_reheat: str
) -> tuple[Option, ...]:
    """Propose what to do about a finding, the first choice first; nothing where all is well.

    An open finding gets what still keeps its limit. `last` is the newest reading of the food or
    unit; `late_reheat` names the kitchen's local code by which a cooling that missed its first
    stage may be reheated once, empty for none. Where published advice differs the stricter stands.
    """
    if finding.verdict is Verdict.OPEN:
        return tuple(_while_open(finding, now))
    if not finding.verdict.is_deviation:
        return ()
    found = list(_evidence_missing(finding) or _by_limit(finding, last, now, late_reheat))
    if finding.verdict is Verdict.NOT_SHOWN:
        found.append(_decide())
    return tuple(found)


def _while_open(finding: Finding, now: datetime) -> Iterator[Option]:
    name, due = finding.limit.name, finding.due
    if name.startswith("cooling-"):
        yield _cool_faster(due)
        if name == "cooling-stage-1" and due and now <= due:
            yield Option(
                text=phrase(_COOL_AGAIN),
                citation="3-403.11(A), 3-501.14(A)",
                source=phrase(_COOLING_GUIDE),
                basis=phrase(FROM_MEMORY),
                when=phrase(
                    "it is above 70 °F (21 °C), was not reheated before and is at 165 °F in time"
                ),
                until=due,
            )
    elif name.startswith(("cook", "reheat")):
        yield _heat_on(finding)
    elif finding.step is Step.TIME_CONTROL:
        yield _as_limit(finding, phrase("Serve, use or discard it; it may not go back to holding."))
    elif finding.reason is Reason.LAST_DAY:
        yield _as_limit(finding, phrase("Use it, freeze it or discard it today."))
    elif finding.reason is Reason.NOT_READ:
        yield _as_limit(finding, phrase("Measure it, and say where it stands."))
    elif finding.reason is Reason.OUT_OF_TEMPERATURE:
        yield _as_limit(finding, phrase("Chill it, heat it or serve it; then measure it."))


# What mends the record, or begins to.
_MEND = {
    Reason.MISSED_CHECK: message(
        "Measure it now; what is out of limits counts from the last good check."
    ),
    Reason.NOT_READ: message("Measure it now, and decide by where it stood until then."),
    Reason.LINES_REJECTED: message("Mend the lines that could not be read and check again."),
    Reason.UNREADABLE: message(
        "Write down, from memory or paper, what was entered; a manager decides."
    ),
    Reason.BESIDE: message(
        "Look at what the branch says of it (haccp record branches); a manager decides."
    ),
}


def _evidence_missing(finding: Finding) -> tuple[Option, ...]:
    """Propose where not the food but what is known about it is at fault."""
    cited = finding.limit.citation
    if finding.reason in _MEND:
        return (Option(text=phrase(_MEND[finding.reason]), citation=cited),)
    match finding.reason:
        case Reason.THERMOMETER_IN_DOUBT:
            return (
                Option(
                    text=phrase("Measure it with another thermometer now."),
                    citation="4-502.11(B)",
                    source=phrase("Minnesota 4626.0820, which adopts the Food Code text"),
                    basis=phrase(VERIFIED),
                    when=phrase("something of it is left"),
                ),
                Option(
                    text=phrase(
                        "Decide whether the thermometer's readings count, with the reason."
                    ),
                    citation=phrase(_PRINCIPLE_5),
                    when=phrase(
                        "a manager decides; until then nothing that rests on them is shown"
                    ),
                ),
                _discard(cited, when=phrase("nothing else shows that it is safe")),
            )
        case Reason.OVEN:
            text = phrase("Enter what the oven showed.")
            return (Option(text=text, citation=cited, when=phrase("somebody wrote it down")),)
        case _:
            return ()


def _by_limit(
    finding: Finding, last: Reading | None, now: datetime, late_reheat: str
) -> Iterator[Option]:
    name = finding.limit.name
    if name.startswith("cooling-"):
        yield from _cooling(finding, last, late_reheat)
    elif name == "hot-holding":
        again = phrase(
            "Reheat it to 165 °F (74 °C) for 15 s, mend the unit, then hold it hot again."
        )
        yield from _holding(finding, now, again, "3-403.11(A), (D)", phrase(_DELAWARE_REHEAT))
    elif name in ("cold-holding", "egg-holding"):
        again = phrase("Chill it fast or move it to a colder unit; mend the one that it was in.")
        yield from _holding(finding, now, again, "3-501.15(A)", phrase(_RAPID_GUIDE))
    elif name == "frozen-holding":
        yield from _frozen_holding()
    elif name.startswith("reheat"):
        if finding.due and now <= finding.due:
            yield _heat_on(finding)
        when = phrase("its time is up or not known (the stricter)")
        yield _discard(finding.limit.citation, when=when)
    elif finding.reason is Reason.OUT_OF_TEMPERATURE:
        when = phrase("nothing shows that it was out for less time")
        yield _discard(finding.limit.citation, when=when)
    elif finding.step is Step.COOK:
        yield from _cooking(finding, last)
    elif finding.step is Step.TIME_CONTROL:
        yield from _time_control(finding)
    else:
        yield from _at_the_ends(finding)


def _cooling(finding: Finding, last: Reading | None, late_reheat: str) -> Iterator[Option]:
    """Discard: a stage that is not met or not shown has used up its time, or has no known start.

    A local code may let the food be reheated once, where it is known since when it cools.
    """
    known = finding.start is not None and finding.start.earliest is not None
    if finding.reason is Reason.NO_START:
        yield Option(
            text=phrase("Enter the last hot reading."),
            citation=finding.limit.citation,
            when=phrase("somebody wrote one down"),
        )
    yield _discard(finding.limit.citation, phrase(_COOLING_GUIDE), phrase(FROM_MEMORY))
    still_warm = last is None or not finding.limit.kept_by(last.temperature)
    if finding.limit.name == "cooling-stage-1" and late_reheat and known and still_warm:
        yield Option(
            text=phrase(_COOL_AGAIN),
            citation=late_reheat,
            source=phrase("the kitchen's settings"),
            basis=phrase(LOCAL),
            when=phrase("once only, and while its 6 hours are not over"),
        )


def _holding(
    finding: Finding, now: datetime, again: str, citation: str, source: str
) -> Iterator[Option]:
    """Save what was out for 2 hours at most, by its last good reading and not its first bad one."""
    since = finding.start.earliest if finding.start else None
    over = finding.longest is not None
    longest = finding.longest if over else now - since if since else None
    saved = longest is not None and longest <= SAVED_WITHIN
    if saved:
        yield Option(
            text=again,
            citation=citation,
            source=phrase(
                "{source}; the two hours: {guide}", source=source, guide=phrase(_HOLDING_GUIDE)
            ),
            basis=phrase(FROM_MEMORY),
            when=phrase("it was out of limits for 2 hours at most"),
            until=since + SAVED_WITHIN if since and not over else None,
        )
    when = (
        message("it may have been out of limits for longer")
        if saved
        else message("it may have been out of limits for more than 2 hours (the stricter advice)")
    )
    guide, basis = phrase(_HOLDING_GUIDE), phrase(FROM_MEMORY)
    yield _discard(finding.limit.citation, guide, basis, phrase(when))


def _frozen_holding() -> Iterator[Option]:
    yield Option(
        text=phrase("Move it to a unit that freezes."),
        citation="3-501.11",
        when=phrase("it is hard all through"),
    )
    yield Option(
        text=phrase("Hold it cold as thawed food; its date mark goes on from today."),
        citation="3-501.13(A), 3-501.17",
        when=phrase("no part of it is above 41 °F (5 °C)"),
    )
    yield _discard("3-501.16(A)(2)", when=phrase("a part of it is warmer"))


def _cooking(finding: Finding, last: Reading | None) -> Iterator[Option]:
    cited = finding.limit.citation
    if finding.limit.name == "oven":
        yield Option(
            text=phrase("Set the oven right, and let a manager decide about the roast."),
            citation=cited,
        )
    elif finding.limit.name == "initial-heating":
        yield Option(
            text=phrase("Cook it to its full temperature now, without a break."),
            citation="3-401.11",
            when=phrase("it has not been cooled or left to stand"),
        )
        yield _discard(cited, when=phrase("it has been cooled or left to stand"))
    else:
        if last is None or last.step is Step.COOK:
            yield _heat_on(finding)
        yield _discard(cited, when=phrase("it has left the heat for holding, cooling or service"))


def _at_the_ends(finding: Finding) -> Iterator[Option]:
    """Propose at the door and after the last day."""
    if finding.limit.name.startswith("receiving-"):
        yield Option(text=phrase(_REJECT), citation=finding.limit.citation)
    elif finding.reason is Reason.PAST_ITS_DAY:
        yield _discard("3-501.18(A)", "Food Code 3-501.18", phrase(FROM_MEMORY))


def _time_control(finding: Finding) -> Iterator[Option]:
    if finding.crossing and finding.crossing.latest:
        yield Option(
            text=phrase("Write down who was served and what is changed; a manager decides."),
            citation=phrase(_PRINCIPLE_5),
        )
    else:
        yield _discard("3-501.19(B), (C)", finding.limit.source, finding.limit.basis_in_words)


def _heat_on(finding: Finding) -> Option:
    text = finding.limit.text
    heat_on = phrase("Go on heating: {text}", text=f"{text[:1].lower()}{text[1:]}")
    return _as_limit(finding, heat_on)


def _as_limit(finding: Finding, text: str) -> Option:
    limit = finding.limit
    return Option(
        text=text,
        citation=limit.citation,
        source=limit.source,
        basis=limit.basis_in_words,
        until=finding.due,
    )


def _discard(citation: str, source: str = "", basis: str = "", when: str = "") -> Option:
    return Option(
        text=phrase(_DISCARD),
        citation=citation,
        source=source,
        basis=basis or phrase(PRACTICE),
        when=when,
    )
