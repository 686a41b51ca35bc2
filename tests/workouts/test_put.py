"""PUT and DELETE of one workout, line by line of what is promised to phones."""

from uuid import uuid4

import pytest
from django.test import Client

from devplans.core.models import AuditEntry
from devplans.workouts.models import Shot, Workout, WorkoutSet
from tests.workouts.phone import STARTED, body, everything, one_set, one_shot, refused, url

# --- what is kept ---


def test_a_new_workout_is_kept_whole(phone):
    sets = [
        one_set(),
        one_set(made=None, tried=None, reps=12, side="left"),
    ]
    shots = [one_shot(), one_shot(made=False, x_mm=-2100, set=sets[1]["id"])]
    sent = body(phone.cast.kid, sets=sets, shots=shots, note="With the new ball.")
    answer = phone.put(sent)
    assert answer.status_code == 201
    assert answer.json() == {"id": str(phone.key), **sent}
    assert phone.get().json() == answer.json()
    workout = Workout.objects.get()
    assert workout.logged_by == phone.cast.player
    assert list(workout.sets.values_list("made", "tried", "reps", "side")) == [
        (7, 10, None, "none"),
        (None, None, 12, "left"),
    ]
    assert (
        AuditEntry.objects.filter(
            verb="workouts.workout_logged", player_id=phone.cast.kid.pk
        ).count()
        == 1
    )


def test_defaults_are_filled_in(phone):
    shot = {"id": str(uuid4()), "x_mm": 0, "y_mm": 0, "made": False}
    sent = {
        "player": str(phone.cast.kid.pk), "revision": 1, "started_at": STARTED, "shots": [shot],
        "sets": [{"id": str(uuid4()), "drill": "five-spot-shooting"}],
    }  # fmt: skip
    kept = phone.put(sent).json()
    assert (kept["minutes"], kept["effort"], kept["kind"], kept["pain"], kept["note"]) == (
        None,
        None,
        "own",
        "",
        "",
    )
    assert kept["sets"][0] == {
        **sent["sets"][0],
        "side": "none",
        "made": None,
        "tried": None,
        "reps": None,
        "seconds": None,
    }
    assert kept["shots"][0] == {**shot, "set": None}


def test_the_same_again_writes_nothing(phone):
    sent = body(phone.cast.kid, sets=[one_set()], shots=[one_shot()])
    assert phone.put(sent).status_code == 201
    before = everything()
    assert phone.put(sent).status_code == 200
    assert everything() == before


@pytest.mark.parametrize(
    "spelling",
    [
        {"started_at": "2026-11-20T18:30:00+01:00"},
        {"started_at": "2026-11-20T17:30:00.000Z"},
        {"note": "  "},
        {"minutes": 45.0},
        {"extra": "unknown fields are not content"},
    ],
)
def test_the_same_in_other_spelling_is_the_same(phone, spelling):
    phone.put()
    before = everything()
    assert phone.put(**spelling).status_code == 200
    assert everything() == before


@pytest.mark.parametrize("left_out", ["minutes", "effort", "kind", "pain", "note", "sets", "shots"])
def test_a_left_out_default_is_the_same(phone, left_out):
    sent = body(phone.cast.kid, minutes=None, effort=None)
    phone.put(sent)
    before = everything()
    assert phone.put({k: v for k, v in sent.items() if k != left_out}).status_code == 200
    assert everything() == before


def test_a_higher_revision_replaces_all_of_it(phone):
    old = body(phone.cast.kid, sets=[one_set()], shots=[one_shot()])
    phone.put(old)
    new_set = one_set(made=1, tried=2)
    new = body(
        phone.cast.kid,
        revision=5,
        sets=[new_set],
        shots=[],
        kind="organised",
        minutes=None,
        effort=None,
    )
    answer = phone.put(new)
    assert answer.status_code == 200
    assert phone.get().json() == {"id": str(phone.key), **new}
    assert [str(one.pk) for one in WorkoutSet.objects.all()] == [new_set["id"]]
    assert Shot.objects.count() == 0


def test_a_higher_revision_may_keep_its_set_ids(phone):
    mine = one_set()
    phone.put(sets=[mine])
    assert phone.put(revision=2, sets=[{**mine, "made": 8}]).status_code == 200
    assert WorkoutSet.objects.get().made == 8


def test_a_higher_revision_with_the_same_content_is_kept(phone):
    phone.put()
    assert phone.put(revision=2).status_code == 200
    assert Workout.objects.get().revision == 2
    assert phone.put(revision=1).status_code == 409


