from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from devplans.feedback import services
from devplans.feedback.models import Clip, Delivery
from tests import factories as make

TODAY = "/today/"


def deliver(room, count=1, **fields):
    found = []
    for number in range(count):
        comment = make.make_comment(
            room.film, room.coach, [room.kid], skill=room.skill,
            start_ms=1_000 * (number + 1), happened=f"Comment {number + 1}.",
        )  # fmt: skip
        found.append(make.make_delivery(comment, room.kid, **fields))
    return found


def words(answer):
    return " ".join(answer.text.split())


@pytest.fixture
def player(room, client):
    client.force_login(room.player)
    return client


def test_nothing_new(room, player):
    page = words(player.get(TODAY))
    assert "Nothing new today" in page
    assert reverse("feedback:deliveries", args=[room.kid.pk]) in page


def test_one_clip_at_a_time_with_words_answer_and_drills(room, player):
    make.make_drill(skill=room.skill, name="Shell drill", players_needed=8)
    now = timezone.now()
    first, second = deliver(room, 2, sent_at=now)
    Clip.objects.create(
        comment=first.comment, version=1, start_ms=0, end_ms=4_000, state="ready", still_key="a.jpg"
    )
    page = words(player.get(TODAY))
    assert "clip 1 of 2" in page
    assert "Comment 1." in page
    assert "Comment 2." not in page
    assert "Next time" in page
    assert "Go early." in page
    assert page.index("Key to corner") < page.index("Shell drill")
    assert reverse("feedback:clip", args=[first.pk]) in page
    assert reverse("feedback:seen", args=[first.pk]) in page
    assert f"?clip={second.pk}" in page
    page = words(player.get(TODAY, {"clip": str(second.pk)}))
    assert "clip 2 of 2" in page
    assert "The clip is being cut" in page
    assert "‹ Clip 1" in page
    assert "Comment 2." in words(player.get(TODAY, {"clip": "2"}))


def test_the_first_unseen_clip_comes_first_and_the_order_stays(room, player):
    first, second = deliver(room, 2, sent_at=timezone.now())
    services.mark_seen(actor=room.player, delivery=first)
    page = words(player.get(TODAY))
    assert "clip 2 of 2" in page
    assert "Comment 2." in page
    services.mark_seen(actor=room.player, delivery=second)
    assert "clip 1 of 2" in words(player.get(TODAY))


def test_old_ones_that_were_seen_leave_and_unseen_ones_stay(room, player):
    long_ago = timezone.now() - timedelta(days=40)
    deliver(room, sent_at=long_ago, seen_at=long_ago)
    assert "Nothing new today" in words(player.get(TODAY))
    deliver(room, sent_at=long_ago)
    assert "clip 1 of 1" in words(player.get(TODAY))


def test_a_clip_that_is_not_his_leads_back(room, player):
    deliver(room)
    for asked in (str(uuid4()), "7", "x'--"):
        answer = player.get(TODAY, {"clip": asked})
        assert answer.status_code == 302
        assert answer.url == TODAY


def test_i_see_it_and_a_question_lead_back_to_the_clip(room, player):
    [delivery] = deliver(room)
    answer = player.post(reverse("feedback:understood", args=[delivery.pk]), {"from": "today"})
    assert answer.url == f"/today/?clip={delivery.pk}"
    page = words(player.get(answer.url))
    assert "You said “I see it”." in page
    assert "Coach Ravel and your mother can read what you write here." in page
    player.post(
        reverse("feedback:ask", args=[delivery.pk]), {"text": "Which foot?", "from": "today"}
    )
    assert "Which foot?" in words(player.get(answer.url))


def test_looking_at_the_page_alone_is_no_seen_mark(room, player):
    [delivery] = deliver(room)
    player.get(TODAY)
    delivery.refresh_from_db()
    assert delivery.seen_at is None
    assert player.post(reverse("feedback:seen", args=[delivery.pk])).status_code == 204
    delivery.refresh_from_db()
    assert delivery.seen_at


def test_taken_back_before_it_was_seen_is_not_shown_at_all(room, player):
    [delivery] = deliver(room)
    Delivery.objects.update(withdrawn_at=timezone.now())
    assert "Nothing new today" in words(player.get(TODAY))
    Delivery.objects.update(seen_at=timezone.now())
    page = words(player.get(TODAY))
    assert "The coach has taken this comment back." in page
    assert "Comment 1." not in page
    assert delivery.happened == "Comment 1."


def test_as_many_questions_for_fifty_clips_as_for_two(room, player):
    counts = []
    for more in (2, 48):
        deliver(room, more)
        with CaptureQueriesContext(connection) as asked:
            assert player.get(TODAY).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 25
