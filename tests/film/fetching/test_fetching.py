"""A film by its address: fetched, resumed, stopped, begun anew."""

from types import SimpleNamespace

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.film import faults, services
from devplans.film.fetching import addresses, claims, job, lines
from devplans.film.fetching.rows import Fetch
from devplans.film.models import Film
from devplans.film.uploads.store import parts
from tests.film.fetching.turns import FILM, MIB, URL, asked, is_due_again, left_over, run
from tests.film.film_server import (
    film,
)
from tests.film.films import shared_film


def test_a_film_is_fetched_and_then_waits_to_be_prepared(cast, server, rung):
    added = asked(cast)
    assert (added.state, added.original_key, rung.fetch) == ("waiting", "", [str(added.fetch.pk)])
    assert not Film.objects.claimable(timezone.now()).exists()
    added = run(added)
    assert (added.state, added.size_bytes, added.progress) == ("waiting", len(FILM), 0)
    assert default_storage.open(added.original_key).read() == FILM
    assert rung.prepare == [str(added.pk)]
    assert Film.objects.claimable(timezone.now()).get() == added
    assert server.asked[0][0] == "/game.mp4?key=secret"
    fetch = Fetch.objects.get()
    assert (fetch.address, fetch.host, fetch.handle) == ("", "films.example", "")
    entry = AuditEntry.objects.get(verb="film.fetch_asked")
    assert (entry.actor, "secret" in str(entry.__dict__)) == (cast.coach, False)


def test_a_real_film_becomes_ready(cast, server):
    server.paths["/real.mp4"] = film(shared_film("bikes").read_bytes())
    added = run(asked(cast, "https://films.example/real.mp4"))
    services.prepare_film(film_id=added.pk)
    added.refresh_from_db()
    assert (added.state, added.problem) == ("ready", "")
    assert added.duration_ms > 0


def test_a_line_that_breaks_is_gone_on_with_where_it_was(cast, server):
    server.paths["/game.mp4"] = film(FILM, cut_after=1_500_000)
    added = run(asked(cast))
    assert default_storage.open(added.original_key).read() == FILM
    ranges = [headers.get("Range") for _path, headers in server.asked]
    assert ranges == [None, "bytes=1500000-", "bytes=3000000-", "bytes=4500000-"]
    assert {headers.get("If-Range") for _path, headers in server.asked[1:]} == {'"one"'}


def test_a_killed_worker_costs_only_its_lease(cast, server, monkeypatch):
    """It dies while bytes arrive; the next one goes on behind those that are on the disk."""
    added = asked(cast)

    class Killed(BaseException):
        pass

    def dies(self, got_bytes, *, at_once=False):
        if got_bytes > 2_000_000:
            raise Killed
        return progress(self, got_bytes, at_once=at_once)

    progress = claims.Claim.progress
    monkeypatch.setattr(claims.Claim, "progress", dies)
    with pytest.raises(Killed):
        run(added)
    monkeypatch.setattr(claims.Claim, "progress", progress)
    there = parts().size(Fetch.objects.get().handle)
    assert there > 2_000_000
    assert run(added).original_key == "", "the lease has not run out"
    assert services.sweep_fetches() == []
    is_due_again(added)
    assert services.sweep_fetches() == [added.fetch.pk]
    added = run(added)
    assert server.asked[-1][1]["Range"] == f"bytes={there}-"
    assert default_storage.open(added.original_key).read() == FILM


