"""What a player logged: the phone's side and the pages. A PUT that is not allowed is always 404."""

from uuid import uuid4

from tests import factories as make
from tests.access import row
from tests.workouts.phone import body


def things(cast):
    drill = make.make_drill()
    sets = [{"drill": drill, "made": 7, "tried": 10}]
    cast.workout = make.make_workout(cast.kid, sets=sets, note="With the new ball.")


KID = {"player_id": "kid"}
WORKOUT = {"workout_id": "workout"}
NEW = {"workout_id": lambda cast: uuid4()}
WEEK = {**KID, "week": lambda cast: "2026-W47"}

# anon stranger player teammate guardian coach other_coach director welfare ex_guardian outsider
ANY_API = "403 200 200 200 200 200 200 200 200 200 200"
READ_API = "403 404 200 404 200 200 404 200 200 404 404"
PUT_NEW = "403 404 201 404 201 201 404 404 404 404 404"
PUT_NEXT = "403 404 200 404 200 200 404 404 404 404 404"
DELETE = "403 404 204 404 204 204 404 404 404 404 404"
READ = "302 404 200 404 200 200 404 200 200 404 404"
LOG_GET = "302 404 200 404 200 200 404 403 403 404 404"
LOG_POST = "302 404 302 404 302 302 404 403 403 404 404"


def typed(cast, **changes):
    words = {"started_at": "2026-11-20T17:30", "minutes": "40", "kind": "own", "revision": "0"}
    rows = {"sets-TOTAL_FORMS": "0", "sets-INITIAL_FORMS": "0"}
    return {**words, **rows, **changes}


def of_kid(cast):
    return f"player={cast.kid.pk}"


def next_body(cast):
    return body(cast.kid, revision=2)


ROWS = [
    row("get", "api-workouts", {}, ANY_API, query=of_kid),
    row("get", "api-workout", WORKOUT, READ_API),
    row("put", "api-workout", NEW, PUT_NEW, body=lambda cast: body(cast.kid), json=True),
    row("put", "api-workout", WORKOUT, PUT_NEXT, body=next_body, json=True),
    row("delete", "api-workout", WORKOUT, DELETE),
    row("get", "api-week", WEEK, READ_API),
    row("get", "workouts:list", KID, READ),
    row("get", "workouts:log", KID, LOG_GET),
    row("get", "workouts:type-in", KID, LOG_GET),
    row("post", "workouts:type-in", KID, LOG_POST, body=typed),
    row("get", "workouts:workout", WORKOUT, READ),
    row("get", "workouts:edit", WORKOUT, LOG_GET),
    row("post", "workouts:edit", WORKOUT, LOG_POST, body=lambda cast: typed(cast, revision="1")),
    row("post", "workouts:delete", WORKOUT, LOG_POST),
]
