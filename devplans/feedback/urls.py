from django.urls import path

from devplans.feedback.cliplists.urls import urlpatterns as list_urls
from devplans.feedback.views import (
    comments,
    deliveries,
    handing_over,
    imports,
    last_words,
    sending,
    voices,
)

app_name = "feedback"
urlpatterns = [
    path("films/<uuid:film_id>/comments/", comments.film_comments, name="film-comments"),
    path("films/<uuid:film_id>/comments/add/", comments.comment_add, name="comment-add"),
    path("films/<uuid:film_id>/phrases/keep/", comments.phrase_keep, name="phrase-keep"),
    path(
        "films/<uuid:film_id>/phrases/<uuid:phrase_id>/drop/",
        comments.phrase_drop,
        name="phrase-drop",
    ),
    path("films/<uuid:film_id>/check/", sending.check, name="check"),
    path("films/<uuid:film_id>/hand-over/", handing_over.film_hand_over, name="hand-over-all"),
    path(
        "comments/<uuid:comment_id>/hand-over/",
        handing_over.comment_hand_over,
        name="hand-over",
    ),
    path("comments/<uuid:comment_id>/return/", handing_over.comment_return, name="return"),
    path("films/<uuid:film_id>/last-words/", last_words.last_words, name="last-words"),
    path("films/<uuid:film_id>/import/", imports.comments_import, name="import"),
    path(
        "films/<uuid:film_id>/import/accept/",
        imports.comments_import_accept,
        name="import-accept",
    ),
    path("films/<uuid:film_id>/send/", sending.send, name="send"),
    path("films/<uuid:film_id>/sent/", sending.sent, name="sent"),
    path("comments/<uuid:comment_id>/", comments.comment, name="comment"),
    path("comments/<uuid:comment_id>/delete/", comments.comment_delete, name="comment-delete"),
    path(
        "comments/<uuid:comment_id>/take-back/",
        comments.comment_take_back,
        name="comment-take-back",
    ),
    path(
        "comments/<uuid:comment_id>/team-mate/",
        comments.comment_team_mate,
        name="comment-team-mate",
    ),
    path("comments/<uuid:comment_id>/voice/", voices.comment_voice, name="voice"),
    path("comments/<uuid:comment_id>/voice/drop/", voices.comment_voice_drop, name="voice-drop"),
    path("players/<uuid:player_id>/", deliveries.deliveries, name="deliveries"),
    path("deliveries/<uuid:delivery_id>/", deliveries.delivery, name="delivery"),
    path("deliveries/<uuid:delivery_id>/clip/", deliveries.clip, name="clip"),
    path("deliveries/<uuid:delivery_id>/captions/", deliveries.captions, name="captions"),
    path("deliveries/<uuid:delivery_id>/still/", deliveries.delivery_still, name="delivery-still"),
    path("deliveries/<uuid:delivery_id>/seen/", deliveries.delivery_seen, name="seen"),
    path(
        "deliveries/<uuid:delivery_id>/understood/",
        deliveries.delivery_understood,
        name="understood",
    ),
    path("deliveries/<uuid:delivery_id>/ask/", deliveries.delivery_ask, name="ask"),
    path("deliveries/<uuid:delivery_id>/reply/", deliveries.delivery_reply, name="reply"),
    *list_urls,
]
