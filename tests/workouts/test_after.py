"""What hurts stays open until the family has answered, whatever becomes of the workout."""

import re
from datetime import date, timedelta
from importlib import import_module
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from devplans.core.errors import Conflict, DomainError
from devplans.core.models import AuditEntry, Message
from devplans.people.models import Guardianship
from devplans.workouts.after import reading, services
from devplans.workouts.after.answering import answerers_of
from devplans.workouts.models import PainAnswer
from tests import factories as make

WORDS = "left knee since Tuesday"


def page_of(user, path):
    client = Client()
    client.force_login(user)
    return " ".join(client.get(path, follow=True).content.decode().split())


def only():
    return PainAnswer.objects.get()


def address(report):
    return f"/workouts/answers/{report.pk}/"


def answer(user, report, *, value="resting", note="", seen=""):
    client = Client()
    client.force_login(user)
    body = {"answer": value, "note": note, "seen": seen}
    return client.post(f"{address(report)}answer/", body)


# --- a report stands ---


def test_a_pain_makes_an_open_answer_and_keeps_the_workout(phone):
    assert phone.put(pain=WORDS).status_code == 201
    report = only()
    assert (report.said, report.player, report.said_by) == (
        WORDS,
        phone.cast.kid,
        phone.cast.player,
    )
    assert report.is_open
    assert AuditEntry.objects.filter(verb="workouts.pain_reported").count() == 1
    assert phone.get().json()["pain"] == WORDS


def test_other_words_keep_the_first_ones_readable(phone):
    phone.put(pain=WORDS)
    phone.put(revision=2, pain="left knee, worse")
    report = only()
    assert report.said == "left knee, worse"
    assert [one["said"] for one in report.said_before] == [WORDS]
    page = page_of(phone.cast.coach, address(report))
    assert WORDS in page
    assert "left knee, worse" in page


@pytest.mark.parametrize("way", ["emptied", "deleted"])
def test_words_taken_back_stay_open_and_readable(phone, way):
    phone.put(pain=WORDS)
    if way == "emptied":
        phone.put(revision=2, pain="")
    else:
        phone.delete()
    report = only()
    assert report.is_open
    assert report.taken_back_at is not None
    for reader in (phone.cast.coach, phone.cast.guardian, phone.cast.player):
        page = page_of(reader, address(report))
        assert WORDS in page
        assert "taken out of the workout" in page
    assert WORDS in page_of(phone.cast.coach, "/coach/")
    assert AuditEntry.objects.filter(verb="workouts.pain_taken_back").count() == 1


def test_the_same_words_again_change_nothing(phone):
    phone.put(pain=WORDS)
    phone.put(revision=2, pain=WORDS, note="later")
    assert only().earlier == []
    assert AuditEntry.objects.filter(verb="workouts.pain_changed").count() == 0


def test_new_words_after_an_answer_are_a_new_report(phone):
    phone.put(pain=WORDS)
    services.answer_pain(actor=phone.cast.guardian, report=only(), answer="gone")
    Message.objects.all().delete()
    phone.put(revision=2, pain="right hip now")
    assert PainAnswer.objects.count() == 2
    assert PainAnswer.objects.open().get().said == "right hip now"
    assert set(Message.objects.values_list("recipient__first_name", flat=True)) == {
        "Marta",
        "Ravel",
    }


# --- the answer ---


def test_a_guardian_answers_and_the_coach_is_told_without_a_word(phone):
    phone.put(pain=WORDS)
    Message.objects.all().delete()
    reply = answer(phone.cast.guardian, only(), note="Iced it on Monday.")
    assert reply.status_code == 302
    report = only()
    assert (report.answer, report.note) == ("resting", "Iced it on Monday.")
    assert report.answered_by == phone.cast.guardian
    assert timezone.now() - report.answered_at < timedelta(minutes=1)
    mail = Message.objects.get()
    assert mail.recipient == phone.cast.coach
    for word in ("knee", "Iced", "rest", "hurt", "pain", "Okafor"):
        assert word not in f"{mail.subject}\n{mail.text}"
    for reader in (phone.cast.coach, phone.cast.player):
        page = page_of(reader, address(report))
        assert "It is being rested" in page
        assert "Iced it on Monday." in page
    assert WORDS not in page_of(phone.cast.coach, "/coach/")
    entry = AuditEntry.objects.get(verb="workouts.pain_answered")
    assert entry.detail == {"answer": "resting"}


def test_a_changed_answer_is_told_and_traced(phone):
    phone.put(pain=WORDS)
    report = services.answer_pain(actor=phone.cast.guardian, report=only(), answer="resting")
    services.answer_pain(
        actor=phone.cast.guardian, report=report, answer="seeing", seen=report.answered_at
    )
    details = AuditEntry.objects.filter(verb="workouts.pain_answered").order_by("at")
    assert [entry.detail for entry in details] == [
        {"answer": "resting"},
        {"answer": "seeing", "before": "resting"},
    ]
    assert Message.objects.filter(key__startswith="workouts.answered").count() == 2


