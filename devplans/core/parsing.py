"""Apart from `rest`: REST framework reads its parsers while its views are being imported."""

from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser


class Json(JSONParser):
    """JSON that is neither too long nor nested without end."""

    def parse(self, stream: Any, media_type: Any = None, parser_context: Any = None) -> Any:
        length = getattr(stream, "META", {}).get("CONTENT_LENGTH") or 0
        if int(length) > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            raise ParseError(_("This is too much at once."))
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError as error:
            raise ParseError(_("This is nested too deeply.")) from error
