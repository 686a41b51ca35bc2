from django.urls import URLPattern

app_name = "film"
urlpatterns: list[URLPattern] = []
