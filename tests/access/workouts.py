"""What a player logged: the phone's side and the pages. A PUT that is not allowed is always 404."""

from datetime import timedelta
from uuid import uuid4

from django.utils import timezone

from tests import factories as make
from tests.access import row
from tests.workouts.phone import body
from tests.workouts.shooting import log_shots


def things(cast):
    ended = timezone.now() - timedelta(hours=1)
    cast.practice = make.make_event(cast.squad, starts_at=ended - timedelta(hours=2), ends_at=ended)
    cast.counted = make.make_workout(cast.kid, effort=None, logged_by=cast.coach)
    drill = make.make_drill()
    sets = [{"drill": drill, "made": 7, "tried": 10}]
    cast.workout = make.make_workout(cast.kid, sets=sets, note="With the new ball.")
    places = [(0, 7_000, True), (-7_050, 0, False), (300, 600, True), (-4_000, 2_000, True)]
    log_shots(cast.kid, places * 6, drill=make.make_drill(slug="five-spot-shooting"))
    cast.pain = make.make_pain(cast.kid)


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


PAIN = {"pain_id": "pain"}
ELSEWHERE = {**KID, "week": lambda cast: "2026-W40"}
SQUAD = {"squad_id": "squad"}
PRACTICE = {"event_id": "practice"}
COUNTED = {"workout_id": "counted"}
# Family, coaches; an office of the club only where no guardian is.
PAIN_READ = "302 404 200 404 200 200 404 404 404 404 404"
# A minor does not answer for himself, and no coach for his player.
PAIN_ANSWER = "302 404 403 404 302 403 404 404 404 404 404"
TELL_GET = "302 404 200 404 200 403 404 403 403 404 404"
TELL_POST = "302 404 302 404 302 403 404 403 403 404 404"
ANYBODY = "302 200 200 200 200 200 200 200 200 200 200"
KEEPS_GET = "302 404 403 403 403 200 404 200 403 404 404"
KEEPS_POST = "302 404 403 403 403 302 404 302 403 404 404"
COACHES_SQUAD = "302 404 403 403 403 200 404 403 403 404 404"


def typed(cast, **changes):
    words = {"started_at": "2026-11-20T17:30", "minutes": "40", "kind": "own", "revision": "0"}
    rows = {"sets-TOTAL_FORMS": "0", "sets-INITIAL_FORMS": "0"}
    return {**words, **rows, **changes}


def of_kid(cast):
    return f"player={cast.kid.pk}"


def tick(cast):
    return {"mark": f"{cast.kid.pk}:absent"}


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
    row("get", "workouts:shots", KID, READ),
    row("get", "workouts:shots-csv", KID, READ),
    row("get", "workouts:log", KID, LOG_GET),
    row("get", "workouts:group", SQUAD, COACHES_SQUAD),
    row("get", "workouts:type-in", KID, LOG_GET),
    row("post", "workouts:type-in", KID, LOG_POST, body=typed),
    row("get", "workouts:workout", WORKOUT, READ),
    row("get", "workouts:edit", WORKOUT, LOG_GET),
    row("post", "workouts:edit", WORKOUT, LOG_POST, body=lambda cast: typed(cast, revision="1")),
    row("post", "workouts:delete", WORKOUT, LOG_POST),
    row("get", "workouts:pain", PAIN, PAIN_READ),
    row("post", "workouts:pain-answer", PAIN, PAIN_ANSWER, body={"answer": "resting"}),
    row("get", "workouts:before-practice", {}, ANYBODY),
    row("get", "workouts:pain-for-office", {}, ANYBODY),
    row("get", "workouts:elsewhere", ELSEWHERE, TELL_GET),
    row("post", "workouts:elsewhere", ELSEWHERE, TELL_POST, body={"team": "1.5"}),
    row("get", "workouts:squad-hours", SQUAD, COACHES_SQUAD),
    row("get", "workouts:how-hard", COUNTED, TELL_GET),
    row("post", "workouts:how-hard", COUNTED, TELL_POST, body={"effort": "6"}),
    row("get", "workouts:attendance", PRACTICE, KEEPS_GET),
    row("post", "workouts:attendance", PRACTICE, KEEPS_POST, body={"do": "all"}),
    row("post", "workouts:attendance", PRACTICE, KEEPS_POST, body=tick),
]
