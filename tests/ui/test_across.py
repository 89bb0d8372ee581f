"""Nothing has to be scrolled sideways: at twice the text in the smallest window all that is read lies in its width."""

import pytest
from PySide6.QtWidgets import QAbstractScrollArea

from tests.screenshots.stage import Stage, Variant
from tests.ui import looking
from tests.ui.looking import BY_NAME, Players

pytestmark = [pytest.mark.usefixtures("qapp"), looking.no_screen]

SMALL = (1024, 600)
VARIANTS = (Variant(SMALL, "en", zoom=200), Variant(SMALL, "es", zoom=200), Variant(SMALL, "es"))
QUICK = ("happened_sheet", "drift_by_model", "proof_log", "setup_rules")
PLACES = ("happened", "drift", "proof", "setup", "frame")


def _cases() -> list[object]:
    return [
        pytest.param(
            name,
            variant,
            id=f"{name}-{variant.name()}",
            marks=() if name in QUICK and variant == VARIANTS[1] else pytest.mark.slow,
        )
        for name, scene in BY_NAME.items()
        for variant in VARIANTS
        if scene.place in PLACES
    ]


@pytest.fixture(scope="module")
def players(tmp_path_factory: pytest.TempPathFactory) -> Players:
    return Players(tmp_path_factory.getbasetemp() / "scenes")


@pytest.mark.parametrize(("name", "variant"), _cases())
def test_nothing_is_scrolled_sideways(name: str, variant: Variant, players: Players) -> None:
    with players.play(name, variant) as stage:
        assert wide(stage) == []


def test_nor_is_the_ranking_in_the_usual_window_in_the_longer_language(players: Players) -> None:
    with players.play("drift_normal", Variant((1280, 800), "es")) as stage:
        assert wide(stage) == []


def wide(stage: Stage) -> list[str]:
    """What has to be scrolled across, by path."""
    return [
        f"{looking.path(area)}: {area.horizontalScrollBar().maximum()} px too wide"
        for root in looking.windows(stage.frame)
        for area in root.findChildren(QAbstractScrollArea)
        if area.isVisible() and area.horizontalScrollBar().maximum() > 0
    ]


def test_what_is_too_wide_is_found(players: Players) -> None:
    with players.play("drift_normal") as stage:
        stage.frame.page._inner.setMinimumWidth(3000)  # type: ignore[union-attr]
        assert any("px too wide" in one for one in wide(stage))
