"""No family reads another family's child: two players on one comment, all of it searched."""

import html
import re
from collections import Counter

import pytest
from django.core import mail
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse

from devplans.core import outbox
from devplans.core.models import Message
from devplans.feedback import services
from devplans.feedback.models import Clip, Delivery, Drawing
from devplans.feedback.naming import folded
from tests import factories as make

LINK = re.compile(r"""(?:href|src|action|hx-get|hx-post|poster|seen)=["']([^"'#]+)["']""")
SAID = (
    "Ines and Runa both trail the ball; number 12 looks at #7, Lindqvist at Okafor. "
    "RUNA’s hands are down, no. 12’s feet too. INÈS!"
)
ANSWER = "Runa: name and side before contact. Ines Okafor (12) and Runa L. (7): numbers 7 and 12."


@pytest.fixture
def shared(room):
    """One comment for both, sent and corrected, its clip ready; a question answered on each."""
    comment = make.make_comment(
        room.film, room.coach, [room.kid, room.mate], skill=room.skill, verdict="not_yet",
        happened=SAID, do_instead=ANSWER,
    )  # fmt: skip
    room.film.title = "Runa Lindqvist and Ines Okafor against Larks"
    room.film.save()
    services.send_comments(actor=room.coach, comments=[comment])
    comment.refresh_from_db()
    services.correct_comment(actor=room.coach, comment=comment, happened=SAID + " Again, Ines.")
    Clip.objects.update(
        state="ready",
        video_key=default_storage.save("clips/a.mp4", ContentFile(b"film")),
        still_key=default_storage.save("clips/a.jpg", ContentFile(b"picture")),
    )
    for player, user in ((room.kid, room.player), (room.mate, room.teammate)):
        delivery = Delivery.objects.get(player=player)
        services.ask(actor=user, delivery=delivery, text="What do you mean?")
        services.reply(actor=room.coach, delivery=delivery, text="Talk earlier.")
    return room


FORBIDDEN = {
    "kid": ["runa", "lindqvist", r"(?:number|no\.?|#|numbers)\s*7\b", r"7 and 12", r"\(7\)"],
    "mate": ["ines", "okafor", r"(?:number|no\.?|#|numbers)\s*12\b", r"7 and 12", r"\(12\)"],
}


def names_in(text, whose):
    plain = folded(html.unescape(text))
    return [
        found.group()
        for pattern in FORBIDDEN[whose]
        for found in re.finditer(rf"(?<![a-z]){pattern}", plain)
    ]


WEEK = re.compile(r"\b\d{4}-W\d\d\b")


def crawl(client, starts):
    """Every page, fragment and file that can be reached by what pages link to: {address: text}."""
    found, open_ones, views_of = {}, list(starts), Counter()
    while open_ones:
        address = open_ones.pop()
        path = address.split("#")[0]
        # Pages lead back week by week without end; three of them tell what the rest would.
        kind = WEEK.sub("", path.split("?")[0])
        views_of[kind] += path not in found
        if (
            views_of[kind] > 3
            or path in found
            or not path.startswith("/")
            or path.startswith(("/static/", "/accounts/"))
        ):
            continue
        answer = client.get(path)
        assert answer.status_code < 500, path
        if answer.status_code in {301, 302}:
            found[path] = answer.url
            open_ones.append(answer.url)
            continue
        body = b"".join(answer.streaming_content) if answer.streaming else answer.content
        text = body.decode("utf-8", "replace")
        found[path] = text + "\n".join(f"{name}: {value}" for name, value in answer.items())
        if answer.status_code == 200 and "html" in answer["Content-Type"]:
            base = path.split("?")[0]
            for link in LINK.findall(text):
                link = html.unescape(link)
                open_ones.append(base + link if link.startswith("?") else link)
    return found


@pytest.mark.parametrize(
    ("who", "whose"),
    [("player", "kid"), ("guardian", "kid"), ("teammate", "mate"), ("mate_guardian", "mate")],
)
def test_everything_that_a_family_can_reach(shared, who, whose):
    client = Client(raise_request_exception=False)
    client.force_login(getattr(shared, who))
    player = getattr(shared, whose)
    delivery = Delivery.objects.get(player=player)
    starts = [
        "/",
        reverse("home:today"),
        reverse("home:family"),
        reverse("feedback:delivery", args=[delivery.pk]),
        f"/api/v1/comments/?player={player.pk}",
        f"/api/v1/comments/?film={shared.film.pk}",
        "/api/v1/me/",
    ]
    found = crawl(client, starts)
    assert len(found) > len(starts)
    read = [address for address, text in found.items() if "team-mate" in text]
    assert len(read) >= 4, read
    assert {
        address: names for address, text in found.items() if (names := names_in(text, whose))
    } == {}
    for method in ("ask", "reply"):
        answer = client.post(reverse(f"feedback:{method}", args=[delivery.pk]), {"text": ""})
        assert answer.status_code == 422
        assert names_in(answer.text, whose) == []


