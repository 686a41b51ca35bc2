"""Static files: hashed names for all, and the one file we use of the installed htmx package."""

from collections.abc import Iterator
from pathlib import Path

import django_htmx
from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage, Storage
from whitenoise.storage import CompressedManifestStaticFilesStorage

HTMX_FILE = "htmx-2.min.js"
HTMX_PREFIX = "htmx"


class HashedStatic(CompressedManifestStaticFilesStorage):
    """Hashed file names; imports between our ES modules are rewritten to them."""

    support_js_module_import_aggregation = True


class HtmxFinder(BaseFinder):
    """Finds `htmx/htmx-2.min.js` in the installed package and nothing else.

    The package's other scripts import modules that it does not ship under that
    name, so collecting them all would stop `collectstatic`.
    """

    def __init__(self, app_names: list[str] | None = None, *args: object, **kwargs: object) -> None:
        folder = Path(django_htmx.__file__).parent / "static" / "django_htmx"
        self.storage = FileSystemStorage(location=folder)
        self.storage.prefix = HTMX_PREFIX
        super().__init__(*args, **kwargs)

    def check(self, **kwargs: object) -> list:
        return []

    def find(self, path: str, find_all: bool = False, **kwargs: object) -> str | list[str]:
        if path != f"{HTMX_PREFIX}/{HTMX_FILE}":
            return []
        found = self.storage.path(HTMX_FILE)
        return [found] if find_all else found

    def list(self, ignore_patterns: object) -> Iterator[tuple[str, Storage]]:
        yield HTMX_FILE, self.storage
