"""What tags are printed on, and how: chosen once on a computer, typed anew where one likes."""

from dataclasses import dataclass
from decimal import Decimal

from registry.documents.designs import SHEETS, Roll, Sheet, stock_named
from registry.quantity import NotAReading, parse_number
from registry.services import settings
from registry.services.problems import Problem, Refused
from registry.store.local import Local

__all__ = [
    "CODES",
    "DPI",
    "TRIM_MOST",
    "Setup",
    "Sheet",
    "check_setup",
    "keep_setup",
    "page_mm",
    "setup_here",
    "sheet",
    "stock_code",
    "typed_setup",
]

DPI = (203, 300, 600)
CODES = ("qr", "datamatrix", "code128")
TRIM_MOST = Decimal(5)  # mm either way; a printer that misses by more is set up wrongly: common practice, no source


@dataclass(frozen=True, slots=True)
class Setup:
    """What it is printed on, and how.

    stock: a sheet's name, or a roll's width x height in mm. start: the first label that is still there on a sheet.
    trim_right, trim_down: mm, by which this printer misses; less than nought is to the left and up.
    """

    stock: str = "50x25"
    dpi: int = 300
    code: str = "qr"
    start: int = 1
    trim_right: Decimal = Decimal(0)
    trim_down: Decimal = Decimal(0)


def sheet(stock: str) -> Sheet | None:
    """The measures of a sheet; None of a roll."""
    return SHEETS.get(stock)


def page_mm(stock: str) -> tuple[float, float]:
    """Width and height of one page, as a printer is fed."""
    from registry.documents.tags import page_size  # late: reportlab

    form = stock_named(stock)
    assert form is not None
    return page_size(form)


def check_setup(setup: Setup) -> None:
    """Refused where nothing can be printed so."""
    problems = []
    form = stock_named(setup.stock)
    if form is None:
        problems.append(Problem("stock", "no_stock", {"value": setup.stock}))
    if setup.dpi not in DPI:
        problems.append(Problem("dpi", "choose", {"value": str(setup.dpi), "choices": ", ".join(map(str, DPI))}))
    if setup.code not in CODES:
        problems.append(Problem("code", "choose", {"value": setup.code, "choices": ", ".join(CODES)}))
    if isinstance(form, Sheet) and not 1 <= setup.start <= form.labels:
        problems.append(Problem("start", "no_such_label", {"value": str(setup.start), "most": str(form.labels)}))
    if isinstance(form, Roll) and setup.start != 1:
        problems.append(Problem("start", "roll_has_no_start"))
    for name, trim in (("trim_right", setup.trim_right), ("trim_down", setup.trim_down)):
        if abs(trim) > TRIM_MOST:
            problems.append(Problem(name, "trim_too_far", {"value": str(trim), "most": str(TRIM_MOST)}))
    if problems:
        raise Refused(*problems)


def typed_setup(
    stock: str, dots: str, code: str, start: str = "1", trim_right: str = "0", trim_down: str = "0"
) -> Setup:
    """As it was typed; every field that is wrong has its problem."""
    problems: list[Problem] = []

    def number(field: str, text: str) -> Decimal:
        try:
            return parse_number(text)
        except NotAReading as problem:
            problems.append(Problem(field, problem.code, {"value": text}))
            return Decimal(0)

    def whole(field: str, text: str) -> int:
        found = number(field, text)
        if found != int(found):
            problems.append(Problem(field, "not_a_number", {"value": text}))
        return int(found)

    first, dpi = whole("start", start), whole("dpi", dots)
    right, down = number("trim_right", trim_right), number("trim_down", trim_down)
    found = Setup(stock.strip().lower().replace(",", "."), dpi, code, first, right, down)
    wrong = {one.field for one in problems}
    try:
        check_setup(found)
    except Refused as refused:
        problems += [one for one in refused.problems if one.field not in wrong]
    if problems:
        raise Refused(*problems)
    return found


def setup_here(local: Local) -> Setup:
    """As it was chosen on this computer; a sheet begins at its first label."""
    label = settings.setting(local, "label")
    if label == settings.OWN_ROLL:
        label = "x".join(f"{settings.figure(local, name).normalize():f}" for name in ("roll_width", "roll_height"))
    return Setup(
        label,
        int(settings.setting(local, "dots")),
        settings.setting(local, "code"),
        1,
        settings.figure(local, "trim_right"),
        settings.figure(local, "trim_down"),
    )


def keep_setup(local: Local, setup: Setup) -> None:
    """For the next time: all but the label that a sheet begins at."""
    check_setup(setup)
    known = setup.stock in settings.SETTINGS["label"].choices
    if not known:
        width, height = setup.stock.split("x")
        settings.keep_figure(local, "roll_width", Decimal(width))
        settings.keep_figure(local, "roll_height", Decimal(height))
    settings.choose(local, "label", setup.stock if known else settings.OWN_ROLL)
    settings.choose(local, "dots", str(setup.dpi))
    settings.choose(local, "code", setup.code)
    settings.keep_figure(local, "trim_right", setup.trim_right)
    settings.keep_figure(local, "trim_down", setup.trim_down)


def stock_code(stock: str) -> str:
    """Labels as the record names them: 38.1x21.2 mm is label_38_1x21_2."""
    return f"{'sheet' if stock in SHEETS else 'label'}_{stock}".replace(".", "_")
