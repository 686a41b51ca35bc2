import pytest

from tests.accounts.steps import is_signed_in, sign_in


@pytest.fixture
def demo_coach(cast):
    cast.coach.is_demo = True
    cast.coach.save(update_fields=["is_demo"])
    return cast.coach


@pytest.mark.parametrize("address", ["127.0.0.1", "127.0.0.9", "::1"])
def test_demo_accounts_work_on_this_machine(demo_coach, client, address):
    sign_in(client, demo_coach.email, REMOTE_ADDR=address)
    assert client.get("/people/me/", REMOTE_ADDR=address).status_code == 200


@pytest.mark.parametrize(
    "where",
    [
        {"REMOTE_ADDR": "192.168.1.20"},
        {"REMOTE_ADDR": "2001:db8::1"},
        {"REMOTE_ADDR": ""},
        {"REMOTE_ADDR": "127.0.0.1", "HTTP_X_FORWARDED_FOR": "203.0.113.9"},
        {"REMOTE_ADDR": "127.0.0.1", "HTTP_X_FORWARDED_FOR": "127.0.0.1"},
        {"REMOTE_ADDR": "127.0.0.1", "HTTP_FORWARDED": "for=203.0.113.9"},
        {"REMOTE_ADDR": "127.0.0.1", "HTTP_X_REAL_IP": "203.0.113.9"},
    ],
)
def test_demo_accounts_are_refused_from_elsewhere(demo_coach, client, where):
    where = {"REMOTE_ADDR": where["REMOTE_ADDR"], **where}
    sign_in(client, demo_coach.email, **where)
    answer = client.get("/people/me/", **where)
    assert answer.status_code in {302, 403}
    assert not is_signed_in(client)
    assert client.get("/api/v1/me/", **where).status_code == 403


def test_a_session_made_here_does_not_travel(demo_coach, client):
    sign_in(client, demo_coach.email)
    answer = client.get("/people/me/", REMOTE_ADDR="203.0.113.9")
    assert answer.status_code == 403
    assert "only on the computer" in answer.content.decode()
    assert not is_signed_in(client)


def test_real_accounts_work_from_everywhere(cast, client):
    sign_in(client, cast.coach.email, REMOTE_ADDR="203.0.113.9")
    assert client.get("/people/me/", REMOTE_ADDR="203.0.113.9").status_code == 200
