"""The pages of films, and who gets which of their files."""

import gzip
import io
import json
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files import File
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.film import services
from devplans.film.models import Film
from devplans.people.models import SquadPlayer
from devplans.schedule.models import Event
from tests import factories as make
from tests.film import films

SEE_A_FILM = {"coach", "director"}
SEE_AN_OPEN_FILM = {"coach", "director", "player", "teammate", "guardian", "mate_guardian"}
EVERYBODY = [
    *("coach", "director", "player", "teammate", "guardian", "mate_guardian", "other_coach"),
    *("welfare", "ex_guardian", "outsider", "stranger"),
]


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def film(cast):
    return make.make_film(cast.squad, title="Game v Ashdown")


@pytest.fixture
def real_film(cast, of_kind):
    """A ready film with numbered frames, made of a portrait film with irregular times."""
    kind, path = of_kind["phone"]
    film = make.make_film(cast.squad, state="waiting", size_bytes=1000)
    with path.open("rb") as file:
        film.original_key = default_storage.save(f"films/{film.pk}/original", File(file))
    film.save(update_fields=["original_key"])
    services.prepare_film(film_id=film.pk)
    film.refresh_from_db()
    film.kind = kind
    return film


def who_sees(cast, film) -> set[str]:
    return {name for name in EVERYBODY if film in Film.objects.visible_to(getattr(cast, name))}


def agree(cast):
    make.give_consent(cast.adult)


def test_a_film_is_seen_by_coaches_and_directors_until_it_is_opened(cast, film):
    agree(cast)
    assert who_sees(cast, film) == SEE_A_FILM
    services.open_film(actor=cast.coach, film=film, open_to="squad")
    assert who_sees(cast, film) == SEE_AN_OPEN_FILM
    services.open_film(actor=cast.coach, film=film, open_to="coaches")
    assert who_sees(cast, film) == SEE_A_FILM
    entries = AuditEntry.objects.filter(verb="film.opened").order_by("at")
    assert [entry.detail["open_to"] for entry in entries] == ["squad", "coaches"]


def test_it_is_not_opened_while_somebody_has_no_consent(cast, film):
    with pytest.raises(DomainError, match="Tove Adeyemi") as caught:
        services.open_film(actor=cast.coach, film=film, open_to="squad")
    assert caught.value.code == "consent.missing"
    film.refresh_from_db()
    assert film.open_to == "coaches"


def test_an_open_film_closes_to_families_with_the_first_consent_withdrawn(cast, film):
    agree(cast)
    services.open_film(actor=cast.coach, film=film, open_to="squad")
    consent = cast.mate.consents.get()
    consent.withdrawn_at = timezone.now()
    consent.save(update_fields=["withdrawn_at"])
    assert who_sees(cast, film) == SEE_A_FILM
    SquadPlayer.objects.filter(player=cast.mate).update(until=timezone.now() - timedelta(days=2))
    assert who_sees(cast, film) == SEE_AN_OPEN_FILM - {"teammate", "mate_guardian"}


@pytest.mark.parametrize("who", ["director", "player", "guardian", "other_coach", "outsider"])
def test_only_a_coach_of_the_squad_changes_opens_or_deletes(cast, film, who):
    actor = getattr(cast, who)
    with pytest.raises(PermissionDenied):
        services.change_film(actor=actor, film=film, title="Other", event=None)
    with pytest.raises(PermissionDenied):
        services.open_film(actor=actor, film=film, open_to="squad")
    with pytest.raises(PermissionDenied):
        services.delete_film(actor=actor, film=film)
    film.refresh_from_db()
    assert (film.title, film.open_to) == ("Game v Ashdown", "coaches")


def test_title_and_date_can_be_changed(cast, film):
    begun = timezone.now() - timedelta(days=3)
    event = Event.objects.create(
        squad=cast.squad, kind="practice", starts_at=begun, ends_at=begun + timedelta(hours=1)
    )
    client, url = signed_in(cast.coach), reverse("film:change", args=[film.pk])
    assert b"Practice" in client.get(url).content
    assert client.post(url, {"title": "Second half", "event": event.pk}).status_code == 302
    film.refresh_from_db()
    assert (film.title, film.event, film.recorded_at) == ("Second half", event, begun)
    answer = client.post(url, {"title": " ", "event": ""})
    assert answer.status_code == 422
    assert "title" in answer.context["form"].errors


def test_dates_behind_us_are_offered_first_the_newest_on_top(cast):
    now = timezone.now()
    for days in (9, -2, 3, -8):
        starts_at = now + timedelta(days=days)
        Event.objects.create(
            squad=cast.squad,
            kind="game",
            opponent=f"Day {days}",
            starts_at=starts_at,
            ends_at=starts_at + timedelta(hours=1),
        )
    form = signed_in(cast.coach).get(reverse("film:upload")).context["form"]
    offered = [event.opponent for event in form.fields["event"].queryset]
    assert offered == ["Day -2", "Day -8", "Day 3", "Day 9"]


