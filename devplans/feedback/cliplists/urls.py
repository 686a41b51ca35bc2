from django.urls import path

from devplans.feedback.cliplists.views import items, lists, picking

LIST, ITEM = "lists/<uuid:list_id>", "lists/<uuid:list_id>/clips/<uuid:item_id>"

urlpatterns = [
    path("lists/", lists.lists, name="cliplists"),
    path(f"{LIST}/", lists.one, name="cliplist"),
    path(f"{LIST}/show/", lists.show, name="cliplist-show"),
    path(f"{LIST}/change/", lists.change, name="cliplist-change"),
    path(f"{LIST}/duplicate/", lists.duplicate, name="cliplist-duplicate"),
    path(f"{LIST}/delete/", lists.delete, name="cliplist-delete"),
    path(f"{LIST}/open/", lists.open_to, name="cliplist-open"),
    path(f"{LIST}/search/", lists.search, name="cliplist-search"),
    path(f"{LIST}/add/", lists.add, name="cliplist-add"),
    path(f"{ITEM}/", items.change, name="cliplist-item"),
    path(f"{ITEM}/move/", items.move, name="cliplist-move"),
    path(f"{ITEM}/remove/", items.remove, name="cliplist-remove"),
    path(f"{ITEM}/restore/", items.restore, name="cliplist-restore"),
    path(f"{ITEM}/clip/", lists.clip, name="cliplist-clip"),
    path("comments/<uuid:comment_id>/to-list/", picking.pick, name="cliplist-pick"),
    path("films/<uuid:film_id>/to-list/", picking.span, name="cliplist-span"),
]
