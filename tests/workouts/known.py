"""What the tests of the hours we know of share."""

import re
from datetime import UTC, date, datetime, timedelta
from html import unescape

from django.test import Client
from django.utils import timezone

from devplans.stats import weeks

ZONE = "Europe/London"


def last_week():
    return weeks.last_complete_week(timezone.now(), ZONE)


def noon(day):
    """Noon of a weekday of last week; Monday 0."""
    return datetime.combine(
        weeks.monday(*last_week()) + timedelta(days=day), datetime.min.time(), UTC
    ) + timedelta(hours=12)


def aged(player, years, grade=""):
    """Born a month before the birthday that last week's Monday lies after."""
    monday = weeks.monday(*last_week())
    player.born_on = date(monday.year - years, monday.month, 1) - timedelta(days=40)
    player.grade = grade
    player.save()


def words_of(user, path):
    client = Client()
    client.force_login(user)
    answer = client.get(path, follow=True)
    assert answer.status_code == 200
    return " ".join(unescape(re.sub("<[^>]+>", " ", answer.content.decode())).split())


def history(user, player):
    return words_of(user, f"/workouts/of/{player.pk}/")


def elsewhere_url(player, week=None):
    return f"/workouts/of/{player.pk}/elsewhere/{weeks.format_label(week or last_week())}/"
