"""The pages: history, one workout, logging, typing in, correcting, deleting."""

import json
import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from devplans.workouts.models import Workout
from tests import factories as make
from tests.workouts.phone import DRILL, one_set, one_shot


@pytest.fixture
def player(phone):
    return phone.client


def form(*sets, key=None, initial=0, **changes):
    words = {
        "key": str(key or uuid4()), "started_at": "2026-11-20T17:30", "minutes": "40",
        "effort": "6", "kind": "own", "note": "", "pain": "", "revision": "0",
        "sets-TOTAL_FORMS": str(len(sets)), "sets-INITIAL_FORMS": str(initial),
    }  # fmt: skip
    for place, one in enumerate(sets):
        words |= {f"sets-{place}-{name}": value for name, value in one.items()}
    return {**words, **changes}


def seven(**changes):
    return {"drill": DRILL, "made": "7", "tried": "10", "side": "none", **changes}


def list_url(player):
    return f"/workouts/of/{player.pk}/"


def text(answer):
    words = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", words)


# --- history ---


def test_an_empty_history_says_what_to_do(phone, player):
    page = player.get(list_url(phone.cast.kid))
    assert page.status_code == 200
    assert "Nothing logged yet this week." in text(page)
    assert "Log a workout" in text(page)


def test_the_history_sums_each_week(phone, player):
    now = timezone.now()
    for days, made in ((0, 7), (0, 5), (7, 9)):
        rows = [{"drill": phone.drill, "made": made, "tried": 10}]
        at = now - timedelta(days=days)
        make.make_workout(phone.cast.kid, sets=rows, started_at=at, minutes=40, effort=5)
    words = text(player.get(list_url(phone.cast.kid)))
    assert "12 of 20" in words
    assert "9 of 10 too few to tell" in words
    assert "1 h 20 min on your own · load 400" in words
    assert "40 min on your own · load 200" in words


def test_the_history_does_not_name_another_week(phone, player):
    old = timezone.now() - timedelta(weeks=9)
    make.make_workout(phone.cast.kid, started_at=old, minutes=41)
    first = player.get(list_url(phone.cast.kid))
    assert "41 min" not in text(first)
    older = re.search(r'href="(\?until=[^"]+)"', first.content.decode())[1]
    assert "41 min" in text(player.get(list_url(phone.cast.kid) + older))


@pytest.mark.parametrize("until", ["x", "2999-W01", "0001-W01", "2026-W60", "2000-W01", "1999-W52"])
def test_the_history_opens_for_any_week(phone, player, until):
    assert player.get(list_url(phone.cast.kid), {"until": until}).status_code == 200


@pytest.mark.parametrize("count", [2, 50])
def test_the_history_costs_the_same_for_many(phone, player, count, django_assert_max_num_queries):
    rows = [{"drill": make.make_drill(), "made": 1, "tried": 2} for _ in range(2)]
    for _ in range(count):
        make.make_workout(phone.cast.kid, sets=rows)
    with django_assert_max_num_queries(25):
        assert player.get(list_url(phone.cast.kid)).status_code == 200


def test_staff_reads_without_buttons_to_log(phone):
    director = Client()
    director.force_login(phone.cast.director)
    page = director.get(list_url(phone.cast.kid))
    assert "Log a workout" not in text(page)
    assert phone.cast.kid.full_name in text(page)


# --- one workout ---


def test_a_workout_shows_its_sets_and_free_shots(phone, player):
    held = one_set(made=None, tried=None, side="left")
    shots = [one_shot(set=held["id"]), one_shot(set=held["id"], made=False), one_shot()]
    sets = [one_set(), held, one_set(made=None, tried=None, reps=12, seconds=30)]
    phone.put(sets=sets, shots=shots, note="With the new ball.", effort=6)
    words = text(player.get(f"/workouts/{phone.key}/"))
    for said in ("7 of 10", "1 of 2", "12 reps", "30 s", "left", "8 of 12", "1 of 1"):
        assert said in words
    assert "With the new ball." in words
    assert "6 · working hard" in words


def test_words_of_people_are_escaped(phone, player):
    phone.put(note="<script>x</script>", pain="<b>knee</b>")
    page = player.get(f"/workouts/{phone.key}/").content.decode()
    assert "<script>x" not in page
    assert "<b>knee" not in page


