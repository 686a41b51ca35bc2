"""The store of parts of this portal."""

from pathlib import Path

from django.conf import settings

from devplans.film.uploads.parts import LocalParts, Parts


def parts() -> Parts:
    """Made anew each time: it holds nothing open, and settings may differ from test to test."""
    folder = Path(settings.FILE_UPLOAD_TEMP_DIR) / "parts"
    return LocalParts(folder, Path(settings.MEDIA_ROOT))
