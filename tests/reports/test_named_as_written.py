"""What a case names is called so: a resin of its own, the months of its climate."""

from __future__ import annotations

import cases
import pytest

from energy.reports.answer import sentences
from energy.reports.comparison_json import to_dict
from energy.reports.comparison_text import to_text
from energy.reports.document import rendered
from energy.reports.document.after import REGISTER, assumptions
from energy.reports.document.baseline import scope
from energy.reports.document.proposal import proposal
from energy.reports.document.records import Table
from energy.study.compare import compare

pytestmark = pytest.mark.xdist_group("document")
OWN = f"{cases.HOPPER}.own_resin"


def _with(own, **changes):
    return compare(cases.case(cases.PRESENT, cases.NEW, changes={OWN: own, **changes}))


def test_a_resin_of_ones_own_is_called_by_its_name():
    made = _with({"name": "PC-HT", "specific_heat": "1.3 kJ/(kg K)"})
    assert "PC-HT (own values over PC) at 90 kg/h" in to_text(made, "si")
    assert "for PC-HT (own values over PC)" in " ".join(sentences(made))
    told = to_dict(made)
    assert told["resins"] == ["PC-HT"]
    assert (told["hoppers"][0]["resin"], told["hoppers"][0]["stored_resin"]) == ("PC-HT", "PC")
    limits = next(b for b in scope(proposal(made)) if isinstance(b, Table))
    assert limits.rows[0][1] == "PC-HT (own values over PC)"
    assert "PC-HT at Machine 7" in rendered(made, ".html").decode()


def test_without_a_name_of_its_own_it_is_the_stored_resin():
    for own in ({"specific_heat": "1.3 kJ/(kg K)"}, {"name": " ", "specific_heat": "1.3 kJ/(kg K)"}, {"name": "PC"}):
        made = _with(own)
        assert "PC (own values) at 90 kg/h" in to_text(made, "si")
        assert to_dict(made)["resins"] == ["PC"]
    assert "PC at 90 kg/h" in to_text(_with(None), "si")


MONTHS = [
    {"month": m, "outdoor_temperature": f"{10 + abs(7 - m)} degC", "outdoor_dew_point": "2 degC"} for m in range(1, 13)
]


def test_the_months_of_a_climate_are_named_and_none_is_merged():
    air = {"site.hall_temperature": None, "site.hall_dew_point": None, "site.months": MONTHS}
    made = compare(cases.case(cases.PRESENT, cases.NEW, changes=air))
    rows = [row for b in assumptions(proposal(made)) if isinstance(b, Table) and b.head == REGISTER for row in b.rows]
    found = {row[0].partition(":")[0]: row for row in rows if "outdoor" in row[0].lower()}
    assert next(iter(found)) == "January"
    assert len(found) == 12
    # Six degrees above those of July in January, five in February and December.
    assert found["January"][:3] == ("January: outdoor temperature, outdoor dew point", "16 °C, 2 °C", "given")
    assert found["February"][1] == found["December"][1] == "15 °C, 2 °C"
    measured = [{**MONTHS[0], "outdoor_temperature": {"value": "16 degC", "basis": "measured"}}, *MONTHS[1:]]
    made = compare(cases.case(cases.PRESENT, cases.NEW, changes=air | {"site.months": measured}))
    rows = [row for b in assumptions(proposal(made)) if isinstance(b, Table) and b.head == REGISTER for row in b.rows]
    assert [row[0] for row in rows if row[0].startswith("January")] == [
        "January: outdoor temperature",
        "January: outdoor dew point",
    ]