def test_a_date_of_another_squad_cannot_be_chosen(cast, film):
    now = timezone.now()
    event = Event.objects.create(
        squad=cast.other_squad, kind="game", starts_at=now, ends_at=now + timedelta(hours=1)
    )
    url = reverse("film:change", args=[film.pk])
    answer = signed_in(cast.coach).post(url, {"title": "Game", "event": event.pk})
    assert answer.status_code == 422
    assert "event" in answer.context["form"].errors


def test_deleting_says_what_goes_and_takes_every_file(
    cast, real_film, django_capture_on_commit_callbacks
):
    make.make_comment(real_film, cast.coach, [cast.kid])
    client, url = signed_in(cast.coach), reverse("film:delete", args=[real_film.pk])
    assert b"every draft" in client.get(url).content
    with django_capture_on_commit_callbacks(execute=True):
        assert client.post(url).url == reverse("film:list")
    assert not Film.objects.exists()
    assert default_storage.listdir("films") == ([], [])


def test_a_film_with_sent_comments_stays(cast, film):
    comment = make.make_comment(film, cast.coach, [cast.kid])
    comment.sent_at, comment.do_instead = timezone.now(), "One foot in the key"
    comment.save(update_fields=["sent_at", "do_instead"])
    answer = signed_in(cast.coach).post(reverse("film:delete", args=[film.pk]))
    assert answer.status_code == 422
    assert b"were sent" in answer.content
    assert Film.objects.filter(pk=film.pk).exists()


def test_the_list_shows_the_films_of_ones_own_squads_newest_first(cast, film):
    older = make.make_film(
        cast.squad, title="Older", recorded_at=timezone.now() - timedelta(days=40)
    )
    make.make_film(cast.other_squad, title="Not his")
    page = signed_in(cast.coach).get(reverse("film:list"))
    assert list(page.context["page"]) == [film, older]
    assert b"Not his" not in page.content
    assert b"Upload a film" in page.content
    assert list(signed_in(cast.player).get(reverse("film:list")).context["page"]) == []


def test_the_list_tells_how_far_a_film_is_and_what_went_wrong(cast, film):
    make.make_film(cast.squad, title="Long one", state="preparing", progress=0.37)
    make.make_film(cast.squad, title="Bad one", state="failed", problem="Cannot be read.")
    page = signed_in(cast.coach).get(reverse("film:list"))
    assert b"Being prepared: 37 %" in page.content
    assert b"Cannot be read." in page.content
    assert b'hx-trigger="every 3s"' in page.content
    Film.objects.filter(title="Long one").delete()
    assert b"hx-trigger" not in signed_in(cast.coach).get(reverse("film:list")).content


def test_the_list_asks_the_database_no_more_for_many_films(cast, django_assert_max_num_queries):
    client = signed_in(cast.coach)
    counts = []
    for count in (2, 18):
        for _number in range(count):
            now = timezone.now()
            event = Event.objects.create(
                squad=cast.squad, kind="game", starts_at=now, ends_at=now + timedelta(hours=1)
            )
            make.make_film(cast.squad, event=event, poster_key="films/x/poster.jpg")
        with django_assert_max_num_queries(16) as asked:
            client.get(reverse("film:list"))
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_an_empty_list_says_what_to_do(cast):
    assert b"No film yet" in signed_in(cast.coach).get(reverse("film:list")).content
    assert b"opens a film" in signed_in(cast.player).get(reverse("film:list")).content


def test_the_page_waits_with_the_coach_and_says_how_far_it_is(cast, film):
    film.state, film.progress = Film.State.PREPARING, 0.25
    film.save(update_fields=["state", "progress"])
    client = signed_in(cast.coach)
    page = client.get(reverse("film:detail", args=[film.pk])).content
    assert b"Being prepared: 25 %" in page
    assert b'aria-live="polite"' in page
    assert b"you can leave this page" in page
    state = reverse("film:state", args=[film.pk])
    assert b"25 %" in client.get(state, headers={"HX-Request": "true"}).content
    Film.objects.update(state="ready")
    answer = client.get(state, headers={"HX-Request": "true"})
    assert answer.headers["HX-Refresh"] == "true"


def test_a_failed_film_says_why_and_offers_to_upload_again(cast, film):
    film.state, film.problem = Film.State.FAILED, "Less than a second of this film can be read."
    film.save(update_fields=["state", "problem"])
    page = signed_in(cast.coach).get(reverse("film:detail", args=[film.pk])).content
    assert b"Less than a second" in page
    assert f"?squad={cast.squad.pk}".encode() in page


def test_a_ready_film_that_ends_early_says_so(cast, film):
    film.problem = "The file ends early: it can be read up to 1:30."
    film.save(update_fields=["problem"])
    assert (
        b"up to 1:30" in signed_in(cast.coach).get(reverse("film:detail", args=[film.pk])).content
    )


def test_a_family_gets_the_film_alone(cast, film):
    agree(cast)
    services.open_film(actor=cast.coach, film=film, open_to="squad")
    url = reverse("film:detail", args=[film.pk])
    family, coach = (signed_in(user).get(url).content for user in (cast.guardian, cast.coach))
    for part in (b"comment-form", b"film-comments", b"About this film", b'data-do="comment"'):
        assert part in coach
        assert part not in family
    assert b"<film-player" in family


