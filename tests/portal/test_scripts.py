"""The small scripts in a real browser, on a page of their own that no server has to serve."""

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

pytestmark = [pytest.mark.e2e, pytest.mark.once]

STATIC = Path(__file__).resolve().parents[2] / "portal" / "static" / "portal"
HOME = "https://portal.test/"
PAGE = """<!doctype html><html lang="en"><title>t</title><body data-person="p1">
<script type="module" src="/static/portal/app.js"></script>
<form action="/done"><confirm-button question="Take it back?" yes="Take back" no="Keep it">
<button type="submit" id="go">Take back</button></confirm-button></form>
<copy-text done="Copied"><code>abc</code>
<button type="button" id="copy" hidden>Copy</button></copy-text>
<textarea id="words"></textarea></body></html>"""
POLICY = "default-src 'none'; script-src 'self'; connect-src 'self'; form-action 'self'"


def answer(route) -> None:
    path = urlsplit(route.request.url).path
    if path.startswith("/static/portal/"):
        body = (STATIC / Path(path).name).read_text(encoding="utf-8")
        route.fulfill(body=body, content_type="text/javascript")
    elif path == "/refused":
        route.fulfill(status=400, json={"made": ["More made than tried."]})
    elif path == "/echo":
        sent = route.request
        route.fulfill(
            json={
                "method": sent.method,
                "token": sent.headers["x-csrftoken"],
                "person": sent.headers.get("x-person"),
                "body": sent.post_data,
            }
        )
    elif path == "/broken":
        route.fulfill(status=502, body="<html>bad gateway</html>", content_type="text/html")
    elif path == "/gone":
        route.abort()
    elif path.startswith("/says/"):
        route.fulfill(status=int(Path(path).name), json={"detail": "No."})
    else:
        headers = {"Content-Security-Policy": POLICY}
        route.fulfill(body=PAGE, content_type="text/html", headers=headers)


@pytest.fixture
def page(browser) -> Iterator:
    context = browser.new_context(permissions=["clipboard-read", "clipboard-write"])
    context.route("**/*", answer)
    context.add_cookies([{"name": "csrftoken", "value": "tok%3D1", "url": HOME}])
    opened = context.new_page()
    opened.on("pageerror", lambda error: pytest.fail(str(error)))
    opened.goto(HOME)
    yield opened
    context.close()


# --- confirm-button --------------------------------------------------------


def test_the_first_press_asks_and_does_nothing(page):
    page.click("#go")
    assert page.url == HOME
    assert page.get_by_role("group", name="Take it back?").is_visible()
    assert page.evaluate("document.activeElement.textContent") == "Keep it"


def test_the_second_press_does_it(page):
    page.click("#go")
    page.get_by_role("group").get_by_role("button", name="Take back").click()
    page.wait_for_url("**/done?")


@pytest.mark.parametrize("way", ["Escape", "Enter"])
def test_keeping_it_brings_the_button_back(page, way):
    page.click("#go")
    page.keyboard.press(way)
    assert page.get_by_role("group").count() == 0
    assert page.evaluate("document.activeElement.id") == "go"
    assert page.url == HOME


# --- copy-text -------------------------------------------------------------


def test_text_is_copied_and_the_button_says_so(page):
    page.click("#copy")
    page.get_by_role("button", name="Copied").wait_for()
    assert page.evaluate("navigator.clipboard.readText()") == "abc"


# --- keys ------------------------------------------------------------------

SET_UP = """async () => {
  const { Keys } = await import("/static/portal/keys.js");
  window.pressed = [];
  window.keys = new Keys("film")
    .add("did-it", "d", () => pressed.push("did-it"))
    .add("play", "space", () => pressed.push("play"))
    .add("cue", "1", () => pressed.push("cue"), { alone: false });
  window.keys.listen();
}"""


@pytest.fixture
def keys(page):
    page.evaluate(SET_UP)
    return page


def pressed(page) -> list[str]:
    return page.evaluate("window.pressed")


def test_a_letter_works_outside_fields_and_is_typed_inside(keys):
    keys.keyboard.press("d")
    assert pressed(keys) == ["did-it"]
    keys.focus("#words")
    keys.keyboard.press("d")
    assert pressed(keys) == ["did-it"]
    assert keys.input_value("#words") == "d"


def test_alt_works_while_typing_and_types_nothing(keys):
    keys.focus("#words")
    keys.keyboard.press("Alt+d")
    keys.keyboard.press("Alt+1")
    assert pressed(keys) == ["did-it", "cue"]
    assert keys.input_value("#words") == ""


def test_a_key_that_asks_for_alt_does_nothing_alone(keys):
    keys.keyboard.press("1")
    assert pressed(keys) == []


def test_the_keys_of_the_browser_are_left_alone(keys):
    keys.keyboard.press("Control+d")
    assert pressed(keys) == []


def test_space_presses_the_button_that_has_the_focus(keys):
    keys.focus("#go")
    keys.keyboard.press("Space")
    assert pressed(keys) == []
    assert keys.get_by_role("group").is_visible()


def test_keys_can_be_switched_off_and_stay_off(keys):
    keys.evaluate("keys.off = true")
    keys.reload()
    keys.evaluate(SET_UP)
    keys.keyboard.press("d")
    assert pressed(keys) == []


