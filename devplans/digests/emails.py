"""A digest as a mail: the same parts as HTML and as text."""

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

import css_inline
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.text import get_text_list
from django.utils.translation import gettext as _

from devplans.digests import opening, pictures, words
from devplans.digests.models import Digest, DigestLink

_inliner = css_inline.CSSInliner(keep_at_rules=True, load_remote_stylesheets=False)


@dataclass
class Letter:
    subject: str
    text: str
    html: str
    inline: list[dict[str, str]] = field(default_factory=list)
    figures: list[words.Figure] = field(default_factory=list)
    player_id: UUID | None = None


def parts_of(digest: Digest) -> list[words.Part]:
    """What the digest says, from the facts that were kept when it was made."""
    facts = digest.facts
    if "parts" in facts:
        own = digest.kind == Digest.Kind.PLAYER
        return [words.child(part, facts, own=own) for part in facts["parts"]]
    if digest.kind == Digest.Kind.COACH:
        return [words.squad(row, facts) for row in facts["squads"]]
    rows = facts["squads"]
    return [words.club(rows, facts), *(words.squad_in_club(row, facts) for row in rows)]


def subject_of(digest: Digest) -> str:
    facts = digest.facts
    week = int(facts["week"][-2:])
    if digest.kind == Digest.Kind.PLAYER:
        return _("Your week %(week)s") % {"week": week}
    if digest.kind == Digest.Kind.GUARDIAN:
        names = get_text_list([part["first_name"] for part in facts["parts"]], _("and"))
        return _("%(names)s: week %(week)s") % {"names": names, "week": week}
    if digest.kind == Digest.Kind.COACH:
        return _("%(squad)s: week %(week)s") % {"squad": facts["squads"][0]["name"], "week": week}
    return _("%(club)s: week %(week)s") % {"club": facts["club"], "week": week}


def reason(digest: Digest) -> str:
    """Why this person gets the mail."""
    facts = digest.facts
    if digest.kind == Digest.Kind.GUARDIAN:
        names = get_text_list([part["first_name"] for part in facts["parts"]], _("and"))
        words_ = _("You get this because you are a guardian of %(names)s at %(club)s.")
        return words_ % {"names": names, "club": facts["club"]}
    words_ = _("You get this because you are a %(role)s at %(club)s.")
    return words_ % {"role": digest.get_kind_display(), "club": facts["club"]}


def render(
    digest: Digest, *, unsubscribe_url: str, link: DigestLink | None = None, secret: str = ""
) -> Letter:
    """The letter of one digest; pictures only where its facts hold them. With a `link` that its
    `secret` opens for a while, the letter tells of it."""
    subject = subject_of(digest)
    context = _context(digest) | {"unsubscribe_url": unsubscribe_url}
    if link:
        context["open_url"] = opening.address(secret)
        context["open_until"] = opening.ends_on(link, digest.facts["zone"])
    stills = [part for part in digest.facts.get("parts", []) if part["picture"]]
    figures = figures_in(context["parts"])
    only = digest.facts["parts"][0]["player"] if len(digest.facts.get("parts", [])) == 1 else None
    return Letter(
        subject=subject,
        text=render_to_string("digests/email/digest.txt", context),
        html=_inliner.inline(render_to_string("digests/email/digest.html", context)),
        inline=[_inline(part) for part in stills] + pictures.inline(digest, figures),
        figures=figures,
        player_id=UUID(only) if only else None,
    )


def page_behind(link: DigestLink, *, secret: str) -> str:
    """The page that a link opens: the letter without pictures of children, and with no address in
    it that does anything without signing in but ending the link."""
    context = _context(link.digest) | {
        "end_url": reverse("digests:open-end", args=[secret]),
        "open_until": opening.ends_on(link, link.digest.facts["zone"]),
    }
    for part in context["parts"]:
        part.picture_cid = ""
    html = _inliner.inline(render_to_string("digests/email/digest.html", context))
    return pictures.inside(html, figures_in(context["parts"]))


def figures_in(parts: list[words.Part]) -> list[words.Figure]:
    return [figure for part in parts for figure in part.figures]


def _context(digest: Digest) -> dict[str, Any]:
    return {
        "digest": digest,
        "subject": subject_of(digest),
        "club": digest.facts["club"],
        "week": words.week_title(digest.facts),
        "parts": parts_of(digest),
        "reason": reason(digest),
    }


def _inline(part: dict[str, Any]) -> dict[str, str]:
    """The picture names its player, so that a consent withdrawn in time still takes it out."""
    return {**part["picture"], "type": "image/jpeg", "player_id": part["player"]}
