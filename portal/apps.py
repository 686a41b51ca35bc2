from pathlib import Path

from django.apps import AppConfig
from django.conf import settings


class PortalConfig(AppConfig):
    name = "portal"
    label = "portal"

    def ready(self) -> None:
        """Folders that must be there before the first request."""
        for folder in (settings.FILE_UPLOAD_TEMP_DIR, settings.MEDIA_ROOT):
            Path(folder).mkdir(parents=True, exist_ok=True)
