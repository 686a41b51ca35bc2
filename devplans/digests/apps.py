from django.apps import AppConfig


class DigestsConfig(AppConfig):
    name = "devplans.digests"
    label = "digests"
    default_auto_field = "django.db.models.BigAutoField"
