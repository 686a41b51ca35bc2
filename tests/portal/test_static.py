import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.core.management import call_command

pytestmark = pytest.mark.once


@pytest.fixture(scope="module")
def collected(tmp_path_factory) -> Path:
    from django.test import override_settings

    root = tmp_path_factory.mktemp("static")
    storages = {
        "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
        "staticfiles": {"BACKEND": "portal.storage.HashedStatic"},
    }
    with override_settings(STATIC_ROOT=root, STORAGES=storages):
        call_command("collectstatic", interactive=False, verbosity=0)
    return root


def hashed(root: Path, name: str) -> Path:
    stem, suffix = name.rsplit(".", 1)
    found = [p for p in root.glob(f"{stem}.*.{suffix}") if re.search(r"\.[0-9a-f]{12}\.", p.name)]
    assert len(found) == 1, name
    return found[0]


def test_every_file_gets_a_hashed_name(collected):
    assert hashed(collected, "portal/base.css").exists()
    assert hashed(collected, "htmx/htmx-2.min.js").exists()


def test_imports_between_modules_point_to_hashed_names(collected):
    text = hashed(collected, "portal/app.js").read_text()
    for module in ("confirm-button.js", "copy-text.js"):
        assert f'"./{hashed(collected, f"portal/{module}").name}"' in text


def test_htmx_is_the_file_of_the_installed_package_unchanged(collected):
    import django_htmx

    source = Path(django_htmx.__file__).parent / "static/django_htmx/htmx-2.min.js"
    assert hashed(collected, "htmx/htmx-2.min.js").read_bytes() == source.read_bytes()


def test_nothing_else_of_that_package_is_served(collected):
    originals = {p.name for p in (collected / "htmx").iterdir()}
    assert {name.split(".")[0] for name in originals} == {"htmx-2"}
    assert finders.find("htmx/htmx-4.js") is None
    assert finders.find("htmx/../htmx-2.min.js") is None
