from django.apps import AppConfig


class TalkThroughConfig(AppConfig):
    name = "devplans.talkthrough"
    label = "talkthrough"
    default_auto_field = "django.db.models.BigAutoField"
