"""What an outcome rests on: a sheet that a press on it opens."""

from registry.services import budget, problems
from registry.services.words import budget as words
from ui.desk import Desk


def show_budget(desk: Desk, check: str) -> None:
    """What the uncertainty of a check is made of, the rule, the chances, what would decide a doubtful one."""
    try:
        with desk.session.reading() as connection:
            found = budget.of_check(desk.session, connection, check)
    except problems.Refused as refused:
        desk.notice_of(refused)
        return
    title = desk.say("budget.of", number=found.number, tag=found.tag_id, point=desk.say(f"point.{found.point}"))
    parts = ["   ".join(row) for row in words.rows(found, desk.language, desk.region)]
    told = [*words.sentences(found, desk.language, desk.region), desk.say("caution.local_codes_first")]
    desk.ask.sure(title, desk.say("frame.go_on"), lambda: None, details="\n".join([*parts, "", *told]))
