"""The store of parts of this portal."""

from pathlib import Path

from django.conf import settings
from django.core.cache import cache
from django.core.files.storage import default_storage

from devplans.film.uploads.parts import LocalParts, Parts


def parts() -> Parts:
    """Made anew each time: it holds nothing open, and settings may differ from test to test."""
    if settings.STORAGE_URL:
        # Whoever keeps files on a disk needs none of S3's library.
        from devplans.film.uploads.s3_parts import S3Parts

        return S3Parts(default_storage.connection.meta.client, default_storage.bucket_name, cache)
    folder = Path(settings.FILE_UPLOAD_TEMP_DIR) / "parts"
    return LocalParts(folder, Path(settings.MEDIA_ROOT))
