import hashlib
from collections import Counter

import av
import numpy
import pytest
from django.apps import apps
from django.core.management import call_command
from django.urls import reverse

from devplans.core.models import Message
from devplans.feedback import naming
from devplans.feedback.cliplists import reading
from devplans.feedback.models import Clip, ClipList, Delivery
from devplans.film.models import Film
from devplans.people.models import Club, Guardianship, Player, Squad, User
from devplans.talkthrough.models import Suggestion, TalkThrough
from devplans.talkthrough.settling import is_certain
from portal.demo import media


def draw_quickly(path, **names):
    """As long as the demo's film, small and plain: the loader is tested here, not the drawing."""
    with av.open(str(path), "w", format="mp4") as container:
        stream = container.add_stream("libx264", rate=5)
        stream.width, stream.height, stream.pix_fmt = 64, 36, "yuv420p"
        for _number in range(90 * 5):
            frame = av.VideoFrame.from_ndarray(
                numpy.zeros((36, 64, 3), numpy.uint8), format="rgb24"
            )
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def fingerprint():
    found = hashlib.sha256()
    for model in sorted(apps.get_models(include_auto_created=True), key=lambda m: m._meta.label):
        for row in sorted(map(str, model._base_manager.values_list())):
            found.update(f"{model._meta.label} {row}\n".encode())
    return found.hexdigest()


@pytest.fixture
def demo(transactional_db, monkeypatch):
    monkeypatch.setattr(media, "render_demo_film", draw_quickly)
    call_command("sync_catalogue", verbosity=0)
    call_command("load_demo")
    return Club.objects.get(name="Rivermead Herons")


@pytest.mark.long
def test_the_demo_club_is_whole_and_loading_it_again_changes_nothing(demo, client, settings):
    before = fingerprint()
    call_command("load_demo")
    assert fingerprint() == before, "a second load changed rows"

    assert Squad.objects.filter(season__club=demo).count() == 2
    assert Player.objects.filter(club=demo).count() >= 20
    assert not Film.objects.exclude(state="ready").exists()
    assert not Clip.objects.exclude(state="ready").exists()
    weeks = {row.sent_at.isocalendar()[:2] for row in Delivery.objects.all()}
    assert len(weeks) >= 8
    families = Counter(Guardianship.objects.values_list("user__email", flat=True))
    assert families["guardian@club.example"] == 2
    assert Message.objects.filter(kind="digest").exists()

    settings.DEMO = True
    for role in ("coach", "player", "guardian", "director", "outsider"):
        signed_in = client.login(email=f"{role}@club.example", password="scorebook-demo")
        assert signed_in, role
        assert client.get("/", follow=True).status_code == 200
        assert client.get(reverse("demo:mails")).status_code == 200
    guardian = User.objects.get(email="guardian@club.example")
    client.force_login(guardian)
    mail = Message.objects.filter(recipient=guardian).first()
    assert "Inès" in client.get(reverse("demo:mail", args=[mail.pk])).content.decode()
    assert client.get(reverse("demo:letter", args=[mail.pk])).status_code == 200
    client.force_login(User.objects.get(email="coach@club.example"))
    assert client.get(reverse("demo:mail", args=[mail.pk])).status_code == 404
    nobody_is_named_on_the_list(client)
    a_talk_waits_to_be_corrected(client)


def nobody_is_named_on_the_list(client):
    """The page that the coach shows the team says no name and no number of the squad."""
    shown = ClipList.objects.get()
    people = reading.everyone(shown.squad)
    assert len(people) > 8
    page = client.get(reverse("feedback:cliplist-show", args=[shown.pk])).text
    assert naming.find(page, people) == []
    programme = reading.programme(reading.shown(shown.author, shown))
    assert [clip["problem"] for clip in programme["clips"]] == [""] * 7
    # Bare numbers too: nothing that is read is the number of anybody.
    words = " ".join(f"{clip['skill']} {clip['words']}" for clip in programme["clips"])
    worn = {number for one in people for number in one.numbers}
    assert worn.isdisjoint(words.replace(".", " ").replace(",", " ").split())


def a_talk_waits_to_be_corrected(client):
    """Understood by the same code as any other, with something of all that the page can ask."""
    talk = TalkThrough.objects.get()
    assert talk.state == "ready"
    assert talk.faults == []
    assert talk.lines.count() >= 20
    assert talk.lines.last().film_start_ms < talk.film.duration_ms
    rows = Suggestion.objects.of_talk(talk)
    assert rows.open().count() >= 6
    assert talk.left_out
    assert rows.open().exclude(unsure=[]).exists(), "nobody is asked about"
    assert any(is_certain(one) for one in rows.open())
    drafts = [one.comment for one in rows.accepted()]
    assert [draft.sent_at for draft in drafts] == [None] * 2
    on_court = {"4", "7", "12", "14", "23"}
    worn = {place.number for one in rows for player in one.players.all()
            for place in player.squadplayers.all()}  # fmt: skip
    assert len(worn & on_court) >= 4

    page = reverse("talkthrough:correct", args=[talk.pk])
    for name, key in (("home:waiting", None), ("talkthrough:film", talk.film_id)):
        assert page in client.get(reverse(name, args=[key] if key else [])).text
    assert client.get(page).status_code == 200
    talks = reverse("talkthrough:film", args=[talk.film_id])
    assert talks in client.get(reverse("film:detail", args=[talk.film_id])).text