def test_of_two_guardians_the_second_reads_first(phone):
    father = make.make_user("Felix")
    make.make_guardian(father, phone.cast.kid)
    phone.put(pain=WORDS)
    report = only()
    services.answer_pain(actor=phone.cast.guardian, report=report, answer="resting")
    with pytest.raises(Conflict):
        services.answer_pain(actor=father, report=report, answer="gone")
    reply = answer(father, report, value="gone")
    assert reply.status_code == 422
    assert "Somebody else has answered meanwhile" in reply.content.decode()
    assert only().answer == "resting"


@pytest.mark.parametrize("role", ["player", "coach"])
def test_neither_minor_nor_coach_answers(phone, role):
    phone.put(pain=WORDS)
    actor = getattr(phone.cast, role)
    with pytest.raises(PermissionDenied):
        services.answer_pain(actor=actor, report=only(), answer="gone")
    assert answer(actor, only(), value="gone").status_code == 403
    assert only().is_open
    assert "Waits for an answer from Marta" in page_of(actor, address(only()))


def test_wrong_answers_are_told(phone):
    phone.put(pain=WORDS)
    for bad in ({"answer": "cleared"}, {"answer": "gone", "note": "x" * 501}):
        with pytest.raises(DomainError):
            services.answer_pain(actor=phone.cast.guardian, report=only(), **bad)
    assert answer(phone.cast.guardian, only(), value="cleared").status_code == 422
    assert only().is_open


def test_an_adult_answers_himself_and_his_guardian_does_not(cast):
    cast.adult.user = make.make_user("Tove")
    cast.adult.save()
    make.make_guardian(cast.mate_guardian, cast.adult)
    report = make.make_pain(cast.adult)
    with pytest.raises(PermissionDenied):
        services.answer_pain(actor=cast.mate_guardian, report=report, answer="gone")
    services.answer_pain(actor=cast.adult.user, report=report, answer="gone")
    assert not only().is_open


def test_who_answers_where_there_is_no_guardian(cast):
    Guardianship.objects.all().delete()
    assert answerers_of([cast.kid])[cast.kid.pk] == [cast.welfare]
    make.make_member(cast.welfare, "coach", club=cast.club, squad=cast.squad)
    assert answerers_of([cast.kid])[cast.kid.pk] == [cast.director]
    assert answerers_of([cast.sibling])[cast.sibling.pk] == [cast.welfare]
    make.make_member(cast.director, "coach", club=cast.club, squad=cast.squad)
    assert answerers_of([cast.kid])[cast.kid.pk] == []
    report = make.make_pain(cast.kid)
    assert "Invite a guardian" in page_of(cast.coach, address(report))


def test_the_second_adult_is_told_reads_and_answers_and_that_is_audited(phone):
    Guardianship.objects.filter(player=phone.cast.kid).delete()
    phone.put(pain=WORDS)
    assert set(Message.objects.values_list("recipient", flat=True)) == {
        phone.cast.welfare.pk,
        phone.cast.coach.pk,
    }
    assert "Ines Okafor" in page_of(phone.cast.welfare, "/workouts/answers/yours/")
    assert "Ines" not in page_of(phone.cast.director, "/workouts/answers/yours/")
    assert WORDS in page_of(phone.cast.welfare, address(only()))
    assert AuditEntry.objects.filter(verb="workouts.pain_read").count() == 1
    assert answer(phone.cast.welfare, only()).status_code == 302
    assert not only().is_open


def test_two_offices_in_one_hand_read_no_more_than_one(phone):
    """A director who is also the welfare officer: words only where he answers for the family."""
    make.make_member(phone.cast.director, "welfare", club=phone.cast.club)
    phone.put(pain=WORDS)
    both = phone.cast.director
    client = Client()
    client.force_login(both)
    assert client.get(address(only())).status_code == 404
    assert WORDS not in page_of(both, f"/workouts/{phone.key}/")
    assert client.get(f"/api/v1/workouts/{phone.key}/").json()["pain"] is None
    mails = Message.objects.filter(recipient=both)
    assert not mails.exists()
    Guardianship.objects.filter(player=phone.cast.kid).delete()
    assert WORDS in page_of(both, address(only()))
    assert WORDS in page_of(both, f"/workouts/{phone.key}/")
    assert AuditEntry.objects.filter(verb="workouts.pain_read", actor=both).count() == 1
    assert not any(WORDS in text for text in Message.objects.values_list("text", flat=True))