def test_a_workout_without_sets(phone, player):
    phone.put(minutes=None, effort=None)
    words = text(player.get(f"/workouts/{phone.key}/"))
    assert "No sets in this workout" in words
    assert "not finished yet" in words


# --- logging ---


def scripted(page, name):
    found = re.search(rf'<script id="{name}" type="application/json">(.*?)</script>', page)
    return json.loads(found[1])


def test_the_log_page_knows_the_drills(phone, player):
    make.make_drill(slug="larks-only", club=phone.cast.far_club)
    make.make_drill(slug="old-one", retired_at=timezone.now())
    own = make.make_drill(slug=DRILL, club=phone.cast.club, default_sets=5, default_per_set=10)
    page = player.get(f"/workouts/of/{phone.cast.kid.pk}/log/?drill={DRILL}").content.decode()
    drills = scripted(page, "log-drills")
    assert set(drills) == {DRILL}
    assert drills[DRILL]["name"] == own.name
    assert drills[DRILL]["aim"] == "5 sets of 10"
    assert f'data-first="{DRILL}"' in page


def test_the_drill_of_the_address_is_escaped(phone, player):
    page = player.get(f"/workouts/of/{phone.cast.kid.pk}/log/", {"drill": '"><script>x'})
    assert b"<script>x" not in page.content


def test_the_log_page_asks_a_constant_number_of_questions(
    phone, player, django_assert_max_num_queries
):
    for _ in range(50):
        make.make_drill()
    with django_assert_max_num_queries(15):
        player.get(f"/workouts/of/{phone.cast.kid.pk}/log/")


# --- typing in ---


def test_a_finished_workout_is_typed_in(phone, player):
    page = player.get(f"/workouts/of/{phone.cast.kid.pk}/type-in/")
    assert page.status_code == 200
    sent = form(seven(), {"drill": DRILL, "reps": "12", "side": "left"}, {"side": "none"})
    answer = player.post(f"/workouts/of/{phone.cast.kid.pk}/type-in/", sent)
    kept = Workout.objects.get()
    assert answer.headers["Location"] == f"/workouts/{kept.pk}/"
    assert (kept.minutes, kept.effort, kept.kind) == (40, 6, "own")
    assert kept.started_at.isoformat() == "2026-11-20T17:30:00+00:00"
    rows = list(kept.sets.values_list("made", "tried", "reps", "side"))
    assert rows == [(7, 10, None, "none"), (None, None, 12, "left")]


def test_an_empty_form_is_no_workout(phone, player):
    """It says what to do, and what was typed stays."""
    sent = form({"side": "none"}, minutes="", note="With Tove", pain="left knee")
    for minutes in ("", "0"):
        answer = player.post(
            f"/workouts/of/{phone.cast.kid.pk}/type-in/", {**sent, "minutes": minutes}
        )
        assert answer.status_code == 422
        assert "This workout is still empty. Choose a drill" in text(answer)
        assert f'value="{sent["key"]}"' in answer.content.decode()
        for typed in ("With Tove", "left knee", "working hard"):
            assert typed in text(answer)
        assert "<details open" not in answer.content.decode()
    assert Workout.objects.count() == 0
    player.post(f"/workouts/of/{phone.cast.kid.pk}/type-in/", {**sent, "minutes": "20"})
    assert (Workout.objects.get().minutes, Workout.objects.get().note) == (20, "With Tove")


def test_a_workout_is_not_corrected_into_an_empty_one(phone, player):
    held = one_set()
    phone.put(sets=[held])
    blank = {"id": held["id"], "drill": "", "made": "", "tried": "", "side": "none"}
    answer = player.post(f"/workouts/{phone.key}/edit/", edited(phone, blank, minutes=""))
    assert answer.status_code == 422
    assert Workout.objects.get().sets.count() == 1
    phone.put(revision=2, sets=[], shots=[one_shot(set=None)], minutes=None)
    free = form(key=phone.key, revision="2", minutes="", note="Only shots")
    assert player.post(f"/workouts/{phone.key}/edit/", free).status_code == 302


def test_times_are_typed_on_the_clubs_clock(phone, player):
    phone.cast.club.zone = "America/New_York"
    phone.cast.club.save(update_fields=["zone"])
    player.post(f"/workouts/of/{phone.cast.kid.pk}/type-in/", form(seven()))
    assert Workout.objects.get().started_at.isoformat() == "2026-11-20T22:30:00+00:00"


