"""Forms and serializers whose choices are narrowed to what the user may see."""

from typing import Any

from django import forms
from rest_framework import serializers


def narrowed(queryset: Any, user: Any) -> Any:
    """`queryset` cut down to what `user` may see."""
    return queryset.visible_to(user) if hasattr(queryset, "visible_to") else queryset


class NarrowedFormMixin:
    """A form whose model choices hold only rows that `user` may see."""

    def __init__(self, *args: Any, user: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user
        for field in self.fields.values():  # type: ignore[attr-defined]
            if isinstance(field, forms.ModelChoiceField) and field.queryset is not None:
                field.queryset = narrowed(field.queryset, user)


class NarrowedForm(NarrowedFormMixin, forms.Form):
    pass


class NarrowedModelForm(NarrowedFormMixin, forms.ModelForm):
    pass


class NarrowedKeyField(serializers.PrimaryKeyRelatedField):
    """A foreign key that the user may only point at rows that he may see."""

    def get_queryset(self) -> Any:
        queryset = super().get_queryset()
        return None if queryset is None else narrowed(queryset, self.context["request"].user)


class NarrowedSlugField(serializers.SlugRelatedField):
    def get_queryset(self) -> Any:
        queryset = super().get_queryset()
        return None if queryset is None else narrowed(queryset, self.context["request"].user)


class NarrowedModelSerializer(serializers.ModelSerializer):
    serializer_related_field = NarrowedKeyField
