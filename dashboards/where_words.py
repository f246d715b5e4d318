"""What stands behind each column of the tables: title, formula in words, source, and the inputs that feed it."""

from __future__ import annotations

from energy.dryers.heater_and_blower import MOTOR_MARGIN

WORDS: dict[str, tuple[str, str, str]] = {
    "to run": (
        "Running cost a year",
        "Bill with this dryer less bill without any, plus maintenance; at prices of the base year, fixed charges left out. "
        "What decides the energy stands behind electricity, gas and highest load.",
        "The case's tariffs, line by line.",
    ),
    "capital": (
        "Capital",
        "Sum of its lines, each so many units at so much, times what the project is taken to come to over its quotes.",
        "Quotes and estimates of the case; a bigger compressor is added where the option's air needs one.",
    ),
    "payback": (
        "Simple payback, overhauls counted",
        "Years until the savings against the present machine have returned the extra capital for good, earned evenly over each year, "
        "not discounted; replacements spared count at their year's end.",
        "10 CFR 436.23.",
    ),
    "net savings": (
        "Net savings",
        "Life-cycle cost of the present machine less that of this option, less what old peaks still cost in the first year where a ratchet "
        "bills them whichever dryer runs then: the discounted sum of the yearly cash flow.",
        "NIST Handbook 135; ASTM E1074.",
    ),
    "life-cycle cost": (
        "Life-cycle cost",
        "Capital plus all years' running cost and replacements, escalated and discounted to the base date, less incentive and the "
        "value left at the end by years of service remaining. What decides a year stands behind running cost.",
        "ASTM E917; NIST Handbook 135.",
    ),
    "energy": (
        "Energy per resin",
        "Electricity and fuel bought in a year, standby and starts included, over the resin dried in it. Heat handed to cooling water "
        "is priced and not in it.",
        "The dryer's closed heat balance at each operating state; property data with sources in energy/data.",
    ),
    "hopper": (
        "Hopper volume",
        "Throughput that it is built for times residence time, over bulk density of the pellets and usable share of the hopper. "
        "Vacuum vessels and drums: by what a batch or the drum holds.",
        "Balance of volume; of several hoppers the sum.",
    ),
    "air": (
        "Airflow",
        "Throughput that it is built for times air per resin: the resin's usual, but enough to heat resin, water and shell with the "
        "margin below; as volume at the blower's inlet, or free air where compressed.",
        "Heat balance of the hopper, and practice for the resin.",
    ),
    "heater": (
        "Process heater",
        "The whole airflow from hall to drying temperature, and what the hot duct loses, over the heater's efficiency: a start from cold.",
        "Enthalpy of moist air.",
    ),
    "electricity": (
        "Electricity a year",
        "Mean power of every end use in each operating state times the hours of that state, month by month, and what warming up "
        "from cold takes; with the electricity of the compressor for the compressed air used.",
        "The dryer's closed heat balance at each operating state; motors by IEC 60034-30-1.",
    ),
    "gas": (
        "Gas a year",
        "Heat that the burners give in each operating state times its hours, and that of warming up, over the efficiency of the burner; "
        "by higher heating value.",
        "The dryer's closed heat balance at each operating state.",
    ),
    "peak": (
        "Peak power",
        "The end uses added up in the operating state and month in which their sum is greatest, means of 15 minutes. A heater that works on "
        "and off counts in full, a start from cold as well, all dryers at once.",
        "The dryer's closed heat balance at each operating state.",
    ),
    "regeneration": (
        "Regeneration heater",
        "Heat that warms the desiccant with its water and metal and frees the water of a cycle, over what does not leave with exhaust or through "
        "the casing, less what is recovered; over the time of a cycle in which it heats. No margin on top.",
        "Heat balance of a cycle; desiccant data with sources in energy/data.",
    ),
    "blower": (
        "Blower motor",
        f"Airflow that it is built for times the work of compressing it by the pressure drop of filter, ducts, heater, desiccant and pellets, over "
        f"the blower's efficiency; the motor {100 * (MOTOR_MARGIN - 1):.0f} % above that shaft power.",
        "Isentropic compression; pressure drop of the pellets by Ergun's equation; margin: common practice.",
    ),
    "desiccant": (
        "Desiccant",
        "Water to be taken up in one cycle at full throughput and in the dampest hall allowed for, over the share of the equilibrium swing that is "
        "used: one bed, times the number of beds. Of a dryer whose desiccant is stated, and of what is changed of a present one, what is in it.",
        "Balance of water; sorption data of the desiccant with sources in energy/data.",
    ),
    "compressed air": (
        "Compressed air",
        "Air to the hopper over what is left of the compressor's after leaks in the line and what the dryer spends of it; of a vacuum ejector what "
        "it spends per volume taken in. As free air of 1 bar and 20 °C.",
        "Balance of air; reference conditions of ISO 1217.",
    ),
    "saving": (
        "Saving on a line of the bill",
        "This line of the bill with the present dryers less the same line with this option, at prices of the base year.",
        "",
    ),
}
"""Title, formula in words and source, by column."""
_BUILT = r"hoppers\[[^]]*\]\.throughput|OPTION\.(.*\.)?built_for"
_AIR = rf"{_BUILT}|OPTION\..*(air_resin_ratio|air_over_least|airflow$)|resin .*\.air_resin_ratio"
_HEAT = r"hoppers\[[^]]*\]\.drying_temperature|resin .*\.drying_temperature$|site\.(hall|altitude|climate)"
_BED = r"hoppers\[[^]]*\]\.residence_time|OPTION\.(.*\.)?hopper_volume"
_MONEY = (
    r"finance\.(rate$|rate_basis|years|escalation|timing|capital_year|delay|tax)|OPTION\.(capital(_factor|.*amount)$|"
    r"incentive|replacements|life|maintenance)"
)
FEEDS = {
    "to run": r"tariffs\.|compressed_air\.(maintenance|cost)|OPTION\.maintenance",
    "capital": r"OPTION\.capital(_factor|.*amount)$",
    "payback": r"OPTION\.(capital(_factor|.*amount)$|incentive|replacements|maintenance)|finance\.(escalation|delay|timing|capital_year|tax)",
    "net savings": _MONEY,
    "life-cycle cost": _MONEY,
    "energy": rf"{_BUILT}|{_HEAT}|hoppers\[[^]]*\]\.(residence_time|initial_moisture|target_moisture)|calendar\.|"
    r"resin .*\.(air_resin_ratio|specific_heat|initial_moisture|target_moisture)|OPTION\.(inputs|machines(?!.*delivered_dew_point)|central|metered_over_model)",
    "hopper": rf"{_BUILT}|{_BED}|OPTION\..*(usable_share|drum_time|drum_fill)|"
    r"resin .*\.(bulk_density|residence_time)",
    "air": rf"{_AIR}|{_HEAT}|{_BED}",
    "heater": rf"{_AIR}|{_HEAT}|OPTION\..*(heater_efficiency|gas_efficiency|heat_source|duct_length|insulation_thickness)",
    "electricity": rf"{_BUILT}|{_HEAT}|hoppers\[[^]]*\]\.running|{_BED}|calendar\.|resin .*\.air_resin_ratio|"
    r"OPTION\..*(control|standby|efficiency|recovery|arrangement|leak_share|insulation_thickness|regeneration_temperature|exhaust_share|metered_over_model)",
    "gas": rf"{_BUILT}|{_HEAT}|hoppers\[[^]]*\]\.running|calendar\.|OPTION\..*(heat_source|gas_efficiency|metered_over_model)",
    "peak": rf"{_BUILT}|{_HEAT}|{_BED}|OPTION\..*(control|efficiency|heating_share|units|regeneration_temperature|exhaust_share|metered_over_model)|"
    r"calendar\.standby_up_to|resin .*\.air_resin_ratio",
    "regeneration": rf"{_AIR}|site\.(hall|altitude|climate)|OPTION\..*(regeneration_(temperature|control|recovery|heat_source)|heating_share|"
    r"exhaust_share|casing_share|purge_recovery|inert_ratio|cycle_time|desiccant_mass|heater_efficiency|leak_share)",
    "blower": rf"{_AIR}|{_HEAT}|{_BED}|OPTION\..*(circuit_pressure|desiccant_pressure|(?<!regeneration_)blower_efficiency|slenderness|"
    r"usable_share|spare)",
    "desiccant": rf"{_BUILT}|hoppers\[[^]]*\]\.(initial|target)_moisture|OPTION\..*(desiccant$|desiccant_mass|cycle_time|beds|bed_use|"
    r"adsorption_limit|regeneration_temperature|design_hall_dew_point|leak_share)|resin .*\.(air_resin_ratio|(initial|target)_moisture)",
    "compressed air": rf"{_AIR}|compressed_air\.(pressure|pressure_dew_point|line_leak_share)$|OPTION\..*(sweep|ejector_ratio)",
}
"""Paths of the inputs that a column is worked out from."""
