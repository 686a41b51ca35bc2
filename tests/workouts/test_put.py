"""PUT and DELETE of one workout, line by line of what is promised to phones."""

import json
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from devplans.catalogue.models import Drill
from devplans.core.models import AuditEntry
from devplans.workouts.models import Shot, Workout, WorkoutSet
from tests import factories as make

STARTED = "2026-11-20T17:30:00Z"


def body(player, **changes):
    return {
        "player": str(player.pk), "revision": 1, "started_at": STARTED, "minutes": 45, "effort": 6, "kind": "own",
        "pain": "", "note": "", "sets": [], "shots": [], **changes,
    }  # fmt: skip


def one_set(drill, **changes):
    return {
        "id": str(uuid4()),
        "drill": drill,
        "side": "none",
        "made": 7,
        "tried": 10,
        "reps": None,
        "seconds": None,
        **changes,
    }


def one_shot(**changes):
    return {"id": str(uuid4()), "set": None, "x_mm": 2100, "y_mm": 6500, "made": True, **changes}


def url(key):
    return f"/api/v1/workouts/{key}/"


@pytest.fixture
def phone(cast):
    """The player's phone: `put`, `delete`, `get`, a fresh key, and a drill of the club."""
    client = Client()
    client.force_login(cast.player)
    drill = make.make_drill(slug="five-spot-shooting")
    key = uuid4()

    def put(content=None, *, at=key, client=client, **changes):
        content = content if content is not None else body(cast.kid, **changes)
        return client.put(url(at), content, content_type="application/json")

    return SimpleNamespace(
        put=put, client=client, key=key, drill=drill, cast=cast, delete=lambda at=key: client.delete(url(at)),
        get=lambda at=key: client.get(url(at)),
    )  # fmt: skip


def everything():
    rows = [
        list(model.objects.order_by("pk").values_list()) for model in (Workout, WorkoutSet, Shot)
    ]
    return rows, AuditEntry.objects.count()


def refused(phone, answer, status):
    assert answer.status_code == status, answer.content
    assert Workout.objects.count() == WorkoutSet.objects.count() == Shot.objects.count() == 0
    return answer.json()


# --- what is kept ---


