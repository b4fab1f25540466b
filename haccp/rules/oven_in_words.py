"""The sentences about a whole roast's oven: what is asked of it, and what may be done."""

from haccp.language import phrase
from haccp.phrases import with_article
from haccp.rules.asked import ShowMoment, degree_of, target
from haccp.rules.evidence import Finding


def is_oven(finding: Finding) -> bool:
    return finding.limit.name == "oven"


def no_oven(finding: Finding, clock: ShowMoment) -> str:
    asked = target(finding.limit, degree_of(finding))
    if finding.readings:
        told = phrase(
            "No reading from {since} on says what the oven showed; it must be {target}. "
            "Log the oven with the roast.",
            since=with_article(clock(finding.readings[0].at)),
            target=asked,
        )
    else:
        told = phrase(
            "No reading says what the oven showed; it must be {target}. "
            "Log the oven with the roast.",
            target=asked,
        )
    return f"{told} {about_ovens(finding)}".strip()


def about_ovens(finding: Finding) -> str:
    """Say what a roast's oven is asked, and what may be done where a smoker's is cooler."""
    if not finding.beside:
        return ""
    limit, degree = finding.limit, degree_of(finding)
    method, by_weight, _ = limit.kind.partition(", ")
    rows = {one.kind: target(one, degree) for one in finding.beside}
    dry = [
        phrase("{oven} {asked}", oven=kind.removeprefix(f"{method}, "), asked=asked)
        for kind, asked in rows.items()
        if ", " in kind and (kind.startswith(f"{method}, ") or not by_weight)
    ]
    told = [
        phrase("{oven} is another row, {asked}.", oven=f"{kind[0].upper()}{kind[1:]}", asked=asked)
        for kind, asked in rows.items()
        if kind not in ("", limit.kind) and ", " not in kind
    ]
    if dry:
        by_its_weight = phrase(
            "{citation} asks of dry heat by the roast's weight: {rows}.",
            citation=limit.citation,
            rows="; ".join(dry),
        )
        told.insert(0, by_its_weight)
    letter = phrase(
        "Where the local authority accepts this oven in writing, a manager records the letter "
        "(haccp oven), and of roasts opened from then on the core alone decides."
    )
    return " ".join([*told, letter])
