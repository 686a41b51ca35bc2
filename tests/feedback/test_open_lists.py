"""Clip lists that families may watch: which files, until when, and no name in them."""

import io
import json
import re

import av
import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone
from PIL import Image, ImageChops

from devplans.core.errors import DomainError
from devplans.feedback import naming, tasks
from devplans.feedback.cliplists import cutting, reading, services
from devplans.feedback.models import Drawing, ListClip
from devplans.film import sandbox
from devplans.film import services as film_services
from devplans.film.encode import HOLD_MS
from devplans.people.models import Consent
from tests import factories as make


def clip_address(room, item) -> str:
    return reverse("feedback:cliplist-clip", args=[room.list.pk, item.pk])


def test_an_open_list_is_cut_and_a_family_watches_that_and_nothing_else(
    filmed, client, django_capture_on_commit_callbacks
):
    services.open_list(actor=filmed.coach, clip_list=filmed.list, open_to="squad")
    pages = [
        reverse(name, args=[filmed.list.pk])
        for name in ("feedback:cliplist", "feedback:cliplist-show")
    ]
    client.force_login(filmed.guardian)
    assert "still being cut" in client.get(pages[0]).text
    assert client.get(clip_address(filmed, filmed.items[0])).status_code == 404
    assert ListClip.objects.filter(state="waiting").count() == 4
    assert tasks.cut_waiting() == 4
    assert set(ListClip.objects.values_list("state", flat=True)) == {"ready"}
    for who in (filmed.player, filmed.guardian, filmed.mate_guardian, filmed.teammate):
        client.force_login(who)
        assert "still being cut" not in client.get(pages[0]).text
        programme = played(client.get(pages[1]).text)
        assert [clip["end"] - clip["start"] for clip in programme["clips"]] == [
            2_000, 2_000, 1_000, 1_500,
        ]  # fmt: skip
        for clip, item in zip(programme["clips"], filmed.items, strict=True):
            assert clip["src"] == clip_address(filmed, item)
            answer = client.get(clip["src"])
            assert answer.status_code == 200
            assert lasts_ms(answer.content) == pytest.approx(item.length_ms, abs=40)
        for route in ("film:detail", "film:play", "film:poster", "film:frames", "film:still"):
            path = reverse(route, args=[filmed.film.pk])
            assert client.get(f"{path}?ms=2500").status_code == 404
        assert str(filmed.film.pk) not in client.get(pages[1]).text + client.get(pages[0]).text
    for who in (filmed.other_coach, filmed.outsider, filmed.stranger, filmed.ex_guardian):
        client.force_login(who)
        for path in (*pages, clip_address(filmed, filmed.items[0])):
            assert client.get(path).status_code == 404


def lasts_ms(body: bytes) -> float:
    with av.open(io.BytesIO(body)) as video:
        return float(video.duration / av.time_base) * 1000


def played(page: str) -> dict:
    text = re.search(r'<script id="programme" type="application/json">(.*?)</script>', page)[1]
    return json.loads(text)


