"""A ten-minute talk is corrected by keyboard alone until its comments are sent; and every other
step of correcting, by keys and on a phone."""

import re
from fractions import Fraction

import pytest
from playwright.sync_api import expect

from tests.e2e import clubs, steps
from tests.e2e.steps import until
from tests.e2e.test_new_coach import Hands
from tests.film import films

pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.timeout(400)]

KIND = films.Kind("talk", films.steady(610), Fraction(1, 1), options={"g": "10"})
MOST_PRESSES = 3
# Where both the player and the skill have to be named: two keys, one, and Enter.
MOST_FOR_BOTH = 4
NUMBERS = {"I": "97", "B": "94", "L": "96", "C": "5"}
# Who is meant, and what was said, as captions have it: names go wrong as they do.
SAID = [
    ("I", "Isaura, that is a good closeout, short steps and a high hand."),
    ("B", "Brunhild, you are standing up on the closeout. Next time stay low and chop your feet."),
    ("L", "Lucan has a foot in the lane on help side, perfect position."),
    ("", "Right, who has got the water bottles by the way."),
    ("C", "Carys, lovely pass on time, the ball left your hands at once."),
    ("I", "I saw her again, you helped too late there. I want you in the gap before the drive."),
    ("B", "Brunhilled with the box out, she finds her player and hits her, that is great."),
    ("L", "Look Ann stops talking on that screen. You have to call it early and loud."),
    ("C", "Karis cuts when her defender turns her head, beautiful cut."),
    ("I", "Number ninety-seven here, your spacing is wrong. Lift up to the slot instead."),
    ("", "Their big girl is so strong, she is a problem for everybody."),
    ("B", "Brunhild sprints back on defence, first one in the paint, great get back."),
    ("L", "Lucan jumps at the ball fake. Next time stay down and contest straight up."),
    ("C", "Carys, strong drive in a straight line, shoulder to hip, that is it."),
    ("I", "Isora gets the offensive rebound from the weak side, great effort."),
    ("B", "Brunhild, you let her drive middle. Next time force her to the sideline."),
    ("L", "Lucan with a great jump stop and pivot, nice and balanced."),
    ("C", "Carys, you held the ball too long. Catch it and swing it right away."),
    ("I", "Isaura, good ball pressure, you moved your feet and stayed in front."),
    ("", "Okay, next clip."),
    ("B", "Brunhild, great communication on the switch, loud and early."),
    ("L", "Lou can does not box out at all. You need to find a body and hit it."),
    ("C", "Carys with the great closeout, under control."),
    ("I", "Isaura, you dribble with your head down. Next time get your eyes up and see the rim."),
    ("B", "Brunhild finishes with her left hand, great finish through contact."),
    ("L", "Lucan, great screen, wide base, and he holds it."),
    ("C", "Carys, you are flat-footed on the catch. Be ready to shoot with your feet set."),
    ("I", "Isaura rotates on help, takes away the layup, that is great help defence."),
    ("B", "Brun hilda is late getting back. Sprint the first three steps next time."),
    ("L", "Lucan relocates after the pass, good spacing."),
]
EVERY_S = 20


def clock(second):
    return f"{second // 60}:{second % 60:02}"


TALK = "\n".join(f"{clock(at * EVERY_S + 2)} {text}" for at, (_who, text) in enumerate(SAID))


@pytest.fixture
def club(portal):
    return clubs.seed_four(portal)


@pytest.fixture
def coach(person, club, tmp_path):
    return steps.coach_at_film(person, club, films.write(tmp_path, KIND))


def bring(coach, text):
    """The transcript, pasted, looked at and kept; the page to correct it is open then."""
    coach.follow("Talk it through")
    coach.follow("Bring a transcript")
    coach.fill(text=text)
    coach.press("Show what can be read")
    coach.press("Make suggestions")
    page = coach.page
    page.wait_for_selector("talk-correct [aria-current]")
    until(page.locator("film-player").element_handle(), "player => Boolean(player.frames)")
    return page


def current(page):
    return page.locator(".talk-row[aria-current]")


def meant(row) -> str:
    """The number of whom the words of this row are about."""
    at = round((int(row.get_attribute("data-start")) / 1000 - 2) / EVERY_S)
    return NUMBERS.get(SAID[at][0], "")


