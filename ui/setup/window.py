"""Settings of this computer: each row built from its declaration, each choice taken at once."""

from PySide6.QtWidgets import QComboBox

from registry.services.settings import SETTINGS, Setting
from ui.desk import Desk
from ui.forms import CHOICE, FEW, Field, Form
from ui.parts import Choice
from ui.setup import quiet
from ui.setup.inline import WIDEST
from ui.setup.logo import LogoShown
from ui.setup.part import Part

OF_PAPER = ("paper", "label", "dots", "code")
LONGEST_ROW = 46  # letters; a longer row of choices becomes a list


class WindowPart(Part):
    """How this window looks and speaks."""

    name = "window"
    settings: tuple[str, ...] = tuple(name for name in SETTINGS if name not in OF_PAPER)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._changed = ""

    def fill(self) -> None:
        self.words(f"setup.about.{self.name}", muted=True)
        self.form = Form(self.look, [self._field(SETTINGS[name]) for name in self.settings])
        self.form.setMaximumWidth(self.look.text(WIDEST))
        self.form.changed.connect(self._chosen)
        self.put(self.form)
        self.fill_more()

    def fill_more(self) -> None:
        self.head("setup.quiet")
        self.words("setup.quiet_why", muted=True)
        self.quiet = quiet.asked(self.desk)
        self.put(self.quiet)

    def _field(self, of: Setting) -> Field:
        choices = tuple((one, self.say(f"setting.{of.name}_{one}")) for one in of.choices)
        long = sum(len(words) for _, words in choices) * self.look.zoom > LONGEST_ROW * 1.5
        return Field(
            of.name, self.say(f"setting.{of.name}"), CHOICE if long else FEW, self.desk.setting(of.name), choices
        )

    def _chosen(self) -> None:
        """One was changed: the window is drawn anew in it, and this page with it."""
        for name, value in self.form.values().items():
            if value != self.desk.setting(name):
                self._changed = name
                self.desk.choose(name, value)
                return

    def focus_name(self) -> str:
        return self._changed

    def take_focus(self, name: str) -> None:
        made = self.form.input(name)
        if isinstance(made, Choice):
            made.button(made.value).setFocus()
        elif isinstance(made, QComboBox):
            made.setFocus()


class PaperPart(WindowPart):
    """Paper and labels that this computer prints on."""

    name = "paper"
    settings = OF_PAPER

    def fill_more(self) -> None:
        self.head("setup.logo")
        self.logo = LogoShown(self.desk)
        self.put(self.logo)
