"""Constants of nature, of water and of air, each with its source."""

from __future__ import annotations

GAS_CONSTANT = 8.314462618
"""[J/(mol K)] Source: CODATA 2018."""

ZERO_CELSIUS = 273.15
"""Zero of the Celsius scale. [K]"""

TRIPLE_POINT = 273.16
"""Temperature at which ice, water and vapour meet. [K] Ice below, water from here on."""

MASS_RATIO = 0.621945
"""Molar mass of water over that of dry air. [-] Source: ASHRAE Fundamentals 2017, ch. 1, eq. 20."""

LIQUID_WATER_HEAT_CAPACITY = 4186.0
"""Specific heat of liquid water. [J/(kg K)] Source: IAPWS-95 by CoolProp, 4179 to 4215 from 5 to 99 degC."""
