from django.urls import URLPattern

app_name = "digests"
urlpatterns: list[URLPattern] = []
