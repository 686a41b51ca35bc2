import re
from pathlib import Path

import pytest

pytestmark = pytest.mark.once

STYLES = Path(__file__).resolve().parents[2] / "portal" / "static" / "portal"


def tokens(night: bool) -> dict[str, str]:
    text = (STYLES / "tokens.css").read_text(encoding="utf-8")
    day, dark = text.split("@media (prefers-color-scheme: dark)")
    pairs = re.findall(r"--([\w-]+): (#[0-9A-Fa-f]{6});", dark if night else day)
    return dict(pairs)


def luminance(colour: str) -> float:
    def linear(part: str) -> float:
        value = int(part, 16) / 255
        return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(colour[i : i + 2]) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_measured_as_the_standard_says():
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#777777", "#FFFFFF") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("night", [False, True])
@pytest.mark.parametrize("ground", ["ground", "sheet", "tint"])
@pytest.mark.parametrize("text", ["ink", "faded", "hardwood"])
def test_text_can_be_read_on_every_ground(night, ground, text):
    colours = tokens(night)
    assert contrast(colours[text], colours[ground]) >= 4.5


@pytest.mark.parametrize("night", [False, True])
def test_the_words_on_a_primary_button_can_be_read(night):
    colours = tokens(night)
    assert contrast(colours["on-hardwood"], colours["hardwood"]) >= 4.5
    assert contrast(colours["on-hardwood"], colours["hardwood-deep"]) >= 4.5


@pytest.mark.parametrize("night", [False, True])
@pytest.mark.parametrize("ground", ["ground", "sheet"])
def test_edges_of_fields_can_be_seen(night, ground):
    colours = tokens(night)
    assert contrast(colours["edge"], colours[ground]) >= 3


def test_night_changes_every_colour():
    assert set(tokens(True)) == set(tokens(False))


def test_colours_are_named_in_one_place():
    """A colour written elsewhere would stay the same at night."""
    allowed = {"tokens.css", "print.css"}
    for path in STYLES.glob("*.css"):
        if path.name not in allowed:
            found = re.findall(r"#[0-9A-Fa-f]{3,8}\b", path.read_text(encoding="utf-8"))
            assert set(found) <= {"#14181f", "#fff"}, path.name


def test_every_style_sheet_is_linked_and_print_comes_last():
    base = (STYLES.parents[1] / "templates" / "base.html").read_text(encoding="utf-8")
    linked = re.findall(r"portal/([\w-]+\.css)", base)
    assert sorted(linked) == sorted(path.name for path in STYLES.glob("*.css"))
    assert linked[-1] == "print.css"