def test_a_new_workout_is_kept_whole(phone):
    sets = [
        one_set("five-spot-shooting"),
        one_set("five-spot-shooting", made=None, tried=None, reps=12, side="left"),
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
    sent = body(phone.cast.kid, sets=[one_set("five-spot-shooting")], shots=[one_shot()])
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
    old = body(phone.cast.kid, sets=[one_set("five-spot-shooting")], shots=[one_shot()])
    phone.put(old)
    new_set = one_set("five-spot-shooting", made=1, tried=2)
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
    mine = one_set("five-spot-shooting")
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
    sets = [one_set("five-spot-shooting"), one_set("five-spot-shooting")]
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
    phone.put(pain="left knee", sets=[one_set("five-spot-shooting")], shots=[one_shot()])
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
    refused(phone, phone.put(client=client), 404)
    refused(phone, phone.put(body(phone.cast.kid, minutes=-1, sets="x"), client=client), 404)
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
    refused(phone, phone.put(body(phone.cast.mate)), 404)
    refused(phone, phone.put(body(phone.cast.far_kid)), 404)
    refused(phone, phone.put({**body(phone.cast.kid), "player": str(uuid4())}), 404)


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


# --- what cannot be right: nothing stored, a message per field ---

WRONG = {
    "player": [None, 7, "kid", {}, [], True],
    "revision": [None, 0, -1, "1", 1.5, 10**30, True, [], "x"],
    "started_at": [None, "", "today", 5, "2026-11-20", "2026-11-20T17:30:00", "2026-02-30T10:00:00Z", "1999-12-31T23:59:59Z", "9999-12-31T23:59:59-14:00", "0001-01-01T00:00:00+14:00", []],
    "minutes": [-1, 1441, "45", 4.5, 10**40, True, []],
    "effort": [-1, 11, "6", 2.5, False],
    "kind": ["", "team", None, 3, [], {}],
    "pain": [None, 4, [], "x" * 2001, "knee\x00", "\ud800"],
    "note": [None, {}, "x" * 2001, "\x00"],
    "sets": [None, "x", {}, 5],
    "shots": [None, "x", {}, 5],
}  # fmt: skip


@pytest.mark.parametrize(
    ("field", "value"), [(f, v) for f, values in WRONG.items() for v in values], ids=repr
)
def test_a_field_that_cannot_be_right_is_named(phone, field, value):
    found = refused(phone, phone.put({**body(phone.cast.kid), field: value}), 400)
    assert set(found) == {field}


@pytest.mark.parametrize("field", ["player", "revision", "started_at"])
def test_what_must_be_there_is_named(phone, field):
    sent = body(phone.cast.kid)
    del sent[field]
    assert set(refused(phone, phone.put(sent), 400)) == {field}


WRONG_IN_A_SET = [
    ({"made": 11}, "made"), ({"made": -1}, "made"), ({"tried": -1}, "tried"), ({"made": 1, "tried": None}, "tried"),
    ({"made": None}, "made"), ({"reps": -1}, "reps"), ({"reps": 10_001}, "reps"), ({"seconds": -5}, "seconds"),
    ({"seconds": 10**12}, "seconds"), ({"drill": "no-such-drill"}, "drill"), ({"drill": None}, "drill"), ({"drill": 3}, "drill"),
    ({"drill": ""}, "drill"), ({"drill": "x" * 61}, "drill"), ({"side": "both"}, "side"), ({"side": None}, "side"),
    ({"id": None}, "id"), ({"id": "x"}, "id"), ({"id": 12}, "id"), ({"made": "7"}, "made"), ({"made": True}, "made"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "field"), WRONG_IN_A_SET, ids=repr)
def test_a_wrong_set_is_named_by_its_place(phone, change, field):
    sets = [one_set("five-spot-shooting"), {**one_set("five-spot-shooting"), **change}]
    found = refused(phone, phone.put(sets=sets), 400)
    assert set(found) == {"sets"}
    good, bad = found["sets"]
    assert not good
    assert set(bad) == {field}


# FIBA: 15 m by 28 m, the ring 1.575 m from the baseline.
WRONG_IN_A_SHOT = [
    ({"x_mm": 7501}, "x_mm"), ({"x_mm": -7501}, "x_mm"), ({"y_mm": -1576}, "y_mm"), ({"y_mm": 26_426}, "y_mm"),
    ({"x_mm": None}, "x_mm"), ({"x_mm": 10**20}, "x_mm"), ({"y_mm": "1"}, "y_mm"), ({"y_mm": 1.5}, "y_mm"), ({"made": None}, "made"),
    ({"made": 1}, "made"), ({"made": "true"}, "made"), ({"id": None}, "id"), ({"set": "x"}, "set"), ({"set": str(uuid4())}, "set"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "field"), WRONG_IN_A_SHOT, ids=repr)
def test_a_wrong_shot_is_named_by_its_place(phone, change, field):
    found = refused(phone, phone.put(shots=[one_shot(), one_shot(**change)]), 400)
    assert set(found) == {"shots"}
    good, bad = found["shots"]
    assert not good
    assert set(bad) == {field}


@pytest.mark.parametrize(("x_mm", "y_mm"), [(7500, -1575), (-7500, 26_425), (0, 0), (0, 20_000)])
def test_on_the_lines_of_the_whole_court_is_inside(phone, x_mm, y_mm):
    assert phone.put(shots=[one_shot(x_mm=x_mm, y_mm=y_mm)]).status_code == 201


@pytest.mark.parametrize(
    ("rules", "x_mm"), [("nba", 7620), ("ncaa", 7620), ("nfhs", 7620), ("fiba", 7500)]
)
def test_the_court_is_that_of_the_clubs_rules(phone, rules, x_mm):
    phone.cast.club.rule_set = rules
    phone.cast.club.save(update_fields=["rule_set"])
    refused(phone, phone.put(shots=[one_shot(x_mm=x_mm + 1)]), 400)
    assert phone.put(shots=[one_shot(x_mm=x_mm)]).status_code == 201
