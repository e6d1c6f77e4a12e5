"""The families of arrays a study can choose: complete rows, today's defaults first, published power per mass."""

from __future__ import annotations

import pytest

from tradespace.constants import GRADES, value
from tradespace.tables import read_table
from tradespace.units import conversion, to_si

FAMILIES = read_table("options/array_family.csv").rows
QUANTITIES = {row["name"]: row for row in read_table("quantities.csv").rows}


def test_each_family_sets_the_same_quantities_with_range_and_source() -> None:
    names = [row["option"] for row in FAMILIES]
    assert names[0] == "flexible_blanket"
    wanted = {row["quantity"] for row in FAMILIES}
    sources = {row["key"] for row in read_table("sources.csv").rows}
    for family in set(names):
        assert {row["quantity"] for row in FAMILIES if row["option"] == family} == wanted
    for row in FAMILIES:
        quantity = QUANTITIES[row["quantity"]]
        conversion(row["unit"], quantity["unit"])
        assert float(row["low"]) <= float(row["value"]) <= float(row["high"])
        assert float(quantity["low"]) <= float(row["low"])
        assert float(row["high"]) <= float(quantity["high"])
        assert row["grade"] in GRADES
        assert row["source"] in sources
        assert row["where"]
        assert row["description"]


def test_first_family_is_the_default_of_every_quantity() -> None:
    for row in FAMILIES:
        if row["option"] == "flexible_blanket":
            default = QUANTITIES[row["quantity"]]
            for ours, theirs in (("value", "default"), ("low", "default_low"), ("high", "default_high")):
                assert float(row[ours]) == float(default[theirs]), row["quantity"]


def test_families_lie_in_the_published_bands_of_power_per_mass() -> None:
    """150 W/kg for flexible blankets, 50 to 100 W/kg for rigid panels, at 1 au and the stated efficiency."""
    found: dict[str, dict[str, float]] = {row["option"]: {} for row in FAMILIES}
    for row in FAMILIES:
        found[row["option"]][row["quantity"]] = to_si(float(row["value"]), row["unit"])
    sun = value("solar_constant")
    specific = {name: sun * f["array_efficiency"] / f["array_areal_mass"] for name, f in found.items()}
    assert specific["flexible_blanket"] == pytest.approx(150.0, rel=0.01)
    assert 50.0 < specific["rigid_panel"] < 100.0
    assert 50.0 < specific["low_intensity_cells"] < 100.0
    assert specific["silicon"] < specific["rigid_panel"] < specific["body_mounted"]