def settled(page):
    """Steps are done one after the other; the current row is what it is then."""
    page.locator("talk-correct").evaluate("element => element.turn")


def name_player(page, hands, row, number):
    """Anybody: by number where its first digit picks nothing, else by the player's own key."""
    if not row.locator(f"[data-key='{number[0]}']").count():
        hands.press(*number)
        return
    hands.press("h")
    everybody = row.locator(".talk-everybody button")
    mine = everybody.filter(has=page.locator(".number").get_by_text(number, exact=True))
    hands.press(mine.locator("kbd").inner_text().lower())


def correct(page, hands) -> str:
    """One suggestion as a coach does it: who, which skill, accept; or drop what is about nobody."""
    row = current(page)
    key = row.get_attribute("data-id")
    number = meant(row)
    shown = row.locator(".talk-who > .number").all_inner_texts()
    if not number:
        hands.press("x")
        settled(page)
        return "dropped"
    if number not in shown:
        offer = row.locator(".talk-offers button", has_text=re.compile(rf"\b{number}\b"))
        if offer.count() and not shown:
            hands.press(offer.get_attribute("data-key"))
        else:
            name_player(page, hands, row, number)
            expect(page.locator(f"#s-{key} .talk-who > .number")).to_have_text(number)
        settled(page)
        row = page.locator(f"#s-{key}")
    if row.locator(".talk-who .warn").count():
        hands.press("1")
        settled(page)
    if page.locator(f"#s-{key}").locator("p.warn").count():
        hands.press("t")
        settled(page)
    hands.press("Enter")
    settled(page)
    expect(page.locator(f"#s-{key}")).to_have_attribute("data-state", "accepted")
    return "accepted"


def test_a_ten_minute_talk_by_keyboard_into_sent_comments(coach, club, capsys):
    page = bring(coach, TALK)
    hands, counts, dropped, most = Hands(page.keyboard), [], 0, []
    while page.locator(".talk-row[data-state=open]").count():
        before, said = hands.presses, current(page).get_attribute("data-said")
        if correct(page, hands) == "accepted":
            counts.append(hands.presses - before)
            if counts[-1] > MOST_PRESSES:
                most.append((counts[-1], said))
        else:
            dropped += 1
    expect(page.locator(".talk-foot")).to_contain_text("Corrected to the end.")
    written = hands.presses
    hands.press("v")
    page.wait_for_url("**/check/")
    hands.press("s", "Enter")
    page.wait_for_url("**/sent/")
    answer = coach.api("GET", f"/api/v1/comments/?film={coach.film}").json()
    sent = [one for one in answer["results"] if one["sent_at"]]
    with capsys.disabled():
        print(
            f"\nkey presses per accepted suggestion: {counts}, {dropped} dropped; {written} in all,"
            f" on average {written / len(counts):.2f}; too many for {most}"
        )
    assert len(sent) == len(counts)
    wanted = sum(bool(who) for who, _text in SAID)
    assert len(counts) >= 0.85 * wanted
    assert written <= MOST_PRESSES * len(counts)
    assert max(counts) <= MOST_FOR_BOTH
    assert len(most) <= 1
    names = {number: club.players[name] for name, number in
             (("kid", "97"), ("mate", "94"), ("sibling", "96"))}  # fmt: skip
    for one in sent:
        number = NUMBERS[SAID[round((one["start_ms"] / 1000 - 2) / EVERY_S)][0]]
        if number in names:
            assert one["players"] == [names[number]]


SHORT = """0:02 Isaura, that is a good closeout, short steps and a high hand.
0:12 Brunhild, you are late on the help. Next time start when the ball is in the air.
0:22 The referee has no idea there, that was never a foul.
0:32 Lucan, lovely pass on time.
0:42 Carys, great box out, you hit her first."""


def state(page):
    """All rows as they are read."""
    told = "[row.dataset.state, row.dataset.start, row.querySelector('.talk-who').innerText]"
    return page.locator(".talk-row").evaluate_all(f"rows => rows.map(row => {told})")


