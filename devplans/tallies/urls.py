from django.urls import URLPattern, path

from devplans.tallies import views

app_name = "tallies"
urlpatterns: list[URLPattern] = [
    path("films/<uuid:film_id>/", views.film_tallies, name="film"),
    path("films/<uuid:film_id>/start/", views.tally_start, name="start"),
    path("<uuid:tally_id>/", views.tally, name="tally"),
    path("<uuid:tally_id>/marks/", views.tally_marks, name="marks"),
    path("<uuid:tally_id>/more/", views.tally_more, name="more"),
    path("<uuid:tally_id>/close/", views.tally_close, name="close"),
    path("<uuid:tally_id>/reopen/", views.tally_reopen, name="reopen"),
    path("<uuid:tally_id>/delete/", views.tally_delete, name="delete"),
    path("<uuid:tally_id>/with/<uuid:other_id>/", views.agreement, name="agreement"),
]
