from types import SimpleNamespace
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from devplans.feedback.models import ClipList, ClipListItem, ListClip
from tests import factories as make
from tests.access import row


def things(cast: SimpleNamespace) -> None:
    """A list of the squad for its coaches, and one that the other squad may watch."""
    film = make.make_film(cast.squad)
    comment = make.make_comment(film, cast.coach, [cast.kid])
    cast.list_comment = comment
    cast.list_film = film
    cast.clip_list = ClipList.objects.create(squad=cast.squad, title="Closeouts", author=cast.coach)
    cast.list_item = ClipListItem.objects.create(
        clip_list=cast.clip_list, position=0, film=film, start_ms=1_000, end_ms=4_000,
        comment=comment, skill=comment.skill,
    )  # fmt: skip
    cast.open_list = ClipList.objects.create(
        squad=cast.other_squad, title="Talk", author=cast.other_coach, open_to="squad"
    )
    cast.open_item = ClipListItem.objects.create(
        clip_list=cast.open_list, position=0, film=make.make_film(cast.other_squad),
        start_ms=1_000, end_ms=4_000,
    )  # fmt: skip
    for item in (cast.list_item, cast.open_item):
        key = default_storage.save("lists/access.mp4", ContentFile(b"not much of a film"))
        ListClip.objects.create(
            item=item, start_ms=1_000, end_ms=4_000, state="ready", video_key=key
        )
    if not cast.sibling.consents.exists():
        make.give_consent(cast.sibling)


LIST, ITEM = {"list_id": "clip_list"}, {"list_id": "clip_list", "item_id": "list_item"}
OPEN, OPEN_ITEM = {"list_id": "open_list"}, {"list_id": "open_list", "item_id": "open_item"}


def table(coach: int, director: int = 403, **more: int) -> dict[str, int]:
    return {"*": 404, "anon": 302, "coach": coach, "director": director} | more


# Of the other squad: its coach, the director, the guardian of the child in it.
SEEN = table(200, 200)
SEEN_OPEN = {"*": 404, "anon": 302, "other_coach": 200, "director": 200, "guardian": 200}
KEEPS = table(302)
KEEPS_OPEN = {"*": 404, "anon": 302, "other_coach": 302, "director": 403, "guardian": 403}
ANYBODY = {"*": 200, "anon": 302}
SPAN = {"start_ms": "0:01", "end_ms": "0:03.5", "title": "Help side"}


def new(cast: Any) -> dict[str, str]:
    return {"title": "Spacing", "squad": str(cast.squad.pk)}


ROWS = [
    row("get", "feedback:cliplists", {}, ANYBODY),
    # Whoever coaches no squad cannot begin one; whoever coaches another cannot choose this one.
    row(
        "post", "feedback:cliplists", {},
        {"*": 403, "anon": 302, "coach": 302, "other_coach": 422, "outsider": 422}, body=new,
    ),
    row("get", "feedback:cliplist", LIST, SEEN),
    row("get", "feedback:cliplist", OPEN, SEEN_OPEN),
    row("get", "feedback:cliplist-show", LIST, SEEN),
    row("get", "feedback:cliplist-show", OPEN, SEEN_OPEN),
    row("get", "feedback:cliplist-clip", ITEM, SEEN),
    row("get", "feedback:cliplist-clip", OPEN_ITEM, SEEN_OPEN),
    row("post", "feedback:cliplist-change", LIST, KEEPS, body={"title": "Talk"}),
    row("post", "feedback:cliplist-change", OPEN, KEEPS_OPEN, body={"title": "Talk"}),
    row("post", "feedback:cliplist-duplicate", LIST, KEEPS),
    row("post", "feedback:cliplist-delete", LIST, KEEPS),
    row("post", "feedback:cliplist-delete", OPEN, KEEPS_OPEN),
    row("post", "feedback:cliplist-open", LIST, KEEPS, body={"open_to": "coaches"}),
    row("post", "feedback:cliplist-open", OPEN, KEEPS_OPEN, body={"open_to": "coaches"}),
    row("get", "feedback:cliplist-search", LIST, table(200)),
    row(
        "post", "feedback:cliplist-add", LIST, KEEPS,
        body=lambda cast: {"comment": [str(cast.list_comment.pk)]},
    ),
    row(
        "post", "feedback:cliplist-item", ITEM, KEEPS,
        body={"note": "Feet first", "start_ms": "0:01", "end_ms": "0:04"},
    ),
    row("post", "feedback:cliplist-move", ITEM, KEEPS, body={"by": "1"}),
    row("post", "feedback:cliplist-move", OPEN_ITEM, KEEPS_OPEN, body={"by": "1"}),
    row("post", "feedback:cliplist-remove", ITEM, KEEPS),
    row("post", "feedback:cliplist-restore", ITEM, KEEPS),
    row("get", "feedback:cliplist-pick", {"comment_id": "list_comment"}, table(200, 404)),
    row(
        "post", "feedback:cliplist-pick", {"comment_id": "list_comment"}, table(302, 404),
        body={"title": "Help side"},
    ),
    row("get", "feedback:cliplist-span", {"film_id": "list_film"}, table(200)),
    row("post", "feedback:cliplist-span", {"film_id": "list_film"}, KEEPS, body=SPAN),
]  # fmt: skip
