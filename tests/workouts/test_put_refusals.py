"""What no phone can mean: refused with a message per field, and nothing is stored."""

import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from devplans.workouts.models import WorkoutSet
from tests import factories as make
from tests.workouts.phone import DRILL, body, everything, one_set, one_shot, refused, url

# --- what cannot be right: nothing stored, a message per field ---

WRONG = {
    "player": [None, 7, "kid", {}, [], True],
    "revision": [None, 0, -1, "1", 1.5, 10**30, True, [], "x"],
    "started_at": [
        None, "", "today", 5, [], "2026-11-20", "2026-11-20T17:30:00", "2026-02-30T10:00:00Z",
        "1999-12-31T23:59:59Z", "9999-12-31T23:59:59-14:00", "0001-01-01T00:00:00+14:00",
    ],
    "minutes": [-1, 1441, "45", 4.5, 10**40, True, []],
    "effort": [-1, 11, "6", 2.5, False],
    "kind": ["", "team", None, 3, [], {}, "\ud800"],
    "pain": [None, 4, [], "x" * 2001, "knee\x00", "\ud800"],
    "note": [None, {}, "x" * 2001, "\x00"],
    "sets": [None, "x", {}, 5],
    "shots": [None, "x", {}, 5],
}  # fmt: skip


@pytest.mark.parametrize(
    ("field", "value"), [(f, v) for f, values in WRONG.items() for v in values], ids=repr
)
def test_a_field_that_cannot_be_right_is_named(phone, field, value):
    found = refused(phone.put({**body(phone.cast.kid), field: value}), 400)
    assert set(found) == {field}


@pytest.mark.parametrize("field", ["player", "revision", "started_at"])
def test_what_must_be_there_is_named(phone, field):
    sent = body(phone.cast.kid)
    del sent[field]
    assert set(refused(phone.put(sent), 400)) == {field}


WRONG_IN_A_SET = [
    ({"made": 11}, "made"), ({"made": -1}, "made"), ({"tried": -1}, "tried"),
    ({"made": 1, "tried": None}, "tried"), ({"made": None}, "made"), ({"made": "7"}, "made"),
    ({"made": True}, "made"), ({"tried": 10**30}, "tried"), ({"reps": -1}, "reps"),
    ({"reps": 10_001}, "reps"), ({"seconds": -5}, "seconds"), ({"seconds": 10**12}, "seconds"),
    ({"drill": "no-such-drill"}, "drill"), ({"drill": None}, "drill"), ({"drill": 3}, "drill"),
    ({"drill": ""}, "drill"), ({"drill": "x" * 61}, "drill"), ({"drill": "\ud800"}, "drill"),
    ({"side": "both"}, "side"), ({"side": None}, "side"), ({"id": None}, "id"), ({"id": "x"}, "id"),
    ({"id": 12}, "id"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "field"), WRONG_IN_A_SET, ids=repr)
def test_a_wrong_set_is_named_by_its_place(phone, change, field):
    sets = [one_set(), {**one_set(), **change}]
    found = refused(phone.put(sets=sets), 400)
    assert set(found) == {"sets"}
    good, bad = found["sets"]
    assert not good
    assert set(bad) == {field}


# FIBA: 15 m by 28 m, the ring 1.575 m from the baseline.
WRONG_IN_A_SHOT = [
    ({"x_mm": 7501}, "x_mm"), ({"x_mm": -7501}, "x_mm"), ({"y_mm": -1576}, "y_mm"),
    ({"y_mm": 26_426}, "y_mm"), ({"x_mm": None}, "x_mm"), ({"x_mm": 10**20}, "x_mm"),
    ({"y_mm": "1"}, "y_mm"), ({"y_mm": 1.5}, "y_mm"), ({"made": None}, "made"),
    ({"made": 1}, "made"), ({"made": "true"}, "made"), ({"id": None}, "id"), ({"set": "x"}, "set"),
    ({"set": "0199f3a4-0000-7000-8000-000000000001"}, "set"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "field"), WRONG_IN_A_SHOT, ids=repr)
def test_a_wrong_shot_is_named_by_its_place(phone, change, field):
    found = refused(phone.put(shots=[one_shot(), one_shot(**change)]), 400)
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
    refused(phone.put(shots=[one_shot(x_mm=x_mm + 1)]), 400)
    assert phone.put(shots=[one_shot(x_mm=x_mm)]).status_code == 201


# --- ids, shots of sets, hours, drills ---


@pytest.mark.parametrize("name", ["sets", "shots"])
def test_an_id_used_twice_is_named(phone, name):
    part = {"sets": one_set, "shots": one_shot}[name]()
    found = refused(
        phone.put(**{name: [part, {**part, "made": False if name == "shots" else 1}]}), 400
    )
    assert [set(one) for one in found[name]] == [{"id"}, {"id"}]


