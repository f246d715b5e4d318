"""How the dryers' power comes onto the billed demand, as the comparison says it."""

from __future__ import annotations

import energy
from dashboards.tables import options
from energy.reports.comparison_text import to_text
from energy.reports.tables import demand_counted
from energy.study.compare import compare


def _on_readings():
    day = " ".join(str(180 + 25 * min(hour, 24 - hour)) for hour in range(24))
    held = {"start": "2026-01-01T00:00:00-06:00", "step": "60 min", "power": [day] * 365}
    return energy.load_case("demo").with_({"plant_load": {"readings": held, "zone": "Etc/GMT+6"}})


def test_on_interval_readings_mean_powers_are_laid_over_them():
    case = _on_readings().with_({"tariffs.coincidence": "60 %"})
    said = demand_counted(case)
    assert (
        "mean power in each operating state, starts from cold too, is laid over the plant's readings interval by interval"
        in said
    )
    assert (
        "further above that mean than that of the present dryers, 60 % of the difference is added in that state, "
        "and where it stands less far above it, taken off" in said
    )
    made = compare(case)
    assert said in to_text(made, "si")
    assert said.replace("'", "&#x27;") in options(made, "si")
    for text in (to_text(made, "si"), options(made, "si")):
        assert "the billing peak" not in text
        assert "counts in full" not in text


def test_without_readings_the_highest_power_counts_with_its_share():
    case = energy.load_case("demo")
    assert demand_counted(case) == (
        "the highest power of the dryers in each operating state, starts from cold too, comes onto the billed demand, 100 % of it; a desiccant bed "
        "loaded at one level of throughput is regenerated while the next has begun, so that the peak of a dryer with beds may be above that of each level"
    )
    hours = energy.load_case("one-machine")
    assert not hours.model.calendar.shifts
    assert "starts from cold" not in demand_counted(hours)