def test_a_list_that_changes_while_it_is_open_is_cut_again_and_old_files_go(
    filmed, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        services.open_list(actor=filmed.coach, clip_list=filmed.list, open_to="squad")
    kept = dict(ListClip.objects.values_list("item", "video_key"))
    assert all(default_storage.exists(key) for key in kept.values())
    first, second = filmed.items[:2]
    change = {"actor": filmed.coach, "item": first, "note": ""}
    with django_capture_on_commit_callbacks(execute=True):
        services.change_item(**change, start_ms=500, end_ms=1_500)
    assert not default_storage.exists(kept[first.pk])
    assert ListClip.objects.get(item=first).state == "ready"
    with django_capture_on_commit_callbacks(execute=True):
        services.remove_item(actor=filmed.coach, item=second)
    assert not default_storage.exists(kept[second.pk])
    with django_capture_on_commit_callbacks(execute=True):
        services.open_list(actor=filmed.coach, clip_list=filmed.list, open_to="coaches")
    assert not ListClip.objects.exists()
    assert not any(default_storage.exists(key) for key in kept.values())


def test_without_every_consent_a_list_does_not_open_and_one_withdrawn_closes_it(filmed, client):
    Consent.objects.filter(player=filmed.adult).delete()
    with pytest.raises(DomainError, match="Tove Adeyemi") as refused:
        services.open_list(actor=filmed.coach, clip_list=filmed.list, open_to="squad")
    assert refused.value.code == "consent.missing"
    make.give_consent(filmed.adult)
    services.open_list(actor=filmed.coach, clip_list=filmed.list, open_to="squad")
    tasks.cut_waiting()
    client.force_login(filmed.player)
    paths = [
        reverse("feedback:cliplist", args=[filmed.list.pk]), clip_address(filmed, filmed.items[0])
    ]  # fmt: skip
    assert {client.get(path).status_code for path in paths} == {200}
    Consent.objects.filter(player=filmed.mate).update(withdrawn_at=timezone.now())
    assert {client.get(path).status_code for path in paths} == {404}
    client.force_login(filmed.coach)
    assert "closed again" in client.get(paths[0]).text


def test_a_deleted_film_is_said_and_passed_over_and_its_cut_files_go(filmed, client):
    services.open_list(actor=filmed.coach, clip_list=filmed.list, open_to="squad")
    tasks.cut_waiting()
    keys = list(ListClip.objects.values_list("video_key", flat=True))
    short = make.make_film(filmed.squad, duration_ms=9_000, playable_key="films/x")
    services.add_span(
        actor=filmed.coach, clip_list=filmed.list, film=short, start_ms=0, end_ms=3_000
    )
    film_services.delete_film(actor=filmed.coach, film=filmed.film)
    for who in (filmed.coach, filmed.player):
        client.force_login(who)
        page = client.get(reverse("feedback:cliplist-show", args=[filmed.list.pk])).text
        assert "has been deleted" in page
        assert [bool(clip["problem"]) for clip in played(page)["clips"]][:4] == [True] * 4
        assert client.get(clip_address(filmed, filmed.items[0])).status_code == 404
    assert reading.shown(filmed.coach, filmed.list).running_ms == 3_000
    cutting.sweep()
    assert not ListClip.objects.filter(item__in=[item.pk for item in filmed.items]).exists()
    assert len(keys) == 4


def test_the_drawing_is_in_the_cut_file_and_a_new_one_cuts_it_again(
    filmed, client, monkeypatch, django_capture_on_commit_callbacks
):
    cut, seen = sandbox.cut_clip, []
    monkeypatch.setattr(sandbox, "cut_clip", lambda *a, **k: seen.append(k) or cut(*a, **k))
    comment, item = filmed.said[1], filmed.items[1]
    type(comment).objects.filter(pk=comment.pk).update(start_ms=3_500, end_ms=None)
    words = {"kind": "text", "points": [[0.1, 0.3]], "colour": "chalk", "stroke": "solid"}
    arrow = {**words, "kind": "arrow", "points": [[0.2, 0.8], [0.8, 0.8]]}
    drawn = Drawing.objects.create(comment=comment, shapes=[arrow, {**words, "text": "Runa, #12"}])
    with django_capture_on_commit_callbacks(execute=True):
        services.open_list(actor=filmed.coach, clip_list=filmed.list, open_to="squad")
    (told,) = [one for one in seen if one["drawing"]]
    assert (told["start_ms"], told["drawn_ms"]) == (3_000, 3_500)
    assert ">" + naming.mask("Runa, #12", reading.everyone(filmed.squad)) in told["drawing"]
    assert not re.search("Runa|12<", told["drawing"])
    old = ListClip.objects.get(item=item)
    client.force_login(filmed.guardian)
    body = client.get(clip_address(filmed, item)).content
    assert lasts_ms(body) == pytest.approx(2_000 + HOLD_MS, abs=60)
    plain, held = pictures_at(body, 0.3, 1.2)
    difference = ImageChops.difference(plain, held).crop((40, 70, 120, 84))
    assert max(top for _low, top in difference.getextrema()) > 100
    # Until it is cut again nobody watches the older drawing.
    Drawing.objects.filter(pk=drawn.pk).update(shapes=[arrow])
    assert client.get(clip_address(filmed, item)).status_code == 404
    assert tasks.cut_waiting() == 1
    new = ListClip.objects.get(item=item)
    assert (new.state, seen[-1]["drawing"].count("<text")) == ("ready", 0)
    assert client.get(clip_address(filmed, item)).status_code == 200
    with django_capture_on_commit_callbacks(execute=True):
        Drawing.objects.filter(pk=drawn.pk).delete()
        assert tasks.cut_waiting() == 1
    assert ListClip.objects.get(item=item).length_ms == 2_000
    assert not default_storage.exists(new.video_key)
    assert old.pk != new.pk
    assert ListClip.objects.count() == 4
    assert tasks.cut_waiting() == 0


def pictures_at(body: bytes, *seconds: float) -> list[Image.Image]:
    with av.open(io.BytesIO(body)) as video:
        frames = [(frame.time, frame.to_image()) for frame in video.decode(video=0)]
    return [[image for at, image in frames if at <= wanted][-1] for wanted in seconds]


# Names hidden


NAMED = "Ines Okafor and #7 switch; RUNA calls it. Number 31 waits."


def test_no_name_reaches_the_meeting_room(filmed, client):
    services.change_list(
        actor=filmed.coach, clip_list=filmed.list, title="Runa's closeouts", shows_words=True
    )
    services.change_item(
        actor=filmed.coach, item=filmed.items[1], note=NAMED, start_ms=3_000, end_ms=5_000
    )
    text = {"kind": "text", "points": [[0.2, 0.2]], "colour": "chalk", "stroke": "solid"}
    type(filmed.said[1]).objects.filter(pk=filmed.said[1].pk).update(start_ms=3_500, end_ms=None)
    Drawing.objects.create(comment=filmed.said[1], shapes=[text | {"text": "Ines here"}])
    services.open_list(actor=filmed.coach, clip_list=filmed.list, open_to="squad")
    tasks.cut_waiting()
    people = reading.everyone(filmed.squad)
    assert {one.numbers for one in people} == {("12",), ("7",), ("31",)}
    for who in (filmed.coach, filmed.player, filmed.guardian):
        client.force_login(who)
        page = client.get(reverse("feedback:cliplist-show", args=[filmed.list.pk])).text
        assert naming.find(page, people) == []
        clip = played(page)["clips"][1]
        if who is filmed.coach:
            assert clip["drawing"].startswith("<svg")
            assert "team-mate" in clip["drawing"]
            assert clip["moment"] - clip["start"] == 500
        else:
            # It is in the file, which stands still under it.
            assert "drawing" not in clip
            assert clip["end"] == 2_000 + HOLD_MS
        assert "team-mate" in clip["words"]
        assert "Late." not in page
    client.force_login(filmed.guardian)
    for name in ("feedback:cliplist", "feedback:cliplists"):
        path = reverse(name, args=[filmed.list.pk] if name.endswith("list") else [])
        found = naming.find(client.get(path).text.replace(filmed.guardian.full_name, ""), people)
        assert found == []
    client.force_login(filmed.coach)
    page = client.get(reverse("feedback:cliplist", args=[filmed.list.pk])).text
    assert "The team reads:" in page