def test_a_key_can_be_changed_unless_another_holds_it(keys):
    assert keys.evaluate('keys.change("did-it", "Y")') is None
    assert keys.evaluate('keys.change("play", "y")') == "did-it"
    keys.reload()
    keys.evaluate(SET_UP)
    keys.keyboard.press("d")
    keys.keyboard.press("y")
    assert pressed(keys) == ["did-it"]
    listed = keys.evaluate("keys.list()[0]")
    assert (listed["key"], listed["usual"]) == ("y", "d")
    keys.evaluate("keys.reset()")
    assert keys.evaluate('keys.keyFor("did-it")') == "d"


def test_another_person_on_this_device_has_his_own_keys(keys):
    keys.evaluate('keys.change("did-it", "y")')
    keys.evaluate('document.body.dataset.person = "p2"')
    keys.evaluate(SET_UP)
    assert keys.evaluate('keys.keyFor("did-it")') == "d"


# --- http ------------------------------------------------------------------

SEND = """async ([method, url, body]) => {
  const { send } = await import("/static/portal/http.js");
  try {
    return { answer: await send(method, url, body) };
  } catch (error) {
    return { status: error.status, message: error.message, fields: error.fields, name: error.name };
  }
}"""


def test_what_is_sent_carries_the_token_and_json(page):
    told = page.evaluate(SEND, ["PUT", "/echo", {"made": 7}])["answer"]
    assert told == {"method": "PUT", "token": "tok=1", "body": '{"made":7}', "person": None}


def test_a_refusal_carries_the_messages_of_the_fields(page):
    told = page.evaluate(SEND, ["PUT", "/refused", {}])
    assert told["status"] == 400
    assert told["message"] == "More made than tried."
    assert told["fields"] == {"made": ["More made than tried."]}


def test_an_error_page_is_a_refusal_with_its_status(page):
    told = page.evaluate(SEND, ["GET", "/broken", None])
    assert (told["name"], told["status"], told["fields"]) == ("Refused", 502, {})


def test_no_connection_is_told_apart(page):
    told = page.evaluate(SEND, ["GET", "/gone", None])
    assert (told["status"], told["message"]) == (0, "No connection.")


# --- sending: what the outboxes go by ---------------------------------------

OUTCOME = """async (url) => {
  const { ask } = await import("/static/portal/http.js");
  const { meantFor, outcomeOf } = await import("/static/portal/sending.js");
  return ask("PUT", url, {}, meantFor("p1")).then(() => "sent", outcomeOf);
}"""


@pytest.mark.parametrize(
    ("outcome", "urls"),
    [
        ("lost", ["/gone", "/broken", *(f"/says/{status}" for status in (408, 429, 500, 503))]),
        ("signed-out", ["/says/401", "/says/403", "/", "/led-away"]),
        ("refused", [f"/says/{status}" for status in (400, 404, 409, 410, 413)]),
        ("sent", ["/says/200", "/echo"]),
    ],
)
def test_an_outbox_tells_lost_signed_out_and_refused_apart(page, outcome, urls):
    """A page with another status than 200 in place of an answer is none of the server's words."""
    led = "<form>Sign in</form>"
    page.route("**/led-away", lambda route: route.fulfill(body=led, content_type="text/html"))
    assert {url: page.evaluate(OUTCOME, url) for url in urls} == dict.fromkeys(urls, outcome)


def test_what_fails_without_a_status_is_lost_and_never_refused(page):
    """The connection ended within the answer, say."""
    told = page.evaluate(
        """async () => {
          const { outcomeOf } = await import("/static/portal/sending.js");
          return [new TypeError("network error"), { status: 0 }].map(outcomeOf);
        }"""
    )
    assert told == ["lost", "lost"]


def test_what_is_meant_for_a_person_says_so_and_waits_for_twenty_seconds(page):
    told = page.evaluate(
        """async () => {
          const { ask } = await import("/static/portal/http.js");
          const { meantFor } = await import("/static/portal/sending.js");
          const asked = [];
          const { timeout } = AbortSignal;
          AbortSignal.timeout = (ms) => { asked.push(ms); return timeout.call(AbortSignal, ms); };
          const one = await ask("PUT", "/echo", {}, meantFor("p1"));
          const nobody = await ask("PUT", "/echo", {}, meantFor(""));
          return [one.person, nobody.person, ...asked];
        }"""
    )
    assert told == ["p1", None, 20_000, 20_000]


def test_an_answer_that_never_comes_is_lost(page):
    page.route("**/never", lambda route: None)
    told = page.evaluate(
        """async () => {
          const { ask } = await import("/static/portal/http.js");
          const { outcomeOf } = await import("/static/portal/sending.js");
          const signal = AbortSignal.timeout(50);
          return ask("PUT", "/never", {}, { signal }).then(() => "sent", outcomeOf);
        }"""
    )
    assert told == "lost"


def test_tries_are_further_and_further_apart_until_one_arrives(page):
    told = page.evaluate(
        """async () => {
          const { LONGEST_WAIT_MS, Waits } = await import("/static/portal/sending.js");
          const waits = new Waits();
          const first = [1, 2, 3, 4, 5, 6].map(() => waits.next());
          waits.over();
          return [first, waits.next(), LONGEST_WAIT_MS];
        }"""
    )
    assert told == [[1_000, 3_000, 10_000, 30_000, 30_000, 30_000], 1_000, 30_000]
