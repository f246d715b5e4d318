"""Tables of twelve months, as text and as TOML."""

from __future__ import annotations

import calendar
from contextlib import suppress

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from energy.errors import CaseError, EnergyError
from energy.tariffs.readers import read_monthly_table

NAMES = [calendar.month_name[m] for m in range(1, 13)]


@pytest.fixture
def read(tmp_path):
    def reading_of(text, name="plant.csv", **options):
        file = tmp_path / name
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_monthly_table(file, **options)

    return reading_of


def refusal(read, text, name="plant.csv"):
    with pytest.raises(CaseError) as error:
        read(text, name)
    lines = str(error.value).splitlines()
    assert all(f"{name}: " in line for line in lines)
    return "\n".join(line.partition(f"{name}: ")[2] for line in lines)


def csv(months=range(1, 13), head="month,kWh,kW", row="{m},{e},{p}"):
    return head + "\n" + "".join(row.format(m=m, e=1000 * i, p=100 + i) + "\n" for i, m in enumerate(months, 1))


def toml(months=range(1, 13), more=""):
    return "".join(
        f"[[months]]\nmonth = {m!r}\nkWh = {1000 * i}\nkW = {100 + i}.5\n{more}" for i, m in enumerate(months, 1)
    )


@pytest.mark.parametrize(
    "text",
    [
        csv(),
        csv(NAMES),
        csv([name[:3].upper() for name in NAMES]),
        csv([f"{name[:3]}-2026" for name in NAMES]),
        csv([f"2026-{m:02d}" for m in range(1, 13)], "Billing period;Energy (kWh);Peak (kW)", "{m};{e};{p},0"),
        csv(head="kW\tMonth\tMWh", row="{p}\t{m}\t{e}e-3"),
    ],
)
def test_twelve_months_in_text(read, text):
    table = read(text)
    assert table.energy == pytest.approx([1000 * m * 3.6e6 for m in range(1, 13)])
    assert table.peak.tolist() == [(100 + m) * 1e3 for m in range(1, 13)]
    assert table.reactive is None
    assert table.notes == ()


def test_a_table_that_starts_in_july(read):
    months = [f"{2025 + m // 12}-{m % 12 + 1:02d}" for m in range(6, 18)]
    table = read(csv(months, "month,kWh,kW,kVAr", "{m},{e},{p},5{p}"))
    assert table.energy[[6, 5]] == pytest.approx([3.6e9, 12 * 3.6e9])  # July stands first, June last
    assert table.year == (2026,) * 6 + (2025,) * 6
    assert table.reactive[6] == pytest.approx(5101e3)


def test_toml(read):
    table = read(toml(more="kVAr = 50\n"), "plant.toml")
    assert table.energy == pytest.approx([1000 * m * 3.6e6 for m in range(1, 13)])
    assert table.peak == pytest.approx([(100.5 + m) * 1e3 for m in range(1, 13)])
    assert table.reactive.tolist() == [50e3] * 12
    assert read(toml(NAMES), "plant.toml").reactive is None


def test_more_energy_than_the_peak_could_give_is_said(read):
    # 1000 kWh in January at 1.3 kW is 769 h, more than the 744 of the month; 12,000 kWh in December at 20 kW is 600 h.
    table = read(csv(row="{m},{e},20").replace("1,1000,20", "1,1000,1.3"))
    assert table.notes == (
        "in January the energy is more than the peak could give all month; check the units and columns",
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is empty"),
        (csv(range(1, 11)), "November, December missing; each of the twelve months is needed"),
        (csv([*range(1, 12), 11]), "line 13: November stands a second time, first in line 12; give twelve months"),
        (csv([*range(1, 12), 13]), "line 13: '13' is not a month; write the month as 2026-01, 1 or January"),
        (csv(head="month,kWh,peak"), "line 1: no column names kW; the columns are 'month', 'kWh', 'peak'"),
        (csv(head="month,kWh,MWh"), "line 1: two columns hold energy"),
        (csv().replace("5,5000,105", "5,5000,"), "line 6: has no kW; each month needs one"),
        (csv().replace("5,5000,105", "5,-5000,105"), "line 6: energy is negative"),
        (csv().replace("5,5000,105", "5,lots,105"), "line 6: kWh 'lots' is not a number"),
        (
            csv(head="a,kWh,kW", row="x,{e},{p}"),
            "no column holds a month in every row; name it with the header 'month'",
        ),
        (csv(head="month;kWh;kW", row="{m};{m}.000;{p}").replace("10;10", "10;9"), "may be 1 or 1000; say decimal="),
    ],
)
def test_what_is_refused_in_text(read, text, message):
    assert message in refusal(read, text)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "write each month under [[months]], with month, kWh, kW"),
        ("months = 3", "write each month under [[months]]"),
        ("months = [1, 2]", "write each month under [[months]]"),
        ("[[month]]\n", "there is no such key as 'month'"),
        ("months = ", "cannot be read as TOML: invalid value (at end of document)"),
        (b"\xff\xfe", "is not text in UTF-8"),
        ("x = " + "[" * 100_000, "is larger than 100 kB"),
        ("x = " + "[" * 50_000, "is nested too deeply"),
        (toml(range(1, 12)), "December missing"),
        (toml([*range(1, 12), 1]), "months, number 12: January stands a second time, first in months, number 1"),
        (toml([*range(1, 12), 0]), "months, number 12.month: is not a month"),
        (toml([*range(1, 12), True]).replace("True", "true"), "months, number 12.month: is not a month"),
        (toml(more="kw = 3\n"), "months, number 1.kw: there is no such key; did you mean 'kW'?; allowed are month"),
        (toml().replace("kWh = 3000\n", ""), "months, number 3.kWh: is missing"),
        (toml().replace("kWh = 3000\n", "kWh = '3000'\n"), "months, number 3.kWh: '3000' is not a number"),
        (toml().replace("kWh = 3000\n", "kWh = nan\n"), "months, number 3.kWh: is not a finite number"),
        (toml().replace("kWh = 3000\n", f"kWh = {'9' * 400}\n"), "months, number 3.kWh: is not a finite number"),
        (toml().replace("kWh = 3000\n", "kWh = -1\n"), "months, number 3: energy is negative"),
        (toml() + "kVAr = 5\n", "kVAr is missing in January, February"),
    ],
)
def test_what_is_refused_in_toml(read, text, message):
    assert message in refusal(read, text, "plant.toml")


@given(
    st.sampled_from([("plant.csv", csv(NAMES)), ("plant.toml", toml())]),
    st.lists(
        st.tuples(
            st.integers(0, 500),
            st.integers(0, 12),
            st.sampled_from(["", ",", ";", "\n", '"', "9" * 30, "-", "=", "\x00", "é"]),
        ),
        min_size=1,
        max_size=4,
    ),
)
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_damaged_file_gives_an_error_in_words(read, file, damage):
    name, text = file
    for place, length, piece in damage:
        text = text[:place] + piece + text[place + length :]
    with suppress(EnergyError):  # any other error fails
        table = read(text, name)
        assert (table.energy >= 0).all()
        assert table.peak.shape == (12,)
