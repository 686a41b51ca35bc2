"""What ends a fetch with a sentence: where it leads, and what comes from there."""

import gzip
import time
from dataclasses import replace

import pytest

from devplans.film.fetching import addresses, answers, job, lines
from devplans.film.fetching.lines import Patience
from tests.film.fetching.turns import FILM, MIB, asked, failed, is_due_again, run
from tests.film.film_server import (
    film,
    redirect,
    trickle,
)


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