def test_one_killed_between_keeping_and_noting_fetches_nothing_twice(cast, server, monkeypatch):
    added = asked(cast)
    with monkeypatch.context() as patched:
        patched.setattr(claims.Claim, "end", lambda *_args, **_fields: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            run(added)
    is_due_again(added)
    added = run(added)
    assert default_storage.open(added.original_key).read() == FILM
    assert len(server.asked) == 1


def test_a_file_that_changed_meanwhile_is_fetched_anew(cast, server):
    other = b"\0\0\0\x18ftypisom" + b"other" * 500_000

    def answer(handler):
        first = len(server.asked) == 1
        given = film(FILM, cut_after=2_000_000) if first else film(other, etag='"two"')
        given(handler)

    server.paths["/game.mp4"] = answer
    added = run(asked(cast))
    assert default_storage.open(added.original_key).read() == other


@pytest.mark.parametrize("how", ["no ranges", "no validator"])
def test_a_server_that_cannot_go_on_begins_anew(cast, server, how):
    plain = {"ranges": False} if how == "no ranges" else {"etag": None}

    def answer(handler):
        cut = {"cut_after": 2_000_000} if len(server.asked) == 1 else {}
        film(FILM, **plain, **cut)(handler)

    server.paths["/game.mp4"] = answer
    added = run(asked(cast))
    assert default_storage.open(added.original_key).read() == FILM


def test_a_server_that_always_breaks_at_the_same_place_ends_it(cast, server, settings):
    server.paths["/game.mp4"] = film(FILM, etag=None, cut_after=2_000_000)
    added = asked(cast)
    for _turn in range(3):
        added = run(added)
        is_due_again(added)
    assert (added.state, added.problem) == ("failed", lines.CUT)
    assert left_over(settings) == []
    assert len(server.asked) < 10


def test_three_attempts_in_vain_and_no_more(cast, internet, server):
    internet.names.pop("films.example")
    added = asked(cast)
    for turn in (1, 2, 3):
        assert added.state == "waiting"
        added = run(added)
        assert Fetch.objects.get().attempts == turn
        assert run(added).problem == lines.NO_SERVER, "not before it is due"
        is_due_again(added)
    assert added.state == "failed"
    assert (server.taken, internet.looked_up) == (0, ["films.example"] * 3)


def test_a_full_disk_waits_for_room_and_counts_for_nothing(cast, server, monkeypatch):
    monkeypatch.setattr("shutil.disk_usage", lambda _folder: SimpleNamespace(free=10 * MIB))
    added = asked(cast)
    for _turn in range(5):
        added = run(added)
        is_due_again(added)
    assert (added.state, added.problem) == ("waiting", faults.NO_ROOM)
    assert Fetch.objects.get().attempts == 0


def test_the_club_has_a_quota(cast, settings, server):
    settings.FILM_QUOTA_BYTES = 3 * MIB
    added = run(asked(cast))
    assert added.state == "failed"
    assert "The club may keep 3 MB" in added.problem
    settings.FILM_QUOTA_BYTES = 0
    with pytest.raises(DomainError) as caught:
        asked(cast)
    assert caught.value.code == "file.quota"


def test_who_no_longer_coaches_gets_nothing(cast, settings, server):
    added = asked(cast)
    cast.coach.memberships.all().delete()
    added = run(added)
    assert (added.state, added.problem, server.taken) == ("failed", job.NOT_YOURS, 0)


def test_the_coach_stops_it_and_begins_it_anew(cast, settings, server, monkeypatch, rung):
    added = asked(cast)

    def stops(self, got_bytes, *, at_once=False):
        if got_bytes > MIB and Fetch.objects.running().exists():
            services.stop_fetch(actor=cast.coach, film=added)
        return progress(self, got_bytes, at_once=True)

    progress = claims.Claim.progress
    monkeypatch.setattr(claims.Claim, "progress", stops)
    stopped = run(added)
    monkeypatch.setattr(claims.Claim, "progress", progress)
    assert (stopped.state, stopped.problem) == ("failed", "You stopped fetching this film.")
    assert left_over(settings) == []
    with pytest.raises(DomainError, match="not being fetched"):
        services.stop_fetch(actor=cast.coach, film=stopped)
    services.fetch_again(actor=cast.coach, film=stopped)
    assert rung.fetch == [str(added.fetch.pk)] * 2
    assert default_storage.open(run(stopped).original_key).read() == FILM
    with pytest.raises(DomainError, match="not known any more"):
        services.fetch_again(actor=cast.coach, film=Film.objects.get())


def test_a_film_deleted_meanwhile_leaves_nothing(cast, settings, monkeypatch):
    added = asked(cast)

    def deletes(self, got_bytes, *, at_once=False):
        Film.objects.filter(pk=added.pk).delete()
        return progress(self, got_bytes, at_once=True)

    progress = claims.Claim.progress
    monkeypatch.setattr(claims.Claim, "progress", deletes)
    assert services.run_fetch(fetch_id=added.fetch.pk) is False
    assert left_over(settings) == []


@pytest.mark.parametrize("who", ["player", "guardian", "director", "other_coach", "outsider"])
def test_nobody_else_has_one_fetched_stopped_or_begun_anew(cast, who):
    added = asked(cast)
    other = getattr(cast, who)
    more = {"squad": cast.squad, "title": "Game", "address": URL}
    with pytest.raises(PermissionDenied):
        services.fetch_film(actor=other, **more)
    for service in (services.stop_fetch, services.fetch_again):
        with pytest.raises(PermissionDenied):
            service(actor=other, film=added)
    assert Fetch.objects.running().count() == 1


def test_five_at_once_and_no_more(cast):
    for _number in range(5):
        asked(cast)
    with pytest.raises(DomainError) as caught:
        asked(cast)
    assert caught.value.code == "fetch.many"


def test_the_operator_can_switch_it_off(cast, settings, server):
    added = asked(cast)
    settings.FILM_BY_ADDRESS = False
    with pytest.raises(DomainError) as caught:
        asked(cast)
    assert caught.value.code == "fetch.off"
    assert (run(added).problem, server.taken) == (addresses.SWITCHED_OFF, 0)
    client = Client()
    client.force_login(cast.coach)
    assert b"switched off on this portal" in client.get(reverse("film:fetch")).content


def test_the_page_tells_what_is_wrong_and_what_goes_on(cast, server, settings):
    client = Client()
    client.force_login(cast.coach)
    form = {"title": "Game", "squad": str(cast.squad.pk), "address": "https://192.168.1.1/a.mp4"}
    answer = client.post(reverse("film:fetch"), form)
    assert (answer.status_code, addresses.PRIVATE in answer.content.decode()) == (422, True)
    answer = client.post(reverse("film:fetch"), {**form, "address": URL}, follow=True)
    shown = answer.content.decode()
    assert "Nothing has come from films.example yet" in shown
    assert "Stop fetching" in shown
    assert "secret" not in shown
    added = Film.objects.get()
    state = client.get(
        reverse("film:state", args=[added.pk]) + "?fetching", headers={"HX-Request": "true"}
    )
    assert "HX-Refresh" not in state
    client.post(reverse("film:fetch-stop", args=[added.pk]))
    state = client.get(
        reverse("film:state", args=[added.pk]) + "?fetching", headers={"HX-Request": "true"}
    )
    assert state["HX-Refresh"] == "true"
    shown = client.get(reverse("film:detail", args=[added.pk])).content.decode()
    assert "Fetch it again" in shown
    client.post(reverse("film:fetch-again", args=[added.pk]))
    assert Film.objects.get().state == "waiting"
