"""The charts of a mail: files while it waits to be sent, and inside the page that shows it again.

They hold numbers and show nobody, so no consent is asked for; all of each is said in its alt text.
"""

import base64
import re
from collections.abc import Iterable

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from devplans.core import charts_png
from devplans.digests.models import Digest
from devplans.digests.words import Figure

# Shown 400 wide at most; twice as many for sharp screens.
WIDTH = 800
FOLDER = "digests"


def key_of(digest: Digest, figure: Figure) -> str:
    """The same for the same digest, so that a build that was killed leaves nothing behind."""
    return f"{FOLDER}/{digest.pk}/{figure.cid}.png"


def inline(digest: Digest, figures: Iterable[Figure]) -> list[dict[str, str]]:
    """What the outbox sends inside the mail. Nobody's picture: a consent withdrawn leaves it in."""
    return [
        {"cid": one.cid, "key": key_of(digest, one), "type": "image/png", "player_id": ""}
        for one in figures
    ]


def keep(digest: Digest, figures: Iterable[Figure]) -> None:
    """Write the files that the mail will be sent with."""
    for figure in figures:
        key = key_of(digest, figure)
        default_storage.delete(key)
        default_storage.save(key, ContentFile(_png(figure)))


def drop(pictures: Iterable[dict[str, str]]) -> list[dict[str, str]]:
    """Delete the files of the charts among a mail's pictures; the pictures that are left."""
    left = []
    for picture in pictures:
        if picture["key"].startswith(f"{FOLDER}/"):
            default_storage.delete(picture["key"])
        else:
            left.append(picture)
    return left


def inside(html: str, figures: Iterable[Figure]) -> str:
    """The HTML with each chart in it, for a page that has no mail around it."""
    for figure in figures:
        source = "data:image/png;base64," + base64.b64encode(_png(figure)).decode("ascii")
        html = re.sub(rf"cid:{re.escape(figure.cid)}(?=[\"'])", source, html)
    return html


def _png(figure: Figure) -> bytes:
    return charts_png.png(figure.name, figure.chart, width=WIDTH)
