"""The comparison as a pandas table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from energy.units import to_unit

if TYPE_CHECKING:
    import pandas as pd

    from energy.study.compare import Comparison


def frame(comparison: Comparison) -> pd.DataFrame:
    """One row per option, in the order of the case; units stand in the column names."""
    import pandas as pd

    money = comparison.case.currency
    rows = []
    for o in comparison.options:
        m = o.measures
        rows.append(
            {
                "option": o.name,
                "type": o.option.type,
                "baseline": o.option.baseline,
                "dries": o.verdict.overall,
                "specific energy [Wh/kg]": to_unit(o.specific_energy, "specific energy", "Wh/kg"),
                "minimum [Wh/kg]": to_unit(o.minimum_energy, "specific energy", "Wh/kg"),
                "electricity [kWh/year]": to_unit(o.carrier("electricity"), "energy", "kWh"),
                "compressed-air electricity [kWh/year]": to_unit(o.carrier("compressed air"), "energy", "kWh"),
                "gas [kWh/year]": to_unit(o.carrier("gas"), "energy", "kWh"),
                "cooling heat [kWh/year]": to_unit(o.carrier("cooling"), "energy", "kWh"),
                "peak [kW]": o.peak / 1e3,
                "CO2 [kg/year]": o.emissions,
                f"running cost [{money}/year]": o.total_cost,
                f"capital [{money}]": o.capital,
                f"life-cycle cost [{money}]": o.life_cycle_cost,
                f"net savings [{money}]": np.nan if m is None else m.npv,
                "simple payback [year]": np.nan if m is None else m.payback,
                "capital over saving [year]": np.nan if m is None else m.capital_over_saving,
                "discounted payback [year]": np.nan if m is None else m.discounted_payback,
                "internal rate of return [1]": np.nan if m is None else m.irr,
            }
        )
    return pd.DataFrame(rows)
