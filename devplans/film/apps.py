from django.apps import AppConfig


class FilmConfig(AppConfig):
    name = "devplans.film"
    label = "film"
    default_auto_field = "django.db.models.BigAutoField"
