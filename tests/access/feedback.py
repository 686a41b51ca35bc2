from types import SimpleNamespace
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from devplans.feedback.models import Clip, Phrase, Voice
from tests import factories as make
from tests.access import row


def things(cast: SimpleNamespace) -> None:
    skill = make.make_skill(slug="access-skill", name="Access skill")
    cast.feedback_film = make.make_film(cast.squad)
    words = {"skill": skill, "happened": "Late.", "do_instead": "Go."}
    cast.feedback_draft = make.make_comment(
        cast.feedback_film, cast.coach, [cast.kid, cast.mate], **words
    )
    cast.feedback_sent = make.make_comment(cast.feedback_film, cast.coach, [cast.kid], **words)
    cast.delivery = make.make_delivery(cast.feedback_sent, cast.kid)
    cast.feedback_phrase = Phrase.objects.create(coach=cast.coach, text="Low and loud")
    video = default_storage.save("clips/access.mp4", ContentFile(b"not much of a film"))
    still = default_storage.save("clips/access.jpg", ContentFile(b"nor of a picture"))
    Clip.objects.create(
        comment=cast.feedback_sent, version=1, start_ms=0, end_ms=6_000, state="ready",
        video_key=video, still_key=still, voiced=True,
    )  # fmt: skip
    for comment in (cast.feedback_sent, cast.feedback_draft):
        sound = default_storage.save("voices/access.m4a", ContentFile(b"nor of a voice"))
        Voice.objects.create(
            comment=comment, sound_key=sound, length_ms=900, cues=[[0, 900, "Look."]],
            log=[{"at": 0, "film_ms": 0, "rate": 1}],
        )  # fmt: skip


FILM = {"film_id": "feedback_film"}
DRAFT = {"comment_id": "feedback_draft"}
SENT = {"comment_id": "feedback_sent"}
DELIVERY = {"delivery_id": "delivery"}


def table(coach: int, *, director: int = 404, welfare: int = 404, **more: int) -> dict[str, int]:
    """The coach's answer; 404 for whoever does not see the row."""
    found = {"*": 404, "anon": 302, "coach": coach, "director": director, "welfare": welfare}
    return found | more


def thread(family: int, coach: int, staff: int) -> dict[str, int]:
    people = {"player": family, "guardian": family, "coach": coach}
    return {"*": 404, "anon": 302, "director": staff, "welfare": staff} | people


def typed(cast: Any) -> dict[str, Any]:
    return {
        "start_ms": "0:03", "end_ms": "", "who": "12 7", "skill": "Access skill",
        "verdict": "not_yet", "happened": "Late.", "do_instead": "Go early.",
    }  # fmt: skip


def posted(cast: Any) -> dict[str, Any]:
    return {
        "film": str(cast.feedback_film.pk), "start_ms": 3_000, "end_ms": None,
        "players": [str(cast.kid.pk)], "skill": "access-skill", "verdict": "did_it",
        "happened": "On time.", "do_instead": "",
    }  # fmt: skip


TEXT = {"text": "Which foot?"}
CUES = "WEBVTT\n\n00:01.000 --> 00:02.000\n#12 is late\n"
API = {"*": 404, "anon": 403}

