from django.urls import path

from devplans.progress import club, exports, views
from devplans.progress.board.urls import urlpatterns as board_urls

app_name = "progress"
urlpatterns = [
    path("players/<uuid:player_id>/", views.player, name="player"),
    *(
        path(
            f"players/<uuid:player_id>/{table}.csv",
            views.player_table,
            {"table": table},
            name=f"player-{table}",
        )
        for table in exports.TABLES
    ),
    path("club/", views.club, name="club"),
    *(
        path(f"club/{table}.csv", views.club_table, {"table": table}, name=f"club-{table}")
        for table in club.NAMES
    ),
    *board_urls,
]
