"""Files of comments become drafts of the coach who brings them."""

import json
from types import SimpleNamespace

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis.extra.django import TestCase

from devplans.core.errors import DomainError
from devplans.core.models import Message
from devplans.feedback import drawing, exports, importing, services
from devplans.feedback.drawings import shapes
from devplans.feedback.exports import Numbers, noted
from devplans.feedback.models import Comment, Delivery, Drawing
from devplans.feedback.noted import MOST_BYTES
from devplans.feedback.reading import readable
from tests import cast as people
from tests import factories as make
from tests.feedback.drawings import EVERY_SHAPE
from tests.feedback.test_exports_pure import WORDS

CUES = """WEBVTT

1
00:03.000 --> 00:05.000
#12 trails the ball

2
00:07.000 --> 00:09.000
<v Runa Lindqvist>Hands down
Next time: hands up

3
00:11.000 --> 00:12.000
did it | help-position | #12, #44
On time

4
00:13.000 --> 00:14.000
note | sliding-feet | #7 | one moment
Feet

5
00:99.000 --> 01:41.000
Broken

6
00:15.000 --> 00:16.000
Nobody is named
"""


def plan(room, text=CUES, **choices):
    file = importing.read(text.encode())
    return services.plan_import(actor=room.coach, film=room.film, file=file, choices=choices)


def take(room, text=CUES, *, film=None, left_out=(), **choices):
    file = importing.read(text if isinstance(text, bytes) else text.encode())
    return services.import_comments(
        actor=room.coach, film=film or room.film, file=file, choices=choices, left_out=left_out
    )


def test_a_file_of_anyone_is_understood_as_far_as_it_goes(room):
    found = plan(room)
    assert found.problems == [(23, "Minutes and seconds go up to 59. “00:99.000 --> 01:41.000”")]
    assert [(one.label, one.count) for one in found.skills] == [("", 3), ("sliding-feet", 1)]
    assert [(one.label, one.count) for one in found.players] == [("#44", 1), ("", 1)]
    assert [[p.first_name for p in row.players] for row in found.rows] == [
        ["Ines"], ["Runa"], ["Ines"], ["Runa"], [],
    ]  # fmt: skip
    assert [row.missing for row in found.rows] == [[], [], ["#44"], [], []]
    assert [row.is_complete for row in found.rows] == [False, False, True, False, False]
    assert not Comment.objects.exists()


def test_what_was_asked_is_picked_and_becomes_drafts(room):
    picks = {
        "skill-0": "help-position", "skill-1": "help-position", "player-0": str(room.adult.pk),
        "players-none": "7 12",
    }  # fmt: skip
    made = take(room, **picks)
    assert len(made) == 5
    by_start = {one.start_ms: one for one in Comment.objects.drafts()}
    assert {one.author for one in by_start.values()} == {room.coach}
    assert by_start[7_000].do_instead == "hands up"
    assert by_start[7_000].verdict == "note"
    assert set(by_start[11_000].players.all()) == {room.kid, room.adult}
    assert by_start[11_000].verdict == "did_it"
    assert (by_start[13_000].end_ms, by_start[11_000].end_ms) == (None, 12_000)
    assert set(by_start[15_000].players.all()) == {room.kid, room.mate}
    assert not Delivery.objects.exists()
    assert not Message.objects.exists()


def test_what_stays_open_is_left_out(room):
    assert [one.start_ms for one in take(room)] == [11_000]
    with pytest.raises(DomainError) as caught:
        take(room, "WEBVTT\n\n00:01.000 --> 00:02.000\nNobody\n")
    assert caught.value.code == "import.nothing"
    with pytest.raises(DomainError) as caught:
        take(room, **{"players-none": "77"})
    assert caught.value.code == "import.choice"


def test_the_same_file_twice_does_not_double(room):
    take(room)
    draft = Comment.objects.get()
    services.edit_comment(actor=room.coach, comment=draft, happened="Changed since")
    with pytest.raises(DomainError):
        take(room)
    assert Comment.objects.count() == 1
    assert [row.is_here for row in plan(room).rows] == [False, False, True, False, False]
    services.delete_draft(actor=room.coach, comment=draft)
    assert len(take(room)) == 1


def test_a_cue_that_stands_twice_in_a_file_is_taken_once(room):
    cue = "00:11.000 --> 00:12.000\nnote | help-position | #12\nOn time\n\n"
    assert len(take(room, f"WEBVTT\n\n{cue}{cue}")) == 1


def test_what_the_film_holds_already_is_found_by_its_key_and_by_its_words(room):
    make.make_comment(room.film, room.coach, [room.kid, room.mate], skill=room.skill)
    for kind in ("vtt", "jsonld", "csv"):
        text = exported(room, room.film, kind)
        assert [row.is_here for row in plan(room, text).rows] == [True]
    text = exported(room, room.film, "vtt").replace(str(Comment.objects.get().pk), "1")
    assert [row.is_here for row in plan(room, text).rows] == [True]


def exported(room, film, kind):
    return exports.comments_file(room.coach, film.pk, kind, "https://club.example/x").text


