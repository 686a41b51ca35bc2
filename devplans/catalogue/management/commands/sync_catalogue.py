from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from devplans.catalogue.sync import CatalogueError, sync_catalogue


class Command(BaseCommand):
    help = "Brings the shipped skills and drills up to date; safe to run again."

    def add_arguments(self, parser: CommandParser) -> None:
        default = Path(settings.BASE_DIR) / "fixtures" / "catalogue"
        parser.add_argument(
            "--folder", type=Path, default=default, help="holds skills.csv, drills.csv"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            done = sync_catalogue(options["folder"])
        except CatalogueError as error:
            raise CommandError(f"Nothing was changed.\n{error}") from error
        if options["verbosity"]:
            self.stdout.write(
                f"{done.added} added, {done.changed} changed, {done.retired} retired, "
                f"{done.unchanged} unchanged"
            )
