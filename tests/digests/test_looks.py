"""The mails in Chromium: axe on paper and at night, 320 and 600 px, with and without pictures."""

import re
from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.utils import timezone

from devplans.digests import emails, pictures, services
from devplans.digests.models import Digest
from devplans.schedule.models import Event
from devplans.threads.services import post_reply
from tests import factories as make
from tests.digests import edges
from tests.digests.edges import in_week, last_week
from tests.screens.test_every_screen import BAD
from tests.services import SWITCHES

pytestmark = [pytest.mark.e2e, pytest.mark.soak, pytest.mark.once, pytest.mark.timeout(600)]
WIDTHS = (320, 600)
KINDS = ("player", "guardian", "coach", "director", "page behind the link")
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def fill(cast):
    """A week with everything in it."""
    close = make.make_skill(name="Closeout technique")
    film = make.make_film(cast.squad, title="Game against the Larks")
    said = {"happened": "Ran at the shooter and stopped in time, high hand.", "verdict": "did_it"}
    bright = make.make_comment(film, cast.coach, [cast.kid], skill=close, **said)
    make.make_delivery(bright, cast.kid, sent_at=in_week(cast, 1.6))
    help_side = make.make_skill(name="Help-side position")
    focus = make.make_comment(
        film, cast.coach, [cast.kid], skill=help_side,
        happened="Stood with her back to the ball.",
        do_instead="One foot in the key; you still reach her on the pass.",
    )  # fmt: skip
    thread = make.make_delivery(focus, cast.kid, sent_at=in_week(cast, 1.7)).thread
    post_reply(actor=cast.player, thread=thread, text="Which foot?", is_question=True)
    thread.replies.update(created_at=in_week(cast, 3))
    goal = edges.drill_goal(cast, start_made=22, start_tried=40)
    for days in (-20.4, -13.4, -6.4, 1.7, 4.7):
        edges.log(goal, 14, 20, in_week(cast, days), minutes=55)
        make.make_workout(
            cast.kid, started_at=in_week(cast, days + 1), minutes=95, kind="organised"
        )
    edges.film_goal(cast, cast.kid, help_side)
    edges.review(goal, in_week(cast).date(), "About the same as before: 14 of 20 and 22 of 40.")
    for days, kind, opponent in [(1, "practice", ""), (4, "game", "Ashdown Larks")]:
        starts_at = timezone.now() + timedelta(days=days)
        Event.objects.create(
            squad=cast.squad, kind=kind, opponent=opponent, place="Ashdown" * bool(opponent),
            starts_at=starts_at, ends_at=starts_at + timedelta(hours=2),
        )  # fmt: skip


@pytest.fixture
def documents(cast):
    """Each kind's mail as a page of its own, its charts in it."""
    fill(cast)
    for pk in services.plan_week(club=cast.club, week=last_week(cast)):
        services.build_digest(digest_id=pk)
    readers = {cast.player, cast.guardian, cast.coach, cast.director}
    found = {}
    for digest in Digest.objects.filter(recipient__in=readers):
        figures = emails.figures_in(emails.parts_of(digest))
        found[digest.kind] = pictures.inside(digest.message.html, figures)
        if digest.kind == "guardian":
            secret = re.search(r"/digests/open/([\w-]+)/", digest.message.text)[0]
            found["page behind the link"] = Client().get(secret).content.decode()
    return found


def test_every_mail_in_chromium(documents, chromium, tmp_path):
    from playwright.sync_api import sync_playwright

    faults = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=SWITCHES)
        for kind in KINDS:
            for scheme in ("light", "dark"):
                for width in WIDTHS:
                    for images in (True, False):
                        html = documents[kind]
                        if not images:
                            html = re.sub(r'src="data:[^"]+"', 'src="cid:off"', html)
                        faults += looked_at(browser, html, kind, scheme, width, images, tmp_path)
        browser.close()
    assert faults == []


def looked_at(browser, html, kind, scheme, width, images, folder):
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
    page = context.new_page()
    page.set_content(html)
    name = f"{kind.replace(' ', '-')}-{scheme}-{width}{'' if images else '-no-images'}"
    page.screenshot(path=folder / f"{name}.png", full_page=True)
    # Without pictures there is nothing more for axe to find.
    checked = Axe().run(page).response["violations"] if images else []
    found = [f"{name}: {one['id']}" for one in checked if one["impact"] in BAD]
    if page.evaluate(WIDER) > 0:
        found.append(f"{name}: wider than the screen")
    if not images and kind in {"player", "guardian"}:
        assert page.get_by_alt_text(
            re.compile(r"\d+ of \d+ since the goal began")
        ).first.is_visible()
    context.close()
    return found