@pytest.mark.parametrize("kind", ["vtt", "jsonld", "csv"])
def test_the_files_of_an_open_film(shared, kind):
    """Its title names both children; the words, the drawing and the tags of a file name one."""
    make.give_consent(shared.adult)
    shared.film.open_to = "squad"
    shared.film.save()
    shape = {"kind": "text", "points": [[0.1, 0.1]], "text": "Runa and Ines #7 #12"}
    shapes = [{**shape, "colour": "chalk", "stroke": "solid"}]
    Drawing.objects.create(comment=Delivery.objects.first().comment, shapes=shapes)
    for who, whose in (
        ("player", "kid"), ("guardian", "kid"), ("teammate", "mate"), ("mate_guardian", "mate"),
    ):  # fmt: skip
        client = Client()
        client.force_login(getattr(shared, who))
        answer = client.get(f"/api/v1/films/{shared.film.pk}/comments.{kind}")
        assert answer.status_code == 200
        assert "team-mate" in answer.text
        headers = "\n".join(f"{name}: {value}" for name, value in answer.items())
        assert names_in(answer.text + headers, whose) == [], (who, kind)
        refused = client.get(f"/api/v1/films/{shared.film.pk}/possessions.vtt")
        assert refused.status_code == 403


def test_everything_that_is_mailed(shared, mailoutbox):
    """As it goes out: subject, all headers, text and HTML."""
    families = {
        shared.player.email: "kid", shared.guardian.email: "kid",
        shared.teammate.email: "mate", shared.mate_guardian.email: "mate",
    }  # fmt: skip
    Message.objects.update(not_before=shared.film.created_at)
    for key in outbox.due_ids():
        assert outbox.send_message(message_id=key)
    sent = [message for message in mail.outbox if message.to[0] in families]
    assert {message.to[0] for message in sent} == set(families)
    assert len(sent) == 8
    for message in sent:
        whole = message.message()
        parts = [
            str(part.get_payload(decode=True), "utf-8")
            for part in whole.walk()
            if not part.is_multipart()
        ]
        headers = [f"{name}: {value}" for name, value in whole.items() if name != "Message-ID"]
        assert len(parts) == 2
        own = families[message.to[0]]
        assert names_in("\n".join(headers + parts), own) == [], message.subject


def test_the_search_would_find_a_name():
    """All of the above would pass on a search that finds nothing."""
    assert names_in("seen by Runa", "kid")
    assert names_in("seen by #7", "kid")
    assert names_in("INÈS", "mate")
    assert names_in("numbers 7 and 12", "mate")
    assert names_in("prunant la ligne", "kid") == []


def test_a_delivery_of_another_family_is_not_there(shared):
    theirs = Delivery.objects.get(player=shared.mate)
    for who in (
        shared.player,
        shared.guardian,
        shared.ex_guardian,
        shared.outsider,
        shared.other_coach,
    ):
        client = Client()
        client.force_login(who)
        for route in ("delivery", "clip", "delivery-still"):
            assert client.get(reverse(f"feedback:{route}", args=[theirs.pk])).status_code == 404
        for route in ("seen", "understood", "ask", "reply"):
            answer = client.post(reverse(f"feedback:{route}", args=[theirs.pk]), {"text": "Hello"})
            assert answer.status_code == 404
        assert client.get(reverse("feedback:deliveries", args=[shared.mate.pk])).status_code == 404
        comment = reverse("feedback:comment", args=[theirs.comment_id])
        assert client.get(comment).status_code == 404


def test_the_family_of_one_who_left_the_other_on_the_comment_reads_no_name(shared):
    """A team-mate who has left the squad since is masked in a correction all the same."""
    shared.mate.squadplayers.update(until=make.long_ago())
    comment = Delivery.objects.get(player=shared.kid).comment
    services.correct_comment(actor=shared.coach, comment=comment, happened="Runa and number 7 wait")
    words = Delivery.objects.get(player=shared.kid).happened
    assert names_in(words, "kid") == []


def test_words_with_markup_are_shown_as_words(room, client):
    comment = make.make_comment(
        room.film, room.coach, [room.kid], skill=room.skill,
        happened="<script>alert(1)</script><img src=x onerror=alert(2)>",
    )  # fmt: skip
    services.send_comments(actor=room.coach, comments=[comment])
    delivery = Delivery.objects.get()
    services.ask(actor=room.player, delivery=delivery, text="<b onclick=alert(3)>what?</b>")
    for who, address in (
        (room.player, reverse("home:today")),
        (room.guardian, reverse("feedback:delivery", args=[delivery.pk])),
        (room.coach, reverse("home:waiting")),
        (room.coach, reverse("feedback:film-comments", args=[room.film.pk])),
    ):
        client.force_login(who)
        page = client.get(address).text
        for bad in ("<script>alert", "<img src=x", "<b onclick"):
            assert bad not in page


def test_line_breaks_in_a_name_do_not_reach_a_header(room, mailoutbox):
    room.kid.first_name = "Ines\r\nBcc: all@club.example\r\n"
    room.kid.save()
    comment = make.make_comment(room.film, room.coach, [room.kid], skill=room.skill)
    services.send_comments(actor=room.coach, comments=[comment])
    services.ask(actor=room.player, delivery=Delivery.objects.get(), text="Which foot?")
    Message.objects.update(not_before=room.film.created_at)
    for key in outbox.due_ids():
        outbox.send_message(message_id=key)
    assert len(mail.outbox) == 3
    for message in mail.outbox:
        assert message.message()["Bcc"] is None
