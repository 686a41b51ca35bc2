from fractions import Fraction

import pytest
from django.core.files.storage import default_storage

from devplans.feedback.cliplists import services as lists
from devplans.feedback.models import ClipListItem
from devplans.film.models import Film
from tests import factories as make
from tests.feedback.spoken import cut, spoken  # noqa: F401
from tests.film import films


@pytest.fixture
def room(cast):
    """The cast with a film of `squad`, a skill and a drill."""
    cast.film = make.make_film(cast.squad, original_key="films/a/original")
    cast.skill = make.make_skill(slug="help-position", name="Help-side position")
    cast.drill = make.make_drill(skill=cast.skill, name="Key to corner", players_needed=1)
    return cast


@pytest.fixture
def listed(room):
    """A list with four spans: two comments', one of them for two players, and two bare ones."""
    room.list = lists.add_list(actor=room.coach, squad=room.squad, title="Closeouts, Monday")
    room.said = [
        make.make_comment(room.film, room.coach, [room.kid], skill=room.skill, start_ms=20_000),
        make.make_comment(
            room.film, room.coach, [room.kid, room.mate], skill=room.skill,
            start_ms=30_000, end_ms=34_000,
        ),
    ]  # fmt: skip
    lists.add_comments(actor=room.coach, clip_list=room.list, comments=room.said)
    for start in (1_000, 50_000):
        lists.add_span(
            actor=room.coach, clip_list=room.list, film=room.film,
            start_ms=start, end_ms=start + 2_500,
        )  # fmt: skip
    room.items = list(room.list.items.order_by("position"))
    return room


KIND = films.Kind("list", films.steady(300), Fraction(1, 30), options={"g": "30"})


@pytest.fixture
def filmed(listed, tmp_path):
    """The list on a film of ten seconds with numbered frames, every consent given."""
    path = films.write(tmp_path, KIND)
    with path.open("rb") as file:
        key = default_storage.save("films/numbered/playable.mp4", file)
    Film.objects.filter(pk=listed.film.pk).update(
        playable_key=key, original_key=key, duration_ms=10_000, width=160, height=96
    )
    for item, (start, end) in zip(
        listed.items, [(0, 2_000), (3_000, 5_000), (6_000, 7_000), (8_000, 9_500)], strict=True
    ):
        ClipListItem.objects.filter(pk=item.pk).update(start_ms=start, end_ms=end)
        item.refresh_from_db()
    make.give_consent(listed.adult)
    return listed