def test_an_office_reads_a_number_and_no_words(phone):
    phone.put(pain=WORDS)
    club = page_of(phone.cast.director, "/progress/club/")
    assert re.search(r'<b class="number">1</b>[^1-9]*Something hurts', club)
    assert WORDS not in club
    for office in (phone.cast.director, phone.cast.welfare):
        assert WORDS not in page_of(office, f"/workouts/{phone.key}/")
        client = Client()
        client.force_login(office)
        assert client.get(f"/api/v1/workouts/{phone.key}/").json()["pain"] is None
        listed = client.get("/api/v1/workouts/").json()["results"]
        assert [one["pain"] for one in listed] == [None]
    for near in (phone.cast.player, phone.cast.guardian, phone.cast.coach):
        assert WORDS in page_of(near, f"/workouts/{phone.key}/")


# --- where it waits ---


def test_it_stands_first_and_names_the_next_practice(cast):
    starts = timezone.now() + timedelta(days=2)
    for days, kind in ((1, "game"), (2, "practice"), (4, "practice")):
        at = timezone.now() + timedelta(days=days)
        cast.squad.events.create(kind=kind, starts_at=at, ends_at=at + timedelta(hours=1))
    report = make.make_pain(cast.kid, said_at=timezone.now() - timedelta(days=40))
    page = page_of(cast.coach, "/coach/")
    assert address(report) in page
    assert f"next practice {starts:%a} {starts.day}" in page
    assert "doctor or a licensed athletic trainer" in page
    fragment = page_of(cast.coach, f"/workouts/answers/?squad={cast.squad.pk}")
    assert "Before the next practice" in fragment
    assert "Left ankle" in fragment
    assert "Left ankle" not in page_of(cast.other_coach, "/workouts/answers/")
    assert "Left ankle" not in page_of(cast.other_coach, "/coach/")


def test_an_answer_stands_before_practice_unless_it_is_gone(cast):
    report = make.make_pain(cast.kid)
    services.answer_pain(actor=cast.guardian, report=report, answer="resting")
    assert "It is being rested" in page_of(cast.coach, "/workouts/answers/")
    assert reading.open_for_coach(cast.coach) == []
    report.refresh_from_db()
    services.answer_pain(actor=cast.guardian, report=report, answer="gone", seen=report.answered_at)
    assert reading.before_practice(cast.coach) == []


def test_family_pages_ask_and_the_child_is_told_to_stop(cast):
    make.make_pain(cast.kid)
    assert "Ines: how is it now? Please answer." in page_of(cast.guardian, "/family/")
    today = page_of(cast.player, "/today/")
    assert "Stop, and tell an adult now." in today
    assert "Please answer" not in today


@pytest.mark.parametrize("name", ["teammate", "mate_guardian", "ex_guardian", "other_coach"])
def test_others_find_nothing(cast, name):
    client = Client()
    client.force_login(getattr(cast, name))
    assert client.get(address(make.make_pain(cast.kid))).status_code == 404


def test_many_cost_no_more_questions(cast):
    counts = []
    for more in (2, 30):
        for _ in range(more):
            player = make.make_player(squad=cast.squad)
            make.make_pain(player)
            make.make_guardian(cast.guardian, player)
        page = []
        for user, read in (
            (cast.coach, reading.open_for_coach),
            (cast.coach, reading.before_practice),
            (cast.guardian, reading.of_family),
            (cast.welfare, reading.for_office),
        ):
            with CaptureQueriesContext(connection) as asked:
                read(user)
            page.append(len(asked))
        counts.append(page)
    assert counts[0] == counts[1]


def test_words_of_the_product_never_judge(cast):
    """No page of a report says that somebody may play again."""
    report = make.make_pain(cast.kid)
    services.answer_pain(actor=cast.guardian, report=report, answer="gone")
    pages = page_of(cast.coach, address(report)) + page_of(cast.coach, "/coach/")
    for word in ("cleared", "diagnos", "fit to", "injur", "return to play"):
        assert word not in pages.lower()


def test_born_today_eighteen_years_ago_is_an_adult(cast):
    today = timezone.now().date()
    cast.kid.born_on = date(today.year - 18, today.month, min(today.day, 28))
    cast.kid.save()
    assert answerers_of([cast.kid])[cast.kid.pk] == [cast.player]


def test_a_workout_logged_by_a_coach_names_who_wrote_it(phone):
    coach = Client()
    coach.force_login(phone.cast.coach)
    phone.put(client=coach, at=uuid4(), pain=WORDS)
    assert only().said_by == phone.cast.coach
    assert "Written down by" in page_of(phone.cast.guardian, address(only()))


def test_what_was_said_before_there_were_answers_waits_too(cast):
    recent = make.make_workout(cast.kid, pain=WORDS)
    make.make_workout(cast.kid, pain="old", started_at=timezone.now() - timedelta(days=15))
    make.make_workout(cast.kid, pain="gone", deleted_at=timezone.now())
    make.make_workout(cast.kid)
    migration = import_module("devplans.workouts.migrations.0003_open_answers")
    migration.open_recent(apps, None)
    assert (only().workout, only().said, only().is_open) == (recent, WORDS, True)
