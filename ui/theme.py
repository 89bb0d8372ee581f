"""How everything looks: colours by what they mean, type, spaces, and the style sheet of Qt's own controls.

Ink is what the program states; pen is what a person writes or wrote, and nothing else. Sizes are at 100 %; text
grows with `zoom`, spaces between things do not.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QPalette

FAMILY = "Atkinson Hyperlegible"
# Smallest height of what is pressed: on Start of shift, and elsewhere.
TOUCH, DESK = 48, 44
ROW, ROW_UNDER_BAND, ROW_CURRENT_SMALL, ROW_OPENED, ROW_TABLE = 54, 53, 84, 122, 50
PLACE, PAD_KEY, RECORD = 52, 86, 76
COLUMN, COLUMN_SMALL, BATH, PAD = 192, 140, 264, 252
MARGIN = 24
MEASURE = 800  # the longest line that reads well, at 100 % text
# Below this width, at 100 % text, a window takes the small layout.
SMALL_BELOW = 1160

_LIGHT = {
    "sheet": "#F9FAF6", "field": "#FFFFFF", "col": "#E2E8DF", "wash": "#EFF2EB", "ink": "#17211F", "muted": "#54615C",
    "pen": "#4A3A8F", "pentint": "#EFECF9", "penink": "#FFFFFF", "within": "#00675C", "outside": "#B0330A",
    "caution": "#8A5A00", "cautint": "#FAF0D8", "edge": "#76857E", "line": "#D3DBD1", "tol": "#E4EBE4",
    "level": "#C6D5C9", "bench": "#17211F", "ice": "#FDFEFE", "water": "#B4CCD1", "facet": "#9FB8BC",
}  # fmt: skip
_DARK = {
    "sheet": "#182120", "field": "#121A19", "col": "#101716", "wash": "#1F2A28", "ink": "#E7EDE9", "muted": "#A3B2AC",
    "pen": "#B9AAFF", "pentint": "#272541", "penink": "#17142B", "within": "#5FD0BC", "outside": "#FF8A5E",
    "caution": "#E9B44C", "cautint": "#322A16", "edge": "#6F807A", "line": "#2F3C39", "tol": "#253431",
    "level": "#3D524D", "bench": "#8FA09A", "ice": "#2B3F42", "water": "#16282C", "facet": "#5B777A",
}  # fmt: skip


@dataclass(frozen=True)
class Look:
    """Colours by meaning, and how large text is. Painters and widgets are handed one."""

    dark: bool
    zoom: float
    sheet: QColor  # ground of the main area
    field: QColor  # where one writes; buttons
    col: QColor  # left column, number pad
    wash: QColor  # below the bench
    ink: QColor
    muted: QColor  # labels, units, last time; never on level
    pen: QColor  # what a person writes
    pentint: QColor  # the current row only
    penink: QColor  # text on pen
    within: QColor  # pass, conditional pass
    outside: QColor  # fail, conditional fail, may fail
    caution: QColor  # bath in doubt, check first, incidents; never an outcome
    cautint: QColor
    edge: QColor  # outlines of controls
    line: QColor  # separators, never the sole outline
    tol: QColor  # the tolerance band
    level: QColor  # share done; only ink text on it
    bench: QColor
    ice: QColor
    water: QColor
    facet: QColor

    def font(self, size: float, *, bold: bool = False) -> QFont:
        """The program's face, `size` px at 100 %."""
        font = QFont(FAMILY)
        font.setPixelSize(self.text(size))
        font.setBold(bold)
        font.setFeature(QFont.Tag("tnum"), 1)
        return font

    @property
    def narrow(self) -> bool:
        """Whether text is so large that what stands side by side elsewhere is stacked."""
        return self.zoom > 1.5

    def text(self, size: float) -> int:
        """A length that grows with the text: a type size, a drawing beside words."""
        return round(size * self.zoom)


@cache
def look(*, dark: bool = False, zoom: float = 1.0) -> Look:
    return Look(dark, zoom, **{name: QColor(value) for name, value in (_DARK if dark else _LIGHT).items()})


def chosen(setting: Callable[[str], str]) -> Look:
    """As the settings `theme` and `text_size` say."""
    from PySide6.QtCore import Qt  # late: Qt makes all its enums then

    theme = setting("theme")
    by_system = QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark
    return look(dark=theme == "dark" or (theme == "system" and by_system), zoom=int(setting("text_size")) / 100)


