import re

import pytest
from django.contrib.auth.models import AnonymousUser
from django.template import engines
from django.template.loader import render_to_string
from django.test import RequestFactory

from devplans.people.access import Role
from portal import context


@pytest.fixture
def every_place(monkeypatch):
    """All places exist; their addresses are their routes."""
    shown = lambda place, player: f"/{place.route.replace(':', '/')}/"  # noqa: E731
    monkeypatch.setattr(context, "address", shown)


def request_of(user, where: str = "/", namespace: str = ""):
    request = RequestFactory().get(where)
    request.user = user
    request.resolver_match = type("Match", (), {"namespace": namespace})()
    return request


def labels(request) -> list[str]:
    return [str(item.label) for item in context.navigation(request)["nav_items"]]


def current(request) -> list[str]:
    return [str(i.label) for i in context.navigation(request)["nav_items"] if i.current]


@pytest.mark.parametrize(
    ("name", "places"),
    [
        ("coach", ["Waiting for you", "Film", "Players", "Next practice", "Calendar", "Squad"]),
        ("director", ["Club", "Squads", "Players", "Staff", "Digests"]),
        ("guardian", ["Family", "Calendar", "Digests", "Me"]),
        ("player", ["Today", "Work", "Log", "Progress", "Me"]),
        ("stranger", []),
        ("ex_guardian", []),
    ],
)
def test_each_role_finds_its_own_places(cast, every_place, name, places):
    assert labels(request_of(getattr(cast, name))) == places


def test_several_roles_share_one_navigation_without_repeats(cast, every_place):
    cast.coach.memberships.create(club=cast.club, role=Role.DIRECTOR, since=cast.season.starts_on)
    request = request_of(cast.coach)
    items = list(context.navigation(request)["nav_items"])
    assert [str(i.label) for i in items if i.starts_group] == ["Club"]
    assert [str(i.label) for i in items][-3:] == ["Club", "Staff", "Digests"]
    assert len({i.url for i in items}) == len(items) == 9
    assert not context.navigation(request)["nav_as_bar"]


def test_a_place_that_does_not_exist_is_left_out(cast, monkeypatch):
    monkeypatch.setattr(
        context, "address", lambda place, player: "/w/" if place.route == "goals:work" else ""
    )
    assert labels(request_of(cast.player)) == ["Work"]


def test_the_longest_address_is_the_current_place(cast, every_place):
    assert current(request_of(cast.coach, "/film/list/", "film")) == ["Film"]
    assert current(request_of(cast.coach, "/people/squads/4/", "people")) == ["Squad"]


def test_a_page_of_an_app_belongs_to_the_place_that_names_it(cast, every_place):
    assert current(request_of(cast.coach, "/feedback/check/1/", "feedback")) == ["Film"]
    assert current(request_of(cast.player, "/feedback/1/", "feedback")) == ["Today"]
    assert current(request_of(cast.coach, "/elsewhere/", "")) == []


def test_a_number_stands_beside_its_place(cast, every_place):
    request = request_of(cast.coach)
    request.nav_counts = {"home:waiting": 6}
    html = render_to_string("base.html", request=request)
    assert re.search(r"Waiting for you <span class=\"count\">6</span>", html)


def test_a_fragment_pays_nothing_for_the_navigation(cast, django_assert_num_queries):
    request = request_of(cast.coach)
    with django_assert_num_queries(0):
        engines["django"].from_string("{{ who.full_name }}").render({}, request)


def test_signed_out_pages_have_no_navigation():
    html = render_to_string("base.html", request=request_of(AnonymousUser()))
    assert "<nav" not in html
    assert "Sign out" not in html


def test_the_page_tells_htmx_to_swap_refused_forms_and_to_run_nothing():
    html = render_to_string("base.html", request=request_of(AnonymousUser()))
    told = re.search(r"name=\"htmx-config\" content='(.*?)'", html).group(1)
    for part in ['"allowEval": false', '"selfRequestsOnly": true', '{"code": "422", "swap": true}']:
        assert part in told


def test_the_page_can_be_skipped_to():
    html = render_to_string("base.html", request=request_of(AnonymousUser()))
    assert 'class="skip-link" href="#main"' in html
    assert '<main id="main"' in html


@pytest.mark.parametrize("name", ["400", "403", "403_csrf", "404", "500"])
def test_error_pages_render_on_nothing_and_say_what_to_do(name):
    html = render_to_string(f"{name}.html")
    heading = re.search(r"<h1>(.*?)</h1>", html).group(1)
    assert heading
    assert 'href="/"' in html
    assert len(re.search(r"</h1>\s*<p>(.*?)</p>", html).group(1)) > 30


@pytest.mark.django_db
def test_the_sign_in_page_has_the_fields_that_others_rely_on(client):
    html = client.get("/accounts/login/").content.decode()
    assert 'name="login"' in html
    assert 'name="password"' in html
    assert html.count("<h1>") == 1
    assert "sign up" not in html.lower()


@pytest.mark.django_db
def test_a_wrong_password_is_told_beside_the_form(client):
    answer = client.post("/accounts/login/", {"login": "nobody@club.example", "password": "wrong"})
    assert 'class="form-errors" role="alert"' in answer.content.decode()


@pytest.mark.django_db
def test_the_code_page_offers_the_password_again(client):
    html = client.get("/accounts/login/code/").content.decode()
    assert 'name="email"' in html
    assert 'href="/accounts/login/"' in html
