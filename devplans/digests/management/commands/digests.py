from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from devplans.digests import emails, facts, planning, services
from devplans.people.models import Club
from devplans.stats import weeks


class Command(BaseCommand):
    help = "Build one week's digests now; with --send put them into the outbox."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--week", help="2026-W47; the last complete week if left out")
        parser.add_argument("--send", action="store_true")

    def handle(self, *, week: str | None, send: bool, **options: Any) -> None:
        for club in Club.objects.order_by("created_at"):
            wanted = self._week(week, club)
            number = self._send(club, wanted) if send else self._show(club, wanted)
            verb = "queued" if send else "built"
            self.stdout.write(f"{club.name}, {weeks.format_label(wanted)}: {number} digests {verb}")

    def _week(self, label: str | None, club: Club) -> weeks.Week:
        try:
            return (
                weeks.parse_label(label)
                if label
                else weeks.last_complete_week(timezone.now(), club.zone)
            )
        except ValueError as error:
            raise CommandError(str(error)) from None

    def _send(self, club: Club, week: weeks.Week) -> int:
        return sum(
            services.build_digest(digest_id=pk) for pk in services.plan_week(club=club, week=week)
        )

    def _show(self, club: Club, week: weeks.Week) -> int:
        people = planning.addressees(club)
        for to in people:
            digest = facts.draft(club=club, to=to, week=week)
            self.stdout.write(f"  {to.kind:9} {to.recipient.email}: {emails.subject_of(digest)}")
        return len(people)
