"""A film by its address: fetched, resumed, refused, stopped, begun anew."""

import gzip
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
import urllib3
from django.core.exceptions import PermissionDenied
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.film import faults, services
from devplans.film.fetching import addresses, answers, claims, job, lines
from devplans.film.fetching.lines import Patience
from devplans.film.fetching.rows import Fetch
from devplans.film.models import Film
from devplans.film.uploads.store import parts
from tests.film.film_server import (
    FilmServer,
    Internet,
    certificate,
    film,
    new_authority,
    redirect,
    trickle,
)
from tests.film.films import shared_film

MIB = 1024 * 1024
FILM = b"\0\0\0\x18ftypisom" + bytes(range(256)) * 4096 * 5
URL = "https://films.example/game.mp4?key=secret"


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    return new_authority(tmp_path_factory.mktemp("authority"))


@pytest.fixture
def server(authority):
    started = FilmServer(certificate(authority[0], "films.example"))
    started.paths["/game.mp4"] = film(FILM)
    yield started
    started.shutdown()
    started.server_close()


@pytest.fixture(autouse=True)
def internet(server, authority, settings, tmp_path, monkeypatch):
    made = Internet(server)
    monkeypatch.setattr(lines.socket, "getaddrinfo", made.getaddrinfo)
    monkeypatch.setattr(urllib3.util.connection, "create_connection", made.create_connection)
    monkeypatch.setattr(job, "RECONNECT_AFTER_S", 0)
    settings.FILM_ADDRESS_CA = str(authority[1])
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")
    return made


@pytest.fixture(autouse=True)
def rung(monkeypatch):
    """Nothing runs by itself: what was rung for is told."""
    bells = SimpleNamespace(fetch=[], prepare=[])
    monkeypatch.setattr("devplans.film.tasks.fetch.delay_on_commit", bells.fetch.append)
    monkeypatch.setattr("devplans.film.tasks.fetch.delay", bells.fetch.append)
    monkeypatch.setattr("devplans.film.tasks.prepare.delay", bells.prepare.append)
    return bells


def asked(cast, url=URL, **more):
    return services.fetch_film(
        actor=cast.coach, squad=cast.squad, title="Second half", address=url, **more
    )


def run(added):
    """Let its worker have one turn; the film as it is then."""
    services.run_fetch(fetch_id=added.fetch.pk)
    return Film.objects.get(pk=added.pk)


def is_due_again(added):
    Fetch.objects.filter(film=added).update(lease_until=timezone.now() - timedelta(seconds=1))


def left_over(settings):
    folders = [Path(settings.FILE_UPLOAD_TEMP_DIR) / "parts", Path(settings.MEDIA_ROOT)]
    return [p for folder in folders for p in folder.rglob("*") if p.suffix != ".lock"]


def failed(cast, settings, url=URL):
    """The sentence with which a fetch ended that kept nothing."""
    added = run(asked(cast, url))
    assert (added.state, added.original_key, added.size_bytes) == ("failed", "", 0)
    assert left_over(settings) == []
    assert Fetch.objects.get().ended_at
    return added.problem


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


@pytest.mark.parametrize(
    "ips",
    [["127.0.0.1"], ["169.254.169.254"], ["fe80::1"], ["::ffff:10.0.0.1"], ["8.8.8.8", "::1"]],
)
def test_what_leads_inside_fails_with_a_sentence(cast, settings, internet, server, ips):
    internet.names["films.example"] = [ips]
    assert failed(cast, settings) == addresses.PRIVATE
    assert (internet.lines, server.taken) == ([], 0)


def test_so_does_a_redirect_inside(cast, settings, internet, server):
    server.paths["/game.mp4"] = redirect("https://192.168.1.1/admin")
    assert failed(cast, settings) == addresses.PRIVATE
    assert server.taken == 1


def test_so_does_a_name_that_leads_inside_when_the_line_is_taken_up_again(
    cast, settings, internet, server
):
    internet.names["films.example"] = [["93.184.216.34"], ["127.0.0.1"]]
    server.paths["/game.mp4"] = film(FILM, cut_after=2_000_000)
    assert failed(cast, settings) == addresses.PRIVATE
    assert server.taken == 1


BOMB = gzip.compress(bytes(50 * MIB))
PAGES = {
    "page": (b"<!DOCTYPE html><title>Sign in</title>", {}, answers.WEB_PAGE),
    "page by type": (b"please wait", {"Content_Type": "text/html"}, answers.WEB_PAGE),
    "bomb": (BOMB, {"Content_Encoding": "gzip"}, answers.PACKED),
    "bare bomb": (BOMB, {}, answers.NOT_A_FILM),
    "brotli": (FILM[:99], {"Content_Encoding": "br"}, answers.PACKED),
    "list": (b"#EXTM3U\nhttps://10.0.0.1/x", {"Content_Type": "video/mp4"}, answers.NOT_A_FILM),
    "concat": (b"ffconcat version 1.0\nfile /etc/passwd", {}, answers.NOT_A_FILM),
    "drawing": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", {}, answers.NOT_A_FILM),
    "nothing": (b"", {}, answers.EMPTY),
    "announced": (b"", {"Content_Length": 10**12}, answers.TOO_BIG),
}  # fmt: skip


@pytest.mark.parametrize("kind", PAGES)
def test_what_is_no_film_fails_with_its_reason(cast, settings, server, kind):
    body, headers, reason = PAGES[kind]
    server.paths["/game.mp4"] = lambda handler: handler.say(200, body, **headers)
    assert failed(cast, settings) == reason
    assert len(server.asked) == 1


@pytest.mark.parametrize(
    ("status", "reason"),
    [(403, answers.SIGN_IN), (404, answers.GONE), (410, answers.GONE), (418, answers.WILL_NOT)],
)
def test_a_server_that_gives_nothing_out_is_not_asked_twice(cast, settings, server, status, reason):
    server.paths["/game.mp4"] = lambda handler: handler.say(status, b"no")
    assert failed(cast, settings) == reason
    assert len(server.asked) == 1


def test_a_busy_server_is_asked_later(cast, server):
    server.paths["/game.mp4"] = lambda handler: handler.say(503)
    added = run(asked(cast))
    assert (added.state, added.problem) == ("waiting", answers.BUSY)
    server.paths["/game.mp4"] = film(FILM)
    is_due_again(added)
    added = run(added)
    assert (bool(added.original_key), added.problem) == (True, "")


def test_too_much_without_a_word_is_cut_off(cast, settings, server):
    settings.FILM_MAX_BYTES = 2 * MIB
    chunk = b"%x\r\n%s\r\n" % (len(FILM[:MIB]), FILM[:MIB])
    chunked = {"Content_Length": None, "Transfer_Encoding": "chunked"}
    server.paths["/game.mp4"] = trickle(chunk, chunk, 0, **chunked)
    assert failed(cast, settings) == answers.TOO_BIG


def test_an_endless_trickle_is_given_up(cast, settings, server, monkeypatch):
    quick = Patience(read_s=0.5, window_s=0.5, least_bytes=100_000)
    made = replace(job.rules(), patience=quick)
    monkeypatch.setattr(job, "rules", lambda: made)
    server.paths["/game.mp4"] = trickle(FILM[:1000], b"x", 0.02)
    added = asked(cast)
    begun = time.monotonic()
    for _turn in range(3):
        added = run(added)
        is_due_again(added)
    assert (added.state, added.problem) == ("failed", lines.TRICKLE)
    assert time.monotonic() - begun < 10


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