# --- conflicts ---


@pytest.mark.parametrize(
    "change",
    [{"minutes": 46}, {"note": "x"}, {"kind": "organised"}, {"started_at": "2026-11-20T17:30:01Z"}],
)
def test_other_content_under_the_same_revision_conflicts(phone, change):
    phone.put()
    before = everything()
    answer = phone.put(**change)
    assert answer.status_code == 409
    assert set(answer.json()) == {"detail"}
    assert everything() == before


def test_sets_in_another_order_are_other_content(phone):
    sets = [one_set(), one_set()]
    phone.put(sets=sets)
    assert phone.put(sets=sets[::-1]).status_code == 409


def test_shots_in_another_order_are_other_content(phone):
    shots = [one_shot(), one_shot()]
    phone.put(shots=shots)
    assert phone.put(shots=shots[::-1]).status_code == 409


def test_a_lower_revision_conflicts_whatever_it_says(phone):
    phone.put(revision=3)
    before = everything()
    assert phone.put(revision=2).status_code == 409
    assert phone.put(revision=2, minutes=9).status_code == 409
    assert everything() == before


def test_what_was_deleted_stays_deleted(phone):
    phone.put(pain="left knee", sets=[one_set()], shots=[one_shot()])
    assert phone.delete().status_code == 204
    assert phone.get().status_code == 404
    assert phone.put().status_code == 409
    assert phone.put(revision=99).status_code == 409
    kept = Workout.objects.get()
    assert (kept.pain, kept.sets.count(), kept.shots.count()) == ("", 0, 0)


def test_deleting_twice_is_no_error(phone):
    phone.put()
    phone.delete()
    before = everything()
    assert phone.delete().status_code == 204
    assert everything() == before


def test_deleting_what_never_was_is_404(phone):
    assert phone.delete().status_code == 404


# --- who ---


@pytest.mark.parametrize("who", ["player", "guardian", "coach"])
def test_player_guardian_and_coach_may_log(phone, who):
    client = Client()
    client.force_login(getattr(phone.cast, who))
    assert phone.put(client=client).status_code == 201
    assert phone.put(client=client, revision=2, minutes=1).status_code == 200
    assert client.delete(url(phone.key)).status_code == 204


@pytest.mark.parametrize(
    "who",
    [
        "teammate",
        "other_coach",
        "director",
        "welfare",
        "ex_guardian",
        "outsider",
        "stranger",
        "mate_guardian",
    ],
)
def test_nobody_else_may(phone, who):
    client = Client()
    client.force_login(getattr(phone.cast, who))
    refused(phone.put(client=client), 404)
    refused(phone.put(body(phone.cast.kid, minutes=-1, sets="x"), client=client), 404)
    phone.put()
    before = everything()
    assert phone.put(client=client).status_code == 404
    assert phone.put(client=client, revision=2).status_code == 404
    assert phone.put([], client=client).status_code == 404
    assert client.delete(url(phone.key)).status_code == 404
    assert everything() == before


def test_signed_out_is_403_without_a_challenge(phone):
    answer = phone.put(client=Client())
    assert answer.status_code == 403
    assert "WWW-Authenticate" not in answer.headers


def test_another_players_id_is_404(phone):
    refused(phone.put(body(phone.cast.mate)), 404)
    refused(phone.put(body(phone.cast.far_kid)), 404)
    refused(phone.put({**body(phone.cast.kid), "player": str(uuid4())}), 404)


def test_somebody_elses_key_is_404_with_ones_own_player(phone):
    theirs = Client()
    theirs.force_login(phone.cast.teammate)
    assert phone.put(body(phone.cast.mate), client=theirs).status_code == 201
    before = everything()
    assert phone.put().status_code == 404
    assert phone.put(revision=2).status_code == 404
    theirs.delete(url(phone.key))
    assert phone.put().status_code == 404
    assert phone.delete().status_code == 404
    assert before[0][0] != everything()[0][0]


def test_a_workout_stays_with_its_player(phone):
    coach = Client()
    coach.force_login(phone.cast.coach)
    phone.put()
    before = everything()
    assert phone.put(body(phone.cast.mate), client=coach).status_code == 409
    answer = phone.put(body(phone.cast.mate, revision=2), client=coach)
    assert answer.status_code == 400
    assert set(answer.json()) == {"player"}
    assert everything() == before
