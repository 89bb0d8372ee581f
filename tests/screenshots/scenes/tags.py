"""Print tags: on sheets and rolls, those wanted and all, with what stands in the way."""

from PySide6.QtWidgets import QComboBox

from registry.services.settings import OWN_ROLL
from tests.screenshots.scenes import Scene
from tests.screenshots.stage import Stage, settle
from ui.tags.about import ALL, About
from ui.tags.page import TagsPage


def _page(stage: Stage, about: About, label: str, start: int = 1) -> TagsPage:
    stage.frame.go("tags", about)
    settle()
    page = stage.frame.page
    assert isinstance(page, TagsPage)
    box = page.how.labels.input("label")
    assert isinstance(box, QComboBox)
    box.setCurrentIndex(box.findData(label))
    if start > 1:
        page.how.sheet.chosen.emit(start)
    settle()
    return page


def tags_wanted(stage: Stage) -> None:
    """On sheets, begun at a part-used one."""
    _page(stage, About(), "a4_63.5x38.1", 5)


def tags_all_of_both_kinds(stage: Stage) -> None:
    _page(stage, About(kind="both", which=ALL), "letter_66.7x25.4", 2)


def tags_own_roll(stage: Stage) -> None:
    _page(stage, About(kind="identity", which=ALL), OWN_ROLL)


def tags_none_wanted(stage: Stage) -> None:
    _page(stage, About(), "50x25")


def tags_too_small(stage: Stage) -> None:
    """Status tags do not fit on the narrowest label."""
    _page(stage, About(which=ALL), "letter_44.4x12.7")


SCENES = (
    Scene(tags_wanted, world="papers", main=True, place="tags"),
    Scene(tags_all_of_both_kinds, world="demo", place="tags"),
    Scene(tags_own_roll, world="papers", place="tags"),
    Scene(tags_none_wanted, world="fresh", place="tags"),
    Scene(tags_too_small, world="papers", place="tags"),
)
