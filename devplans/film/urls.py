from django.urls import URLPattern, path

from devplans.film import media_views
from devplans.film.views import clock, fetching, films, parts, possessions

app_name = "film"
urlpatterns: list[URLPattern] = [
    path("", films.film_list, name="list"),
    path("upload/", films.film_upload, name="upload"),
    path("fetch/", fetching.film_fetch, name="fetch"),
    path("<uuid:film_id>/fetch/stop/", fetching.fetch_stop, name="fetch-stop"),
    path("<uuid:film_id>/fetch/again/", fetching.fetch_again, name="fetch-again"),
    path("<uuid:film_id>/", films.film_detail, name="detail"),
    path("<uuid:film_id>/state/", films.film_state, name="state"),
    path("<uuid:film_id>/change/", films.film_change, name="change"),
    path("<uuid:film_id>/open/", films.film_open, name="open"),
    path("<uuid:film_id>/delete/", films.film_delete, name="delete"),
    path("<uuid:film_id>/play/", media_views.film_play, name="play"),
    path("<uuid:film_id>/poster/", media_views.film_poster, name="poster"),
    path("<uuid:film_id>/frames/", media_views.film_frames, name="frames"),
    path("<uuid:film_id>/sprite/", media_views.film_sprite, name="sprite"),
    path("<uuid:film_id>/still/", media_views.film_still, name="still"),
    path("<uuid:film_id>/marks/", possessions.film_marks, name="marks"),
    path(
        "<uuid:film_id>/possessions/<uuid:possession_id>/",
        possessions.possession,
        name="possession",
    ),
    path("<uuid:film_id>/clock/<uuid:mark_id>/", clock.clock_mark, name="clock-mark"),
    path("<uuid:film_id>/parts/", parts.parts, name="parts"),
    path("<uuid:film_id>/periods/", clock.periods, name="periods"),
]
