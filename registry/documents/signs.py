"""Signs drawn in ink: outcomes on certificates, service status on tags, marks in plots.

Outcomes: round is inside, pointed is outside and points the way it is off; full is sure, half is not surely.
Service status: the more ink, the less use. Silhouette, amount of ink and the word beside each suffice.
"""

from registry.documents.page import INK, WHITE, Page


def outcome(page: Page, x: float, y: float, radius: float, code: str, reads_high: bool) -> None:
    """The mark of an outcome around the centre (x, y)."""
    if code == "pass":
        page.circle(x, y, radius)
    elif code in ("conditional_pass", "not_accepted"):
        page.circle(x, y, radius - 0.6, WHITE, weight=1.2)
        page.arc(x, y, radius, 90, 180)
    elif code in ("conditional_fail", "fail"):
        _triangle(page, x, y, radius, reads_high, half=code == "conditional_fail")
    elif code == "cannot_decide":
        for start in range(0, 360, 60):
            page.arc(x, y, radius - 0.6, start + 10, 40, weight=1.4)
    else:
        raise ValueError(f"no sign for the outcome {code!r}")


def _triangle(page: Page, x: float, y: float, radius: float, up: bool, half: bool) -> None:
    turn = 1 if up else -1
    tip, base = y - turn * radius, y + turn * radius * 0.8
    left, right, middle = (x - radius, base), (x + radius, base), (x, tip)
    if half:
        page.shape([left, middle, right], fill=WHITE, weight=1.2)
        page.shape([left, middle, (x, base)])
    else:
        page.shape([left, middle, right])


def plot_mark(page: Page, x: float, y: float, point: str, filled: bool, radius: float = 3.2) -> None:
    """Filled as found, open as left; disc ice, diamond boiling, square comparison."""
    fill = INK if filled else WHITE
    if point == "ice_point":
        page.circle(x, y, radius, fill, weight=1.3)
    elif point == "boiling_point":
        reach = radius * 1.35
        page.shape([(x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y)], fill, weight=1.3)
    else:
        page.shape(_square(x, y, radius * 0.9), fill, weight=1.3)


def use(page: Page, x: float, y: float, radius: float) -> None:
    """An open ring with a tick."""
    page.circle(x, y, radius * 0.9, WHITE, weight=radius * 0.18)
    tick = [
        (x - radius * 0.4, y),
        (x - radius * 0.1, y + radius * 0.32),
        (x + radius * 0.42, y - radius * 0.34),
    ]
    page.stroke(tick, radius * 0.2)


def limited_use(page: Page, x: float, y: float, radius: float) -> None:
    """An upright square, its left half solid, on stripes."""
    _stripes(page, x - radius, y - radius, 2 * radius)
    side, edge = radius * 0.56, radius * 0.76
    page.rect(x - edge, y - edge, 2 * edge, 2 * edge, WHITE)
    page.shape(_square(x, y, side), None, radius * 0.13)
    page.rect(x - side, y - side, side, 2 * side)


def _stripes(page: Page, x: float, y: float, side: float) -> None:
    """Slanting bars cut off at the edges of a square."""
    step = side / 7
    for number in range(0, 14, 2):
        near, far = number * step, (number + 1) * step
        page.shape(
            [
                (x + min(near, side), y + max(0.0, near - side)),
                (x + min(far, side), y + max(0.0, far - side)),
                *([(x + side, y)] if near < side < far else []),
                (x + max(0.0, far - side), y + min(far, side)),
                *([(x, y + side)] if near < side < far else []),
                (x + max(0.0, near - side), y + min(near, side)),
            ]
        )


def do_not_use(page: Page, x: float, y: float, radius: float) -> None:
    """A solid square with a white cross; the white edge keeps it a square on a black field."""
    page.shape(_square(x, y, radius), INK, weight=radius * 0.14, line=WHITE)
    arm = radius * 0.5
    page.stroke([(x - arm, y - arm), (x + arm, y + arm)], radius * 0.28, WHITE)
    page.stroke([(x - arm, y + arm), (x + arm, y - arm)], radius * 0.28, WHITE)


def _square(x: float, y: float, half: float) -> list[tuple[float, float]]:
    return [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