@pytest.mark.parametrize("name", ["sets", "shots"])
def test_an_id_that_another_workout_holds_is_named(phone, name):
    part = {"sets": one_set, "shots": one_shot}[name]()
    assert phone.put(**{name: [part]}, at=uuid4()).status_code == 201
    before = everything()
    answer = phone.put(**{name: [part]})
    assert answer.status_code == 400
    assert [set(one) for one in answer.json()[name]] == [{"id"}]
    assert everything() == before


def test_a_set_and_a_shot_may_share_an_id(phone):
    key = str(uuid4())
    assert phone.put(sets=[one_set(id=key)], shots=[one_shot(id=key)]).status_code == 201


@pytest.mark.parametrize(
    ("made", "tried", "status"),
    [(None, None, 201), (1, 2, 201), (2, 2, 400), (1, 3, 400), (0, 0, 400)],
)
def test_a_set_with_shots_says_nothing_or_the_same(phone, made, tried, status):
    mine = one_set(made=made, tried=tried)
    shots = [one_shot(set=mine["id"]), one_shot(set=mine["id"], made=False), one_shot()]
    answer = phone.put(sets=[mine], shots=shots)
    assert answer.status_code == status
    if status == 400:
        assert set(refused(answer, 400)["sets"][0]) == {"made"}


def test_more_than_a_day_ahead_is_refused(phone):
    late = timezone.now() + timedelta(hours=24, minutes=1)
    assert set(refused(phone.put(started_at=late.isoformat()), 400)) == {"started_at"}
    soon = timezone.now() + timedelta(hours=23, minutes=59)
    assert phone.put(started_at=soon.isoformat()).status_code == 201


def test_the_drills_are_those_of_the_club(phone):
    make.make_drill(slug="larks-only", club=phone.cast.far_club)
    refused(phone.put(sets=[one_set("larks-only")]), 400)
    own = make.make_drill(slug="herons-only", club=phone.cast.club)
    assert phone.put(sets=[one_set("herons-only")]).status_code == 201
    assert WorkoutSet.objects.get().drill == own


def test_a_clubs_own_drill_wins_over_a_shipped_one(phone):
    own = make.make_drill(slug=DRILL, club=phone.cast.club)
    sent = body(phone.cast.kid, sets=[one_set()])
    assert phone.put(sent).status_code == 201
    assert WorkoutSet.objects.get().drill == own
    assert phone.put(sent).status_code == 200


def test_a_retired_drill_may_still_arrive(phone):
    make.make_drill(slug="old-one", retired_at=timezone.now())
    assert phone.put(sets=[one_set("old-one")]).status_code == 201


@pytest.mark.parametrize(("name", "most"), [("sets", 200), ("shots", 2000)])
def test_there_is_a_most_of_sets_and_shots(phone, name, most):
    part = {"sets": one_set, "shots": one_shot}[name]
    found = refused(phone.put(**{name: [part() for _ in range(most + 1)]}), 400)
    assert isinstance(found[name][0], str)
    assert phone.put(**{name: [part() for _ in range(most)]}).status_code == 201


@pytest.mark.parametrize("value", [[], "x", 5, None, True, [{}]])
def test_a_body_that_is_no_object(phone, value):
    raw = json.dumps(value)
    answer = phone.client.put(url(phone.key), raw, content_type="application/json")
    assert list(refused(answer, 400).values())


@pytest.mark.parametrize(
    "raw",
    ["", "{", '{"revision": NaN}', "\xff", "[" * 100_000, '{"revision": ' + "9" * 5_000 + "}"],
)
def test_a_body_that_is_no_json(phone, raw):
    answer = phone.client.put(url(phone.key), raw, content_type="application/json")
    refused(answer, 400)


def test_a_body_that_is_a_form(phone):
    refused(
        phone.client.put(url(phone.key), "a=1", content_type="application/x-www-form-urlencoded"),
        415,
    )


@pytest.mark.parametrize("item", [None, 5, "x", []])
def test_a_part_that_is_no_object(phone, item):
    assert set(refused(phone.put(sets=[item]), 400)) == {"sets"}
    assert set(refused(phone.put(shots=[one_shot(), item]), 400)) == {"shots"}


def test_several_wrongs_are_told_at_once(phone):
    sent = {**body(phone.cast.kid), "minutes": -1, "effort": 11, "sets": [one_set(made=-1)]}
    assert set(refused(phone.put(sent), 400)) == {"minutes", "effort", "sets"}


def test_an_unfit_revision_leaves_the_last_one(phone):
    phone.put(sets=[one_set()])
    before = everything()
    assert phone.put(revision=2, sets=[one_set(made=11)]).status_code == 400
    assert phone.put(revision=2, sets=[one_set("no-such-drill")]).status_code == 400
    assert everything() == before