def test_a_form_sent_twice_is_one_workout(phone, player):
    sent = form(seven(), seven(made="3"))
    for _ in range(2):
        answer = player.post(f"/workouts/of/{phone.cast.kid.pk}/type-in/", sent)
        assert answer.status_code == 302
    assert Workout.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"sets-0-made": "11"}, "More made than tried."),
        ({"sets-0-tried": ""}, "Made and tried come together"),
        ({"sets-0-made": "-1"}, "greater than or equal to 0"),
        ({"sets-0-drill": ""}, "Choose the drill."),
        ({"sets-0-drill": "no-such-drill"}, "Select a valid choice"),
        ({"started_at": "2999-01-01T10:00"}, "more than a day ahead"),
        ({"started_at": ""}, "This field is required."),
        ({"minutes": "x"}, "Enter a whole number."),
        ({"effort": "11"}, "Select a valid choice"),
        ({"kind": "team"}, "Select a valid choice"),
        ({"sets-0-id": "x"}, "Enter a valid UUID."),
        ({"pain": "x" * 2001}, "at most 2000 characters"),
    ],
)
def test_what_cannot_be_right_is_said_at_its_field(phone, player, changes, said):
    answer = player.post(f"/workouts/of/{phone.cast.kid.pk}/type-in/", form(seven(), **changes))
    assert answer.status_code == 422
    assert said in text(answer)
    assert Workout.objects.count() == 0


def test_a_key_of_somebody_else_is_404(phone, player):
    theirs = make.make_workout(phone.cast.mate)
    sent = form(seven(), key=theirs.pk)
    assert player.post(f"/workouts/of/{phone.cast.kid.pk}/type-in/", sent).status_code == 404


# --- correcting and deleting ---


def edited(phone, *sets, **changes):
    return form(*sets, key=phone.key, initial=1, revision="1", **changes)


def test_a_workout_is_corrected(phone, player):
    mine = one_set()
    phone.put(sets=[mine], shots=[one_shot(), one_shot(set=None, made=False)])
    page = player.get(f"/workouts/{phone.key}/edit/").content.decode()
    assert f'value="{mine["id"]}"' in page
    sent = edited(phone, seven(id=mine["id"], made="8"), seven(), minutes="50")
    assert player.post(f"/workouts/{phone.key}/edit/", sent).status_code == 302
    kept = Workout.objects.get()
    assert (kept.minutes, kept.revision, kept.shots.count()) == (50, 2, 2)
    assert [one.made for one in kept.sets.all()] == [8, 7]
    assert str(kept.sets.first().pk) == mine["id"]


def test_an_emptied_set_is_taken_out_and_its_shots_stay(phone, player):
    mine = one_set(made=None, tried=None)
    phone.put(sets=[mine], shots=[one_shot(set=mine["id"])])
    empty = {"id": mine["id"], "drill": "", "made": "", "tried": ""}
    assert player.post(f"/workouts/{phone.key}/edit/", edited(phone, empty)).status_code == 302
    kept = Workout.objects.get()
    assert (kept.sets.count(), kept.shots.get().set_id) == (0, None)


def test_a_correction_that_comes_too_late_changes_nothing(phone, player):
    phone.put()
    phone.put(revision=2, minutes=11)
    answer = player.post(f"/workouts/{phone.key}/edit/", edited(phone, seven()))
    assert answer.status_code == 422
    assert "changed elsewhere" in text(answer)
    assert Workout.objects.get().minutes == 11


def test_a_retired_drill_stays_in_a_correction(phone, player):
    mine = one_set()
    phone.put(sets=[mine])
    phone.drill.retired_at = timezone.now()
    phone.drill.save(update_fields=["retired_at"])
    sent = edited(phone, seven(id=mine["id"], made="9"))
    assert player.post(f"/workouts/{phone.key}/edit/", sent).status_code == 302
    assert Workout.objects.get().sets.get().made == 9


def test_deleting_leaves_nothing_but_the_key(phone, player):
    phone.put(sets=[one_set()], note="x")
    answer = player.post(f"/workouts/{phone.key}/delete/")
    assert answer.headers["Location"] == list_url(phone.cast.kid)
    assert player.get(f"/workouts/{phone.key}/").status_code == 404
    kept = Workout.objects.get()
    assert (kept.note, kept.sets.count()) == ("", 0)
    assert phone.put(revision=2).status_code == 409
