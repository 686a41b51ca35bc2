import random
import re
from datetime import timedelta
from email import message_from_bytes, policy

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from devplans.core import outbox
from devplans.core.models import Message
from devplans.digests import emails, facts, links, planning, services
from devplans.digests.models import Digest
from devplans.feedback.models import Clip
from devplans.people.models import Consent
from devplans.stats import weeks
from devplans.stats.proportions import wilson_interval
from tests import factories as make
from tests.digests.test_edges import told, words_of


@pytest.fixture
def week(cast):
    return weeks.last_complete_week(timezone.now(), cast.club.zone)


@pytest.fixture
def inside(cast, week):
    """An instant in the week that the digests tell of."""
    return weeks.bounds(*week, cast.club.zone)[0] + timedelta(days=2, hours=12)


@pytest.fixture
def shared(cast, inside):
    """One comment for two players, sent in that week, with a still."""
    film = make.make_film(cast.squad)
    comment = make.make_comment(
        film, cast.coach, [cast.kid, cast.mate], happened="Both late.", do_instead="Talk early."
    )
    cast.delivery = make.make_delivery(comment, cast.kid, sent_at=inside)
    make.make_delivery(comment, cast.mate, sent_at=inside)
    key = default_storage.save("clips/still.jpg", ContentFile(b"\xff\xd8\xff\xe0 still"))
    Clip.objects.create(
        comment=comment, version=1, start_ms=0, end_ms=6000, state="ready", still_key=key
    )
    return comment


def letter_for(cast, kind, user, week):
    to = next(
        to for to in planning.addressees(cast.club) if to.kind == kind and to.recipient == user
    )
    digest = facts.draft(club=cast.club, to=to, week=week)
    return emails.render(digest, unsubscribe_url=links.unsubscribe_url(user))


def hours_and_minutes(minutes):
    hours, rest = minutes // 60, minutes % 60
    return " ".join([f"{hours} h"] * bool(hours) + [f"{rest} min"] * bool(rest or not hours))


def test_random_workouts_add_up_in_html_and_text(cast, week, inside):
    """The sums are made by hand here, from the same random sets."""
    chance = random.Random()
    drill = make.make_drill(name="Wall finishes")
    made = tried = own = organised = 0
    for _number in range(chance.randint(2, 6)):
        sets = []
        for _set in range(chance.randint(1, 5)):
            t = chance.randint(1, 20)
            m = chance.randint(0, t)
            made, tried = made + m, tried + t
            sets.append({"drill": drill, "made": m, "tried": t})
        minutes, kind = chance.randint(10, 90), chance.choice(["own", "organised"])
        own += minutes if kind == "own" else 0
        organised += minutes if kind == "organised" else 0
        make.make_workout(cast.kid, sets=sets, started_at=inside, minutes=minutes, kind=kind)
    make.make_workout(
        cast.kid,
        sets=[{"drill": drill, "made": 9, "tried": 9}],
        started_at=inside - timedelta(days=7),
    )
    make.make_workout(cast.mate, sets=[{"drill": drill, "made": 9, "tried": 9}], started_at=inside)
    letter = letter_for(cast, "guardian", cast.guardian, week)
    low, high = (round(100 * end) for end in wilson_interval(made, tried))
    shots = f"{made} of {tried} went in; the long-run rate may lie between {low} and {high} %"
    practised = f"{hours_and_minutes(organised)} with the team and {hours_and_minutes(own)} alone"
    for body in (letter.text, letter.html):
        assert body.count(shots) == 2, "the total, and the only drill"
        assert practised in body


def test_one_mail_per_family_with_a_part_per_child(cast, week, shared):
    letter = letter_for(cast, "guardian", cast.guardian, week)
    assert "Ines’s week" in letter.text
    assert "Luc’s week" in letter.text
    assert letter.subject.startswith("Ines and Luc")
    assert "A quiet week: nothing new from film and no workout logged." in letter.text


def test_no_other_addressee_in_a_family_s_mail(cast, week, shared):
    for kind, user in [("guardian", cast.guardian), ("player", cast.player)]:
        letter = letter_for(cast, kind, user, week)
        everything = " ".join([letter.subject, letter.text, letter.html, str(letter.inline)])
        assert "Both late." in everything or "Talk early." in everything
        assert not re.search(r"Runa|Lindqvist|number 7\b|#7\b", everything)


@pytest.mark.parametrize(
    ("given_by", "how", "sees"),
    [
        ("guardian", "guardian", True),
        (None, "paper", True),
        ("ex_guardian", "guardian", False),
        (None, None, False),
    ],
)
def test_the_still_is_inline_only_for_the_guardian_who_agreed(
    cast, week, shared, given_by, how, sees
):
    if how:
        consent = make.give_consent(cast.kid, Consent.Kind.EMAIL_PICTURES)
        consent.how, consent.given_by = how, getattr(cast, given_by) if given_by else None
        consent.save(update_fields=["how", "given_by"])
    letter = letter_for(cast, "guardian", cast.guardian, week)
    assert bool(letter.inline) == sees == ("cid:" in letter.html)
    assert ("no pictures of children in this email" in letter.html) != sees
    assert (
        f"/feedback/deliveries/{cast.delivery.pk}" in letter.html
        or str(cast.delivery.pk) in letter.html
    )


def test_without_consent_to_film_there_is_no_picture(cast, week, shared):
    consent = make.give_consent(cast.kid, Consent.Kind.EMAIL_PICTURES)
    Consent.objects.filter(pk=consent.pk).update(given_by=cast.guardian, how="guardian")
    Consent.objects.filter(player=cast.kid, kind="film").update(withdrawn_at=timezone.now())
    assert letter_for(cast, "guardian", cast.guardian, week).inline == []


def test_the_mail_carries_both_unsubscribe_headers_and_short_lines(cast, week, shared):
    services.plan_week(club=cast.club, week=week)
    digest = Digest.objects.get(kind="guardian", recipient=cast.guardian)
    assert services.build_digest(digest_id=digest.pk)
    assert not services.build_digest(digest_id=digest.pk), "a second build changes nothing"
    message = Message.objects.get(kind="digest", recipient=cast.guardian)
    raw = outbox.build(message).message().as_bytes(linesep="\r\n")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 998
    mail = message_from_bytes(raw, policy=policy.default)
    address = mail["List-Unsubscribe"].strip().strip("<>")
    assert links.addressee_of(address.rstrip("/").rsplit("/", 1)[1]) == cast.guardian
    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert mail["Message-ID"] == message.message_id
    assert mail.get_body(("plain",)) is not None
    html = mail.get_body(("html",)).get_content()
    assert len(html) < 102_000
    assert "@media (prefers-color-scheme: dark)" in html
    assert not re.search(r'src="http', html)


def test_the_coach_reads_who_got_nothing(cast, week, shared):
    letter = letter_for(cast, "coach", cast.coach, week)
    assert "2 of 3 players got feedback from film" in letter.text
    assert "Nothing for: Tove Adeyemi" in letter.text


def test_the_director_sees_every_squad(cast, week, shared):
    letter = letter_for(cast, "director", cast.director, week)
    assert "Under 16" in letter.text
    assert "Under 14" in letter.text
    assert "Nothing tried" not in letter.text
    assert "Shots: –" in letter.text


def test_text_and_html_say_the_same(cast, week, shared, inside):
    make.make_workout(
        cast.kid, sets=[{"drill": make.make_drill(), "made": 7, "tried": 10}], started_at=inside
    )
    letter = letter_for(cast, "guardian", cast.guardian, week)
    assert words_of(letter.text) == words_of(told(letter.html))
