from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect


def home(request: HttpRequest) -> HttpResponse:
    """To the home page of the first role that the person holds."""
    return redirect("account_logout")
