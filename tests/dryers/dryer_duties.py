"""A duty of one hopper and a run of one dryer on it."""

from __future__ import annotations

import numpy as np

from energy import dryers
from energy.dryers.base import CompressedAir, Duty
from energy.resins.properties import load_resin


def duty(resin="PC", design=90.0, load=1.0, **changes):
    r = load_resin(resin) if isinstance(resin, str) else resin
    given = {
        "resin": r,
        "throughput": np.array(design * load / 3600),
        "design_throughput": np.array(design / 3600),
        "drying_temperature": np.array(r.drying_temperature),
        "residence_time": np.array(r.residence_time),
        "resin_temperature": np.array(295.15),
        "initial_moisture": np.array(r.initial_moisture),
        "final_moisture": np.array(r.target_moisture),
        "hall_temperature": np.array(295.15),
        "hall_dew_point": np.array(283.15),
        "pressure": np.array(101325.0),
        "coolant_temperature": np.array(291.15),
        "compressed_air": CompressedAir(
            pressure=np.array(8e5),
            pressure_dew_point=np.array(276.15),
            marginal_power=np.array(4e5),
            line_leak_share=np.array(0.05),
        ),
    }
    return Duty(**{**given, **changes})


def run(kind, given, **inputs):
    module = dryers.TYPES[kind]
    return module.Dryer(module.Inputs(**inputs)).run(given)
