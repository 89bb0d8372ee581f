"""The layout that goes on in the next line: as wide as words, in the middle of a line, of one width, filling."""

import pytest
from PySide6.QtCore import QRect, QSize
from PySide6.QtWidgets import QWidget

from tests.ui import looking
from tests.ui.painting import LIGHT
from ui.flow import Flow
from ui.parts import Choice

pytestmark = [pytest.mark.usefixtures("qapp"), looking.no_screen]


class Block(QWidget):
    def __init__(self, wide: int, high: int) -> None:
        super().__init__()
        self._size = QSize(wide, high)

    def sizeHint(self) -> QSize:
        return self._size

    minimumSizeHint = sizeHint


def laid(flow: Flow, width: int) -> QWidget:
    holder = QWidget()
    holder.setLayout(flow)
    holder.resize(width, 400)
    holder.show()
    return holder


def test_a_full_line_goes_on_in_the_next() -> None:
    blocks = [Block(60, 20) for _ in range(3)]
    flow = Flow(*blocks, space=10, down=4)
    holder = laid(flow, 130)
    assert holder.layout() is flow
    assert [one.geometry() for one in blocks] == [QRect(0, 0, 60, 20), QRect(70, 0, 60, 20), QRect(0, 24, 60, 20)]
    assert (flow.heightForWidth(130), flow.heightForWidth(129), flow.heightForWidth(200)) == (44, 68, 20)


def test_lower_ones_stand_at_the_top_or_in_the_middle_of_their_line() -> None:
    for middle, top in ((False, 0), (True, 15)):
        low, high = Block(40, 10), Block(40, 40)
        holder = laid(Flow(low, high, middle=middle), 100)
        assert holder.layout().count() == 2
        assert (low.y(), high.y()) == (top, 0)


def test_what_is_hidden_takes_no_room() -> None:
    blocks = [Block(60, 20) for _ in range(3)]
    holder = laid(Flow(*blocks, space=10), 130)
    blocks[0].hide()
    assert holder.layout().heightForWidth(130) == 20
    assert Flow().heightForWidth(100) == 0


def test_filling_shares_the_width_and_breaks_into_lines_of_like_length() -> None:
    blocks = [Block(50, 20) for _ in range(4)]
    flow = Flow(*blocks, space=0, fill=True)
    holder = laid(flow, 400)
    assert [one.x() for one in blocks] == [0, 100, 200, 300]
    assert flow.sizeHint().width() == 200
    assert flow.minimumSize().width() == 50
    holder.resize(199, 400)  # not three and one
    assert [(one.x(), one.y()) for one in blocks] == [(0, 0), (99, 0), (0, 20), (99, 20)]
    holder.resize(60, 400)
    assert [one.y() for one in blocks] == [0, 20, 40, 60]


def test_unlike_ones_keep_the_room_of_their_words() -> None:
    blocks = [Block(wide, 20) for wide in (30, 120, 30)]
    holder = laid(Flow(*blocks, space=0, fill=True), 210)
    assert holder.width() == 210
    assert [one.width() for one in blocks] == [40, 130, 40]


def test_a_choice_that_breaks_is_as_high_as_its_lines() -> None:
    words = [(code, "Of some length") for code in "abcd"]
    holder = QWidget()
    choice = Choice(LIGHT, words, "a", "Which", breaks=True)
    choice.setParent(holder)
    holder.show()
    whole = choice.sizeHint().width()
    choice.resize(whole, 44)
    assert choice.height() == 44
    choice.resize(whole // 2 + 8, 44)
    assert choice.height() == 88
    assert [choice.button(code).y() for code in "abcd"] == [0, 0, 44, 44]
    assert choice.minimumSizeHint().width() < whole / 3
