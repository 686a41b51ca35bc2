from django.urls import path

from devplans.goals import views

app_name = "goals"
urlpatterns = [
    path("players/<uuid:player_id>/", views.goal_list, name="list"),
    path("players/<uuid:player_id>/on-skill/", views.on_skill, name="on-skill"),
    path("work/<uuid:player_id>/", views.work, name="work"),
    path("players/<uuid:player_id>/plan-drills/", views.plan_drills, name="plan-drills"),
    path("players/<uuid:player_id>/add/", views.add, name="add"),
    path("players/<uuid:player_id>/add-drill/", views.add_drill, name="add-drill"),
    path("players/<uuid:player_id>/drills/add/", views.item_add, name="item-add"),
    path("calendar/", views.calendar, name="calendar"),
    path("calendar/players/<uuid:player_id>/", views.feed_of_player, name="feed-player"),
    path("calendar/squads/<uuid:squad_id>/", views.feed_of_squad, name="feed-squad"),
    path("calendar/<str:token>.ics", views.feed, name="feed"),
    path("drills/<uuid:item_id>/edit/", views.item_edit, name="item-edit"),
    path("drills/<uuid:item_id>/end/", views.item_end, name="item-end"),
    path("examples/<uuid:example_id>/remove/", views.example_remove, name="example-remove"),
    path("<uuid:goal_id>/", views.goal, name="goal"),
    path("<uuid:goal_id>/edit/", views.edit, name="edit"),
    path("<uuid:goal_id>/life/", views.life, name="life"),
    path("<uuid:goal_id>/close/", views.close, name="close"),
    path("<uuid:goal_id>/examples/add/", views.example_add, name="example-add"),
]
