"""What every API view shares: pages of lists, and how refusals are told."""

from typing import Any

from django.core.exceptions import ValidationError as DjangoValidationError
from rest_framework import status
from rest_framework.pagination import CursorPagination
from rest_framework.response import Response
from rest_framework.views import exception_handler as rest_handler

from devplans.core.errors import Conflict, DomainError


class Pages(CursorPagination):
    """Lists come in pages: {"next", "previous", "results"}; newest first unless a view says
    otherwise."""

    ordering = "-created_at"
    page_size_query_param = "page_size"
    max_page_size = 500


def exception_handler(error: Exception, context: dict[str, Any]) -> Response | None:
    """DomainError is 400 with its field or a detail, Conflict 409; the rest is REST framework's."""
    if isinstance(error, Conflict):
        return Response({"detail": str(error)}, status=status.HTTP_409_CONFLICT)
    if isinstance(error, DomainError):
        body: dict[str, Any] = (
            {error.field: [str(error)]} if error.field else {"detail": str(error)}
        )
        return Response(body, status=status.HTTP_400_BAD_REQUEST)
    if isinstance(error, DjangoValidationError):
        return Response({"detail": " ".join(error.messages)}, status=status.HTTP_400_BAD_REQUEST)
    return rest_handler(error, context)
