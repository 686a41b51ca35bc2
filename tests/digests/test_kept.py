"""Charts in the mail, messages of the week, and what was kept before there was so much to say."""

import json
import re
from datetime import timedelta
from email import message_from_bytes, policy

import pytest
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.core import outbox
from devplans.core.models import Message
from devplans.core.outbox import drop_pictures
from devplans.digests import emails, facts, planning, services
from devplans.digests.models import Digest
from devplans.threads.models import Reply
from tests import factories as make
from tests.digests import edges
from tests.digests.edges import in_week, last_week, letter_for
from tests.digests.test_edges import assert_the_same

PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture
def digest(cast):
    edges.one_session(cast)
    for pk in services.plan_week(club=cast.club, week=last_week(cast)):
        assert services.build_digest(digest_id=pk)
    return Digest.objects.get(kind="guardian", recipient=cast.guardian)


def test_charts_go_inside_the_mail_and_their_numbers_are_said(cast, digest):
    mail = message_from_bytes(
        outbox.build(digest.message).message().as_bytes(), policy=policy.default
    )
    html = mail.get_body(("html",)).get_content()
    cids = set(re.findall(r'src="cid:([^"]+)"', html))
    assert cids == {f"share-{cast.kid.pk}", f"minutes-{cast.kid.pk}"}
    parts = {part["Content-ID"].strip("<>"): part for part in mail.walk() if part["Content-ID"]}
    for cid in cids:
        assert parts[cid].get_content_type() == "image/png"
        assert parts[cid].get_filename() == f"{cid}.png"
        assert parts[cid].get_content().startswith(PNG)
    alts = " ".join(re.findall(r'<img[^>]*alt="([^"]+)"', html))
    assert "12 of 20" in alts
    assert "between 39 and 78 %" in alts
    assert "target 70 %" in alts
    assert f"Week {last_week(cast)[1]}: 0 and 40" in alts
    text = mail.get_body(("plain",)).get_content()
    assert "12 of 20 since the goal began, between 39 and 78 %; target 70 %." in text


def test_charts_need_no_consent_and_stay_when_one_is_withdrawn(cast, digest):
    drop_pictures(player_id=cast.kid.pk)
    message = Message.objects.get(pk=digest.message_id)
    assert len(message.inline) == 2
    assert message.html.count("cid:") == 2


def test_their_files_go_once_the_mail_is_sent_and_the_pages_still_show_them(client, cast, digest):
    keys = [picture["key"] for picture in digest.message.inline]
    assert len(keys) == 2
    assert all(default_storage.exists(key) for key in keys)
    secret = re.search(r"/digests/open/([\w-]+)/", digest.message.text)[1]
    Message.objects.filter(pk=digest.message_id).update(state="sent")
    services.forget_links()
    assert not any(default_storage.exists(key) for key in keys)
    client.force_login(cast.guardian)
    for answer in [
        client.get(reverse("digests:letter", args=[digest.pk])),
        Client().get(reverse("digests:open", args=[secret])),
    ]:
        html = answer.content.decode()
        assert html.count('src="data:image/png;base64,') == 2
        assert "cid:" not in html


def test_building_after_a_kill_leaves_one_file_per_chart(cast, digest):
    """The files are written before the row commits: the next try writes the same ones."""
    message = digest.message
    names = default_storage.listdir(f"digests/{digest.pk}")[1]
    Digest.objects.filter(pk=digest.pk).update(message=None)
    digest.link.delete()
    message.delete()
    assert services.build_digest(digest_id=digest.pk)
    assert sorted(default_storage.listdir(f"digests/{digest.pk}")[1]) == sorted(names)


def test_each_message_of_the_week_is_told_without_its_words(cast):
    comment = make.make_comment(
        make.make_film(cast.squad), cast.coach, [cast.kid], skill=make.make_skill(name="Help side")
    )
    thread = make.make_delivery(comment, cast.kid, sent_at=in_week(cast)).thread
    rows = [(cast.player, "Does Runa go too?", True), (cast.coach, "Yes, Runa first.", False),
            (cast.guardian, "Thank you.", False), (cast.player, "And then?", True)]  # fmt: skip
    for hours, (author, words, asks) in enumerate(rows):
        reply = Reply.objects.create(thread=thread, author=author, text=words, is_question=asks)
        at = in_week(cast) + timedelta(hours=hours)
        answered = at if words.startswith("Does") else None
        Reply.objects.filter(pk=reply.pk).update(created_at=at, answered_at=answered)
    letter = letter_for(cast, "guardian", cast.guardian)
    assert "Messages: 4 messages; 1 question is waiting for the coach." in letter.text
    told = re.findall(r"^  \w+ \d+ \w+ \d\d:\d\d: (.+)$", letter.text, re.M)
    assert told == [
        "Ines asked about help side; it was answered",
        "Coach Ravel wrote about help side",
        f"{cast.guardian.full_name} wrote about help side",
        "Ines asked about help side; no answer yet",
    ]
    assert "Runa" not in letter.text + letter.html
    assert_the_same(letter)


def test_who_leaves_between_planning_and_building_gets_none(cast):
    planned = services.plan_week(club=cast.club, week=last_week(cast))
    edges.left(cast)
    built = sum(services.build_digest(digest_id=pk) for pk in planned)
    assert built == 5
    assert set(Digest.objects.values_list("recipient__first_name", flat=True)) == {
        "Runa", "Gudrun", "Ravel", "Osric", "Dana",
    }  # fmt: skip
    assert services.plan_week(club=cast.club, week=last_week(cast)) == []
    assert not any(services.build_digest(digest_id=pk) for pk in planned)


NEW = {
    "parts": {"hours", "each_message", "minutes", "is_first"},
    "squads": {
        "goals_by_status", "reviews", "to_count", "past_hours", "films_waiting", "each_hours",
        "no_birth_date", "open_pains", "goals_draft",
    },
}  # fmt: skip


@pytest.mark.parametrize("kind", ["player", "guardian", "coach", "director"])
def test_what_was_kept_before_is_still_told(cast, kind):
    """Facts without the keys that came later, and with goals as they were kept then."""
    edges.one_session(cast)
    reader = getattr(cast, kind)
    people = planning.addressees(cast.club)
    to = next(one for one in people if one.kind == kind and one.recipient == reader)
    digest = facts.draft(club=cast.club, to=to, week=last_week(cast))
    kept = json.loads(json.dumps(digest.facts))
    for name, keys in NEW.items():
        for row in kept.get(name, []):
            for key in keys:
                row.pop(key, None)
            if "goals" in row:
                row["goals"] = [
                    {"goal": goal["goal"], "skill": goal["skill"], "words": "", "film": None,
                     "due_on": goal["due_on"]}
                    for goal in row["goals"]
                ]  # fmt: skip
    kept.pop("whole", None)
    digest.facts = kept
    letter = emails.render(digest, unsubscribe_url="https://portal.example/stop/")
    assert_the_same(letter)
    if kind in {"player", "guardian"}:
        assert "12 of 20 went in" in letter.text
        assert "Goals: free throws until" in letter.text
        assert "Published limits" not in letter.text


def test_the_digest_keeps_its_facts_as_they_were_sent(client, cast, digest):
    before = Digest.objects.get(pk=digest.pk).facts
    edges.too_many_hours(cast)
    client.force_login(cast.guardian)
    words = client.get(reverse("digests:page", args=[digest.pk])).content.decode()
    assert "15 h 10 min" not in words
    assert Digest.objects.get(pk=digest.pk).facts == before
    assert timezone.now() > digest.created_at
