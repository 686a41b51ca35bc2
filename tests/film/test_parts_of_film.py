"""Two coaches share a film: by side of the ball, or by half."""

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.film import services
from devplans.film.clock import RULE_SETS, Rules
from devplans.film.models import FilmPart
from tests import factories as make


@pytest.fixture
def pair(cast):
    cast.film = make.make_film(cast.squad)
    cast.maren = make.make_user("Maren")
    make.make_member(cast.maren, "coach", club=cast.club, squad=cast.squad)
    return cast


def parts_of(film):
    return dict(FilmPart.objects.of_film(film).values_list("coach__first_name", "part"))


def test_one_takes_a_side_the_other_the_rest(pair):
    services.split_film(actor=pair.coach, film=pair.film, part="ours", other=pair.maren)
    assert parts_of(pair.film) == {"Ravel": "ours", "Maren": "theirs"}
    services.split_film(actor=pair.maren, film=pair.film, part="first", other=pair.coach)
    assert parts_of(pair.film) == {"Maren": "first", "Ravel": "second"}
    services.join_film(actor=pair.coach, film=pair.film)
    services.join_film(actor=pair.coach, film=pair.film)
    assert parts_of(pair.film) == {}
    verbs = AuditEntry.objects.values_list("verb", flat=True)
    assert sorted(verbs) == ["film.joined", "film.split", "film.split"]


@pytest.mark.parametrize("who", ["coach", "other_coach", "director", "outsider"])
def test_the_other_one_is_another_coach_of_the_squad(pair, who):
    with pytest.raises(DomainError) as caught:
        services.split_film(actor=pair.coach, film=pair.film, part="ours", other=getattr(pair, who))
    assert (caught.value.code, caught.value.field) == ("parts.coach", "other")


@pytest.mark.parametrize("who", ["director", "other_coach", "player"])
def test_only_the_squads_coaches_share_it(pair, who):
    with pytest.raises(PermissionDenied):
        services.split_film(actor=getattr(pair, who), film=pair.film, part="ours", other=pair.maren)
    with pytest.raises(PermissionDenied):
        services.join_film(actor=getattr(pair, who), film=pair.film)


@pytest.mark.parametrize(
    ("rules", "first", "second"),
    [
        (RULE_SETS["fiba"], [1, 2], [3, 4]),
        (RULE_SETS["ncaa"], [1], [2]),
        (Rules(3, 600, 300), [1, 2], [3]),
        (Rules(1, 600, 300), [1], []),
    ],
)
def test_a_half_is_periods_and_overtime_is_of_the_second(rules, first, second):
    assert FilmPart(part="first").periods(rules) == first
    later = FilmPart(part="second").periods(rules)
    assert later[: len(second)] == second
    assert later[-1] == rules.last_period
    assert FilmPart(part="ours").periods(rules) == []
    assert (FilmPart(part="ours").side, FilmPart(part="first").side) == ("ours", "")


def page(client, who, film, **body):
    client.force_login(who)
    address = reverse("film:parts", args=[film.pk])
    answer = (
        client.post(address, body, headers={"HX-Request": "true"}) if body else client.get(address)
    )
    return answer.status_code, " ".join(answer.text.split())


def test_the_fragment_says_who_takes_what(pair, client):
    status, text = page(client, pair.coach, pair.film)
    assert (status, "Share this film with Maren" in text, "only-" in text) == (200, True, False)
    status, text = page(client, pair.coach, pair.film, mine="theirs", other=str(pair.maren.pk))
    assert "<b>You</b>: their ball · <b>Maren</b>: our ball" in text
    assert 'only-side="theirs"' in text
    _status, text = page(client, pair.maren, pair.film)
    assert "<b>You</b>: our ball · <b>Ravel</b>: their ball" in text
    page(client, pair.maren, pair.film, mine="second")
    _status, text = page(client, pair.coach, pair.film)
    assert 'only-periods="1,2"' in text
    assert "only-side" not in text
    status, text = page(client, pair.director, pair.film)
    assert (status, "<b>Ravel</b>: first half" in text, "<form" in text) == (200, True, False)
    _status, text = page(client, pair.coach, pair.film, mine="whole")
    assert "<b>You</b>" not in text
    assert parts_of(pair.film) == {}


def test_choices_that_make_no_sense_are_refused(pair, client):
    status, _text = page(client, pair.coach, pair.film, mine="everything")
    assert status == 422
    status, _text = page(client, pair.coach, pair.film, mine="ours", other=str(pair.director.pk))
    assert status == 422
    assert parts_of(pair.film) == {}


def test_a_coach_alone_is_offered_nothing(pair, client):
    pair.maren.memberships.update(until=make.long_ago())
    assert page(client, pair.coach, pair.film) == (200, "")
    assert page(client, pair.coach, pair.film, mine="ours")[0] == 422
    assert parts_of(pair.film) == {}
