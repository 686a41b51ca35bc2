from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction
from django.utils import timezone

from devplans.catalogue.models import Skill
from devplans.digests import services as digests
from devplans.goals import services as goals
from devplans.people.models import Club, User
from devplans.stats import weeks
from devplans.workouts.weeks.rebuilding import rebuild_club
from portal.demo import after, counts, lists, media, people, shots, talk
from portal.demo.season import Season


class Command(BaseCommand):
    help = "The demo club: two squads, eight weeks, a drawn film. Loading it again changes nothing."

    def handle(self, **options: Any) -> None:
        coach = User.objects.filter(email=people.COACH).first()
        if coach is None:
            if not Skill.objects.exists():
                self.stderr.write("Run sync_catalogue first: the demo uses its skills and drills.")
                raise SystemExit(1)
            with transaction.atomic():
                cast = people.make_club()
                Season(cast).write()
                after.write(cast)
                shots.write(cast)
                rebuild_club(cast.club.pk)
                lists.write(cast)
            club = cast.club
        else:
            club = Club.objects.get(memberships__user=coach, memberships__squad__name="Under 16")
        media.finish(club.pk)
        if coach is None:
            counts.write(cast)
            talk.write(cast)
            goals.write_due_reviews(now=timezone.now())
            self._last_week(club)
        self.stdout.write(
            f"Demo club {club.name}: {'loaded' if coach is None else 'was there already'}."
        )

    def _last_week(self, club: Club) -> None:
        """The digests of the last complete week, so that the archive is not empty."""
        for pk in digests.plan_week(
            club=club, week=weeks.last_complete_week(timezone.now(), club.zone)
        ):
            digests.build_digest(digest_id=pk)