@pytest.mark.soak
def test_every_step_by_keys_and_back(coach):
    page = bring(coach, SHORT)
    keys = page.keyboard
    said = page.locator(".talk-said")
    start = state(page)
    assert len(start) >= 3
    # the film follows
    film = page.locator("film-player").element_handle()
    keys.press("ArrowDown")
    until(film, f"player => Math.abs(player.currentMs() - {start[1][1]}) < 1000")
    keys.press("p")
    until(film, "player => player.repeated !== null")
    # verdict, drop, join, all that is certain; and each of them back
    for key, told in (("t", ""), ("x", "Dropped."), ("j", "Joined with the next."),
                      ("c", re.compile(r"accepted\."))):  # fmt: skip
        keys.press(key)
        settled(page)
        if told:
            expect(said).to_have_text(told)
        changed = state(page), page.locator(".talk-row .verdict").count()
        assert key == "t" or changed[0] != start
        keys.press("u")
        settled(page)
        assert state(page) == start
    # cut in two at a sentence, and back
    row = page.locator(".talk-row", has_text="Brunhild")
    for _ in start:
        keys.press("ArrowUp")
    settled(page)
    while current(page).get_attribute("data-id") != row.first.get_attribute("data-id"):
        keys.press("ArrowDown")
        settled(page)
    keys.press("k")
    expect(page.locator(".talk-cut [aria-selected=true]")).to_have_text(re.compile("^Next"))
    keys.press("ArrowLeft")
    keys.press("ArrowRight")
    keys.press("Enter")
    settled(page)
    assert len(state(page)) == len(start) + 1
    keys.press("u")
    settled(page)
    assert state(page) == start
    # words that were left out
    keys.press("l")
    expect(page.locator("[data-left]:focus")).to_have_count(1)
    keys.press("Enter")
    expect(page.locator(".talk-row")).to_have_count(len(start) + 1)
    expect(current(page)).to_contain_text("referee")
    keys.press("u")
    expect(page.locator(".talk-row")).to_have_count(len(start))
    # all keys are in the list, and none of them twice
    keys.press("?")
    expect(page.locator(".film-keys")).to_contain_text("Accept all that are certain")
    expect(page.locator(".film-keys .warn")).to_have_count(0)


@pytest.mark.soak
def test_what_is_typed_is_kept_as_one_goes(coach):
    page = bring(coach, SHORT)
    keys = page.keyboard
    row = page.locator(f"#s-{current(page).get_attribute('data-id')}")
    keys.press("e")
    box = row.locator("[name=happened]")
    box.fill("In my own words")
    expect(row.locator("[data-state]")).to_have_text("Kept.")
    box.fill("In my own words, and more")
    with coach.expecting(422):
        row.locator("[name=start_ms]").fill("20:00")
        keys.press("Escape")
        expect(row.locator("[aria-invalid=true]")).to_have_value("20:00")
    row.locator("[name=start_ms]").fill("0:03")
    keys.press("Escape")
    expect(row.locator(".talk-editor")).to_have_count(0)
    expect(row).to_contain_text("In my own words, and more")
    page.reload()
    expect(row).to_contain_text("In my own words, and more")
    expect(row.locator(".when")).to_contain_text("0:03")
    # Alt and Enter from inside a field keeps and accepts
    page.wait_for_selector("talk-correct [aria-current]")
    keys.press("e")
    row.locator("[name=do_instead]").fill("Again like this")
    keys.press("Alt+Enter")
    expect(row).to_have_attribute("data-state", "accepted")
    answer = coach.api("GET", f"/api/v1/comments/?film={coach.film}").json()
    assert [one["do_instead"] for one in answer["results"]] == ["Again like this"]


def test_on_a_small_phone_by_touch(coach, club, person):
    bring(coach, SHORT)
    phone = person(on="phone").sign_in(club.emails["coach"])
    page = phone.page
    page.set_viewport_size({"width": 320, "height": 640})
    phone.go(coach.page.url.removeprefix(coach.address))
    page.wait_for_selector("talk-correct [aria-current]")
    second = page.locator(".talk-row").nth(1)
    second.locator(".talk-who").tap()
    expect(second).to_have_attribute("aria-current", "true")
    second.get_by_role("button", name="Drop").tap()
    expect(second).to_have_attribute("data-state", "dropped")
    page.locator(".talk-row").first.locator(".talk-who").tap()
    page.locator(".talk-row").first.get_by_role("button", name="Accept").tap()
    expect(page.locator(".talk-row").first).to_have_attribute("data-state", "accepted")
    page.get_by_role("button", name="Undo").tap()
    expect(page.locator(".talk-row").first).to_have_attribute("data-state", "open")
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width <= 320, f"the page is {width} px wide"
