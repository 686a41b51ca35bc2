"""A comment's drawing: kept, corrected, told by the API; whose names reach whom."""

import json
import re

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse

from devplans.core.errors import DomainError
from devplans.feedback import checking, cutting, services
from devplans.feedback.drawing import drawing_svg, shapes_of, shown_shapes
from devplans.feedback.models import Clip, Comment
from tests import factories as make
from tests.feedback.drawings import EVERY_SHAPE

ARROW = {"kind": "arrow", "points": [[0.1, 0.2], [0.4, 0.5]], "colour": "sky", "stroke": "dashed"}


def words(text, x=0.1):
    return {"kind": "text", "points": [[x, 0.5]], "colour": "chalk", "stroke": "solid",
            "text": text}  # fmt: skip


def draw(room, shapes, players=None):
    return services.add_comment(
        actor=room.coach, film=room.film, start_ms=3_000, players=players or [room.kid],
        skill=room.skill, verdict="did_it", happened="On time.", drawing=shapes,
    )  # fmt: skip


def api(client, user, method, path, body):
    client.force_login(user)
    return getattr(client, method)(path, json.dumps(body), content_type="application/json")


def posted(room, drawing):
    return {
        "film": str(room.film.pk), "start_ms": 3_000, "end_ms": None,
        "players": [str(room.kid.pk)], "skill": "help-position", "verdict": "did_it",
        "happened": "On time.", "do_instead": "", "drawing": drawing,
    }  # fmt: skip


def test_the_api_takes_a_drawing_and_gives_it_back(client, room):
    answer = api(client, room.coach, "post", "/api/v1/comments/", posted(room, EVERY_SHAPE))
    assert answer.status_code == 201
    assert answer.json()["drawing"] == EVERY_SHAPE
    path = f"/api/v1/comments/{answer.json()['id']}/"
    assert client.get(path).json()["drawing"] == EVERY_SHAPE
    api(client, room.coach, "patch", path, {"happened": "Later."})
    assert client.get(path).json()["drawing"] == EVERY_SHAPE
    api(client, room.coach, "patch", path, {"drawing": []})
    assert "drawing" not in client.get(path).json()


@pytest.mark.parametrize(
    ("drawing", "said"),
    [
        ('[{"kind": "arrow", "points": [[NaN, 0.1], [0.2, 0.2]]}]', "0 to 1|JSON"),
        ('[{"kind": "arrow", "points": [[1e308, 0.1], [0.2, 0.2]]}]', "0 to 1"),
        ('[{"kind": "arrow", "points": [[1e999, 0.1], [0.2, 0.2]]}]', "0 to 1|JSON"),
        (json.dumps([{"kind": "freehand", "points": [[i / 10_000, 0.5] for i in range(10_000)]}]),
         "Too many points"),
        (json.dumps([words("x" * 1_000_000)]), "under 80 letters"),
        (json.dumps([words("\u0000<script>")]), "cannot be drawn"),
        ('{"kind": "arrow"}', "list of shapes"),
        ('"<svg onload=go()>"', "list of shapes"),
        ("null", "null|list of shapes"),
        ("[[[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]]", "list of shapes"),
    ],
)  # fmt: skip
def test_a_hostile_drawing_is_a_clear_400_and_nothing_is_kept(client, room, drawing, said):
    body = json.dumps(posted(room, "DRAWING")).replace('"DRAWING"', drawing)
    client.force_login(room.coach)
    answer = client.post("/api/v1/comments/", body, content_type="application/json")
    assert answer.status_code == 400
    assert re.search(said, json.dumps(answer.json())), answer.json()
    assert not Comment.objects.exists()


def test_script_in_a_text_is_shown_as_text(client, room):
    comment = draw(room, [words("</text><script>go()</script>")])
    client.force_login(room.coach)
    page = client.get(reverse("feedback:check", args=[room.film.pk])).content.decode()
    assert "<script>go" not in page
    assert "&lt;script&gt;go()&lt;/script&gt;</text>" in page.replace("&lt;/text&gt;", "")
    assert drawing_svg(comment) in page


def test_the_form_keeps_a_drawing_it_does_not_send_and_refuses_a_bad_one(client, room):
    comment = draw(room, [ARROW])
    client.force_login(room.coach)
    path = reverse("feedback:comment", args=[comment.pk])
    typed = {
        "start_ms": "0:03", "who": "12", "skill": "Help-side position", "verdict": "did_it",
        "happened": "Early.",
    }  # fmt: skip
    assert client.post(path, typed).status_code == 302
    assert shapes_of(Comment.objects.get()) == [ARROW]
    assert json.dumps(ARROW["points"]) in client.get(path).content.decode()
    bad = client.post(path, {**typed, "drawing": '[{"kind": "arrow", "points": [[NaN, 0]]}]'})
    assert bad.status_code == 422
    assert "two numbers from 0 to 1" in bad.content.decode()
    client.post(path, {**typed, "drawing": "[]"})
    assert shapes_of(Comment.objects.get()) == []


def test_a_correction_keeps_the_old_drawing_and_cuts_the_clip_again(room):
    comment = draw(room, [ARROW])
    services.send_comments(actor=room.coach, comments=[comment])
    comment = Comment.objects.get()
    assert services.correct_comment(actor=room.coach, comment=comment, drawing=[ARROW]).version == 1
    new = [ARROW, words("Here")]
    services.correct_comment(actor=room.coach, comment=Comment.objects.get(), drawing=new)
    comment = Comment.objects.get()
    assert (comment.version, shapes_of(comment)) == (2, new)
    assert [version.drawing for version in comment.versions.all()] == [[ARROW]]
    assert sorted(Clip.objects.values_list("version", flat=True)) == [1, 2]
    services.correct_comment(actor=room.coach, comment=comment, happened="Sooner.")
    assert shapes_of(Comment.objects.get()) == new
    assert Clip.objects.count() == 2


