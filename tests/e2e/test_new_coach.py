"""A coach who has never been here: from an open film to ten sent comments, by keyboard alone."""

import re
from fractions import Fraction

import pytest
from playwright.sync_api import expect

from tests.e2e import clubs, steps
from tests.e2e.steps import until
from tests.film import films

pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.timeout(400)]

MOST_PRESSES = 8
KIND = films.Kind("half", films.steady(900), Fraction(1, 30), options={"g": "30"})
# Verdict's key, number, letters of the skill, the skill meant, what happened, next time.
VERDICTS = {"n": "not_yet", "d": "did_it", "t": "note"}
SAID = [
    ("n", "97", "cl", "closeout-technique", "Late to the corner.", "Short steps, hands up."),
    ("d", "94", "he", "help-position", "Saw ball and player.", ""),
    ("n", "96", "ct", "closeout-technique", "Flew past the shooter.", "Break down early."),
    ("d", "97", "pa", "pass-on-time", "Ball left at once.", ""),
    ("n", "5", "sp", "spacing", "Two on one wing.", "Lift to the slot."),
    ("t", "94", "of", "offensive-rebound", "Went from the far side.", ""),
    ("d", "96", "cs", "contest-vertical", "Straight up.", "Again like this."),
    ("n", "5", "cu", "cutting", "Stood and watched.", "Cut when the head turns."),
    ("d", "97", "st", "straight-line-drive", "Shoulder to hip.", ""),
    ("n", "94", "ba", "ball-reversal", "Held it too long.", "Catch and move it."),
]  # fmt: skip
FIRST_MS, EVERY_MS = 700, 900


class Hands:
    """A keyboard that counts each key that goes down, Alt and Shift too, but no letter of words."""

    def __init__(self, keyboard):
        self.keyboard, self.presses, self.letters = keyboard, 0, 0

    def press(self, *keys):
        for key in keys:
            self.presses += len(key.split("+"))
            self.keyboard.press(key)

    def words(self, text):
        self.letters += len(text)
        self.keyboard.type(text)


@pytest.fixture
def club(portal):
    return clubs.seed_four(portal)


@pytest.fixture
def coach(person, club, tmp_path):
    """At the laptop, signed in, with the page of a film open that is ready."""
    found = steps.coach_at_film(person, club, films.write(tmp_path, KIND))
    found.page.wait_for_selector("comment-form")
    player = found.page.locator("film-player").element_handle()
    until(player, "player => player.video.readyState >= 2")
    return found


def kept(coach) -> list[dict]:
    """The coach's comments in the order of the film."""
    answer = coach.api("GET", f"/api/v1/comments/?film={coach.film}").json()
    return sorted(answer["results"], key=lambda one: one["start_ms"])


def say(page, hands, *, verdict, number, letters, happened, do_instead) -> int:
    """One comment where the film is now; how many keys went down beside the words."""
    before = hands.presses
    form = page.locator("comment-form")
    hands.press(verdict)
    expect(form.locator("[name=who]")).to_be_focused()
    hands.press(*number)
    expect(form.locator("[name=skill]")).to_be_focused()
    hands.press(*letters, "Enter")
    expect(form.locator("[name=happened]")).to_be_focused()
    hands.words(happened)
    hands.press("Enter")
    expect(form.locator("[name=do_instead]")).to_be_focused()
    hands.words(do_instead)
    hands.press("Enter")
    expect(form.locator(".comment-said")).to_have_text("Kept as a draft.")
    return hands.presses - before


