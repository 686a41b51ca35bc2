"""The modules behind the log, in Chromium, held against what the server says of the same things."""

from itertools import product
from random import Random

import pytest
from django.utils import timezone

from devplans.stats.court import zone
from devplans.stats.court_lines import COURTS
from devplans.workouts.content import Surroundings, problems
from devplans.workouts.fields import WorkoutSerializer
from devplans.workouts.log_page import court_for_script
from tests import cast as people
from tests import factories as make
from tests.workouts.handset import Phone

pytestmark = [pytest.mark.e2e, pytest.mark.once]


@pytest.fixture
def phone(transactional_db, live_server, browser):
    cast = people.build()
    make.make_drill(slug="pullups")
    opened = Phone(browser, live_server.url, cast)
    opened.log("pullups")
    yield opened
    opened.context.close()
    assert opened.faults == []


def test_the_page_tells_zones_as_the_server_does(phone):
    """The same grid, every 130 mm and on the lines themselves, for each rule set."""
    for rules, lines in sorted(COURTS.items()):
        on_lines = [0, lines.corner, lines.corner + 1, lines.key_width // 2, lines.arc]
        xs = [*range(-7700, 7701, 130), *on_lines, *[-x for x in on_lines]]
        ys = [*range(-1700, 14100, 130), 0, 1, round(lines.arc_break), lines.free_throw, lines.arc]
        points = [list(point) for point in product(xs, ys)]
        knowledge = court_for_script(rules, [])["lines"]
        told = phone.page.evaluate(
            """async ([url, lines, points]) => {
              const { zoneOf } = await import(url);
              return points.map(([x, y]) => Object.values(zoneOf(x, y, lines)));
            }""",
            ["/static/workouts/zones.js", knowledge, points],
        )
        here = [zone(x, y, rules=rules) for x, y in points]
        assert told == [[one.name, one.points] for one in here], rules
        assert len({name for name, _points in told}) >= 11


RANDOM_WALKS = """async ([url, drills, walks]) => {
  const { Book, newWorkout, toBody } = await import(url);
  return walks.map((walk) => {
    const book = new Book(newWorkout("00000000-0000-4000-8000-000000000001"), drills);
    for (const [action, number] of walk) {
      const placed = Boolean(book.workout.place) && number % 3 > 0;
      if (action === "choose") book.choose(Object.keys(drills)[number % 3]);
      else if (!book.drill) continue;
      else if (action === "stand") book.stand({ x_mm: number * 10, y_mm: 500, name: "" });
      else if (action === "type") {
        book.type({ made: number % 8, tried: 8, reps: 8, seconds: 8 }, { placed });
      } else if (action === "shoot" && book.drill.counts === "makes") {
        if (number % 2) book.made({ placed });
        else book.missed({ placed });
      } else if (action === "shoot" && book.drill.counts === "reps") book.add(number % 5 + 1);
      else if (action === "undo") book.undo();
      else if (action === "end") book.endSet();
      else if (action === "renew") book.renew();
    }
    return toBody(book.workout);
  });
}"""


def test_whatever_is_tapped_the_server_takes_it(phone):
    """Random taps, undo among them: the workout always keeps the rules that the server holds."""
    chance = Random(11)
    actions = ["choose", "stand", "type", "end", "renew", *["undo"] * 3, *["shoot"] * 8]
    walks = [
        [(chance.choice(actions), chance.randrange(60)) for _ in range(120)] for _ in range(60)
    ]
    drills = {
        slug: {"name": slug, "counts": counts, "sides": "both", "sets": 3, "per_set": 8}
        for slug, counts in (("spots", "makes"), ("jumps", "reps"), ("pounds", "seconds"))
    }
    bodies = phone.page.evaluate(RANDOM_WALKS, ["/static/workouts/book.js", drills, walks])
    around = Surroundings(lines=COURTS["fiba"], drills=drills, now=timezone.now())
    held = 0
    for body in bodies:
        sent = WorkoutSerializer(data=body | {"revision": 1})
        assert sent.is_valid(), sent.errors
        assert problems(sent.content(), around) == {}
        assert {shot["set"] for shot in body["shots"]} <= {one["id"] for one in body["sets"]}
        held += len(body["shots"])
    assert held > 300


ORDER = """async ([url, drills]) => {
  const { Book, newWorkout } = await import(url);
  const told = (taps, made) => {
    const book = new Book(newWorkout("00000000-0000-4000-8000-000000000001"), drills);
    book.choose("spots");
    book.stand({ x_mm: 0, y_mm: 500, name: "" });
    for (const tap of taps) {
      if (tap) book.made({ placed: true });
      else book.missed({ placed: true });
    }
    book.type({ made, tried: 8 }, { placed: true });
    return book.workout.shots.map((shot) => Number(shot.made)).join("");
  };
  return [told([0, 1, 0], 4), told([], 3), told([1, 1, 0], 1), told([0, 0, 0], 8), told([1, 0], 7)];
}"""


def test_shots_tapped_one_by_one_keep_their_order_in_a_whole_set(phone):
    drills = {"spots": {"name": "s", "counts": "makes", "sides": "none", "sets": 3, "per_set": 8}}
    assert phone.page.evaluate(ORDER, ["/static/workouts/book.js", drills]) == [
        "01011100",
        "11100000",
        # More makes or misses were tapped than the set had: it was counted anew.
        "10000000",
        "11111111",
        "10111111",
    ]
