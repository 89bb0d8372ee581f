"""Sites with elevation, time zone and pressure source, and the stations of each."""

from registry.quantity import Length
from registry.records.places import SiteSet
from registry.services import places
from registry.services.lookup import Fact
from registry.wording import format
from ui.desk import Desk
from ui.forms import Field
from ui.parts import MAIN, Button, on_press, row
from ui.setup import questions
from ui.setup.country import likely_zone, zones_of
from ui.setup.inline import Inline, Values
from ui.setup.part import Part


class SitesPart(Part):
    name = "sites"
    roles = ("officer",)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.doing = ""  # add, change or station; empty where the list is shown
        self.at: Fact[SiteSet] | None = None
        self._new_id = ""

    def fill(self) -> None:
        with self.desk.session.reading() as connection:
            self._sites = places.sites(connection)
            self._stations = places.stations(connection)
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
                ("setup.stations", self._station_names(site)),
            ]
        )
        if self.may_change:
            change, station = (
                Button(self.look, self.say("setup.change_site")),
                Button(self.look, self.say("setup.add_station")),
            )
            change.setAccessibleName(self.say("setup.change_site_named", name=of.name))
            station.setAccessibleName(self.say("setup.add_station_at", name=of.name))
            on_press(change, lambda: self.begin("change", site))
            on_press(station, lambda: self.begin("station", site))
            self.put(row(change, station, None))

    def _station_names(self, site: Fact[SiteSet]) -> str:
        found = [one.payload.name for one in self._stations if one.payload.site == site.subject]
        return ", ".join(found) or self.say("setup.no_stations")

    # --- adding and changing ---------------------------------------------------------------------------------

    def begin(self, what: str, site: Fact[SiteSet] | None = None) -> None:
        """Open the form for one thing; its id is made now, so that pressing twice makes one."""
        self.doing, self.at, self._new_id = what, site, self.desk.session.new_id()
        self.read_again()
        self.form.form.input("station" if what == "station" else "name").setFocus()

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
        elif of is not None:
            self.head("setup.change_site_named", name=of.name)
            self.words("setup.site_counts_from_now", muted=True)
            fields, yes, action = questions.site_fields(self.say, zones, "", of), "setup.keep", self._change
        else:
            self.head("setup.add_site")
            fields = questions.site_fields(self.say, zones, likely_zone(zones, self.desk.session.clock()))
            yes, action = "setup.add_site", self._add
        self.form = Inline(self.desk, fields, self.say(yes), action, away=self.leave, kind=MAIN)
        self.put(self.form)

    def _add(self, values: Values) -> None:
        places.add_site(self.desk.session, self.desk.actor, questions.read_site(values), site=self._new_id)
        self.doing = ""

    def _change(self, values: Values) -> None:
        assert self.at is not None
        desk, site = self.desk, self.at.subject
        places.change_site(desk.session, desk.actor, site, questions.read_site(values, self.at.payload.address or ""))
        self.doing, self.at = "", None
        if site == desk.site.subject:  # the column names the site one stands at
            with desk.session.reading() as connection:
                desk.site = places.site_named_by_id(connection, site)
            desk.rebuild.emit()

    def _add_station(self, values: Values) -> None:
        assert self.at is not None
        places.add_station(self.desk.session, self.desk.actor, self.at.subject, values["station"], station=self._new_id)
        self.doing, self.at = "", None
