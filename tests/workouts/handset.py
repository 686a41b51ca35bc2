"""A phone in Chromium that is open on the log, and what may be wrong with what it shows."""

from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from playwright.sync_api import expect

SPOTS = {"counts": "makes", "sides": "none", "default_sets": 5, "default_per_set": 10}
SIDEWAYS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


class Phone:
    """One person's phone, the player's if nobody else is named."""

    def __init__(self, browser, address, cast, *, user=None, **options):
        client = Client()
        client.force_login(user or cast.player)
        options = {"viewport": {"width": 390, "height": 844}} | options
        self.context = browser.new_context(has_touch=True, **options)
        cookie = {"name": settings.SESSION_COOKIE_NAME, "value": client.cookies["sessionid"].value}
        self.context.add_cookies([{**cookie, "url": address}])
        self.page = self.context.new_page()
        self.address, self.cast, self.faults = address, cast, []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on("console", self._heard)

    def _heard(self, line):
        """What Chromium complains of; an answer that did not come is its own line, and expected."""
        if line.type == "error" and not line.text.startswith("Failed to load resource"):
            self.faults.append(line.text)

    def log(self, slug=""):
        query = f"?drill={slug}" if slug else ""
        self.page.goto(f"{self.address}/workouts/of/{self.cast.kid.pk}/log/{query}")

    def tap(self, action, times=1):
        for _ in range(times):
            self.page.locator(f"workout-log [data-do={action}]:visible").first.tap()

    def says(self, words):
        expect(self.page.locator("[data-part=state]")).to_contain_text(words, timeout=15_000)

    def rows(self):
        return self.page.locator("[data-part=rows] li .of").all_inner_texts()

    def sides(self):
        return self.page.locator("[data-part=rows] li > :first-child").all_inner_texts()

    def hurts(self, answer):
        self.page.locator(f"[name=hurts][value={answer}]").locator("..").tap()

    def finish(self, **answers):
        self.tap("to-finish")
        self.page.get_by_label("Minutes").fill("35")
        self.page.locator("[name=effort][value='6']").locator("..").tap()
        self.hurts("yes" if answers.get("pain") else "no")
        if answers.get("pain"):
            self.page.get_by_label("Where, and since when?").fill(answers["pain"])
        self.page.get_by_role("button", name="Save the workout").tap()


def faults_of(phone, state):
    found = []
    for scheme in ("light", "dark"):
        phone.page.emulate_media(color_scheme=scheme)
        for one in Axe().run(phone.page).response["violations"]:
            if one["impact"] in {"serious", "critical"}:
                found.append(f"{state} {scheme} {one['id']}: {one['nodes'][0]['html'][:120]}")
    return found


def asked_of_outbox(call: str) -> str:
    """The script that gives what `call` of the store of unsent workouts answers."""
    return (
        """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("portal", 1);
  opening.onerror = reject;
  opening.onsuccess = () => {
    const asked = opening.result.transaction("workouts").objectStore("workouts")."""
        + call
        + """();
    asked.onsuccess = () => { opening.result.close(); resolve(asked.result); };
  };
})"""
    )
