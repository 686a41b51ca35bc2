"""Whose turn it is: the film that is waited for goes first, and what the page says of it."""

import os
import signal
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.film import child, faults, noting, preparing, services, storing, tasks, turns
from devplans.film.facts import Probe
from devplans.film.models import Film, FilmFile
from tests import factories as make
from tests.film import films
from tests.film.test_prepare import files_of, prepared, waiting_film


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


def later(minutes: float):
    return timezone.now() + timedelta(minutes=minutes)


@pytest.fixture
def rung(monkeypatch):
    found = []
    monkeypatch.setattr(tasks.prepare, "delay", found.append)
    return found


def test_the_film_waited_for_last_goes_first_then_the_shortest_then_the_oldest(cast):
    old, short, long = (waiting_film(cast.squad, size_bytes=size) for size in (500, 400, 900))
    first = waiting_film(cast.squad, size_bytes=9000, wanted_at=later(-1))
    second = waiting_film(cast.squad, size_bytes=100, wanted_at=later(-9))
    equal = waiting_film(cast.squad, size_bytes=500)
    order = list(turns.in_turn(Film.objects.claimable(timezone.now())))
    assert order == [first, second, short, old, equal, long]
    assert turns.next_id() == first.pk
    assert [turns.ahead_of(film) for film in order] == [0, 1, 2, 3, 4, 5]


def test_opening_the_page_says_that_somebody_waits_once_a_minute(cast):
    film = waiting_film(cast.squad)
    coach = signed_in(cast.coach)
    page = coach.get(reverse("film:detail", args=[film.pk]))
    film.refresh_from_db()
    noted = film.wanted_at
    assert noted > later(-1)
    assert "It is next." in page.content.decode()
    state = reverse("film:state", args=[film.pk])
    coach.get(state)
    film.refresh_from_db()
    assert film.wanted_at == noted
    Film.objects.filter(pk=film.pk).update(wanted_at=later(-2))
    coach.get(state)
    film.refresh_from_db()
    assert film.wanted_at > noted


def test_a_ready_film_is_not_waited_for(cast):
    film = make.make_film(cast.squad)
    signed_in(cast.coach).get(reverse("film:detail", args=[film.pk]))
    film.refresh_from_db()
    assert film.wanted_at is None


def test_a_long_film_gives_way_between_two_pieces_and_goes_on_behind_them(
    cast, of_kind, monkeypatch, rung
):
    """Somebody opens the other film's page while this one's second piece is encoded."""
    monkeypatch.setattr(preparing, "SEGMENT_S", 1.0)
    kind, path = of_kind["broadcast"]
    long = waiting_film(cast.squad, path, size_bytes=100)
    wanted = waiting_film(cast.squad, films.shared_film("bikes"), size_bytes=9000)
    encoded, push = [], storing.Pieces.push

    def after_piece(pieces):
        push(pieces)
        encoded.append(pieces.place)
        if len(encoded) == 2:
            turns.want(wanted)

    monkeypatch.setattr(storing.Pieces, "push", after_piece)
    assert services.prepare_next_film() is False
    long.refresh_from_db()
    assert (long.state, long.lease_token, long.lease_until) == ("waiting", None, None)
    assert long.attempts == 0
    assert len(encoded) == 2
    assert rung == [str(long.pk)]
    assert services.prepare_next_film() is True
    wanted.refresh_from_db()
    assert wanted.state == "ready"
    of_wanted = len(encoded) - 2
    assert services.prepare_next_film() is True
    long.refresh_from_db()
    assert long.state == "ready"
    assert len(encoded) - of_wanted == 6, "no piece of it was made twice"
    shown = films.frames_of(Path(default_storage.path(long.playable_key)))
    assert [number for _time, number in shown] == list(range(180))
    assert [time for time, _number in shown] == kind.seconds()
    assert not Path(default_storage.path(f"films/{long.pk}/pieces")).exists()


def test_nobody_gives_way_to_who_is_not_there_any_more_nor_to_another_who_waits(cast):
    film = waiting_film(cast.squad)
    other = waiting_film(cast.squad)
    for mine, others, gives in [
        (None, None, False),
        (None, later(-1), True),
        (None, later(-6), False),
        (later(-1), later(0), False),
        (later(-4), later(0), True),
    ]:
        Film.objects.filter(pk=film.pk).update(wanted_at=mine)
        Film.objects.filter(pk=other.pk).update(wanted_at=others)
        assert turns.gives_way(film.pk) is gives, (mine, others)


def test_the_page_says_about_how_long_it_takes_yet(cast):
    film = make.make_film(
        cast.squad, state="preparing", progress=0.5, begun_share=0.25, begun_at=later(-5)
    )
    assert turns.left_s(film) == pytest.approx(600, abs=2)
    page = signed_in(cast.coach).get(reverse("film:state", args=[film.pk])).content.decode()
    assert "About 11 minutes left." in page or "About 10 minutes left." in page
    film.progress = 0.255
    assert turns.words_of(film) == ""
    film.progress = 0.99
    assert turns.words_of(film) == "Less than a minute left."


