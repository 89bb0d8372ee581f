"""Nothing is clipped: at each text size, in both languages, every word has the room that it needs, and a finger too."""

import pytest

from tests.screenshots.stage import Stage, Variant
from tests.ui import looking
from tests.ui.looking import BY_NAME, FEW, Players
from ui import theme

pytestmark = [pytest.mark.usefixtures("qapp"), looking.no_screen]

WIDE, SMALL = (1280, 800), (1024, 600)
# Body text of 11 and 22 points, in both languages, in both window classes.
EVERY = (
    Variant(WIDE),
    Variant(SMALL, "es"),
    Variant(WIDE, "es", zoom=200),
    Variant(SMALL, zoom=200),
)
QUICK = (Variant(SMALL, "es"), Variant(WIDE, "es", zoom=200))  # Spanish words are the longer


def _cases() -> list[object]:
    found = [(name, variant) for name in BY_NAME for variant in EVERY]
    return [
        pytest.param(
            name,
            variant,
            id=f"{name}-{variant.name()}",
            marks=() if name in FEW and variant == QUICK[FEW.index(name) % 2] else pytest.mark.slow,
        )
        for name, variant in found
    ]


@pytest.fixture(scope="module")
def players(tmp_path_factory: pytest.TempPathFactory) -> Players:
    return Players(tmp_path_factory.getbasetemp() / "scenes")


@pytest.mark.parametrize(("name", "variant"), _cases())
def test_words_and_fingers_have_room(name: str, variant: Variant, players: Players) -> None:
    with players.play(name, variant) as stage:
        assert [*cut(stage), *narrow(stage, BY_NAME[name].place)] == []


def cut(stage: Stage) -> list[str]:
    """What is clipped, by path; without what may be, for the reason that stands beside it."""
    found = [one for root in looking.windows(stage.frame) for one in looking.clipped(root)]
    return [one for one in found if not any(known in one for known in MAY_BE_CUT)]


def narrow(stage: Stage, place: str) -> list[str]:
    """What is too small to be pressed: on Start of shift hands are wet."""
    least = theme.TOUCH if place == "shift" else theme.DESK
    return [one for root in looking.windows(stage.frame) for one in looking.too_small(root, least)]


MAY_BE_CUT = (
    # A long list in a narrow field; its whole words stand beneath it (`MakeBath._tell_how`), and in the open list.
    "MakeBath > BathForm",
)


def test_what_is_clipped_is_found(players: Players) -> None:
    """The looking itself: a label, a button and a field made too small are told of, by where they stand."""
    with players.play("shift_no_bath") as stage:
        stage.frame.column.find_field.setFixedWidth(40)
        stage.frame.column.places["drift"].setFixedSize(20, 30)
        stage.frame.findChild(looking.QLabel).setMaximumHeight(8)
        found = cut(stage)
        assert any("Find a tag id: its hint is" in one for one in found)
        assert any("> Drift: its text is" in one for one in found)
        assert any("px too high" in one for one in found)
        assert any("> Drift: 20 x 30" in one for one in narrow(stage, "shift"))