def load_fonts() -> None:
    """Make the shipped faces known to Qt, once a process; other scripts fall back to the second."""
    from registry import resources  # late: the first paint needs colours only

    for name in ("AtkinsonHyperlegible-Regular", "AtkinsonHyperlegible-Bold", "NotoSans-Regular"):
        QFontDatabase.addApplicationFont(str(resources.font_path(name)))
    QFont.insertSubstitution(FAMILY, "Noto Sans")


def palette(look: Look) -> QPalette:
    """Qt's own palette in these colours; setting Qt's colour scheme alone changed nothing."""
    made = QPalette()
    role = QPalette.ColorRole
    for name, colour in (
        (role.Window, look.sheet), (role.Base, look.field), (role.AlternateBase, look.wash), (role.Button, look.field),
        (role.WindowText, look.ink), (role.Text, look.ink), (role.ButtonText, look.ink), (role.ToolTipText, look.ink),
        (role.ToolTipBase, look.field), (role.Highlight, look.pen), (role.HighlightedText, look.penink),
        (role.Link, look.pen), (role.LinkVisited, look.pen), (role.PlaceholderText, look.muted),
        (role.Mid, look.edge), (role.Dark, look.edge), (role.Shadow, look.edge), (role.Light, look.line),
        (role.Midlight, look.line),
    ):  # fmt: skip
        made.setColor(name, colour)
    for name in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, name, look.muted)
    return made


def style_sheet(look: Look) -> str:
    """The application's style sheet. A thicker border on focus takes its difference off the padding."""
    colour = {name: getattr(look, name).name() for name in _LIGHT}
    return _QSS.format(**colour, text=look.text(15), small=look.text(14))


_QSS = """
QToolTip {{ background: {field}; color: {ink}; border: 1px solid {edge}; padding: 6px; font-size: {small}px; }}
QLineEdit, QPlainTextEdit, QComboBox, QDateEdit, QTimeEdit {{
    background: {field}; border: 1px solid {edge}; border-bottom: 2px solid {edge}; border-radius: 6px;
    padding: 9px 10px 8px 10px; selection-background-color: {pen}; selection-color: {penink}; color: {pen};
    font-size: {text}px; placeholder-text-color: {muted};
}}
QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus, QDateEdit:focus, QTimeEdit:focus {{
    border: 3px solid {pen}; padding: 7px 8px 7px 8px;
}}
QDateEdit QLineEdit, QTimeEdit QLineEdit, QDateEdit QLineEdit:focus, QTimeEdit QLineEdit:focus {{
    border: none; border-radius: 0; padding: 0 10px; background: transparent; }}
QDateEdit::up-button, QDateEdit::down-button, QTimeEdit::up-button, QTimeEdit::down-button {{
    width: 0; border: none; }}
QLineEdit:read-only {{ color: {ink}; background: {sheet}; }}
QComboBox {{ color: {ink}; }}
QComboBox::drop-down {{ border: none; width: 28px; }}
QComboBox QAbstractItemView {{ background: {field}; color: {ink}; border: 1px solid {edge}; outline: 0;
    selection-background-color: {level}; selection-color: {ink}; }}
QTableView, QTableWidget, QListView {{ background: {sheet}; color: {ink}; border: none; gridline-color: {line};
    selection-background-color: {pentint}; selection-color: {ink}; outline: 0; }}
QHeaderView::section {{ background: {sheet}; color: {muted}; border: none; border-bottom: 1px solid {line};
    padding: 8px 10px; font-size: {small}px; text-align: left; }}
QScrollArea {{ border: none; background: transparent; }}
QAbstractScrollArea::corner {{ background: transparent; border: none; }}
QScrollBar:vertical {{ background: transparent; width: 14px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: 14px; margin: 0; }}
QScrollBar::handle {{ background: {edge}; border-radius: 4px; min-height: 44px; min-width: 44px; margin: 3px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
QProgressBar {{ background: {wash}; border: 1px solid {edge}; border-radius: 0; text-align: center; height: 12px; }}
QProgressBar::chunk {{ background: {ink}; }}
"""
