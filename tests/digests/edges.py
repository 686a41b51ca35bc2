"""The edges of what a digest may have to say, each as rows and the mail that comes of them.

`python -m pytest tests/digests/test_edges.py -s -k table` prints every sentence.
"""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from devplans.core.models import AuditEntry
from devplans.digests import emails, facts, planning
from devplans.goals.models import Goal, GoalReview
from devplans.people.models import SquadPlayer
from devplans.stats import weeks
from tests import factories as make


def last_week(cast: Any) -> weeks.Week:
    return weeks.last_complete_week(timezone.now(), cast.club.zone)


def in_week(cast: Any, days: float = 2.5) -> Any:
    """An instant so many days into the week that the digests tell of."""
    return weeks.bounds(*last_week(cast), cast.club.zone)[0] + timedelta(days=days)


def today() -> date:
    return timezone.now().date()


def drill_goal(cast: Any, **fields: Any) -> Goal:
    """A live goal of the player: 70 % of free throws, begun four weeks ago."""
    skill = fields.pop("skill", None) or make.make_skill(name="Free throws")
    return Goal.objects.create(
        **{
            "player": cast.kid,
            "skill": skill,
            "measure": "drill_share",
            "drill": make.make_drill(name="Free throws in pairs", skill=skill),
            "target_share": 0.7,
            "chances_needed": 100,
            "life": "live",
            "started_on": today() - timedelta(weeks=4),
            "due_on": today() + timedelta(weeks=4),
            "review_dates": [(today() + timedelta(weeks=1)).isoformat()],
            **fields,
        }
    )


def film_goal(cast: Any, player: Any, skill: Any, **fields: Any) -> Goal:
    return Goal.objects.create(
        **{
            "player": player,
            "skill": skill,
            "measure": "film_rate",
            "target_share": 0.6,
            "chances_needed": 60,
            "life": "live",
            "started_on": today() - timedelta(weeks=4),
            "due_on": today() + timedelta(weeks=4),
            **fields,
        }
    )


def review(goal: Goal, on: date, sentence: str, word: str = GoalReview.Word.SAME) -> GoalReview:
    return GoalReview.objects.create(
        goal=goal,
        number=1,
        of=2,
        reviewed_on=on,
        window_from=on - timedelta(weeks=4),
        window_until=on - timedelta(days=1),
        word=word,
        confidence=0.975,
        sentence=sentence,
    )


def log(goal: Goal, made: int, tried: int, at: Any, **fields: Any) -> None:
    sets = [{"drill": goal.drill, "made": made, "tried": tried}]
    make.make_workout(goal.player, sets=sets, started_at=at, **fields)


def nothing(cast: Any) -> None:
    """Nothing at all in the week."""


def no_attempts(cast: Any) -> None:
    drill_goal(cast)
    make.make_workout(cast.kid, started_at=in_week(cast), minutes=30)


def one_session(cast: Any) -> None:
    log(drill_goal(cast), 12, 20, in_week(cast))


def all_makes(cast: Any) -> None:
    goal = drill_goal(cast)
    for days in (1.5, 3.5, 5.5):
        log(goal, 20, 20, in_week(cast, days))


def due_today(cast: Any) -> None:
    goal = drill_goal(cast, due_on=today(), review_dates=[])
    for days in (0.5, 1.5, 2.5, 3.5, 4.5):
        log(goal, 12, 20, in_week(cast, days))


def changed_half_way(cast: Any) -> None:
    goal = drill_goal(cast)
    for days in (-13.5, -6.5, 1.5, 3.5):
        log(goal, 13, 20, in_week(cast, days))
    begun = timezone.now() - timedelta(weeks=4)
    moved = timezone.now() - timedelta(weeks=2)
    for verb, at, detail in [
        ("goals.goal_begun", begun, {}),
        ("goals.target_changed", moved, {"target_share": [0.5, 0.7], "was": 0.5}),
    ]:
        AuditEntry.objects.create(
            verb=verb,
            at=at,
            table="goals.goal",
            row_id=str(goal.pk),
            player_id=goal.player_id,
            club_id=cast.club.pk,
            detail=detail,
        )


def left(cast: Any) -> None:
    one_session(cast)
    yesterday = today() - timedelta(days=1)
    SquadPlayer.objects.filter(player__in=[cast.kid, cast.sibling]).update(until=yesterday)


def first_week(cast: Any) -> None:
    SquadPlayer.objects.filter(player=cast.kid).update(since=in_week(cast).date())
    one_session(cast)


def two_children(cast: Any) -> None:
    one_session(cast)
    make.make_workout(cast.sibling, started_at=in_week(cast), minutes=45, kind="organised")


def too_many_hours(cast: Any) -> None:
    for days in range(7):
        make.make_workout(
            cast.kid, started_at=in_week(cast, days + 0.6), minutes=130, kind="organised", effort=6
        )


CASES: dict[str, Callable[[Any], None]] = {
    "nothing this week": nothing,
    "0 attempts": no_attempts,
    "1 session": one_session,
    "all makes": all_makes,
    "due today": due_today,
    "goal changed half-way": changed_half_way,
    "player left": left,
    "first week": first_week,
    "two children": two_children,
    "past the published hours": too_many_hours,
}


def letter_for(cast: Any, kind: str, user: Any) -> emails.Letter | None:
    """The mail that this person would get; None for nobody who gets one."""
    to = next(
        (
            one
            for one in planning.addressees(cast.club)
            if one.kind == kind and one.recipient == user
        ),
        None,
    )
    if to is None:
        return None
    digest = facts.draft(club=cast.club, to=to, week=last_week(cast))
    return emails.render(digest, unsubscribe_url="https://portal.example/stop/")
