"""Sites with elevation, time zone and pressure source, the stations of each and what they need at least."""

from collections.abc import Callable

from registry.quantity import Length
from registry.records.places import SiteSet, StationSet
from registry.services import places, working_set
from registry.services.lookup import Fact
from registry.services.words import notices as words
from registry.wording import format
from ui.desk import Desk
from ui.flow import Flow
from ui.forms import Field
from ui.parts import MAIN, Button, Words, on_press, row
from ui.setup import questions, smallest
from ui.setup.calendar_file import CalendarFile
from ui.setup.country import likely_zone, zones_of
from ui.setup.inline import Inline, Values
from ui.setup.part import Part


class SitesPart(Part):
    name = "sites"
    roles = ("officer",)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.doing = ""  # add, change, station or smallest; empty where the list is shown
        self.at: Fact[SiteSet] | None = None
        self._new_id = ""
        self.file = CalendarFile(desk, self)

    def fill(self) -> None:
        with self.desk.session.reading() as connection:
            self._sites = places.sites(connection)
            self._stations = places.stations(connection)
            short = {one.subject: working_set.too_few(connection, one.subject) for one in self._sites}
        language = self.desk.language
        self._short = {
            one.subject: [words.too_few(few, one.payload.name, language) for few in short[one.subject]]
            for one in self._sites
        }
        if self.doing:
            self._fill_form()
            return
        for site in self._sites:
            self._fill_site(site)
        if self.may_change:
            self.add = Button(self.look, self.say("setup.add_site"))
            on_press(self.add, lambda: self.begin("add"))
            self.put(8, row(self.add, None))

    def _fill_site(self, site: Fact[SiteSet]) -> None:
        of = site.payload
        self.head("setup.site_head", name=of.name, letters=of.letters)
        self.facts(
            [
                ("setup.zone", of.zone.replace("_", " ")),
                ("setup.elevation", format.typed(Length.from_text(of.elevation), self.desk.region)),
                ("setup.pressure_source", self.say(f"pressure_source.{of.pressure_source}")),
                ("setup.address", of.address or self.say("setup.no_address")),
                ("setup.stations", self._station_names(site)),
                ("setup.smallest", smallest.sentence(self.desk, self._stations_of(site))),
            ]
        )
        for few in self._short[site.subject]:
            self.put(Words(self.look, few, 15, bold=True, colour="caution"))
        buttons = []
        if self.may_change:
            buttons.append(self._button("change_site", "change_site_named", of, lambda: self.begin("change", site)))
            buttons.append(self._button("add_station", "add_station_at", of, lambda: self.begin("station", site)))
        if self.may_change and self._stations_of(site):
            buttons.append(self._button("set_smallest", "set_smallest_at", of, lambda: self.begin("smallest", site)))
        buttons.append(self._button("save_calendar", "save_calendar_of", of, lambda: self.file.save(site)))
        self.put(Flow(*buttons, space=8))

    def _button(self, words: str, spoken: str, of: SiteSet, action: Callable[[], object]) -> Button:
        button = Button(self.look, self.say(f"setup.{words}"))
        button.setAccessibleName(self.say(f"setup.{spoken}", name=of.name))
        on_press(button, action)
        return button

    def _stations_of(self, site: Fact[SiteSet]) -> list[Fact[StationSet]]:
        return [one for one in self._stations if one.payload.site == site.subject]

    def _station_names(self, site: Fact[SiteSet]) -> str:
        found = [one.payload.name for one in self._stations_of(site)]
        return ", ".join(found) or self.say("setup.no_stations")

    # --- adding and changing ---------------------------------------------------------------------------------

    def begin(self, what: str, site: Fact[SiteSet] | None = None) -> None:
        """Open the form for one thing; its id is made now, so that pressing twice makes one."""
        self.doing, self.at, self._new_id = what, site, self.desk.session.new_id()
        self.read_again()
        self.form.form.input("name" if what in ("add", "change") else "station").setFocus()

    def leave(self) -> None:
        self.doing, self.at = "", None
        self.read_again()

    def _fill_form(self) -> None:
        of = self.at.payload if self.at else None
        zones = zones_of(self.desk.group.country, [of.zone] if of else [])
        if self.doing == "station" and self.at is not None and of is not None:
            self.head("setup.add_station_at", name=of.name)
            self.facts([("setup.stations", self._station_names(self.at))])
            fields, yes, action = (
                [Field("station", self.say("setup.station_name"))],
                "setup.add_station",
                self._add_station,
            )
        elif self.doing == "smallest" and self.at is not None and of is not None:
            stations = self._stations_of(self.at)
            self.head("setup.set_smallest_at", name=of.name)
            self.words("setup.smallest_why", muted=True)
            self.facts([("setup.smallest_now", smallest.sentence(self.desk, stations))])
            fields, yes, action = smallest.fields(self.desk, stations), "setup.keep", self._set_smallest
        elif of is not None:
            self.head("setup.change_site_named", name=of.name)
            self.words("setup.site_counts_from_now", muted=True)
            fields = questions.site_fields(self.say, zones, "", of)
            fields.append(questions.address_field(self.say, of.address or ""))
            yes, action = "setup.keep", self._change
        else:
            self.head("setup.add_site")
            fields = questions.site_fields(self.say, zones, likely_zone(zones, self.desk.session.clock()))
            fields.append(questions.address_field(self.say))
            yes, action = "setup.add_site", self._add
        self.form = Inline(self.desk, fields, self.say(yes), action, away=self.leave, kind=MAIN)
        self.put(self.form)

    def _add(self, values: Values) -> None:
        places.add_site(self.desk.session, self.desk.actor, questions.read_site(values), site=self._new_id)
        self.doing = ""

    def _change(self, values: Values) -> None:
        assert self.at is not None
        desk, site = self.desk, self.at.subject
        places.change_site(desk.session, desk.actor, site, questions.read_site(values))
        self.doing, self.at = "", None
        if site == desk.site.subject:  # the column names the site one stands at
            with desk.session.reading() as connection:
                desk.site = places.site_named_by_id(connection, site)
            desk.rebuild.emit()

    def _add_station(self, values: Values) -> None:
        assert self.at is not None
        places.add_station(self.desk.session, self.desk.actor, self.at.subject, values["station"], station=self._new_id)
        self.doing, self.at = "", None

    # --- smallest working sets -------------------------------------------------------------------------------

    def _set_smallest(self, values: Values) -> None:
        smallest.record(self.desk, values)
        self.doing, self.at = "", None
