"""The record: whose it is, which installations wrote in it, where it lies, how large it is, the version."""

from registry.services import set_up
from registry.services.session import DATABASE_NAME
from registry.services.start import PROGRAM
from registry.wording import format
from ui.forms import Field
from ui.setup.inline import Inline, Values
from ui.setup.part import Part


class RecordPart(Part):
    name = "record"

    def fill(self) -> None:
        desk, session = self.desk, self.desk.session
        with session.reading() as connection:
            found = set_up.installations(session, connection)
        self.words("setup.demo_record" if session.demo else "setup.real_record", 17)
        size = set_up.size_of(session)
        self.facts(
            [
                ("setup.group", desk.group.name),
                ("setup.file", str(session.home / DATABASE_NAME) if session.home else self.say("setup.on_a_server")),
                ("setup.size", self._size(size) if size else self.say("setup.on_a_server")),
                ("setup.entries", format.number(sum(one.entries for one in found), desk.region)),
                ("setup.version", PROGRAM.rpartition(" ")[2]),
            ]
        )
        if desk.may("officer"):
            self.head("setup.group_named")
            self.words("setup.group_from_now", muted=True)
            field = Field("group_name", self.say("setup.group_name"), value=desk.group.name)
            self.group = Inline(desk, [field], self.say("setup.rename_group"), self._rename)
            self.put(self.group)
        self.head("setup.installations")
        self.words("setup.about.record", muted=True)
        rows = [
            (
                one.code,
                one.name,
                desk.instant(one.since),
                format.number(one.entries, desk.region),
                self.say("setup.this_computer" if one.own else "setup.earlier_or_other"),
            )
            for one in found
        ]
        self.table(("setup.chain_code", "setup.name", "setup.begun", "setup.entries", ""), rows, (0, 3, 3, 0, 2))

    def _rename(self, values: Values) -> None:
        desk = self.desk
        set_up.rename_group(desk.session, desk.actor, values["group_name"])
        with desk.session.reading() as connection:
            desk.group = desk.session.group(connection).payload

    def _size(self, size: int) -> str:
        megabytes = format.number(max(1, round(size / 1_000_000)), self.desk.region)
        return self.say("setup.megabytes", size=megabytes)
