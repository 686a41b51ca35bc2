"""Lines to a film's server: nothing private is ever connected to, and nothing lasts for ever."""

import socket
import time
from dataclasses import replace

import pytest
import trustme
import urllib3

from devplans.film.fetching import addresses, lines
from devplans.film.fetching.addresses import Refused
from devplans.film.fetching.lines import Broken, Patience, Rules, opened
from tests.film.film_server import (
    OTHER_PUBLIC,
    PUBLIC,
    FilmServer,
    Internet,
    certificate,
    film,
    new_authority,
    redirect,
    trickle,
)

pytestmark = pytest.mark.once
FILM = b"\0\0\0\x18ftypisom" + bytes(range(256)) * 4000
URL = "https://films.example/game.mp4"


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    return new_authority(tmp_path_factory.mktemp("authority"))


@pytest.fixture
def server(authority):
    names = ("films.example", "other.example", PUBLIC, "127.0.0.1")
    started = FilmServer(certificate(authority[0], *names))
    started.paths["/game.mp4"] = film(FILM)
    yield started
    started.shutdown()
    started.server_close()


@pytest.fixture
def internet(server, monkeypatch):
    made = Internet(server)
    monkeypatch.setattr(lines.socket, "getaddrinfo", made.getaddrinfo)
    monkeypatch.setattr(urllib3.util.connection, "create_connection", made.create_connection)
    return made


@pytest.fixture
def rules(authority):
    return Rules(ca_file=str(authority[1]))


def fetched(url, rules, **headers):
    with opened(url, rules=rules, headers=headers) as line:
        return line.status, b"".join(line.chunks())


def test_a_film_comes_whole_by_one_checked_line(internet, server, rules):
    assert fetched(URL, rules) == (200, FILM)
    assert internet.lines == [(PUBLIC, 443)]
    assert internet.looked_up == ["films.example"]
    (path, headers) = server.asked[0]
    assert (path, headers["Host"]) == ("/game.mp4", "films.example")
    assert headers["Accept-Encoding"] == "identity"


def test_proxies_of_the_environment_are_not_asked(internet, rules, monkeypatch):
    for name in ("HTTPS_PROXY", "https_proxy", "ALL_PROXY", "HTTP_PROXY"):
        monkeypatch.setenv(name, "http://127.0.0.1:1")
    assert fetched(URL, rules)[0] == 200
    assert internet.lines == [(PUBLIC, 443)]


INNER = [
    "127.0.0.1", "10.0.0.7", "172.16.0.1", "192.168.1.1", "169.254.169.254", "100.64.0.1",
    "0.0.0.0", "168.63.129.16", "224.0.0.1", "::1", "::", "fe80::1%2", "fd00:ec2::254",
    "::ffff:127.0.0.1", "64:ff9b::7f00:1", "2002:7f00:1::", "2001:0:1::1",
]  # fmt: skip


@pytest.mark.parametrize("ip", INNER)
def test_a_name_that_leads_inside_is_refused_without_a_connection(internet, server, rules, ip):
    internet.names["films.example"] = [[ip]]
    with pytest.raises(Refused) as caught:
        fetched(URL, rules)
    assert caught.value.reason == addresses.PRIVATE
    assert (internet.lines, server.taken) == ([], 0)


@pytest.mark.parametrize("ip", ["127.0.0.1", "[::1]", "169.254.169.254", "[::ffff:10.0.0.1]"])
def test_so_is_an_address_in_numbers(internet, server, rules, ip):
    with pytest.raises(Refused, match="private network"):
        fetched(f"https://{ip}/game.mp4", rules)
    assert (internet.lines, internet.looked_up, server.taken) == ([], [], 0)


def test_one_inner_address_among_good_ones_spoils_them_all(internet, server, rules):
    internet.names["films.example"] = [[PUBLIC, "10.0.0.7"]]
    with pytest.raises(Refused, match="private network"):
        fetched(URL, rules)
    assert (internet.lines, server.taken) == ([], 0)


def test_a_name_that_changes_between_check_and_use_changes_nothing(internet, rules):
    internet.names["films.example"] = [[PUBLIC], ["127.0.0.1"]]
    assert fetched(URL, rules) == (200, FILM)
    assert (internet.lines, internet.looked_up) == ([(PUBLIC, 443)], ["films.example"])


def test_the_next_request_asks_and_checks_anew(internet, server, rules):
    internet.names["films.example"] = [[PUBLIC], ["127.0.0.1"]]
    server.paths["/moved"] = redirect("https://films.example/game.mp4")
    with pytest.raises(Refused, match="private network"):
        fetched("https://films.example/moved", rules)
    assert (internet.lines, server.taken) == ([(PUBLIC, 443)], 1)


@pytest.mark.parametrize(
    "to",
    [
        "https://127.0.0.1/game.mp4", "https://[::1]/game.mp4", "//169.254.169.254/latest",
        "https://2130706433/", "http://films.example/game.mp4", "https://films.example:8443/",
        "https://inner.example/", "https://nas.lan/", "https://a:b@films.example/game.mp4",
        "https://films.example\\@127.0.0.1/", "file:///etc/passwd",
    ],
)  # fmt: skip
def test_a_redirect_inside_is_refused_before_a_connection(internet, server, rules, to):
    internet.names["inner.example"] = [["10.0.0.7"]]
    server.paths["/moved"] = redirect(to)
    with pytest.raises(Refused):
        fetched("https://films.example/moved", replace(rules, named=frozenset({"nas.lan"})))
    assert (internet.lines, server.taken) == ([(PUBLIC, 443)], 1)


