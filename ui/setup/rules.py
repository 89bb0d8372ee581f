"""Rules: which code, the permitted offsets with their sources, decision rule, recheck plan, temperatures for food."""

from datetime import date

from registry import resources
from registry.quantity import NotAReading, Reading, TemperatureDifference, parse_reading
from registry.records.rules import Limit, Tolerance
from registry.services import rules
from registry.services.problems import refuse
from registry.services.rules import DECISIONS, SCALES, RulesInForce, rules_in_force
from registry.wording import format
from ui.desk import Desk
from ui.forms import CHOICE, DAY, FEW, Field
from ui.parts import LINK, Button, on_press, row
from ui.setup.inline import Inline, Values
from ui.setup.part import Part
from ui.setup.plan import PlanSection
from ui.site_papers import SitePapers


class RulesPart(Part):
    name = "rules"
    roles = ("officer",)

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.all_limits = False
        self.papers = SitePapers(desk, self)
        self.plan_section = PlanSection(self)

    def fill(self) -> None:
        with self.desk.session.reading() as connection:
            self._rules = rules_in_force(connection)
        found = self._rules
        self.words("caution.local_codes_first", 17)
        self.facts(
            [
                ("setup.country", self._country()),
                ("setup.code", self.say(f"jurisdiction.{found.group.jurisdiction}")),
            ]
        )
        self.off = Button(self.look, self.say("off.save"), LINK)
        on_press(self.off, self.papers.when_off)
        self.put(row(self.off, None))
        self._fill_tolerances(found)
        self._fill_decision(found)
        self.plan_section.fill(self._today())
        self._fill_limits(found)

    def _country(self) -> str:
        from babel import Locale

        code = self._rules.group.country
        names = Locale.parse(self.desk.language).territories
        return self.say("start.any_other_country") if code == "ZZ" else str(names.get(code, code))

    def _today(self) -> str:
        return self.desk.session.today(self.desk.site.payload).isoformat()

    def _tell_apart(self, asked: Inline, head: str) -> None:
        """Three days are asked for on this page: each is named by what it is of, where only names are heard."""
        asked.form.input("since").setAccessibleName(f"{self.say(head)}: {self.say('setup.since')}")

    def _since(self, day: str | None) -> str:
        return self.desk.day(date.fromisoformat(day)) if day else self.say("setup.since_ever")

    # --- permitted offsets -----------------------------------------------------------------------------------

    def _fill_tolerances(self, found: RulesInForce) -> None:
        self.head("setup.tolerances")
        rows = [
            (
                self.say(f"tolerance_class.{one.class_}"),
                self.say(f"scale.{one.scale}"),
                format.limit(TemperatureDifference.from_text(one.tolerance), self.desk.region),
                self._source(one),
            )
            for one in found.tolerances.tolerances
        ]
        self.table(("setup.kind", "setup.scale", "setup.limit", "setup.source"), rows, (3, 3, 0, 4))
        self.words("setup.in_force_since", muted=True, day=self._since(found.tolerances.since))
        if self.may_change:
            scales = tuple((one, self.say(f"scale.{one}")) for one in SCALES)
            fields = [
                Field("scale", self.say("setup.scale"), CHOICE, self.desk.unit, scales),
                Field("tolerance", self.say("setup.own_limit"), hint=self.say("setup.own_limit_hint")),
                Field("since", self.say("setup.since"), DAY, self._today()),
            ]
            self.head("setup.own_limit_head")
            self.words("setup.own_limit_why", muted=True)
            self.own = Inline(self.desk, fields, self.say("setup.set_own_limit"), self._set_own)
            self._tell_apart(self.own, "setup.own_limit_head")
            self.put(self.own)

    def _source(self, one: Tolerance | Limit) -> str:
        if isinstance(one, Tolerance) and one.class_ == "owner":
            return self.say("setup.own_rule")
        return f"{one.source}, {one.place}" if one.place else one.source

    def _set_own(self, values: Values) -> None:
        unit = "F" if values["scale"] == "F" else "C"
        try:
            typed = parse_reading(values["tolerance"], "F" if unit == "F" else "C")
        except NotAReading as wrong:
            code = "empty" if not values["tolerance"] else wrong.code
            raise refuse("tolerance", code, value=values["tolerance"]) from None
        difference = TemperatureDifference(typed.value, typed.unit)
        since = date.fromisoformat(values["since"])
        rules.set_owner_tolerance(self.desk.session, self.desk.actor, values["scale"], difference, since)

    # --- decision rule ---------------------------------------------------------------------------------------

    def _fill_decision(self, found: RulesInForce) -> None:
        self.head("setup.decision")
        now = found.rule
        self.words(f"setup.decision_is.{now.decision}", repeats=now.repeats, count=now.repeats)
        self.words("setup.in_force_since", muted=True, day=self._since(now.since))
        if self.may_change:
            choices = tuple((one, self.say(f"cli.decision.{one}").capitalize()) for one in DECISIONS)
            fields = [
                Field("decision", self.say("setup.decision_new"), FEW, now.decision, choices),
                Field("since", self.say("setup.since"), DAY, self._today()),
            ]
            self.decision = Inline(self.desk, fields, self.say("setup.set_decision"), self._set_decision)
            for one in DECISIONS:
                if one == now.decision:
                    continue
                self.words(f"setup.decision_is.{one}", 14, muted=True, repeats=now.repeats, count=now.repeats)
            self._tell_apart(self.decision, "setup.decision")
            self.put(self.decision)

    def _set_decision(self, values: Values) -> None:
        since = date.fromisoformat(values["since"])
        rules.set_decision(self.desk.session, self.desk.actor, values["decision"], since)

    # --- temperatures for food -------------------------------------------------------------------------------

    def _fill_limits(self, found: RulesInForce) -> None:
        limits = found.limits.limits
        self.head("setup.food_limits")
        if self.all_limits:
            rows = [(self._what(one), self._temperature(one), self._source(one)) for one in limits]
            self.table(("setup.food", "setup.temperature", "setup.source"), rows, (4, 3, 4))
            self.words("caution.local_codes_first")
        else:
            show = Button(self.look, self.say("setup.show_limits", count=len(limits)), LINK)
            on_press(show, self.show_limits)
            self.put(row(show, None))

    def show_limits(self) -> None:
        self.all_limits = True
        self.read_again()

    def _what(self, one: Limit) -> str:
        known = {found.code.partition(".")[2]: found for found in resources.limits().values()}
        found = known.get(one.limit)
        if found is None:
            return one.limit.replace("_", " ")
        return self.say("setup.limit_of", step=self.say(f"step.{found.step}"), food=self.say(f"food.{found.food}"))

    def _temperature(self, one: Limit) -> str:
        texts = [text for text in (one.celsius, one.fahrenheit) if text]
        shown = ", ".join(self.desk.temperature(Reading.from_text(text)) for text in texts)
        return self.say(f"cli.side.{one.side}", temperature=shown)