def test_ten_comments_for_four_players_by_keyboard(coach, club, capsys):
    page = coach.page
    player = page.locator("film-player").element_handle()
    hands, counts = Hands(page.keyboard), []
    hands.press("Space")
    for place, (verdict, number, letters, _skill, happened, do_instead) in enumerate(SAID):
        seen = FIRST_MS + place * EVERY_MS
        until(player, f"player => !player.video.paused && player.currentMs() >= {seen}")
        counts.append(
            say(
                page, hands, verdict=verdict, number=number, letters=letters,
                happened=happened, do_instead=do_instead,
            )
        )  # fmt: skip
        # The film goes on by itself from where it was stopped.
        until(player, "player => !player.video.paused")
        expect(page.locator("comment-list [data-ms]")).to_have_count(place + 1)
    written = hands.presses
    hands.press("v")
    page.wait_for_url("**/check/")
    hands.press("s", "Enter")
    page.wait_for_url("**/sent/")
    with capsys.disabled():
        print(f"\nkey presses beside the words: {counts}, {written} with the film's start, ")
        print(f"{hands.presses} with the sending; {hands.letters} letters of words")
    assert max(counts) <= MOST_PRESSES
    numbers = dict(zip(["97", "94", "96"], club.players.values(), strict=True))
    found = kept(coach)
    for one, (verdict, number, _letters, skill, happened, do_instead) in zip(
        found, SAID, strict=True
    ):
        assert one["verdict"] == VERDICTS[verdict]
        assert one["skill"] == skill
        assert (one["happened"], one["do_instead"]) == (happened, do_instead)
        assert len(one["players"]) == 1
        assert numbers.setdefault(number, one["players"][0]) == one["players"][0]
        assert one["sent_at"]
    assert len(set(numbers.values())) == 4


@pytest.mark.soak
def test_two_players_a_cue_and_a_change_of_mind(coach):
    form, keys = coach.page.locator("comment-form"), coach.page.keyboard
    keys.press("c")
    # Digits, a space and Enter by habit: both players, and nothing else is taken.
    keys.type("97 94")
    keys.press("Enter")
    expect(form.locator(".chip")).to_have_text([re.compile("97"), re.compile("94")])
    expect(form.locator("[name=skill]")).to_be_focused()
    expect(form.locator("[name=skill]")).to_have_value("")
    # The wrong one: back and out.
    keys.press("Backspace")
    keys.press("Backspace")
    expect(form.locator(".chip")).to_have_count(1)
    keys.type("Car")
    keys.press("Enter")
    expect(form.locator(".chip")).to_have_text([re.compile("97"), re.compile("5")])
    keys.type("clo")
    keys.press("Alt+n")
    expect(form.locator("[name=skill]")).to_have_value("Closeout technique")
    expect(form.locator("[name=happened]")).to_be_focused()
    keys.type("Late")
    keys.press("Shift+Enter")
    keys.type("and upright.")
    keys.press("Alt+1")
    expect(form.locator("[name=do_instead]")).to_be_focused()
    keys.press("Enter")
    expect(form.locator(".comment-said")).to_have_text("Kept as a draft.")
    # The film stood, so it stands.
    assert coach.page.locator("film-player").evaluate("player => player.video.paused")
    [draft] = kept(coach)
    assert draft["happened"].split() == ["Late", "and", "upright."]
    assert draft["verdict"] == "not_yet"
    assert draft["do_instead"]
    assert len(draft["players"]) == 2


@pytest.mark.soak
def test_enter_sends_no_correction(coach, club):
    made = coach.api(
        "POST", "/api/v1/comments/", film=coach.film, start_ms=1_000, end_ms=None,
        players=[club.players["kid"]], skill="spacing", verdict="not_yet",
        happened="Late.", do_instead="Go early.",
    ).json()  # fmt: skip
    assert coach.api("POST", "/api/v1/comments/send/", comments=[made["id"]]).status == 200
    coach.page.reload()
    coach.page.get_by_role("link", name="Correct").click()
    box = coach.page.locator(f"comment-form[comment='{made['id']}'] [name=do_instead]")
    box.fill("Go now")
    box.press("Enter")
    expect(box).to_have_value("Go now\n")
    assert kept(coach)[0]["do_instead"] == "Go early."
