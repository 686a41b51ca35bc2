"""`make screenshots`: every screen that each demo role can reach, into build/screens/.

Starts a demo club of its own, follows the links of each role's pages (and those in the mails sent
to them), and takes one picture per screen, size and scheme.
"""

import re
import sys
import tempfile
from email import message_from_bytes, policy
from pathlib import Path
from urllib.parse import urljoin, urlsplit

from django.urls import Resolver404, resolve

from tests.served import DEMO_PASSWORD, DEMO_ROLES, ROOT, Portal
from tests.services import find_chromium, free_port

SIZES = {"phone": (390, 844), "laptop": (1280, 800)}
SCHEMES = ("light", "dark")
VISITOR = "visitor"
NOT_SCREENS = re.compile(r"^/(static|media|api|healthz)|/logout")
LINKS = "elements => elements.map(element => element.href)"


def route_of(path: str) -> str | None:
    """The name of the route behind `path`; None for what is no screen."""
    if NOT_SCREENS.search(path):
        return None
    try:
        return resolve(path).view_name
    except Resolver404:
        return None


def mailed_paths(portal: Portal) -> list[str]:
    """Paths of the links in the mails that the demo club has sent."""
    found = []
    for file in sorted((portal.data_dir / "mail").glob("**/*.eml")):
        body = message_from_bytes(file.read_bytes(), policy=policy.default).get_body(("plain",))
        text = body.get_content() if body else ""
        found += re.findall(rf"{re.escape(portal.address)}(/[^\s<>\"]*)", text)
    return found


def sign_in(page, portal: Portal, role: str) -> None:
    page.goto(f"{portal.address}/accounts/login/")
    page.fill("[name=login]", f"{role}@club.example")
    page.fill("[name=password]", DEMO_PASSWORD)
    page.locator("form:has([name=password]) [type=submit]").first.click()
    page.wait_for_url(lambda url: "/accounts/login/" not in url)


def screens(page, portal: Portal, seeds: list[str]) -> dict[str, str]:
    """Route name -> path of one screen of it, found by following links from `seeds`."""
    found: dict[str, str] = {}
    waiting, seen = list(seeds), set(seeds)
    while waiting:
        path = waiting.pop(0)
        route = route_of(urlsplit(path).path)
        if route is None or route in found:
            continue
        answer = page.context.request.get(portal.address + path)
        landed = urlsplit(answer.url)
        assert answer.status < 500, f"{path} ends in an error of the server"
        if not answer.ok or "text/html" not in answer.headers.get("content-type", ""):
            continue
        if (route := route_of(landed.path)) is None or route in found:
            continue
        found[route] = landed.path + (f"?{landed.query}" if landed.query else "")
        page.goto(portal.address + found[route])
        settle(page)
        for link in page.eval_on_selector_all("a[href]", LINKS):
            parts = urlsplit(urljoin(page.url, link))
            inside = f"{parts.scheme}://{parts.netloc}" == portal.address
            next_path = parts.path + (f"?{parts.query}" if parts.query else "")
            if inside and next_path not in seen:
                seen.add(next_path)
                waiting.append(next_path)
    return found


def settle(page) -> None:
    """Wait for what the page fetches by itself; a film that plays on is not waited for."""
    page.wait_for_load_state("load")
    page.wait_for_timeout(150)
    page.wait_for_function("() => !document.querySelector('.htmx-request')")


def open_court(page) -> None:
    """The log with its court: three shots from a spot, and another place chosen."""
    page.get_by_label("shots on the court").check()
    page.locator("[data-part=spots] .pick").nth(1).click()
    for action in ("made", "missed", "made"):
        page.locator(f"[data-do={action}]").click()
    page.locator("[data-part=spots] .pick").nth(2).click()


def count_several(page) -> None:
    """The log of the first three players of a squad, one of whom has done a set."""
    for box in page.locator("[name=player]").all()[:3]:
        box.check()
    page.get_by_role("button", name="Begin to count").click()
    page.get_by_label("Find a drill").fill("five-spot")
    page.locator("[data-drill]:visible").first.click()
    page.locator("[data-do=whole]").nth(7).click()


# What a screen looks like once somebody works with it: name, its route, what is asked of the
# address, and what is tapped.
STATES = [
    ("workouts.log-court", "workouts:log", "?drill=five-spot-shooting", open_court),
    ("workouts.group-counting", "workouts:group", "", count_several),
]


def pictures(page, address: str, stem: Path, work=None) -> None:
    """One load, one picture for each scheme. work: what is tapped first."""
    page.goto(address)
    settle(page)
    if work is not None:
        work(page)
        settle(page)
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        page.screenshot(path=f"{stem}-{scheme}.png", full_page=True)


def main() -> int:
    import django
    from playwright.sync_api import sync_playwright

    django.setup()
    folder = ROOT / "build" / "screens"
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.png"):
        old.unlink()
    path = find_chromium()
    if path is None:
        print("No Chromium on the PATH, nor one that Playwright downloaded.")
        return 1
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        portal = Portal(Path(place) / "data", free_port()).load_demo().start()
        try:
            portal.until_ready()
            browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
            seeds = ["/", "/accounts/login/", *mailed_paths(portal)]
            for role in (VISITOR, *DEMO_ROLES):
                take(browser, portal, role, seeds, folder)
            browser.close()
        finally:
            portal.stop()
    print(f"{len(list(folder.glob('*.png')))} pictures in {folder.relative_to(ROOT)}")
    return 0


def take(browser, portal: Portal, role: str, seeds: list[str], folder: Path) -> None:
    """All pictures of one role."""
    scout = browser.new_context()
    page = scout.new_page()
    if role != VISITOR:
        sign_in(page, portal, role)
    found = screens(page, portal, seeds)
    state = scout.storage_state()
    scout.close()
    for size, (width, height) in SIZES.items():
        context = browser.new_context(
            storage_state=state,
            viewport={"width": width, "height": height},
            has_touch=size == "phone",
        )
        page = context.new_page()
        for route, path in sorted(found.items()):
            name = f"{role}-{route.replace(':', '.')}-{size}"
            pictures(page, portal.address + path, folder / name)
        for state, route, query, work in STATES:
            if route in found:
                address = portal.address + found[route].partition("?")[0] + query
                pictures(page, address, folder / f"{role}-{state}-{size}", work)
        context.close()
    print(f"{role}: {len(found)} screens ({', '.join(sorted(found))})", flush=True)


if __name__ == "__main__":
    import os

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings_test")
    sys.exit(main())
