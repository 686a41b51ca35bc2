from django.urls import URLPattern

app_name = "progress"
urlpatterns: list[URLPattern] = []