@pytest.mark.parametrize("kind", ["vtt", "jsonld", "csv"])
def test_what_is_exported_comes_back_as_it_was(room, kind):
    words = {"skill": room.skill, "do_instead": "Go --> early\n\nNext time: & low"}
    make.make_comment(
        room.film, room.coach, [room.kid, room.mate], happened="=1+1 <b>", start_ms=4_321,
        end_ms=8_765, **words,
    )  # fmt: skip
    make.make_comment(room.film, room.coach, [room.adult], verdict="note", happened="", **words)
    other = make.make_film(room.squad)
    made = take(room, exported(room, room.film, kind), film=other)
    assert len(made) == 2
    for old, new in zip(
        Comment.objects.filter(film=room.film), Comment.objects.filter(film=other), strict=True
    ):
        for name in ("start_ms", "end_ms", "skill", "verdict", "happened", "do_instead"):
            assert getattr(new, name) == getattr(old, name)
        assert set(new.players.all()) == set(old.players.all())


class RoundTrip(TestCase):
    @hypothesis_settings(max_examples=15)
    @given(happened=WORDS, do_instead=WORDS)
    def test_any_words_come_back(self, happened, do_instead):
        room = people.build()
        room.film, room.other = make.make_film(room.squad), make.make_film(room.squad)
        skill = make.make_skill()
        words = {"happened": happened.strip(), "do_instead": do_instead.strip()}
        make.make_comment(room.film, room.coach, [room.kid], skill=skill, **words)
        before = noted(readable(room.coach, film=room.film.pk), Numbers.of_film(room.film))
        made = take(room, exported(room, room.film, "vtt"), film=room.other)
        after = noted(readable(room.coach, film=room.other.pk), Numbers.of_film(room.other))
        assert len(made) == 1
        assert (after[0].happened, after[0].do_instead) == (
            before[0].happened, before[0].do_instead,
        )  # fmt: skip


def test_times_are_held_against_the_film(room):
    cues = (
        "WEBVTT\n\n01:29.000 --> 01:35.000\nnote | help-position | #12\nEnd\n\n"
        "01:31.000 --> 01:32.000\nnote | help-position | #12\nAfter\n\n"
        f"00:01.000 --> 00:02.000\nnote | help-position | #12\n{'x' * 1_001}\n\n"
        "00:01.000 --> 00:02.000\nnote | help-position | #12\n"
    )
    found = plan(room, cues)
    assert [(row.noted.start_ms, row.end_ms) for row in found.rows] == [(89_000, 90_000)]
    assert found.problems == [
        (7, "That moment is not in the film."),
        (11, "Keep it under 1,000 characters."),
        (15, "There are no words in it."),
    ]


def test_a_number_that_somebody_else_wears_is_asked_for(room):
    found = plan(room, "start,players,skill,happened\n0:05,#12 Zelda Quist,help-position,Late\n")
    assert [one.label for one in found.players] == ["#12 Zelda Quist"]
    # The name counts where the number has changed since.
    found = plan(room, "start,players,skill,happened\n0:05,#99 Ines Okafor,help-position,Late\n")
    assert found.rows[0].players == [room.kid]


@pytest.mark.parametrize("who", ["director", "player", "guardian", "other_coach"])
def test_only_the_squads_coaches_import(room, who):
    file = importing.read(CUES.encode())
    for service in (services.plan_import, services.import_comments):
        with pytest.raises(PermissionDenied):
            service(actor=getattr(room, who), film=room.film, file=file)


# --- pages -------------------------------------------------------------------


def post(client, room, route="import", **body):
    client.force_login(room.coach)
    return client.post(reverse(f"feedback:{route}", args=[room.film.pk]), body)


def test_a_file_is_shown_before_anything_is_kept(room, client):
    file = SimpleUploadedFile("notes.vtt", CUES.encode())
    page = post(client, room, file=file)
    assert page.status_code == 200
    assert "1 place cannot be read" in page.text
    assert "line 23" in page.text
    assert "Skill “sliding-feet”" in page.text
    assert "1 draft, 4 lack something" in " ".join(page.text.split())
    assert not Comment.objects.exists()
    again = post(
        client, room, "import-accept", text=CUES, again="1", **{"skill-0": "help-position"}
    )
    assert "3 drafts, 2 lack something" in " ".join(again.text.split())
    assert not Comment.objects.exists()
    kept = post(client, room, "import-accept", text=CUES, **{"skill-0": "help-position"})
    assert kept.status_code == 302
    assert Comment.objects.count() == 3
    page = post(client, room, text=CUES)
    assert "3 are here already" in " ".join(page.text.split())


