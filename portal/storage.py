"""Static files: hashed names for all, and the files that we use of installed packages."""

from collections.abc import Iterator
from pathlib import Path

import django_htmx
from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage, Storage
from whitenoise.storage import CompressedManifestStaticFilesStorage

from devplans.core import render


class HashedStatic(CompressedManifestStaticFilesStorage):
    """Hashed file names; imports between our ES modules are rewritten to them."""

    support_js_module_import_aggregation = True


class OneFileFinder(BaseFinder):
    """Finds `prefix/name` in the folder of an installed package and nothing else of it."""

    prefix: str
    name: str
    folder: Path

    def __init__(self, app_names: list[str] | None = None, *args: object, **kwargs: object) -> None:
        self.storage = FileSystemStorage(location=self.folder)
        self.storage.prefix = self.prefix
        super().__init__(*args, **kwargs)

    def check(self, **kwargs: object) -> list:
        return []

    def find(self, path: str, find_all: bool = False, **kwargs: object) -> str | list[str]:
        if path != f"{self.prefix}/{self.name}":
            return []
        found = self.storage.path(self.name)
        return [found] if find_all else found

    def list(self, ignore_patterns: object) -> Iterator[tuple[str, Storage]]:
        yield self.name, self.storage


class HtmxFinder(OneFileFinder):
    """The package's other scripts import modules that it does not ship under that name, so
    collecting them all would stop `collectstatic`."""

    prefix = "htmx"
    name = "htmx-2.min.js"
    folder = Path(django_htmx.__file__).parent / "static" / "django_htmx"


class FontFinder(OneFileFinder):
    """The font in which words on drawings are written, the same file as in stills and clips."""

    prefix = "fonts"
    name = render.FONT_FILE
    folder = render.font_path().parent
