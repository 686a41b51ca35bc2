import pytest

from devplans.stats.court import ZONES, zone
from devplans.stats.court_lines import COURTS
from devplans.stats.court_places import zone_places


@pytest.mark.parametrize("rules", sorted(COURTS))
def test_each_zone_of_the_half_court_has_a_place_of_its_own(rules):
    places = zone_places(rules)
    names = [place.name for place in places]
    assert [zone(p.x_mm, p.y_mm, rules=rules).name for p in places] == names
    here = [name for name in ZONES if name not in {"backcourt", "out"}]
    if COURTS[rules].no_charge is None:
        here.remove("restricted")
    assert names == here


def test_an_unknown_rule_set_has_no_places():
    with pytest.raises(ValueError, match="no court"):
        zone_places("streetball")
