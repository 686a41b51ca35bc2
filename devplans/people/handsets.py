"""What kind of phone it is, in words that its owner recognises: "Android phone, Chrome"."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

# In this order: many browsers also name the ones that they descend from.
DEVICES = (
    ("iPhone", gettext_noop("iPhone")),
    ("iPad", gettext_noop("iPad")),
    ("CrOS", gettext_noop("Chromebook")),
    ("Windows", gettext_noop("Windows computer")),
    ("Macintosh", gettext_noop("Mac")),
    ("Linux", gettext_noop("Linux computer")),
)
BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser/", "Samsung Internet"),
    ("FxiOS/", "Firefox"),
    ("Firefox/", "Firefox"),
    ("CriOS/", "Chrome"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)


def name_of(user_agent: str) -> str:
    """Device and browser behind a User-Agent header; anything may stand in that."""
    browser = next((name for mark, name in BROWSERS if mark in user_agent), "")
    device = _device(user_agent)
    return f"{device}, {browser}" if browser else device


def _device(user_agent: str) -> str:
    if "Android" in user_agent:
        return _("Android phone") if "Mobile" in user_agent else _("Android tablet")
    return next((_(name) for mark, name in DEVICES if mark in user_agent), _("Phone"))
