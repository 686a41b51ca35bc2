"""Every screen that the resolver knows, in Chromium: axe on paper and at night, no console error,
no violation of the content security policy, nothing that scrolls sideways at 320 px."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client

from tests.services import SWITCHES
from tests.test_access import ROWS, build_everything, url_of

pytestmark = [pytest.mark.e2e, pytest.mark.soak, pytest.mark.timeout(900)]

BAD = {"serious", "critical"}
PHONES = {"player", "guardian", "teammate"}
# The reader for whom a screen is looked at: the first of these who gets it.
READERS = ["coach", "player", "guardian", "director", "welfare", "teammate", "stranger", "anon"]
NARROW = 320
# Mails stand in frames, and are documents, that may run no script, so axe neither.
AXE = {"iframes": False}
RECORD = """
window.violations = [];
document.addEventListener("securitypolicyviolation", (e) => window.violations.push(
  `${e.violatedDirective} ${e.blockedURI} ${e.sourceFile || ""}`));
"""
# Rows made without their files: a picture or clip that is not there is an expected 404 here.
EXPECTED = "Failed to load resource: the server responded with a status of 4"


def screens(cast):
    """(route, role, path) of each page, read by somebody who may."""
    found, seen = [], set()
    for row in ROWS:
        if row.method != "get" or row.route in seen:
            continue
        role = next((role for role in READERS if row.statuses[role] == 200), None)
        if role is None or "api" in row.route:
            continue
        path = url_of(row, cast)
        client = Client()
        if role != "anon":
            client.force_login(getattr(cast, role))
        answer = client.get(path)
        if is_page(answer) and "sandbox" not in answer["Content-Security-Policy"]:
            seen.add(row.route)
            found.append((row.route, role, path, client.cookies.get("sessionid")))
        answer.close()
    return found


def is_page(answer):
    """A whole page; fragments have no <html> and are looked at inside the pages that fetch them."""
    if answer.status_code != 200 or not answer["Content-Type"].startswith("text/html"):
        return False
    return not answer.streaming and b"<html" in answer.content


def faults_of(page, axe, route):
    """What axe finds in both schemes, and whether anything is wider than a narrow phone."""
    found = []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for violation in axe.run(page, options=AXE).response["violations"]:
            if violation["impact"] in BAD:
                nodes = "; ".join(node["html"][:140] for node in violation["nodes"][:3])
                found.append(f"{route} {scheme}: {violation['id']}: {nodes}")
    size = page.viewport_size
    page.set_viewport_size({"width": NARROW, "height": 700})
    width = page.evaluate("document.documentElement.scrollWidth")
    if width > NARROW:
        found.append(f"{route}: {width} px wide on a {NARROW} px screen")
    page.set_viewport_size(size)
    return found + [f"{route}: violates {line}" for line in page.evaluate("window.violations")]


def test_every_screen_is_clean(transactional_db, live_server, chromium):
    from playwright.sync_api import sync_playwright

    listed, faults, axe = screens(build_everything()), [], Axe()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=SWITCHES)
        for route, role, path, session in listed:
            phone = role in PHONES
            size = {"width": 390, "height": 844} if phone else {"width": 1280, "height": 800}
            context = browser.new_context(viewport=size, has_touch=phone)
            if session:
                cookie = {"name": settings.SESSION_COOKIE_NAME, "value": session.value}
                context.add_cookies([{**cookie, "url": live_server.url}])
            page = context.new_page()
            page.add_init_script(RECORD)
            heard = []
            page.on("pageerror", lambda error, heard=heard: heard.append(str(error)))
            page.on(
                "console",
                lambda line, heard=heard: line.type == "error" and heard.append(line.text),
            )
            page.goto(live_server.url + path)
            page.wait_for_load_state("load")
            faults += faults_of(page, axe, route)
            faults += [f"{route}: console {line}" for line in heard if EXPECTED not in line]
            context.close()
        browser.close()
    print(f"{len(listed)} screens, {2 * len(listed)} runs of axe")
    assert len(listed) > 50
    assert not faults, "\n".join(faults)
