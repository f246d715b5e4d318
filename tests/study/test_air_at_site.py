"""A nameplate's volume of air where the site is high: told what it is taken for, and taken as written where its pressure stands with it."""

from __future__ import annotations

import pytest
from cases import HOT, NEW, PRESENT, case

from energy.reports.plant_notes import plant_notes
from energy.study.compare import compare


def told(altitude: str, airflow: str, of: str = PRESENT, **more: object):
    """What is said of the airflow of an option, and what air it then has. [kg/s]"""
    place = f"options['{of}'].airflow"
    made = compare(case(PRESENT, NEW, HOT, changes={"site.altitude": altitude, place: airflow, **more}))
    option = next(one for one in made.options if one.option.name == of)
    said = [note.text for note in plant_notes(made, option) if note.check == "airflow at the site"]
    return said, float(option.option.airflow)


def test_a_volume_at_20_degc_high_above_the_sea_is_told_for_what_it_is_taken():
    # ASHRAE's standard atmosphere has 84.56 kPa at 1,500 m; 320 m3/h at 1.2041 kg/m3 are 385 kg/h.
    [said], flow = told("1500 m", "320 m3/h at 20 degC")
    assert said == (
        "Its airflow of 320 m3/h at 20 degC is taken at 1013 mbar(a), the pressure at sea level: 385 kg/h of air. The site has "
        "846 mbar(a), where a blower that draws this volume moves 17 % less: if that is meant, write 320 m3/h at 20 degC and 846 mbar(a)."
    )
    # Followed, it is told no more, and there is that much less air.
    written = said.rpartition("write ")[2].removesuffix(".")
    nothing, less = told("1500 m", written)
    assert nothing == []
    assert less / flow == pytest.approx(84.56 / 101.325, rel=1e-3)


@pytest.mark.parametrize(
    ("altitude", "airflow"),
    [
        ("120 m", "320 m3/h at 20 degC"),  # 1.4 %
        ("1500 m", "300 Nm3/h"),
        ("1500 m", "300 m3/h at 0 degC"),
        ("1500 m", "390 kg/h"),
        ("1500 m", "320 m3/h FAD"),
    ],
)
def test_where_nothing_else_can_be_meant_or_the_site_is_low_nothing_is_told(altitude, airflow):
    assert told(altitude, airflow)[0] == []


def test_an_option_that_states_no_airflow_has_nothing_to_be_told():
    made = compare(case(PRESENT, NEW, changes={"site.altitude": "1500 m"}))
    assert not [n for option in made.options for n in plant_notes(made, option) if n.check == "airflow at the site"]


def test_below_the_sea_there_is_more_of_it():
    assert "moves 5 % more" in told("-400 m", "320 m3/h at 20 degC")[0][0]
