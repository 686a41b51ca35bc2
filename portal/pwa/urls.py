from django.urls import path

from portal.pwa import views

app_name = "pwa"
urlpatterns = [
    path("sw.js", views.worker, name="worker"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
    path("icons/<int:size>.png", views.icon, name="icon"),
    path("offline/", views.offline, name="offline"),
    path("keep/", views.keep, name="keep"),
]