def test_killed_for_memory_the_film_is_kept_and_no_attempt_is_counted(cast, monkeypatch):
    film = waiting_film(cast.squad, films.shared_film("bikes"))
    real, killed = child.subprocess.Popen, []

    def start(arguments, **options):
        started = real(arguments, **options)
        if "copy" in arguments:
            os.kill(started.pid, signal.SIGKILL)
            killed.append(arguments)
        return started

    monkeypatch.setattr(child.subprocess, "Popen", start)
    for _time in range(4):
        film = prepared(film)
        assert (film.state, film.attempts, film.problem) == ("waiting", 0, faults.OUT_OF_MEMORY)
        assert files_of(film) == {"original"}
        assert film.lease_until > later(9)
        Film.objects.filter(pk=film.pk).update(lease_until=timezone.now())
    assert [next(a for a in args if "threads" in a) for args in killed] == [
        "threads=0", "threads=1",
    ] * 4  # fmt: skip
    monkeypatch.undo()
    assert prepared(film).state == "ready"


def test_a_film_that_gets_on_always_has_another_attempt(cast, of_kind, monkeypatch):
    monkeypatch.setattr(preparing, "SEGMENT_S", 2.0)
    film = waiting_film(cast.squad, of_kind["broadcast"][1], attempts=2)
    seen = []
    monkeypatch.setattr(
        turns, "gives_way", lambda pk: seen.append(Film.objects.get(pk=pk).attempts)
    )
    prepared(film)
    assert seen == [2, 2, 2]


def test_the_coach_reads_how_it_was_filmed(cast, of_kind):
    film = prepared(waiting_film(cast.squad, of_kind["phone"][1]))
    assert [note["kind"] for note in film.notes] == ["turned", "variable"]
    film.open_to = "squad"
    film.save(update_fields=["open_to"])
    page = signed_in(cast.coach).get(reverse("film:detail", args=[film.pk])).content.decode()
    assert "the picture is set upright" in page
    assert "uneven steps" in page
    make.give_consent(cast.adult)
    page = signed_in(cast.guardian).get(reverse("film:detail", args=[film.pk])).content.decode()
    assert "uneven steps" not in page


FACTS = {
    **{"duration_ms": 4000, "announced_ms": 9000, "width": 64, "height": 36, "rotation": 0},
    **{"has_audio": False, "codec": "hevc", "frames": 100, "first_pts": 0, "time_base": "1/25"},
    **{"rate": 25.0, "hdr": False, "problem": ""},
}


@pytest.mark.once
@pytest.mark.parametrize(
    ("facts", "steps", "files", "kinds"),
    [
        ({}, [40] * 99, 1, []),
        ({}, [33, 34, 33] * 33, 1, []),
        ({}, [33, 40, 60] * 33, 1, ["variable"]),
        ({"rotation": 90, "hdr": True}, [40] * 99, 2, ["joined", "turned", "hdr"]),
        ({"rate": 119.9}, [17] * 99, 1, ["halved"]),
        ({"problem": faults.ends_early_text(4000)}, [40] * 99, 1, ["cut_off"]),
    ],
)
def test_what_is_noted(facts, steps, files, kinds):
    notes = noting.notes_of(Probe(**{**FACTS, **facts}), steps, files=files)
    assert [note["kind"] for note in notes] == kinds
    said = [kind for kind in kinds if kind != "cut_off"]
    assert len(noting.words_of(notes)) == len(said)


def test_a_film_of_two_files_is_one_and_its_stills_are_those_of_its_files(cast, of_kind):
    film = waiting_film(cast.squad)
    (one, first), (two, second) = of_kind["steady"], of_kind["irregular"]
    for position, path in enumerate((first, second)):
        with path.open("rb") as file:
            key = default_storage.save(f"films/{film.pk}/original-{position}", storing.File(file))
        FilmFile.objects.create(film=film, position=position, key=key)
    film.original_key = film.files.first().key
    film.save(update_fields=["original_key"])
    film = prepared(film)
    assert [file.duration_ms for file in film.files.all()] == [5000, 8052]
    assert film.duration_ms == 13_052
    from devplans.film import pictures

    for ms, number in [(4_999, 149), (5_000, 0), (7_345, two.on_screen(2_345))]:
        assert films.number_on(open_picture(pictures.still_of(film, ms))) == number
    shown = films.frames_of(Path(default_storage.path(film.playable_key)))
    assert [number for _time, number in shown] == [*range(150), *range(150)]
    assert [time for time, _number in shown][150:] == [5 + time for time in two.seconds()]
    assert one.seconds() == [time for time, _number in shown][:150]


def open_picture(body: bytes):
    from io import BytesIO

    from PIL import Image

    return Image.open(BytesIO(body))


def test_the_pictures_for_the_line_are_served_with_the_right_of_the_page(cast, of_kind):
    film = prepared(waiting_film(cast.squad, of_kind["steady"][1]))
    sheet = SimpleNamespace(**film.sprite)
    assert (sheet.count, sheet.every_ms, sheet.width, sheet.sheets) == (3, 2000, 160, 1)
    address = reverse("film:sprite", args=[film.pk])
    coach = signed_in(cast.coach)
    body = b"".join(coach.get(address, {"sheet": 0}))
    picture = open_picture(body)
    assert picture.size == (160 * 3, 96)
    tiles = [picture.crop((160 * n, 0, 160 * n + 160, 96)) for n in range(3)]
    assert [films.number_on(tile) for tile in tiles] == [0, 60, 120]
    for bad in ("1", "-1", "x", "9999"):
        assert coach.get(address, {"sheet": bad}).status_code == 404
    assert signed_in(cast.guardian).get(address).status_code == 404
