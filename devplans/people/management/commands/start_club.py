from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.urls import reverse

from devplans.people import services


class Command(BaseCommand):
    help = "Print a one-time link with which a new club is set up."

    def handle(self, *args: Any, **options: Any) -> None:
        path = reverse("people:set-up", args=[services.invite_founder()])
        self.stdout.write(f"{settings.PUBLIC_URL}{path}")
        self.stderr.write(
            f"Open it in a browser. It works once, within {settings.INVITATION_DAYS} days."
        )
