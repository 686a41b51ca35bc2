"""The files of a film, over their addresses."""

import csv
import io
import json
from pathlib import Path

import pytest
import webvtt as third_party
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from jsonschema import Draft202012Validator

from devplans.core.models import AuditEntry
from devplans.feedback import csvfile, services, webvtt
from devplans.feedback.models import Drawing
from devplans.feedback.naming import folded
from devplans.film.models import Possession
from tests import factories as make
from tests.feedback import annotation_rules

GOLDEN = Path(__file__).resolve().parents[2] / "fixtures" / "golden"


@pytest.fixture
def filled(room):
    """A draft for one, a sent comment for two, and two possessions."""
    words = {"skill": room.skill, "start_ms": 12_500, "end_ms": 18_000}
    room.sent = make.make_comment(
        room.film, room.coach, [room.kid, room.mate], verdict="not_yet",
        happened="Runa --> Ines:\r\nlate & <low>", do_instead="Ines: go, number 7 waits", **words,
    )  # fmt: skip
    services.send_comments(actor=room.coach, comments=[room.sent])
    shape = {"kind": "text", "points": [[0.1, 0.2]], "text": "Runa here"}
    Drawing.objects.create(
        comment=room.sent, shapes=[{**shape, "colour": "chalk", "stroke": "solid"}]
    )
    room.draft = make.make_comment(
        room.film, room.coach, [room.adult], skill=room.skill, verdict="did_it", start_ms=3_000,
        happened="=SUM(A1)", do_instead="",
    )  # fmt: skip
    Possession.objects.create(film=room.film, side="theirs", start_ms=9_000, end_ms=21_000)
    Possession.objects.create(film=room.film, side="ours", start_ms=0, end_ms=9_000)
    Possession.objects.create(film=room.film, side="ours", start_ms=40_000)
    return room


def fetch(room, who, what="comments", kind="vtt"):
    client = Client()
    client.force_login(getattr(room, who))
    return client.get(reverse(f"film-{what}-{kind}", args=[room.film.pk]))


def test_the_addresses_are_those_that_others_rely_on(room):
    for kind in ("vtt", "jsonld", "csv"):
        address = reverse(f"film-comments-{kind}", args=[room.film.pk])
        assert address == f"/api/v1/films/{room.film.pk}/comments.{kind}"


def test_a_coach_gets_what_the_list_shows(filled):
    answer = fetch(filled, "coach")
    assert answer["Content-Type"] == "text/vtt; charset=utf-8"
    cues = third_party.from_string(answer.text)
    assert [cue.identifier for cue in cues] == [str(filled.draft.pk), str(filled.sent.pk)]
    draft, sent = webvtt.read(answer.text).comments
    assert (draft.end_ms, draft.happened, draft.verdict) == (None, "=SUM(A1)", "did_it")
    assert [player.label for player in sent.players] == ["#7", "#12"]
    assert sent.happened == "Runa --> Ines:\nlate & <low>"
    assert (sent.start_ms, sent.end_ms, sent.skill) == (12_500, 18_000, "help-position")
    client = Client()
    client.force_login(filled.coach)
    listed = client.get(f"/api/v1/comments/?film={filled.film.pk}").json()["results"]
    assert {one["id"] for one in listed} == {draft.id, sent.id}
    rows = list(csv.DictReader(io.StringIO(fetch(filled, "coach", kind="csv").text, newline="")))
    assert rows[0]["happened"] == "'=SUM(A1)"
    assert rows[1]["players"] == "#7 Runa Lindqvist; #12 Ines Okafor"
    assert csvfile.read(fetch(filled, "coach", kind="csv").text).comments[0].happened == "=SUM(A1)"


def test_annotations_are_valid_and_point_into_the_film(filled):
    answer = fetch(filled, "coach", kind="jsonld")
    assert answer["Content-Type"].startswith("application/ld+json")
    found = json.loads(answer.content)
    assert [
        e.message for e in Draft202012Validator(annotation_rules.COLLECTION).iter_errors(found)
    ] == []
    draft, sent = found["first"]["items"]
    assert sent["id"] == f"urn:uuid:{filled.sent.pk}"
    assert sent["target"]["selector"]["value"] == "t=12.5,18"
    assert sent["target"]["source"].endswith(f"/films/{filled.film.pk}/")
    assert "created" not in draft
    drawn = [body for body in sent["body"] if body["purpose"] == "highlighting"]
    assert [body["format"] for body in drawn] == ["image/svg+xml"]
    assert drawn[0]["value"].startswith("<svg ")
    assert "Runa" in drawn[0]["value"]
    assert draft["motivation"] == ["commenting", "bookmarking"]


