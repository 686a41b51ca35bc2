"""The safeguarding flags of the director's page: what is counted, and where it is mended."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from devplans.core.models import AuditEntry
from devplans.people.models import Consent, Invitation, Membership, Player, SquadPlayer
from devplans.progress import flags
from devplans.progress.club import read_club
from devplans.stats import weeks
from devplans.workouts.models import PainAnswer
from tests import factories as make
from tests.progress.counting import words
from tests.progress.test_club import club_page


@pytest.fixture
def week(cast):
    return weeks.last_complete_week(timezone.now(), cast.club.zone)


@pytest.fixture
def calm(cast):
    """A club without a flag."""
    for player in Player.objects.all():
        Consent.objects.filter(player=player).delete()
        make.give_consent(player)
    return cast


def told(cast, week):
    """{flag: (number, {place: number})}"""
    read = read_club(cast.director, cast.club, week)
    return {
        flag.key: (flag.number, {place.name: place.number for place in flag.places})
        for flag in flags.flags_of(cast.club, read)
    }


def invitation(cast, kind="guardian", days=-1, **fields):
    now = timezone.now()
    return Invitation.objects.create(
        **{
            "kind": kind, "club": cast.club, "email": "a@home.example", "invited_by": cast.coach,
            "token_hash": f"{Invitation.objects.count()}", "expires_at": now + timedelta(days=days),
            **fields,
        }
    )  # fmt: skip


def test_a_club_without_a_flag_says_what_is_well(client, calm, week):
    assert told(calm, week) == {}
    page = club_page(client, calm)
    assert "No safeguarding flag is open." in page
    assert "Every player under 18 has a guardian here" in page


def test_a_minor_whose_guardian_has_not_accepted(client, calm, week):
    calm.kid.guardianships.all().delete()
    assert told(calm, week) == {"guardian": (1, {"Under 16": 1})}
    invitation(calm, player=calm.kid, days=5)
    page = club_page(client, calm)
    assert "Under 18 without a guardian who has accepted" in page
    assert "For 1 of them a guardian is invited." in page
    assert f'<a href="{reverse("people:player", args=[calm.kid.pk])}">Ines Okafor</a>' in page
    Player.objects.filter(pk=calm.kid.pk).update(born_on=timezone.now().date().replace(year=1990))
    assert "guardian" not in told(calm, week)


def test_what_hurts_is_a_number_and_waits_three_days(client, calm, week):
    late = make.make_pain(calm.kid, said="Left ankle, since Tuesday.")
    make.make_pain(calm.mate)
    assert told(calm, week)["pain"][0] == 2
    assert "for three days" not in club_page(client, calm)
    at = timezone.now() - timedelta(days=3, minutes=1)
    PainAnswer.objects.filter(pk=late.pk).update(said_at=at)
    page = club_page(client, calm)
    assert "1 has waited for three days or longer." in page
    assert "ankle" not in page
    section = page[page.index('id="flags-head"') : page.index('id="feedback-head"')]
    assert "Ines" not in section
    PainAnswer.objects.update(answered_at=timezone.now(), answer="gone")
    assert "pain" not in told(calm, week)


def test_invitations_that_ran_out_unused(client, calm, week):
    out = invitation(calm, player=calm.kid)
    invitation(calm, player=calm.mate, days=3)
    invitation(calm, player=calm.mate, revoked_at=timezone.now())
    invitation(calm, player=calm.mate, accepted_at=timezone.now() - timedelta(days=3))
    invitation(calm, "welfare", email="w@club.example")
    invitation(calm, "coach", squad=calm.other_squad, email="c@club.example")
    number, places = told(calm, week)["invitations"]
    assert number == 3
    assert places == {"Under 16": 1, "Under 14": 1, "Staff": 1}
    page = club_page(client, calm)
    assert reverse("people:squad", args=[calm.squad.pk]) in page
    assert reverse("people:staff") in page
    invitation(calm, player=calm.kid, email=out.email, days=3)
    invitation(calm, "welfare", email="w@club.example", accepted_at=timezone.now())
    assert told(calm, week)["invitations"] == (1, {"Under 14": 1})


def test_hours_past_the_limits_lead_to_who_it_is(client, calm, week):
    inside = weeks.bounds(*week, calm.club.zone)[0] + timedelta(days=2, hours=12)
    make.make_workout(calm.kid, kind="organised", minutes=601, started_at=inside)
    assert told(calm, week)["hours"] == (1, {"Under 16": 1})
    assert '<a href="#training-head">Under 16</a>' in club_page(client, calm)


def test_a_club_without_a_welfare_officer(client, calm, week):
    Membership.objects.filter(role="welfare").delete()
    assert told(calm, week)["welfare"][0] == 1
    assert reverse("people:invite-staff") in club_page(client, calm)


def test_coaches_whom_no_director_invited_are_told_in_their_week(calm, week):
    inside = weeks.bounds(*week, calm.club.zone)[0] + timedelta(days=2)
    for by, at in ((calm.coach, inside), (calm.director, inside), (calm.coach, timezone.now())):
        invitation(calm, "coach", squad=calm.squad, invited_by=by, accepted_at=at)
    assert told(calm, week)["joined"] == (1, {"Under 16": 1})


def test_a_player_of_two_squads_is_one_flag(calm, week):
    today = timezone.now().date()
    SquadPlayer.objects.create(player=calm.kid, squad=calm.other_squad, since=today)
    calm.kid.guardianships.all().delete()
    make.make_pain(calm.kid)
    found = told(calm, week)
    both = {"Under 16": 1, "Under 14": 1}
    assert found["guardian"] == (1, both)
    assert found["pain"] == (1, both)


def test_many_names_are_cut_short_on_the_page_and_whole_in_the_file(client, calm):
    for _number in range(9):
        make.make_player(squad=calm.squad, born_on=None)
    page = words(club_page(client, calm))
    assert "and 3 more" in page
    client.force_login(calm.director)
    rows = client.get(reverse("progress:club-flags")).content.decode().splitlines()
    assert sum("Without a birth date" in row for row in rows) == 9


def test_flags_cost_the_same_for_two_and_for_fifty(calm, week):
    def questions():
        read = read_club(calm.director, calm.club, week)
        with CaptureQueriesContext(connection) as asked:
            flags.flags_of(calm.club, read)
        return len(asked)

    def more(number):
        for _player in range(number):
            player = make.make_player(squad=calm.squad)
            make.make_pain(player)
            invitation(calm, player=player)

    more(2)
    few = questions()
    more(48)
    assert questions() == few <= 5


def test_reading_the_club_s_page_is_audited(client, calm):
    club_page(client, calm)
    entry = AuditEntry.objects.get(verb="progress.club_read")
    assert (entry.actor_id, entry.club_id) == (calm.director.pk, calm.club.pk)
