"""What a phone keeps of the portal itself: its styles and scripts, under names that change with
their content."""

import hashlib
import json
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import ManifestFilesMixin, staticfiles_storage
from django.templatetags.static import static

# The apps whose pages work without a connection; others' files are kept when they are first used.
FOLDERS = ("portal/", "htmx/", "workouts/", "goals/", "feedback/")
KINDS = (".css", ".js", ".svg")
WORKER = Path(__file__).parent / "worker.js"


def files() -> dict[str, str]:
    """Address -> what changes with the file; nothing where the address itself does."""
    return dict(_found(type(staticfiles_storage).__name__, settings.STATIC_ROOT))


@cache
def _found(_storage: str, _root: Path) -> tuple[tuple[str, str], ...]:
    if isinstance(staticfiles_storage, ManifestFilesMixin) and staticfiles_storage.hashed_files:
        names = filter(is_kept, staticfiles_storage.hashed_files)
        return tuple(sorted((static(name), "") for name in names))
    found = {}
    for finder in finders.get_finders():
        for name, storage in finder.list(None):
            prefix = getattr(storage, "prefix", None)
            full = f"{prefix}/{name}" if prefix else name
            if is_kept(full):
                with storage.open(name) as file:
                    found[static(full)] = hashlib.sha256(file.read()).hexdigest()
    return tuple(sorted(found.items()))


def is_kept(name: str) -> bool:
    return name.startswith(FOLDERS) and name.endswith(KINDS)


def worker() -> str:
    """The script that the browser runs beside the pages; it is another one when a file is."""
    source = WORKER.read_text(encoding="utf-8")
    kept = files()
    told = json.dumps([sorted(kept.items()), source])
    shell = {
        "name": f"static-{hashlib.sha256(told.encode()).hexdigest()[:16]}",
        "files": sorted(kept),
        "static": settings.STATIC_URL,
    }
    return f"const SHELL = {json.dumps(shell)};\n{source}"
