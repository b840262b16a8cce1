"""The pairing address as a picture that a phone's camera reads."""

import io


def as_svg(text: str) -> str:
    """The code as SVG for the page, black on white with its border, 5 px a module on a phone."""
    import segno  # late: 11 MB that only the person who pairs a phone needs

    return str(segno.make(text, error="m").svg_inline(scale=5, border=4, light="#fff", dark="#000", svgclass="qr"))


def for_a_label(text: str) -> str:
    """The code as SVG for a printed label: highest correction, four modules of border, sized by the style sheet."""
    import segno

    code = segno.make(text, error="h", boost_error=False, micro=False)
    return str(code.svg_inline(border=4, light="#fff", dark="#000", svgclass="qr", omitsize=True))


def as_text(text: str) -> str:
    """The code in half blocks for a terminal."""
    import segno

    out = io.StringIO()
    segno.make(text, error="l").terminal(out, border=2, compact=True)
    return out.getvalue().rstrip("\n")