def test_five_redirects_are_followed_and_no_more(internet, server, rules):
    for number in range(6):
        server.paths[f"/{number}"] = redirect(f"/{number + 1}", status=[301, 307][number % 2])
    server.paths["/6"] = film(FILM)
    assert fetched("https://films.example/1", rules) == (200, FILM)
    with pytest.raises(Refused) as caught:
        fetched("https://films.example/0", rules)
    assert caught.value.reason == lines.MANY_REDIRECTS


def test_a_redirect_to_another_host_keeps_no_header_of_the_first(internet, server, rules):
    internet.names["other.example"] = [[OTHER_PUBLIC]]
    server.paths["/moved"] = redirect("https://other.example/game.mp4")
    assert fetched("https://films.example/moved", rules) == (200, FILM)
    assert internet.lines == [(PUBLIC, 443), (OTHER_PUBLIC, 443)]
    assert server.asked[1][1]["Host"] == "other.example"


def test_a_server_the_operator_named_may_be_private(internet, server, rules, authority):
    internet.names["nas.lan"] = [["192.168.1.9"]]
    server.context = certificate(authority[0], "nas.lan")
    named = replace(rules, named=frozenset({"nas.lan"}))
    assert fetched("https://nas.lan/game.mp4", named) == (200, FILM)
    internet.names["nas.lan"] = [["169.254.169.254"]]
    with pytest.raises(Refused, match="private network"):
        fetched("https://nas.lan/game.mp4", named)
    assert internet.lines == [("192.168.1.9", 443)]


def test_a_certificate_for_another_name_is_refused_and_nothing_asked(
    internet, server, rules, authority
):
    server.context = certificate(authority[0], "other.example", PUBLIC)
    with pytest.raises(Refused) as caught:
        fetched(URL, rules)
    assert caught.value.reason == lines.BAD_CERTIFICATE
    assert server.asked == []


def test_so_is_one_of_an_unknown_authority(internet, server, rules):
    server.context = certificate(trustme.CA(), "films.example")
    with pytest.raises(Refused, match="certificate"):
        fetched(URL, rules)
    assert server.asked == []


def test_an_unknown_name_may_be_known_later(internet, rules):
    with pytest.raises(Broken) as caught:
        fetched("https://nobody.example/", rules)
    assert caught.value.reason == lines.NO_SERVER


def test_a_second_server_of_a_name_is_tried(internet, rules, monkeypatch):
    internet.names["films.example"] = [[OTHER_PUBLIC, PUBLIC]]
    connect = internet.create_connection

    def first_is_down(address, *args, **kwargs):
        if address[0] == OTHER_PUBLIC:
            raise ConnectionRefusedError
        return connect(address, *args, **kwargs)

    monkeypatch.setattr(urllib3.util.connection, "create_connection", first_is_down)
    assert fetched(URL, rules) == (200, FILM)


QUICK = Patience(connect_s=1, first_answer_s=0.6, read_s=0.5, window_s=0.8, least_bytes=10_000)


def is_given_up(url, rules, *, within_s):
    begun = time.monotonic()
    with pytest.raises(Broken) as caught:
        fetched(url, replace(rules, patience=QUICK))
    assert time.monotonic() - begun < within_s
    return caught.value.reason


def test_a_head_that_trickles_is_given_up(internet, server, rules):
    def answer(handler):
        for _number in range(100):
            handler.wfile.write(b"HTTP/1.1 100 Continue\r\n\r\n" * 2)
            handler.wfile.flush()
            time.sleep(0.1)

    server.paths["/head"] = answer
    assert is_given_up("https://films.example/head", rules, within_s=5) == lines.TRICKLE


def test_a_body_that_trickles_is_given_up(internet, server, rules):
    server.paths["/drip"] = trickle(FILM[:100], b"x", 0.05)
    assert is_given_up("https://films.example/drip", rules, within_s=5) == lines.TRICKLE


def test_chunk_lengths_that_trickle_are_given_up(internet, server, rules):
    """Each byte comes in time, and the length of the chunk never ends."""
    chunked = {"Content_Length": None, "Transfer_Encoding": "chunked"}
    server.paths["/drip"] = trickle(b"", b"0", 0.05, **chunked)
    assert is_given_up("https://films.example/drip", rules, within_s=5) == lines.TRICKLE


def test_a_silent_server_is_given_up(internet, server, rules):
    server.paths["/mute"] = lambda handler: time.sleep(3)
    assert is_given_up("https://films.example/mute", rules, within_s=3)


def test_a_server_that_never_shakes_hands_is_given_up(internet, rules, monkeypatch):
    with socket.create_server(("127.0.0.1", 0)) as mute:
        internet.server = type("Mute", (), {"server_address": mute.getsockname()})
        assert is_given_up(URL, rules, within_s=5) == lines.NO_ANSWER


def test_a_cut_line_is_told(internet, server, rules):
    server.paths["/cut"] = film(FILM, cut_after=1000)
    with pytest.raises(Broken) as caught:
        fetched("https://films.example/cut", rules)
    assert caught.value.reason == lines.CUT
