import gzip
from typing import Any
from uuid import uuid4

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from devplans.film.fetching.rows import Fetch
from tests import factories as make
from tests.access import row


def things(cast: Any) -> None:
    """A film of the squad, and one of the other squad that its coach opened."""
    names = {
        "original_key": "original",
        "playable_key": "playable.mp4",
        "poster_key": "poster.jpg",
        "frames_key": "frames.json.gz",
    }
    contents = {"frames_key": gzip.compress(b"[0, 40, 80]")}
    files = {
        field: default_storage.save(
            f"films/access/{name}", ContentFile(contents.get(field, b"film"))
        )
        for field, name in names.items()
    }
    files["sprite"] = {"keys": [files["poster_key"]]}
    cast.stored_film = make.make_film(cast.squad, **files)
    cast.upload = make.make_upload(cast.squad, cast.coach)
    cast.film_on_its_way = cast.upload.file.film
    cast.waiting_film = make.make_film(cast.squad, state="waiting")
    cast.fetched_film, cast.stopped_film = fetched(cast), fetched(cast, over=True)
    cast.open_film = make.make_film(cast.other_squad, open_to="squad", **files)
    cast.possession = make.make_possession(cast.stored_film, 0, 10_000)
    cast.clock_mark = make.make_clock_mark(cast.stored_film, 0, 1, 600)
    if not cast.sibling.consents.exists():
        make.give_consent(cast.sibling)


def fetched(cast: Any, *, over: bool = False) -> Any:
    """A film of the squad that is being fetched, or was stopped."""
    film = make.make_film(cast.squad, state="failed" if over else "waiting")
    address = "https://films.example/game.mp4"
    ended = timezone.now() if over else None
    Fetch.objects.create(film=film, address=address, host="films.example", ended_at=ended)
    return film


def by_address(cast: Any) -> dict[str, Any]:
    """Refused by the service, once the right is there: nothing is fetched here."""
    return {"title": "Game", "squad": str(cast.squad.pk), "address": "https://10.0.0.1/game.mp4"}


def upload(cast: Any) -> dict[str, Any]:
    file = SimpleUploadedFile("game.mp4", b"\0\0\0\x18ftypisom" + bytes(200))
    return {"file": file, "title": "Game", "squad": str(cast.squad.pk)}


FILM, API = {"film_id": "stored_film"}, {"pk": "stored_film"}
WAITING = {"pk": "waiting_film"}
# Of the other squad: its coach, the director, the guardian of the child in it.
OPEN = {"film_id": "open_film"}
FILES = ("detail", "state", "play", "poster", "frames", "sprite")


def answers(others: int = 404, *, anon: int = 302, **more: int) -> dict[str, int]:
    return {"*": others, "anon": anon, **more}


SEEN = answers(coach=200, director=200)
SEEN_OPEN = answers(other_coach=200, director=200, guardian=200)
SEEN_BADLY = answers(coach=400, director=400)
SEEN_OPEN_BADLY = answers(other_coach=400, director=400, guardian=400)
KEEPS_PAGE = answers(coach=200, director=403)
KEEPS_OPEN_PAGE = answers(other_coach=200, director=403, guardian=403)
KEEPS = answers(coach=302, director=403)
KEEPS_OPEN = answers(other_coach=302, director=403, guardian=403)
UPLOAD_PAGE = answers(403, coach=200, other_coach=200, outsider=200)
# Whoever cannot see the squad cannot choose it.
UPLOAD = answers(403, coach=302, other_coach=422, outsider=422)
FETCH = answers(403, coach=422, other_coach=422, outsider=422)
IN_CLUB = ("player", "teammate", "guardian", "director", "welfare")
UPLOAD_API = answers(400, anon=403, coach=201, **dict.fromkeys(IN_CLUB, 403))

