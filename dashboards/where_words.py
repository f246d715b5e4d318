"""What stands behind each column of the tables: title, formula in words, source, and the inputs that feed it."""

from __future__ import annotations

from energy.dryers.heater_and_blower import MOTOR_MARGIN

WORDS: dict[str, tuple[str, str, str]] = {
    "to run": (
        "Running cost a year",
        "Bill with this dryer less bill without any, plus maintenance; at prices of the base year, fixed charges left out.",
        "The case's tariffs, line by line.",
    ),
    "capital": (
        "Capital",
        "Sum of its lines, each so many units at so much, times what the project is taken to come to over its quotes.",
        "Quotes and estimates of the case; a bigger compressor is added where the option's air needs one.",
    ),
    "payback": (
        "Simple payback",
        "Years until the savings against the present machine have returned the extra capital for good, earned evenly over each year, "
        "not discounted; replacements spared count at their year's end.",
        "10 CFR 436.23.",
    ),
    "net savings": (
        "Net savings",
        "Life-cycle cost of the present machine less that of this option: the discounted sum of the yearly cash flow.",
        "NIST Handbook 135; ASTM E1074.",
    ),
    "life-cycle cost": (
        "Life-cycle cost",
        "Capital plus all years' running cost and replacements, escalated and discounted to the base date, less incentive and the "
        "value left at the end.",
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
        "used: one bed, times the number of beds.",
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
FEEDS = {
    "to run": r"tariffs\.(coincidence|power_factor|electricity_factor)|OPTION\.maintenance",
    "capital": r"OPTION\.capital|compressed_air\.capital",
    "payback": r"OPTION\.(capital|incentive|replacements|maintenance)|finance\.(escalation|delay|timing)|tariffs",
    "net savings": r"finance\.|OPTION\.(capital|incentive|replacements|life|maintenance)",
    "life-cycle cost": r"finance\.|OPTION\.(capital|incentive|replacements|life|maintenance)",
    "energy": r"hoppers\[.*\.(throughput|drying_temperature|initial_moisture)|OPTION\.(inputs|machines|central)|site\.",
    "hopper": r"hoppers\[.*\.(throughput|residence_time)|OPTION\..*(built_for|hopper_volume|usable_share)|resin .*\.(bulk_density|residence_time)",
    "air": r"hoppers\[.*\.throughput|OPTION\..*(built_for|air_resin_ratio|air_over_least)|resin .*\.air_resin_ratio",
    "heater": r"hoppers\[.*\.drying_temperature|OPTION\..*(heater_efficiency|gas_efficiency|heat_source|duct_length)|site\.|"
    r"resin .*\.drying_temperature",
    "electricity": r"hoppers\[[^]]*\]\.(throughput|running)|calendar\.|OPTION\..*(control|standby|efficiency|recovery|arrangement)|site\.",
    "gas": r"hoppers\[[^]]*\]\.(throughput|running|drying_temperature)|calendar\.|OPTION\..*(heat_source|gas_efficiency)",
    "peak": r"hoppers\[[^]]*\]\.(throughput|drying_temperature)|OPTION\..*(control|efficiency|heating_share|units)|calendar\.standby_up_to",
    "regeneration": r"OPTION\..*(regeneration_(temperature|control|recovery|heat_source)|heating_share|exhaust_share|casing_share|purge_recovery|"
    r"inert_ratio|cycle_time)",
    "blower": r"hoppers\[[^]]*\]\.throughput|OPTION\..*(circuit_pressure|desiccant_pressure|(?<!regeneration_)blower_efficiency|built_for|slenderness|spare)",
    "desiccant": r"hoppers\[[^]]*\]\.(throughput|initial_moisture|target_moisture)|OPTION\..*(desiccant$|cycle_time|beds|bed_use|adsorption_limit|"
    r"regeneration_temperature|design_hall_dew_point|leak_share)",
    "compressed air": r"hoppers\[[^]]*\]\.throughput|compressed_air\.(pressure|pressure_dew_point|line_leak_share)$|"
    r"OPTION\..*(air_over_least|air_resin_ratio|sweep|ejector_ratio)|resin .*\.air_resin_ratio",
}
"""Paths of the inputs that a column is worked out from."""
