"""What each end use of a dryer costs, by hand: energy by its kilowatt-hours, demand by its share of the peaks."""

from __future__ import annotations

import pytest
from cases import AIR, NEW, PRESENT, case

from energy.study.compare import compare

KWH = 3.6e6
PRICED = {
    "tariffs.electricity": "0.10 USD/kWh",
    "tariffs.electricity_demand": "10 USD/kW/month",
    "tariffs.cooling": None,
}


@pytest.mark.parametrize("factor", [1.0, 1.5])
def test_each_use_pays_for_its_energy_and_its_part_of_the_peak(factor):
    of = case(PRESENT, NEW, AIR, changes={**PRICED, "tariffs.electricity_factor": f"{100 * factor} %"})
    for option in compare(of).options:
        of_year = option.year
        uses = [key for key in of_year.energy if key[1] in ("electricity", "compressed air")]
        assert len(uses) >= 2
        peaks = {key: float(of_year.peak[key].sum()) / 1e3 for key in uses}  # twelve months of kW
        demand = 10.0 * float(of_year.most(("electricity", "compressed air")).sum()) / 1e3
        by_hand = {}
        for key in uses:
            energy = 0.10 * float(of_year.energy[key].sum()) / KWH
            cost = factor * (energy + demand * peaks[key] / sum(peaks.values()))
            by_hand[key[0]] = by_hand.get(key[0], 0.0) + cost
        for use, cost in by_hand.items():
            told = option.cost_by_end_use[use]
            if use == "compressed air":
                told -= option.annual_cost["maintenance"] - float(option.option.maintenance)  # of the compressor
            assert told == pytest.approx(cost, rel=1e-9), (option.name, use)