def test_another_squad_and_the_signed_out_get_nothing(filled):
    for kind in ("vtt", "jsonld", "csv"):
        for who in ("other_coach", "outsider", "stranger", "player", "guardian", "welfare"):
            assert fetch(filled, who, kind=kind).status_code == 404, (who, kind)
        address = reverse(f"film-comments-{kind}", args=[filled.film.pk])
        assert Client().get(address).status_code == 403


def test_a_directors_look_is_written_down_and_holds_no_draft(filled):
    found = webvtt.read(fetch(filled, "director").text).comments
    assert [one.id for one in found] == [str(filled.sent.pk)]
    assert AuditEntry.objects.filter(verb="feedback.comments_read", actor=filled.director).exists()


def test_a_family_gets_its_own_copies_where_the_film_is_open(filled):
    make.give_consent(filled.adult)
    filled.film.open_to = "squad"
    filled.film.title = "Runa Lindqvist (7) against Larks"
    filled.film.save()
    for who in ("player", "guardian"):
        for kind in ("vtt", "jsonld", "csv"):
            answer = fetch(filled, who, kind=kind)
            assert answer.status_code == 200
            plain = folded(answer.text + answer["Content-Disposition"])
            for name in ("runa", "lindqvist", "tove", "number 7", "#7", "sum"):
                assert name not in plain, (who, kind, name)
        (one,) = webvtt.read(fetch(filled, who).text).comments
        assert [player.label for player in one.players] == ["#12"]
        assert one.do_instead == "Ines: go, a team-mate waits"
    filled.film.open_to = "coaches"
    filled.film.save()
    assert fetch(filled, "player").status_code == 404


def test_possessions_are_for_staff(filled):
    cues = third_party.from_string(fetch(filled, "director", "possessions").text)
    assert [(cue.text, cue.start) for cue in cues] == [
        ("Our ball 1", "00:00:00.000"), ("Their ball 1", "00:00:09.000"),
    ]  # fmt: skip
    rows = list(csv.DictReader(io.StringIO(fetch(filled, "coach", "possessions", "csv").text)))
    assert [row["end_ms"] for row in rows] == ["9000", "21000"]
    make.give_consent(filled.adult)
    filled.film.open_to = "squad"
    filled.film.save()
    assert fetch(filled, "player", "possessions").status_code == 403
    assert fetch(filled, "outsider", "possessions", "csv").status_code == 404


def test_numbers_that_two_wear_are_told_by_name(room):
    room.adult.squadplayers.update(number="12")
    make.make_comment(room.film, room.coach, [room.kid, room.adult], skill=room.skill)
    (one,) = webvtt.read(fetch(room, "coach").text).comments
    assert {player.label for player in one.players} == {"Ines Okafor", "Tove Adeyemi"}


def test_400_comments_are_one_file_in_a_fixed_number_of_queries(
    room, django_assert_max_num_queries
):
    for number in range(400):
        make.make_comment(
            room.film, room.coach, [room.kid, room.mate], skill=room.skill, start_ms=number * 100
        )
    client = Client()
    client.force_login(room.coach)
    with django_assert_max_num_queries(25):
        answer = client.get(reverse("film-comments-jsonld", args=[room.film.pk]))
    assert json.loads(answer.content)["total"] == 400


@pytest.mark.parametrize("kind", ["vtt", "jsonld", "csv"])
def test_the_files_are_as_they_always_were(kind, room, settings):
    """Kept as files, so that a change of a format is seen."""
    settings.PUBLIC_URL = "https://club.example"
    film = make.make_film(room.squad, id="01970000-0000-7000-8000-000000000001", title="Rivermead")
    moment = {"id": "01970000-0000-7000-8000-000000000002", "start_ms": 3_000}
    span = {"id": "01970000-0000-7000-8000-000000000003", "start_ms": 12_500, "end_ms": 18_000}
    make.make_comment(
        film, room.coach, [room.kid], skill=room.skill, verdict="did_it",
        happened="On time & low", do_instead="", **moment,
    )  # fmt: skip
    make.make_comment(
        film, room.coach, [room.kid, room.mate], skill=room.skill, verdict="not_yet",
        happened="Hips turn late.\n\nTwice --> look", do_instead="=Short steps; then jump",
        sent_at=timezone.datetime(2026, 11, 20, 17, 30, tzinfo=timezone.get_fixed_timezone(0)),
        **span,
    )  # fmt: skip
    client = Client()
    client.force_login(room.coach)
    answer = client.get(reverse(f"film-comments-{kind}", args=[film.pk]))
    assert answer.content == (GOLDEN / f"comments.{kind}").read_bytes()
