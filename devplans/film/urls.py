from django.urls import URLPattern, path

from devplans.film import media_views, views

app_name = "film"
urlpatterns: list[URLPattern] = [
    path("", views.film_list, name="list"),
    path("upload/", views.film_upload, name="upload"),
    path("<uuid:film_id>/", views.film_detail, name="detail"),
    path("<uuid:film_id>/state/", views.film_state, name="state"),
    path("<uuid:film_id>/change/", views.film_change, name="change"),
    path("<uuid:film_id>/open/", views.film_open, name="open"),
    path("<uuid:film_id>/delete/", views.film_delete, name="delete"),
    path("<uuid:film_id>/play/", media_views.film_play, name="play"),
    path("<uuid:film_id>/poster/", media_views.film_poster, name="poster"),
    path("<uuid:film_id>/frames/", media_views.film_frames, name="frames"),
    path("<uuid:film_id>/still/", media_views.film_still, name="still"),
]