POSSESSION = {**FILM, "possession_id": "possession"}
NEW_POSSESSION = {**FILM, "possession_id": lambda _cast: uuid4()}
MARK = {**FILM, "mark_id": "clock_mark"}
NEW_MARK = {**FILM, "mark_id": lambda _cast: uuid4()}
MARKS = answers(coach=200, director=403)
BALL = {"side": "theirs", "start_ms": 10_000, "end_ms": 20_000}
SHOWN = {"film_ms": 60_000, "period": 1, "clock_s": 550}
YOUTH = {"period_count": 4, "period_s": 600, "overtime_s": 180}
TITLE, CLOSED = {"title": "Second half"}, {"open_to": "coaches"}
ROWS = [
    row("get", "film:list", {}, answers(200)),
    row("get", "film:upload", {}, UPLOAD_PAGE),
    row("post", "film:upload", {}, UPLOAD, body=upload),
    row("get", "film:fetch", {}, UPLOAD_PAGE),
    row("post", "film:fetch", {}, FETCH, body=by_address),
    row("post", "film:fetch-stop", {"film_id": "fetched_film"}, KEEPS),
    row("post", "film:fetch-again", {"film_id": "stopped_film"}, KEEPS),
    *(row("get", f"film:{name}", FILM, SEEN) for name in FILES),
    *(row("get", f"film:{name}", OPEN, SEEN_OPEN) for name in FILES),
    row("get", "film:parts", FILM, SEEN),
    row("get", "film:parts", OPEN, answers(other_coach=200, director=200, guardian=403)),
    row("post", "film:parts", FILM, KEEPS, body={"mine": "whole"}),
    row("head", "film:play", FILM, SEEN),
    row("get", "film:still", FILM, SEEN_BADLY, query="ms=soon"),
    row("get", "film:still", OPEN, SEEN_OPEN_BADLY, query="ms=soon"),
    row("get", "film:change", FILM, KEEPS_PAGE),
    row("get", "film:change", OPEN, KEEPS_OPEN_PAGE),
    row("post", "film:change", FILM, KEEPS, body=TITLE),
    row("post", "film:change", OPEN, KEEPS_OPEN, body=TITLE),
    row("post", "film:open", FILM, KEEPS, body=CLOSED),
    row("post", "film:open", OPEN, KEEPS_OPEN, body=CLOSED),
    row("get", "film:delete", FILM, KEEPS_PAGE),
    row("post", "film:delete", FILM, KEEPS),
    row("post", "film:delete", OPEN, KEEPS_OPEN),
    row("get", "film:marks", FILM, SEEN),
    row("get", "film:marks", OPEN, answers(other_coach=200, director=200, guardian=403)),
    row("put", "film:possession", POSSESSION, MARKS, body=BALL, json=True),
    row("put", "film:possession", NEW_POSSESSION, MARKS, body=BALL, json=True),
    row("delete", "film:possession", POSSESSION, MARKS),
    row("put", "film:clock-mark", MARK, MARKS, body=SHOWN, json=True),
    row("put", "film:clock-mark", NEW_MARK, MARKS, body=SHOWN, json=True),
    row("delete", "film:clock-mark", MARK, MARKS),
    row("post", "film:periods", FILM, MARKS, body=YOUTH, json=True),
    row("get", "film-list", {}, answers(200, anon=403)),
    row("post", "film-list", {}, UPLOAD_API, body=upload),
    row("get", "film-detail", API, answers(anon=403, coach=200, director=200)),
    row("get", "film-still", API, answers(anon=403, coach=400, director=400), query="ms=soon"),
    row("get", "film-still", WAITING, answers(anon=403, coach=409, director=409), query="ms=0"),
    # Without the header of the protocol nobody gets further than to its version.
    row("get", "upload-list", {}, answers(200, anon=403)),
    row("post", "upload-list", {}, answers(412, anon=403)),
    row("head", "upload-detail", {"pk": "upload"}, answers(anon=403, coach=412)),
    row("patch", "upload-detail", {"pk": "upload"}, answers(anon=403, coach=412)),
    row("delete", "upload-detail", {"pk": "upload"}, answers(anon=403, coach=412)),
    # What is on its way is there for the coaches alone.
    row("get", "film:detail", {"film_id": "film_on_its_way"}, answers(coach=200)),
    row("get", "film:state", {"film_id": "film_on_its_way"}, answers(coach=200)),
    row("get", "film-detail", {"pk": "film_on_its_way"}, answers(anon=403)),
]
