"""Clubs for the journeys, each with addresses of its own, so that journeys can share one portal."""

import json
import subprocess
import sys
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import count
from zoneinfo import ZoneInfo

from tests.served import ROOT

ZONES = ("Europe/Lisbon", "Asia/Tokyo", "America/Denver")
_serial = count(1)


@dataclass(frozen=True)
class Seeded:
    """Keys and addresses of one club; see seed_club.py for who is in it."""

    mark: str
    zone: str
    club: str
    squad: str
    emails: dict[str, str]
    players: dict[str, str]

    def now(self) -> datetime:
        return datetime.now(ZoneInfo(self.zone))

    def week(self) -> str:
        year, week, _day = self.now().isocalendar()
        return f"{year}-W{week:02}"

    def week_begins(self) -> datetime:
        now = self.now()
        monday = now.date() - timedelta(days=now.weekday())
        return datetime(monday.year, monday.month, monday.day, tzinfo=ZoneInfo(self.zone))


def calm_zone() -> str:
    """A zone in which no day ends while a journey runs, and today is two hours old."""
    return next(zone for zone in ZONES if 2 <= datetime.now(ZoneInfo(zone)).hour < 23)


def run(portal, *words: str) -> str:
    """What a command beside the portal prints."""
    done = subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env={**portal.environment, "DJANGO_SETTINGS_MODULE": "portal.settings"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def seed(portal) -> Seeded:
    mark = f"c{next(_serial)}"
    printed = run(portal, "-m", "tests.e2e.seed_club", mark, calm_zone())
    return Seeded(**json.loads(printed.splitlines()[-1]))


def seed_four(portal) -> Seeded:
    """A club of which four players can be sent something; see seed_fourth.py."""
    found = seed(portal)
    run(portal, "-m", "tests.e2e.seed_fourth", found.squad, found.mark)
    return found
