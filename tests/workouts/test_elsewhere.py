"""One question a week about training elsewhere, and what a squad's coach sees of the hours."""

import re

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.stats import weeks
from devplans.workouts import wording
from devplans.workouts.after import services
from devplans.workouts.after.weekly import Elsewhere
from devplans.workouts.models import OtherHours
from tests import factories as make
from tests.workouts.known import ZONE, aged, elsewhere_url, history, last_week, noon, words_of

# --- the question ---


@pytest.mark.parametrize(("who", "path"), [("player", "/today/"), ("guardian", "/family/")])
@pytest.mark.parametrize("does", ["none", "skip"])
def test_it_is_asked_until_answered_or_skipped(cast, who, path, does):
    cast.sibling.delete()
    question = "Any training with another team or in another sport last week?"
    user = getattr(cast, who)
    assert question in words_of(user, path)
    client = Client()
    client.force_login(user)
    answer = client.post(elsewhere_url(cast.kid), {"do": does, "next": path})
    assert answer["Location"] == path
    assert question not in words_of(cast.player, "/today/")
    assert question not in words_of(cast.guardian, "/family/")
    row = OtherHours.objects.get()
    assert (row.is_skipped, row.told_by) == (does == "skip", user)
    assert AuditEntry.objects.filter(verb="workouts.hours_told").count() == 1


def test_what_was_told_is_shown_and_can_be_changed(cast):
    client = Client()
    client.force_login(cast.guardian)
    url = elsewhere_url(cast.kid)
    assert client.post(url, {"team": "1.5", "sport": "", "free": "2"}).status_code == 302
    page = history(cast.coach, cast.kid)
    assert re.search(r"With another team – 1 h 30 min", page)
    assert re.search(r"Free play – 2 h", page)
    assert 'value="1.5"' in client.get(url).content.decode()
    client.post(url, {"team": "0.25", "sport": "1", "free": ""})
    row = OtherHours.objects.get()
    assert (row.team_minutes, row.sport_minutes, row.free_minutes) == (15, 60, 0)
    assert AuditEntry.objects.filter(verb="workouts.hours_told")[0].detail["again"] is True


@pytest.mark.parametrize("bad", ["-1", "81", "x", "1e9", "NaN"])
def test_hours_that_cannot_be_are_told(cast, bad):
    client = Client()
    client.force_login(cast.guardian)
    answer = client.post(elsewhere_url(cast.kid), {"team": bad})
    assert answer.status_code == 422
    assert OtherHours.objects.count() == 0


@pytest.mark.parametrize("week", ["2026-W99", "x", "9999-W01", "1999-W10"])
def test_a_week_that_cannot_be_is_404(cast, week):
    client = Client()
    client.force_login(cast.guardian)
    assert client.get(f"/workouts/of/{cast.kid.pk}/elsewhere/{week}/").status_code == 404


def test_the_service_holds_its_own_rules(cast):
    ahead = weeks.next_week(weeks.week_of(timezone.now(), ZONE))
    told = {"player": cast.kid, "week": last_week(), "elsewhere": Elsewhere()}
    with pytest.raises(DomainError):
        services.tell_hours(actor=cast.guardian, **{**told, "week": ahead})
    with pytest.raises(DomainError):
        services.tell_hours(actor=cast.guardian, **{**told, "elsewhere": Elsewhere(free=-1)})
    for actor in (cast.coach, cast.director, cast.ex_guardian):
        with pytest.raises(PermissionDenied):
            services.tell_hours(actor=actor, **told)


def test_no_way_back_to_another_site(cast):
    client = Client()
    client.force_login(cast.guardian)
    answer = client.post(elsewhere_url(cast.kid), {"do": "none", "next": "https://evil.example/"})
    assert answer["Location"] == f"/workouts/of/{cast.kid.pk}/"


# --- a squad ---


def test_a_squad_costs_no_more_questions(cast):
    client = Client()
    client.force_login(cast.coach)
    counts = []
    for more in (2, 40):
        for _ in range(more):
            player = make.make_player(squad=cast.squad)
            make.make_workout(player, started_at=noon(1), minutes=700, kind="organised")
            make.make_guardian(cast.guardian, player)
        page = []
        client.force_login(cast.coach)
        for user, path in (
            (cast.coach, f"/workouts/squads/{cast.squad.pk}/hours/"),
            (cast.guardian, "/family/"),
        ):
            client.force_login(user)
            with CaptureQueriesContext(connection) as asked:
                assert client.get(path).status_code == 200
            page.append(len(asked))
        counts.append(page)
    assert counts[0] == counts[1]


def test_the_squads_page_names_only_what_lies_past(cast):
    aged(cast.kid, 12)
    aged(cast.mate, 12)
    make.make_workout(cast.kid, started_at=noon(1), minutes=601, kind="organised")
    make.make_workout(cast.mate, started_at=noon(1), minutes=600, kind="organised")
    page = words_of(cast.coach, f"/workouts/squads/{cast.squad.pk}/hours/")
    assert page.count("more than the 10 h a week") == 1
    assert "are published as the most" not in page


# --- words of effort ---

PUBLISHED = {
    "nothing at all", "extremely weak", "very weak", "weak", "light", "moderate", "somewhat strong",
    "strong", "very strong", "extremely strong", "maximal", "rest", "very, very easy", "very easy",
    "easy", "somewhat hard", "hard", "very hard", "very light", "extremely hard",
}  # fmt: skip


def test_the_anchors_are_our_own():
    assert [number for number, _words in wording.EFFORT] == list(range(11))
    said = [str(words) for _number, words in wording.EFFORT]
    assert len(set(said)) == 11
    assert not PUBLISHED & set(said)
