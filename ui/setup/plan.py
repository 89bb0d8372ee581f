"""The recheck plan: its rules in plain words, and how one is added, changed or removed, for the group or one site."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date

from PySide6.QtWidgets import QWidget

from registry import resources
from registry.records.rules import PlanRule
from registry.services import places, plan_problems, plans, rules
from registry.services.plans import Change
from registry.services.problems import KnownError, Refused
from registry.services.replay import Replay
from registry.services.rules import shipped_plan
from registry.services.words import replay as words
from registry.wording import format, refusals
from ui import theme
from ui.flow import Flow
from ui.forms import CHOICE, DAY, FEW, TEXT, Field, List
from ui.parts import LINK, PLAIN, Button, Words, column, on_press, row
from ui.setup.inline import Inline, Values
from ui.setup.part import Part

ORDER = ("each_shift", "every_days", "sentinel", "hot_point", "forecast", "reference_expiry", "after_adjustment")
Rules = Iterable[PlanRule]


class PlanForm(Inline):
    """A change of the plan: what it costs is said, and it is asked whether it is meant, before it is recorded."""

    def __init__(
        self,
        section: PlanSection,
        fields: list[Field],
        yes: str,
        change: Callable[[Values], tuple[Change, PlanRule]],
        away: Callable[[], object],
    ) -> None:
        self._section, self._changed = section, change
        desk = section.desk
        look_back = Button(desk.look, desk.say("setup.plan_try"), LINK)
        on_press(look_back, self.look_back)
        holder = QWidget()
        holder.setLayout(row(look_back, None))
        super().__init__(desk, fields, yes, lambda _: None, away=away, kind=PLAIN, extra=holder)

    def do(self) -> None:
        """Enter and the button: the question, once nothing stands against it."""
        if (found := self._tried()) is not None:
            wanted, rule = found
            since = date.fromisoformat(self.form.values()["since"])
            self._section.ask("add" if self._section.doing == "add" else "days", wanted, rule, since)

    def look_back(self) -> None:
        """What the last year would have come to, worked out beside the window."""
        if (found := self._tried()) is None:
            return
        session, site = self.desk.session, self._section.site or None
        after, _ = plans.tried(session, found[0], site)
        self.desk.in_background(lambda _: plans.replayed(session, after, site), self.show_replay)

    def show_replay(self, found: Replay) -> None:
        desk = self.desk
        told = words.sentences(found, self._section.site_name, desk.language, desk.region)
        desk.ask.sure(desk.say("setup.plan_try"), desk.say("frame.go_on"), lambda: None, details="\n".join(told))

    def _tried(self) -> tuple[Change, PlanRule] | None:
        self.trouble.hide()
        self.form.forget_problems()
        try:
            found = self._changed(self.form.values())
            plans.tried(self.desk.session, found[0], self._section.site or None)
        except Refused as refused:
            self.show_problems(refused.problems)
            return None
        except KnownError as error:
            self.trouble.say(refusals.trouble(error.code, self.desk.language))
            self.trouble.show()
            return None
        return found


class PlanSection:
    """The part of Rules that shows the plan. site: whose plan, empty for the group's. doing: add or days."""

    def __init__(self, part: Part) -> None:
        self.part, self.desk, self.say = part, part.desk, part.say
        self.site, self.doing = "", ""
        self.rule: PlanRule | None = None
        self.form: PlanForm | None = None

    @property
    def site_name(self) -> str:
        return next((one.payload.name for one in self._sites if one.subject == self.site), "")

    def fill(self, today: str) -> None:
        self._today = today
        self._read()
        self.part.head("setup.plan")
        if len(self._sites) > 1 or self._apart:
            self._fill_whose()
        self._fill_standing()
        self._fill_rules()
        if self.part.may_change:
            self._fill_doing()
            self._fill_shipped()

    def _read(self) -> None:
        with self.desk.session.reading() as connection:
            self._sites = places.sites(connection)
            self._apart = rules.sites_with_own(connection)
            if self.site and self.site not in {one.subject for one in self._sites}:
                self.site = ""
            self.standing = plans.standing(connection, self.site or None)
            self.rules = plans.starting_from(connection, self.site or None)
            language = self.desk.language
            self._words = [plans.in_words(connection, one, language) for one in self.rules]

    def hours(self, rules: Rules) -> str:
        with self.desk.session.reading() as connection:
            hours = plans.hours_a_year(connection, rules, self.site or None, self._today)
        return format.number(round(hours), self.desk.region)

    # --- what stands -----------------------------------------------------------------------------------------

    def _fill_whose(self) -> None:
        """The group's, or that of a site."""
        self.whose = List(self.part.look)
        self.whose.setAccessibleName(self.say("setup.plan_whose"))
        self.whose.addItem(self.say("setup.plan_whole_group"), "")
        for one in self._sites:
            code = "setup.plan_own_of" if one.subject in self._apart else "setup.plan_of"
            self.whose.addItem(self.say(code, site=one.payload.name), one.subject)
        self.whose.setCurrentIndex(max(0, self.whose.findData(self.site)))
        self.whose.setMinimumHeight(theme.DESK)
        self.whose.activated.connect(self._chosen)
        self.part.put(Words(self.part.look, self.say("setup.plan_whose"), 14, colour="muted"), row(self.whose, None))

    def _chosen(self, _: int) -> None:
        self.show(str(self.whose.currentData()))

    def show(self, site: str) -> None:
        self.site, self.doing = site, ""
        self.part.read_again()

    def _fill_standing(self) -> None:
        part, plan = self.part, self.standing.plan
        if self.site and not self.standing.own:
            part.words("setup.plan_followed", site=self.site_name)
        part.words("setup.plan_is", plan=self.say(f"plan.{plan.plan}"), hours=self.hours(self.rules))
        part.words("setup.hours_are", 14, muted=True)
        part.words("setup.in_force_since", muted=True, day=self.desk.day(date.fromisoformat(plan.since)))

    def _fill_rules(self) -> None:
        heads, stretch = ["setup.plan_what", "setup.plan_whom"], [4, 3]
        rows: list[list[str | QWidget]] = [[one.what, one.whom] for one in self._words]
        if self.part.may_change:
            heads.append("")
            stretch.append(2)
            for cells, rule, said in zip(rows, self.rules, self._words, strict=True):
                cells.append(self._buttons(rule, f"{said.what}, {said.whom}"))
        self.part.table(heads, rows, stretch)

    def _buttons(self, rule: PlanRule, said: str) -> QWidget:
        made = []
        if rule.rule in plan_problems.MAY_HAVE_DAYS:
            made.append(self._button("change", said, lambda: self.begin("days", rule)))
        if rule.rule not in plan_problems.ALWAYS or any((rule.types, rule.sites, rule.thermometers)):
            made.append(self._button("remove", said, lambda: self.remove(rule)))
        holder = QWidget()
        # A row that breaks would be cut where cells stand one under the other.
        holder.setLayout(column(*made, space=0) if self.part.look.narrow else row(*made, None, space=4))
        return holder

    def _button(self, code: str, said: str, action: Callable[[], object]) -> Button:
        button = Button(self.part.look, self.say(f"setup.plan_{code}"), LINK)
        button.setAccessibleName(self.say(f"setup.plan_{code}_named", rule=said))
        on_press(button, action)
        return button

    # --- changing it -----------------------------------------------------------------------------------------

    def begin(self, what: str, rule: PlanRule | None = None) -> None:
        self.doing, self.rule = what, rule
        self.part.read_again()
        assert self.form is not None
        self.form.form.input("rule" if what == "add" else "days").setFocus()

    def leave(self) -> None:
        self._end()
        self.part.read_again()

    def _fill_doing(self) -> None:
        self.form = None
        if self.doing == "days" and self.rule in self.rules:
            said = self._words[self.rules.index(self.rule)]
            self.part.words("setup.plan_days_of", rule=said.what, whom=said.whom)
            fields = [Field("days", self.say("setup.plan_days"), TEXT, str(self.rule.days or "")), self._since()]
            self.form = PlanForm(self, fields, self.say("setup.plan_change"), self._with_days, self.leave)
            self.part.put(self.form)
        elif self.doing == "add":
            self.part.words("setup.plan_adding")
            self.form = PlanForm(self, self._fields(), self.say("setup.plan_add"), self._adding, self.leave)
            self.part.put(self.form)
        else:
            self.add = Button(self.part.look, self.say("setup.plan_add"))
            on_press(self.add, lambda: self.begin("add"))
            made = [self.add]
            if self.standing.own:
                self.back = Button(self.part.look, self.say("setup.plan_back"))
                on_press(self.back, self._give_back)
                made.append(self.back)
            self.part.put(Flow(*made, space=8))

    def _fields(self) -> list[Field]:
        say = self.say
        types = tuple((one, say(f"type.{one}")) for one in resources.instrument_types())
        points = tuple((one, say(f"point.{one}")) for one in plan_problems.POINTS)
        sites = tuple((one.subject, one.payload.name) for one in self._sites if one.subject not in self._apart)
        fields = [
            Field("rule", say("setup.plan_rule"), CHOICE, "every_days", self._codes()),
            Field("days", say("setup.plan_days"), hint=say("setup.plan_days_hint")),
            Field("types", say("setup.plan_type"), CHOICE, "", (("", say("setup.plan_all_types")), *types)),
            Field("tags", say("setup.plan_tags"), hint=say("setup.plan_tags_hint")),
            Field("point", say("setup.plan_point"), CHOICE, "", (("", say("setup.plan_any_point")), *points)),
        ]
        if not self.site and len(self._sites) > 1:
            everywhere = ("", say("setup.plan_all_sites"))
            fields.append(Field("sites", say("setup.plan_only_at"), CHOICE, "", (everywhere, *sites)))
        return [*fields, self._since()]

    def _codes(self) -> tuple[tuple[str, str], ...]:
        """Every rule there is, those in the plan's own order first."""
        from registry.compute.schedule import RULES

        codes = [*(one for one in ORDER if one in RULES), *sorted(RULES.difference(ORDER))]
        return tuple((one, self.say(f"plan_rule.name.{one}")) for one in codes)

    def _since(self) -> Field:
        return Field("since", self.say("setup.since"), DAY, self._today)

    def _adding(self, values: Values) -> tuple[Change, PlanRule]:
        with self.desk.session.reading() as connection:
            tags = plans.tagged(connection, values["tags"].replace(",", " ").split())
        rule = PlanRule(
            rule=values["rule"],
            days=plans.whole_days(values["days"]),
            points=_one(values["point"]),
            types=_one(values["types"]),
            sites=_one(values.get("sites", "")),
            thermometers=tags or None,
        )
        return plans.adding(rule), rule

    def _with_days(self, values: Values) -> tuple[Change, PlanRule]:
        assert self.rule is not None
        days = plans.whole_days(values["days"])
        return plans.with_days(self.rule, days), replace(self.rule, days=days)

    def remove(self, rule: PlanRule) -> None:
        if rule in self.rules:
            self.ask("remove", plans.without(rule), rule, date.fromisoformat(self._today))

    def ask(self, what: str, wanted: Change, rule: PlanRule, since: date) -> None:
        """Whether it is meant: with its hours a year, and what would no longer be looked at."""
        desk, site = self.desk, self.site or None
        found = desk.tried(lambda: plans.tried(desk.session, wanted, site))
        if found is None:
            return
        after, unasked = found
        with desk.session.reading() as connection:
            said = plans.in_words(connection, rule, desk.language)
        told = [self.say("setup.plan_costs", hours=self.hours(after), before=self.hours(self.rules))]
        if unasked:
            told.append(self.say("plan.unasked", types="; ".join(self.say(f"type.{one}") for one in unasked)))
        if site and not self.standing.own:
            told.append(self.say("setup.plan_then_own", site=self.site_name))
        desk.ask.sure(
            self.say(f"setup.plan_sure_{what}", rule=said.what, whom=said.whom),
            self.say(f"setup.plan_{'change' if what == 'days' else what}"),
            lambda: self._do(wanted, since),
            details="\n".join(told),
        )

    def _do(self, wanted: Change, since: date) -> None:
        desk = self.desk
        desk.did(
            lambda: plans.change(desk.session, desk.actor, wanted, since, self.site or None, sure=True),
            lambda _: self._end(),
        )

    def _end(self) -> None:
        self.doing, self.rule = "", None

    def _give_back(self) -> None:
        sentence = self.say("setup.plan_sure_back", site=self.site_name)
        self.desk.ask.sure(sentence, self.say("setup.plan_back"), self._do_give_back)

    def _do_give_back(self) -> None:
        desk, since = self.desk, date.fromisoformat(self._today)
        desk.did(lambda: plans.back_to_group(desk.session, desk.actor, self.site, since))

    # --- one that ships with the program ---------------------------------------------------------------------

    def _fill_shipped(self) -> None:
        part, now = self.part, self.standing.plan.plan
        names = resources.default_plans()
        for one in names:
            if one != now:
                hours = self.hours(shipped_plan(one))
                part.words("setup.plan_is", 14, muted=True, plan=self.say(f"plan.{one}"), hours=hours)
        choices = tuple((one, self.say(f"setup.plan_name.{one}")) for one in names)
        fields = [
            Field("plan", self.say("setup.plan_new"), FEW, now if now in names else next(iter(names)), choices),
            self._since(),
        ]
        self.shipped = Inline(self.desk, fields, self.say("setup.set_plan"), self._set_shipped)
        self.shipped.form.input("since").setAccessibleName(f"{self.say('setup.plan')}: {self.say('setup.since')}")
        part.put(self.shipped)

    def _set_shipped(self, values: Values) -> None:
        since = date.fromisoformat(values["since"])
        plans.set_shipped_plan(self.desk.session, self.desk.actor, values["plan"], since, self.site or None)


def _one(value: str) -> tuple[str, ...] | None:
    return (value,) if value else None
