import pytest

from energy.reports.print_signs import pretty


@pytest.mark.parametrize(
    ("plain", "printed"),
    [
        ("a dew point of -41.4 degC", "a dew point of −41.4 °C"),
        ("-40 to -20 degF", "−40 to −20 °F"),
        ("(-41.4 degC)", "(−41.4 °C)"),
        ("3 delta_degC", "3 °C"),
        ("187 m3/h through 2 m2, 10 ft3 and 4 ft2", "187 m³/h through 2 m², 10 ft³ and 4 ft²"),
        ("2.1e-09 m2/s", "2.1×10⁻⁹ m²/s"),
        ("2026-11-28, item 3-2, PA66-GF30, EN-1, --draws 4096", "2026-11-28, item 3-2, PA66-GF30, EN-1, --draws 4096"),
        ("Nm3 and degCx stay", "Nm3 and degCx stay"),
        ("−5 °C stays", "−5 °C stays"),
    ],
)
def test_signs_of_print(plain, printed):
    assert pretty(plain) == printed
    assert pretty(printed) == printed
