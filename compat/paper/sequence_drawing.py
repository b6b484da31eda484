"""A bolt pattern with the order of tightening, as a drawing: a few lines of SVG, black on white."""

from __future__ import annotations

from compat.bench.tightening import Pattern

__all__ = ["drawing", "told_in_order"]

STEP, ROUND, EDGE = 34.0, 11.5, 26.0
"""From one fastener to the next, radius of its circle, and what is left round all of them; in pixels."""
BAND = 54.0
"""Between the rows of a grid or the sides of a rail."""
FONT = 'font-family="sans-serif" text-anchor="middle" fill="#000"'
ARROW = 40.0


def drawing(pattern: Pattern) -> bytes:
    """Draw a pattern with the number of each fastener in the order of tightening.

    Parameters
    ----------
    pattern : Pattern
        The pattern; the front of the engine is at the left, a circle is seen from where its bolts go in.

    Returns
    -------
    bytes
        SVG. It is readable without colour.
    """
    circle = pattern.layout == "circle"
    if circle:
        across = max(STEP * len(pattern.places) / 6.3, 2.2 * ROUND)
        spots = [(x * across, y * across) for x, y in pattern.places]
    else:
        # two at an end want room between the sides
        crowded = pattern.layout == "rail" and sum(x == max(pattern.places)[0] for x, _ in pattern.places) > 1
        spots = [(x * STEP, y * BAND * (1.7 if crowded else 1.0)) for x, y in pattern.places]
    left, top = min(x for x, _ in spots), min(y for _, y in spots)
    room = 0.0 if circle else ARROW
    spots = [(x - left + EDGE + room, y - top + EDGE) for x, y in spots]
    width = max(x for x, _ in spots) + EDGE
    height = max(y for _, y in spots) + EDGE
    lines = [*_outline(pattern, spots, width, height, room)]
    for number, (x, y) in enumerate(spots, 1):
        lines.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{ROUND}" fill="#fff" stroke="#000" stroke-width="1.4"/>'
        )
        lines.append(
            f'<text x="{x:.1f}" y="{y + 4.2:.1f}" font-size="12" font-weight="bold" {FONT}>{number}</text>'
        )
    if not circle:
        middle = height / 2
        tip, tail = 8.0, ARROW - 6
        lines.append(
            f'<path d="M{tail:.1f} {middle:.1f} H{tip:.1f} m7 -4.5 l-7 4.5 l7 4.5" fill="none" stroke="#000"'
            ' stroke-width="1.4"/>'
        )
        lines.append(
            f'<text x="{(tip + tail) / 2:.1f}" y="{middle - 9:.1f}" font-size="10" {FONT}>front</text>'
        )
    body = "\n".join(lines)
    size = f'width="{width:.0f}" height="{height:.0f}" viewBox="0 0 {width:.0f} {height:.0f}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>\n{body}\n</svg>\n'.encode()


def _outline(
    pattern: Pattern, spots: list[tuple[float, float]], width: float, height: float, room: float
) -> list[str]:
    """What the fasteners hold, lightly drawn."""
    style = 'fill="none" stroke="#777" stroke-width="1"'
    if pattern.layout == "circle":
        x, y = width / 2, height / 2
        across = max(abs(spots[0][0] - x), abs(spots[0][1] - y))
        return [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{across:.1f}" {style} stroke-dasharray="4 3"/>']
    gap = 6.0 if pattern.layout == "grid" else EDGE - 3.0
    x, y = room + (gap if pattern.layout == "grid" else EDGE), gap
    return [
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{width - x - (gap if pattern.layout == "grid" else EDGE):.1f}" '
        f'height="{height - 2 * y:.1f}" rx="9" {style}/>'
    ]


def told_in_order(pattern: Pattern) -> str:
    """The same in words, for one who cannot see it."""
    if pattern.layout == "circle":
        return f"{len(pattern.places)} fasteners on a circle, tightened crosswise in the numbered order"
    rows = sorted({across for _, across in pattern.places})
    first = ", ".join(
        f"{number} in place {along:g} from the front"
        + (f" of row {rows.index(across) + 1}" if len(rows) > 1 and pattern.layout == "grid" else "")
        for number, (along, across) in enumerate(pattern.places[:4], 1)
    )
    along = f" along the {pattern.along}" if pattern.along else ""
    many = len(pattern.places)
    return f"{many} fasteners{along}, tightened from the middle outward: {first}, and so on as numbered"