ROWS = [
    row("get", "feedback:film-comments", FILM, table(200, director=200)),
    row("get", "feedback:comment-add", FILM, table(200, director=403)),
    row("post", "feedback:comment-add", FILM, table(302, director=403), body=typed),
    row(
        "post", "feedback:phrase-keep", FILM, table(302, director=403),
        body={"do_instead": "Feet first"},
    ),
    row(
        "post", "feedback:phrase-drop", {**FILM, "phrase_id": "feedback_phrase"},
        table(302, director=403),
    ),
    row("post", "feedback:hand-over-all", FILM, table(302, director=403)),
    row("post", "feedback:hand-over", DRAFT, table(302)),
    row("post", "feedback:return", DRAFT, table(302)),
    row(
        "get", "feedback:last-words", FILM, table(200, director=403),
        query=lambda cast: f"player={cast.kid.pk}&skill=access-skill",
    ),
    row("get", "feedback:import", FILM, table(200, director=403)),
    row("post", "feedback:import", FILM, table(200, director=403), body={"text": CUES}),
    row(
        "post", "feedback:import-accept", FILM, table(302, director=403),
        body={"text": CUES, "skill-0": "access-skill"},
    ),
    row("get", "feedback:check", FILM, table(200, director=403)),
    row(
        "post", "feedback:send", FILM, table(302, director=403),
        body=lambda cast: {"players": [str(cast.kid.pk)]},
    ),
    row("get", "feedback:sent", FILM, table(200, director=403)),
    row("get", "feedback:comment", DRAFT, table(200)),
    row("post", "feedback:comment", DRAFT, table(302), body=typed),
    row("get", "feedback:comment", SENT, table(200, director=403, welfare=403)),
    row("post", "feedback:comment", SENT, table(302, director=403, welfare=403), body=typed),
    row("post", "feedback:comment-delete", DRAFT, table(302)),
    row("post", "feedback:comment-take-back", SENT, table(302, director=403, welfare=403)),
    row("post", "feedback:comment-team-mate", DRAFT, table(302)),
    row("get", "feedback:voice", DRAFT, table(200)),
    row("get", "feedback:voice", SENT, table(200, director=403, welfare=403)),
    row("post", "feedback:voice-drop", DRAFT, table(302)),
    row("post", "feedback:voice-drop", SENT, table(302, director=403, welfare=403)),
    row("get", "feedback:deliveries", {"player_id": "kid"}, thread(200, 200, 200)),
    row("get", "feedback:delivery", DELIVERY, thread(200, 200, 200)),
    row("get", "feedback:clip", DELIVERY, thread(200, 200, 200)),
    row("get", "feedback:captions", DELIVERY, thread(200, 200, 200)),
    row("get", "feedback:delivery-still", DELIVERY, thread(200, 200, 200)),
    row("post", "feedback:seen", DELIVERY, thread(204, 403, 403)),
    row("post", "feedback:understood", DELIVERY, thread(302, 403, 403) | {"guardian": 403}),
    row("post", "feedback:ask", DELIVERY, thread(302, 403, 403), body=TEXT),
    row("post", "feedback:reply", DELIVERY, thread(302, 302, 403), body=TEXT),
    row(
        "get", "comment-list", {},
        API | {"player": 200, "guardian": 200, "coach": 200, "director": 200, "welfare": 200},
        query=lambda cast: f"player={cast.kid.pk}",
    ),
    row(
        "get", "comment-list", {},
        API | {"player": 200, "guardian": 200, "coach": 200, "director": 200, "welfare": 200},
        query=lambda cast: f"film={cast.feedback_film.pk}",
    ),
    row(
        "post", "comment-list", {}, {"*": 400, "anon": 403, "coach": 201, "director": 403},
        body=posted, json=True,
    ),
    row(
        "post", "comment-send", {}, API | {"coach": 200},
        body=lambda cast: {"comments": [str(cast.feedback_draft.pk)]}, json=True,
    ),
    row("get", "comment-detail", {"pk": "feedback_draft"}, API | {"coach": 200}),
    row(
        "get", "comment-detail", {"pk": "feedback_sent"},
        API | {"coach": 200, "director": 200, "welfare": 200},
    ),
    row(
        "patch", "comment-detail", {"pk": "feedback_draft"}, API | {"coach": 200},
        body={"happened": "Later."}, json=True,
    ),
    row("delete", "comment-detail", {"pk": "feedback_draft"}, API | {"coach": 204}),
    *(
        row("get", f"film-comments-{kind}", FILM, API | {"coach": 200, "director": 200})
        for kind in ("vtt", "jsonld", "csv")
    ),
    *(
        row("get", f"film-possessions-{kind}", FILM, API | {"coach": 200, "director": 200})
        for kind in ("vtt", "csv")
    ),
]  # fmt: skip