ROUTES = ["film:play", "film:poster", "film:frames", "film:still", "film:state", "film:detail"]


def test_every_file_has_the_right_of_the_page(cast, real_film):
    agree(cast)
    for open_to, expected in (("coaches", SEE_A_FILM), ("squad", SEE_AN_OPEN_FILM)):
        services.open_film(actor=cast.coach, film=real_film, open_to=open_to)
        for route in ROUTES:
            url = reverse(route, args=[real_film.pk]) + "?ms=0"
            answers = {name: signed_in(getattr(cast, name)).get(url) for name in EVERYBODY}
            assert {name for name in EVERYBODY if answers[name].status_code == 200} == expected
            refused = {answers[name].status_code for name in set(EVERYBODY) - expected}
            assert refused == {404}, route
        assert Client().get(reverse("film:play", args=[real_film.pk])).status_code == 302


def test_the_copy_is_served_in_ranges_and_the_original_never(cast, real_film):
    client, url = signed_in(cast.coach), reverse("film:play", args=[real_film.pk])
    whole = client.get(url)
    copy = b"".join(whole.streaming_content) if whole.streaming else whole.content
    assert copy == default_storage.open(real_film.playable_key).read()
    assert copy != default_storage.open(real_film.original_key).read()
    part = client.get(url, headers={"Range": "bytes=100-299"})
    assert (part.status_code, part.content) == (206, copy[100:300])
    assert part.headers["Content-Range"] == f"bytes 100-299/{len(copy)}"
    assert part.headers["Content-Type"] == "video/mp4"
    assert part.headers["Cache-Control"] == "private, no-cache"
    tail = client.get(url, headers={"Range": "bytes=-10", "If-Range": part.headers["ETag"]})
    assert (tail.status_code, tail.content) == (206, copy[-10:])
    assert client.get(url, headers={"Range": f"bytes={len(copy)}-"}).status_code == 416
    head = client.head(url)
    assert (head.status_code, head.headers["Content-Length"]) == (200, str(len(copy)))
    assert head.content == b""
    assert client.post(url).status_code == 405


def test_the_frame_times_come_packed(cast, real_film):
    answer = signed_in(cast.coach).get(reverse("film:frames", args=[real_film.pk]))
    assert answer.headers["Content-Encoding"] == "gzip"
    steps = json.loads(gzip.decompress(answer.content))
    assert len(steps) == len(real_film.kind.times) - 1


@pytest.mark.parametrize("route", ["page", "api"])
def test_a_still_is_the_originals_frame_upright_at_its_own_size(cast, real_film, route):
    client = signed_in(cast.coach)
    page = reverse("film:still", args=[real_film.pk])
    url = page if route == "page" else f"/api/v1/films/{real_film.pk}/still/"
    times = real_film.kind.seconds()
    asked = [
        0,
        1,
        777,
        1500,
        10**8,
        *(-(-t.numerator * 1000 // t.denominator) for t in times[7:140:40]),
    ]
    for ms in asked:
        answer = client.get(url, {"ms": ms})
        assert answer.headers["Content-Type"] == "image/jpeg"
        picture = Image.open(io.BytesIO(answer.content))
        assert films.number_on(picture) == real_film.kind.on_screen(ms)
        assert picture.size == (real_film.width, real_film.height) == films.UPRIGHT
    known = client.get(url, {"ms": 0}).headers["ETag"]
    again = client.get(url, {"ms": 0}, headers={"If-None-Match": known})
    assert (again.status_code, again.content) == (304, b"")


@pytest.mark.parametrize(
    ("state", "ms", "expected"),
    [
        ("waiting", "0", 409), ("preparing", "0", 409), ("failed", "0", 404),
        ("ready", "soon", 400), ("ready", "-1", 400), ("ready", "1.5", 400), ("ready", "", 400),
        ("ready", "²", 400), ("ready", None, 400),
    ],
)  # fmt: skip
def test_a_still_that_cannot_be_had(cast, film, state, ms, expected):
    film.state = state
    film.save(update_fields=["state"])
    client = signed_in(cast.coach)
    asked = {} if ms is None else {"ms": ms}
    answer = client.get(f"/api/v1/films/{film.pk}/still/", asked, headers={"Accept": "image/jpeg"})
    assert answer.status_code == expected
    assert list(answer.json()) == (["ms"] if expected == 400 else ["detail"])
    assert client.get(reverse("film:still", args=[film.pk]), asked).status_code == expected


def test_the_api_lists_what_one_may_see(cast, film):
    make.make_film(cast.far_squad, title="Far")
    mine = signed_in(cast.director).get("/api/v1/films/").json()
    assert set(mine) == {"next", "previous", "results"}
    assert [row["id"] for row in mine["results"]] == [str(film.pk)]
    assert signed_in(cast.outsider).get(f"/api/v1/films/{film.pk}/").status_code == 404
    assert Client().get("/api/v1/films/").status_code == 403
