from typing import Any

from django.core.management.base import BaseCommand

from devplans.tallies import rebuilding as tallies
from devplans.workouts.weeks import rebuilding as workouts


class Command(BaseCommand):
    help = "Compare the rows of weeks with what was logged and counted; put right what differs."

    def handle(self, **options: Any) -> None:
        logged = workouts.rebuild()
        self.stdout.write(
            f"{logged.players} players: {logged.differed} rows differed, put right."
            f" Tallies: {tallies.rebuild()} rows differed, put right."
        )
