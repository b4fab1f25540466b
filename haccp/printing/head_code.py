"""The record's head as a code that can be scanned."""

import io

import segno


def scannable(head: tuple[int, str]) -> bytes:
    """Draw the last entry's number and digest as a QR code; gives an SVG without other text."""
    seq, digest = head
    out = io.BytesIO()
    segno.make(f"haccp {seq} {digest}", error="m", micro=False).save(
        out, kind="svg", border=2, xmldecl=False, svgns=True
    )
    return out.getvalue()
