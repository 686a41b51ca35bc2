from django.urls import path

from devplans.progress import views
from devplans.progress.board.urls import urlpatterns as board_urls

app_name = "progress"
urlpatterns = [
    path("players/<uuid:player_id>/", views.player, name="player"),
    path("players/<uuid:player_id>/summary.csv", views.player_csv, name="player-csv"),
    path("club/", views.club, name="club"),
    *board_urls,
]
