from django.urls import path

from devplans.progress.board import views

SQUAD = "squads/<uuid:squad_id>"

urlpatterns = [
    path("next/", views.next_practice, name="next-practice"),
    path(f"{SQUAD}/", views.board, name="board"),
    path(f"{SQUAD}/board.csv", views.board_csv, name="board-csv"),
    path(f"{SQUAD}/next/", views.next_page, name="next"),
    path(f"{SQUAD}/next.csv", views.next_csv, name="next-csv"),
]
