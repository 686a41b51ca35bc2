"""What comes after a workout in the demo: one answer that waits, one that was given, and hours
with other teams and in other sports. Last week is still asked of the demo's own player."""

from datetime import timedelta

from django.utils import timezone

from devplans.people.models import Player
from devplans.stats import weeks
from devplans.workouts.models import OtherHours, PainAnswer
from portal.demo.people import Cast

OPEN, ANSWERED = ("Under 14", "4"), ("Under 16", "23")
# squad, number, weeks back, minutes with another team, in another sport, of free play
ELSEWHERE = [
    ("Under 16", "12", 3, 0, 90, 120),
    ("Under 16", "12", 2, 0, 90, 60),
    ("Under 16", "14", 1, 120, 0, 0),
    ("Under 14", "4", 1, 600, 60, 180),
    ("Under 14", "8", 1, 0, 0, 240),
]


def write(cast: Cast) -> None:
    """Write it all. Call it once, after the workouts."""
    squad, number = OPEN
    report(cast.players[squad][number], "Right heel, when I land. Since the weekend.", days=1)
    squad, number = ANSWERED
    answered = report(cast.players[squad][number], "Left wrist after a fall.", days=6)
    answered.answer = PainAnswer.Answer.RESTING
    answered.note = "No shooting until Monday; she can do footwork."
    answered.answered_by = answered.player.guardianships.get().user
    answered.answered_at = answered.said_at + timedelta(hours=3)
    answered.save()
    for squad, number, back, team, sport, free in ELSEWHERE:
        hours(cast.players[squad][number], back, team, sport, free)


def report(player: Player, said: str, *, days: int) -> PainAnswer:
    """A report at the end of the player's last workout that lies so many days back."""
    until = timezone.now() - timedelta(days=days)
    workout = player.workouts.filter(started_at__lte=until).order_by("-started_at").first()
    at = workout.started_at + timedelta(minutes=workout.minutes) if workout else until
    if workout is not None:
        workout.pain = said
        workout.save(update_fields=["pain"])
    return PainAnswer.objects.create(
        player=player, workout=workout, said=said, said_at=at, said_by=player.user
    )


def hours(player: Player, back: int, team: int, sport: int, free: int) -> None:
    """What the family told of the week that lies so many weeks back."""
    week = weeks.week_of(timezone.now(), player.club.zone)
    for _step in range(back):
        week = weeks.previous_week(week)
    OtherHours.objects.create(
        player=player,
        iso_year=week[0],
        iso_week=week[1],
        team_minutes=team,
        sport_minutes=sport,
        free_minutes=free,
        told_by=player.guardianships.get().user,
    )