def test_rows_can_be_left_out(room, client):
    picks = {"skill-0": "help-position"}
    row = plan(room, **picks).rows[0]
    post(client, room, "import-accept", text=CUES, left_out=row.fingerprint, **picks)
    assert sorted(Comment.objects.values_list("start_ms", flat=True)) == [7_000, 11_000]


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ({}, "Choose a file, or paste its text."),
        ({"text": "1\n00:00:01,000 --> 00:00:02,000\nx"}, "begins with the line WEBVTT"),
        ({"text": "WEBVTT\n\nNOTE nothing\n"}, "There are no comments in this file."),
        ({"text": "{"}, "not JSON"),
        ({"text": "[]"}, "There are no comments"),
        ({"file": b""}, "begins with the line WEBVTT"),
        ({"file": b"\xff\xfeWEBVTT"}, "not UTF-8"),
        ({"file": "WEBVTT".encode("utf-16")}, "not UTF-8"),
        ({"file": b"\x00\x00\x00\x20ftypisom\xd7" * 100_000}, "This is not a text file."),
        (
            {"file": b"WEBVTT\n\n00:01.000 --> 00:02.000\n" + b"x" * MOST_BYTES * 10},
            "larger than 1 MB",
        ),
        ({"file": b"WEBVTT\n\n" + b"00:01.000 --> 00:02.000\nx\n\n" * 100_000}, "larger than 1 MB"),
    ],
)
def test_what_cannot_be_read_says_why(room, client, body, words):
    if "file" in body:
        body = {"file": SimpleUploadedFile("a.vtt", body["file"])}
    page = post(client, room, **body)
    assert page.status_code == 422
    assert words in page.text
    assert not Comment.objects.exists()


def test_markup_in_a_file_is_shown_as_words(room, client):
    bad = "WEBVTT\n\n00:01.000 --> 00:02.000\nnote | <i>x</i> | &lt;b onclick=1&gt;\n"
    page = post(client, room, text=bad + "&lt;script&gt;alert(1)&lt;/script&gt;</textarea><img>")
    assert "<script>alert" not in page.text
    assert "<img>" not in page.text
    assert "<b onclick" not in page.text


def test_nothing_to_keep_is_said_on_the_page(room, client):
    page = post(client, room, "import-accept", text=json.dumps([]) + " ")
    assert page.status_code == 422
    page = post(client, room, "import-accept", text="WEBVTT\n\n00:01.000 --> 00:02.000\nx\n")
    assert page.status_code == 422
    assert "nothing in it that can become a draft" in page.text


# --- drawings ----------------------------------------------------------------


def test_a_drawing_comes_back_as_it_was_drawn(room, client):
    make.make_comment(
        room.film, room.coach, [room.kid], skill=room.skill, verdict="note", happened="",
        do_instead="",
    )  # fmt: skip
    Drawing.objects.create(comment=Comment.objects.get(), shapes=shapes.parsed(EVERY_SHAPE))
    other = make.make_film(room.squad)
    text = exported(room, room.film, "jsonld")
    client.force_login(room.coach)
    page = client.post(reverse("feedback:import", args=[other.pk]), {"text": text}).text
    assert "Without its drawing" not in page
    (made,) = take(room, text, film=other)
    assert drawing.shapes_of(Comment.objects.get(pk=made.pk)) == shapes.parsed(EVERY_SHAPE)


SCRIPT = '<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (None, "Only drawings of a file from here"),
        (SCRIPT, "This is not a drawing"),
        ("{}", "This is not a drawing"),
        ("[" * 100_000, "This is not a drawing"),
        ("[" + "1" * 500_000 + "]", "This is not a drawing"),
        ('[{"kind": "line", "points": [[NaN, 0], [1, 1]]}]', "two numbers from 0 to 1"),
        ('[{"kind": "line", "points": [[1e999, 0], [1, 1]]}]', "two numbers from 0 to 1"),
        ('[{"kind": "line", "points": [[0, 0], [1, 1]], "onload": "x"}]', "This is not a drawing"),
        ('[{"kind": "line", "points": [[0, 0], [1, 1]], "colour": "url(x)"}]', "no such colour"),
        ('[{"kind": "text", "points": [[0, 0]], "text": "\\u202e\\ud800"}]', "cannot be drawn"),
        ('[{"kind": "text", "points": [[0, 0]], "text": "<script>\\u0000"}]', "cannot be drawn"),
    ],
)
def test_a_drawing_of_others_is_left_out_and_said(room, client, value, words):
    make.make_comment(room.film, room.coach, [room.kid], skill=room.skill)
    Drawing.objects.create(comment=Comment.objects.get(), shapes=shapes.parsed(EVERY_SHAPE))
    found = json.loads(exported(room, room.film, "jsonld"))
    bodies = found["first"]["items"][0]["body"]
    for body in list(bodies):
        if body["purpose"] == "highlighting":
            body["value"] = SCRIPT
        if body["purpose"] == "describing" and value is None:
            bodies.remove(body)
        elif body["purpose"] == "describing":
            body["value"] = value
    other = make.make_film(room.squad)
    text = json.dumps(found)
    page = post(client, SimpleNamespace(coach=room.coach, film=other), text=text).text
    section = page[page.index("Without its drawing") :]
    assert words in section[:400]
    assert "<script>alert" not in page
    (made,) = take(room, text, film=other)
    assert drawing.shapes_of(made) == []