def test_only_the_author_draws_and_a_sent_comment_is_no_draft(client, room):
    comment = draw(room, [ARROW])
    path = f"/api/v1/comments/{comment.pk}/"
    assert api(client, room.other_coach, "patch", path, {"drawing": []}).status_code == 404
    services.send_comments(actor=room.coach, comments=[comment])
    assert api(client, room.coach, "patch", path, {"drawing": []}).status_code == 400
    assert shapes_of(Comment.objects.get()) == [ARROW]


def test_a_picture_for_two_families_names_neither_child(client, room):
    """Clip and still are one file for all addressees."""
    comment = draw(room, [ARROW, words("Ines to Runa's side")], [room.kid, room.mate])
    written = drawing_svg(comment, as_written=True)
    assert "Ines to Runa's side" in written
    assert [shape.get("text") for shape in shown_shapes(comment)] == [
        None,
        "A team-mate to a team-mate's side",
    ]
    assert not re.search("Ines|Runa", drawing_svg(comment))
    line = checking.check(room.film, room.coach).pages[0].lines[0]
    assert line.is_masked
    services.send_comments(actor=room.coach, comments=[comment])
    for reader in (room.player, room.mate_guardian):
        client.force_login(reader)
        told = client.get(f"/api/v1/comments/?film={room.film.pk}").json()["results"]
        assert [len(one["drawing"]) for one in told] == [2]
        assert not re.search("Ines|Runa", json.dumps([one["drawing"] for one in told]))


def test_one_players_own_name_stays_and_anothers_is_remarked(room):
    comment = draw(room, [words("Ines, look for number 7"), words("Runa waits")])
    assert shown_shapes(comment) == shapes_of(comment)
    line = checking.check(room.film, room.coach).pages[0].lines[0]
    assert line.names == ["number 7", "Runa"]
    assert "Runa" not in line.suggestion
    services.write_team_mate(actor=room.coach, comment=comment)
    kept = [shape["text"] for shape in shapes_of(Comment.objects.get())]
    assert kept == ["Ines, look for a team-mate", "A team-mate waits"]
    assert checking.check(room.film, room.coach).pages[0].lines[0].names == []


def test_a_copy_held_back_keeps_its_drawing(room):
    comment = draw(room, [ARROW], [room.kid, room.mate])
    waiting = services.hold_back(actor=room.coach, comment=comment, players=[room.mate])
    assert waiting != comment
    assert shapes_of(waiting) == shapes_of(comment) == [ARROW]


def test_pages_show_the_same_svg_that_is_rendered(client, room):
    comment = draw(room, EVERY_SHAPE)
    client.force_login(room.coach)
    shown = drawing_svg(comment)
    assert shown in client.get(reverse("feedback:check", args=[room.film.pk])).content.decode()
    beside = client.get(reverse("feedback:film-comments", args=[room.film.pk])).content.decode()
    assert f'<drawing-view start-ms="3000" end-ms="" hidden>{shown}</drawing-view>' in beside
    assert (
        'aria-label="Drawing: arrow, line, circle, area, freehand line, “Foot'
        in client.get(reverse("feedback:check", args=[room.film.pk])).content.decode()
    )


def test_a_list_of_drawn_comments_costs_no_more_queries(
    client, room, django_assert_max_num_queries
):
    client.force_login(room.coach)
    path = reverse("feedback:film-comments", args=[room.film.pk])
    for _ in range(12):
        draw(room, [ARROW, words("Here")])
    with django_assert_max_num_queries(26):
        assert client.get(path).content.decode().count("<drawing-view") == 12


def test_a_bad_drawing_says_which_rule_it_breaks(room):
    with pytest.raises(DomainError, match="An area needs three corners") as caught:
        draw(room, [{"kind": "area", "points": [[0, 0], [1, 1]]}])
    assert (caught.value.code, caught.value.field) == ("drawing.points_of_area", "drawing")


def test_factories_need_no_drawing(room):
    comment = make.make_comment(room.film, room.coach, [room.kid])
    assert (shapes_of(comment), drawing_svg(comment)) == ([], "")


def test_still_and_clip_are_made_with_what_families_may_see(room, monkeypatch):
    """The still is also the picture of the weekly mail."""
    key = default_storage.save("films/drawn/original", ContentFile(b"a film"))
    room.film.original_key = room.film.playable_key = key
    room.film.save()
    asked = []

    def still(_source, ms, *, drawing):
        asked.append((ms, drawing))
        return b"a picture"

    def cut_clip(_source, out, *, drawing, drawn_ms, **_span):
        asked.append((drawn_ms, drawing))
        out.write_bytes(b"a clip")

    monkeypatch.setattr(cutting.sandbox, "still", still)
    monkeypatch.setattr(cutting.sandbox, "cut_clip", cut_clip)
    comment = draw(room, [ARROW, words("Ines to Runa")], [room.kid, room.mate])
    services.send_comments(actor=room.coach, comments=[comment])
    clip = Clip.objects.get()
    assert cutting.cut_clip(clip.pk)
    shown = drawing_svg(comment)
    assert asked == [(3_000, shown), (3_000, shown)]
    assert "Runa" not in shown
    clip.refresh_from_db()
    assert clip.state == "ready"


def test_an_older_version_tells_what_was_drawn(client, room):
    comment = draw(room, [ARROW, words("Here")])
    services.send_comments(actor=room.coach, comments=[comment])
    services.correct_comment(actor=room.coach, comment=Comment.objects.get(), drawing=[])
    client.force_login(room.coach)
    page = client.get(reverse("feedback:comment", args=[comment.pk])).content.decode()
    assert "Drawing: arrow, “Here”" in page
