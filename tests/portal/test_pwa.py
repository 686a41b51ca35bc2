"""What the server says to a phone that works without a connection."""

import io
import json

import pytest
from django.test import Client
from PIL import Image

from portal.pwa import shell


def signed_in(user):
    client = Client()
    client.force_login(user)
    return client


@pytest.mark.django_db
def test_the_manifest_names_pictures_that_are_there():
    client = Client()
    answer = client.get("/manifest.webmanifest")
    assert answer["Content-Type"] == "application/manifest+json"
    told = json.loads(answer.content)
    assert (told["start_url"], told["scope"], told["display"]) == ("/", "/", "standalone")
    assert {one["purpose"] for one in told["icons"]} == {"any", "maskable"}
    for one in told["icons"]:
        picture = Image.open(io.BytesIO(client.get(one["src"]).content))
        assert f"{picture.width}x{picture.height}" == one["sizes"]
        assert picture.convert("RGB").getpixel((0, 0)) == (0xFA, 0xF6, 0xEC)
    assert client.get("/icons/4000.png").status_code == 404


@pytest.mark.django_db
def test_the_worker_is_asked_for_each_time_and_knows_our_files(monkeypatch):
    answer = Client().get("/sw.js")
    assert answer["Cache-Control"] == "no-cache"
    assert answer["Content-Type"] == "text/javascript"
    first = answer.content.decode().splitlines()[0]
    told = json.loads(first.removeprefix("const SHELL = ").removesuffix(";"))
    assert {"/static/workouts/log.js", "/static/htmx/htmx-2.min.js"} <= set(told["files"])
    assert not [path for path in told["files"] if path.endswith(".ttf")]
    # A file with other content makes another worker.
    changed = dict.fromkeys(shell.files(), "other")
    monkeypatch.setattr(shell, "files", lambda: changed)
    assert told["name"] not in shell.worker().splitlines()[0]


def test_a_page_says_whose_it_is_and_whether_it_may_be_kept(cast):
    client = signed_in(cast.player)
    page = client.get("/today/")
    assert page["X-Person"] == str(cast.player.pk)
    assert "X-Keep" not in page
    assert Client().get("/accounts/login/")["X-Person"] == ""


def test_what_is_meant_for_one_person_is_refused_to_another(cast):
    headers = {"X-Person": str(cast.player.pk)}
    assert signed_in(cast.player).get("/keep/", headers=headers).status_code == 200
    for other in (signed_in(cast.teammate), signed_in(cast.guardian), Client()):
        assert other.get("/keep/", headers=headers).status_code == 401
        assert other.get("/today/", headers=headers).status_code == 401


def test_a_player_keeps_his_own_pages_and_nobody_else_any(cast):
    client = signed_in(cast.player)
    pages = client.get("/keep/").json()["pages"]
    assert {"/today/", f"/goals/work/{cast.kid.pk}/", f"/workouts/of/{cast.kid.pk}/log/"} <= set(
        pages
    )
    assert [client.get(path).status_code for path in pages] == [200] * len(pages)
    for other in (cast.guardian, cast.director):
        assert signed_in(other).get("/keep/").json() == {"pages": [], "clips": []}


def test_a_coach_keeps_the_page_of_all_at_one_basket(cast):
    client = signed_in(cast.coach)
    told = client.get("/keep/").json()
    group = f"/workouts/squads/{cast.squad.pk}/log/"
    assert told["clips"] == []
    assert told["pages"][0] == group
    assert told["pages"][1].startswith(f"{group}?player=")
    assert str(cast.kid.pk) in told["pages"][1]
    for path in told["pages"]:
        assert client.get(path).status_code == 200
