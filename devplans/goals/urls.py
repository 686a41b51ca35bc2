from django.urls import URLPattern

app_name = "goals"
urlpatterns: list[URLPattern] = []
