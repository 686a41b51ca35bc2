"""The drawn possessions one after the other, told by a film that skips: no server, no real film."""

from pathlib import Path

import pytest

import devplans.tallies

pytestmark = [pytest.mark.e2e, pytest.mark.once]

REEL = Path(devplans.tallies.__file__).parent / "static" / "tallies" / "reel.js"
ADDRESS = "https://portal.test/"
# Plays `told` for each possession in turn, as often as the reel goes on; what was played when.
PLAY = """async ({ told, length }) => {
  const { Reel } = await import("/reel.js");
  const video = { paused: true, ended: false };
  let [ms, moves] = [0, 0];
  const player = {
    video, currentMs: () => ms, move: async (to) => { ms = to; moves += 1; video.ended = false; },
    play: () => { video.paused = false; }, pause: () => { video.paused = true; },
  };
  const possessions = told.map((_, place) => (
    { place, start_ms: 1000 + place * 10000, end_ms: 6000 + place * 10000, seen: false }
  ));
  const reel = new Reel(player, possessions, { durationMs: length, tell: () => {} });
  const played = [];
  await reel.go(0, { play: true });
  while (!video.paused && played.length < 20) {
    const { at } = reel;
    const before = moves;
    played.push(at);
    const times = told[at].length > 1 ? told[at].shift() : told[at][0];
    for (const [from, to] of times) {
      for (ms = from; ms <= to && moves === before && !video.paused; ms += 250) {
        video.ended = ms >= length;
        reel.time(ms);
      }
    }
    await null; await null;
    if (moves === before && !video.paused) throw new Error(`stuck at ${at}`);
  }
  return { played, left: reel.left, paused: video.paused };
}"""


@pytest.fixture
def play(browser):
    page = browser.new_context().new_page()
    page.route(
        "**/*", lambda route: route.fulfill(body="<title>t</title>", content_type="text/html")
    )
    page.route("**/reel.js", lambda route: route.fulfill(path=REEL, content_type="text/javascript"))
    page.goto(ADDRESS)
    yield lambda told, length=60_000: page.evaluate(PLAY, {"told": told, "length": length})
    page.context.close()


def whole(place):
    return [[500 + place * 10_000, 9_000 + place * 10_000]]


def with_a_hole(place):
    """The machine was busy: two seconds in the middle were never told of."""
    start = place * 10_000
    return [[500 + start, 2_500 + start], [5_000 + start, 9_000 + start]]


def test_all_are_played_once(play):
    assert play([[whole(at)] for at in range(3)]) == {
        "played": [0, 1, 2],
        "left": 0,
        "paused": True,
    }


def test_what_the_film_left_out_is_played_again_after_the_last(play):
    told = [[whole(0)], [with_a_hole(1), whole(1)], [whole(2)]]
    assert play(told) == {"played": [0, 1, 2, 1], "left": 0, "paused": True}


def test_what_never_plays_whole_is_tried_once_more_only(play):
    told = [[with_a_hole(0)], [whole(1)]]
    assert play(told) == {"played": [0, 1, 0], "left": 1, "paused": True}


def test_a_film_that_leaps_to_its_end_still_goes_on(play):
    """The last word of a film that has ended follows on a hole."""
    told = [[whole(0)], [[[10_500, 12_000], [17_000, 17_000]], [[10_500, 17_000]]]]
    assert play(told, length=17_000) == {"played": [0, 1, 1], "left": 0, "paused": True}
