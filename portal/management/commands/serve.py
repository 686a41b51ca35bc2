"""Start the whole portal on this machine."""

import os
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connections

from portal import serving
from portal.env import text


class Command(BaseCommand):
    help = "Start web server, workers, beat and, unless REDIS_URL is set, the broker."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="0.0.0.0 for all addresses.")
        parser.add_argument("--port", type=int, default=settings.PORT)
        parser.add_argument(
            "--stop-with-parent", action="store_true", help="Stop when the calling process ends."
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        plan = serving.Plan(
            base_dir=settings.BASE_DIR,
            data_dir=settings.DATA_DIR,
            host=options["host"],
            port=options["port"],
            own_broker=not text("REDIS_URL"),
        )
        os.environ["PORT"] = str(plan.port)
        os.environ["DATA_DIR"] = str(plan.data_dir)
        try:
            code = serving.serve(
                plan,
                prepare=prepare,
                say=self.say,
                welcome=welcome(),
                stop_with_parent=options["stop_with_parent"],
            )
        except serving.CannotServe as error:
            raise CommandError(str(error)) from None
        if code:
            raise SystemExit(code)

    def say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def prepare() -> None:
    """Bring database and static files to this version, so that an upgrade is a restart."""
    call_command("migrate", interactive=False, verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    connections.close_all()


def welcome() -> list[str]:
    lines = ["Ctrl-C stops everything."]
    if settings.DEMO:
        roles = ("coach", "player", "guardian", "director")
        names = ", ".join(f"{role}@club.example" for role in roles)
        lines.append(f"Sign in as {names} with the password scorebook-demo.")
    return lines
