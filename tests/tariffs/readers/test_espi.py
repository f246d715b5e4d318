"""ESPI files: small feeds with the traps of the published samples, and files that must be refused."""

from __future__ import annotations

import calendar
from contextlib import suppress
from datetime import datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from energy.errors import CaseError, EnergyError, OutOfRangeError
from energy.tariffs.readers import read_espi
from energy.tariffs.readers.espi_clock import daylight_rule

SAMPLES = {"where": "B3, sample files and totals", "quoted": "computed from the sample files in the reference table"}
KWH = 3.6e6
US_CLOCK = """<LocalTimeParameters><dstEndRule>B40E2000</dstEndRule><dstOffset>3600</dstOffset>
<dstStartRule>360E2000</dstStartRule><tzOffset>{}</tzOffset></LocalTimeParameters>"""
ELECTRIC = "<UsagePoint><ServiceCategory><kind>0</kind></ServiceCategory></UsagePoint>"


def at(text: str) -> int:
    return int(datetime.fromisoformat(text).timestamp())


def kind(uom=72, multiplier=0, more="<accumulationBehaviour>4</accumulationBehaviour>"):
    power = f"<powerOfTenMultiplier>{multiplier}</powerOfTenMultiplier>"
    return f"<ReadingType>{more}{power}<uom>{uom}</uom></ReadingType>"


def reading(start, duration, value, more=""):
    period = f"<timePeriod><duration>{duration}</duration><start>{start}</start></timePeriod>"
    return f"<IntervalReading>{more}{period}<value>{value}</value></IntervalReading>\n"


def block(*readings):
    return f"<IntervalBlock><interval><duration>1</duration><start>5</start></interval>\n{''.join(readings)}</IntervalBlock>"


def entry(content, *links):
    listed = "".join(f'<link rel="{rel}" href="{href}"/>' for rel, href in links)
    return f"<entry>{listed}<content>{content}</content></entry>\n"


def feed(*entries):
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<feed xmlns="urn:feed">\n{"".join(entries)}</feed>\n'


def hours(first, values, step=3600):
    return [reading(at(first) + i * step, step, value) for i, value in enumerate(values)]


@pytest.fixture
def read(tmp_path):
    def reading_of(text, **options):
        file = tmp_path / "plant.xml"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_espi(file, **options)

    return reading_of


def refusal(read, text):
    with pytest.raises(CaseError) as error:
        read(text)
    lines = str(error.value).splitlines()
    assert all("plant.xml: " in line for line in lines)
    return "\n".join(line.partition("plant.xml: ")[2] for line in lines)


# ---------------------------------------------------------------------------------------------- daylight saving rules


@pytest.mark.published("NAESB REQ.21 ESPI, DstRuleType", where="B3, dst rule", quoted="360E2000, B40E2000, FFFFFFFF")
def test_daylight_rules():
    start, end = daylight_rule("360E2000"), daylight_rule("b40e2000")
    assert (start.month, start.operator, start.weekday, start.seconds) == (3, 3, 7, 7200)  # second Sunday
    assert (end.month, end.operator, end.weekday, end.seconds) == (11, 2, 7, 7200)  # first Sunday
    assert start.moment(2020) == datetime(2020, 3, 8, 2)
    assert daylight_rule("FFFFFFFF") is None


def nth_sunday(year, month, n):
    return [week[6] for week in calendar.monthcalendar(year, month) if week[6]][n]


@pytest.mark.parametrize("year", range(2007, 2050))
def test_daylight_rules_year_by_year(year):
    assert daylight_rule("360E2000").moment(year) == datetime(year, 3, nth_sunday(year, 3, 1), 2)
    assert daylight_rule("B40E2000").moment(year) == datetime(year, 11, nth_sunday(year, 11, 0), 2)
    last = (10 << 28) | (7 << 25) | (7 << 17) | (3 << 12)  # last Sunday of October, 03:00
    assert daylight_rule(f"{last:08X}").moment(year) == datetime(year, 10, nth_sunday(year, 10, -1), 3)
    after = (3 << 28) | (1 << 25) | (8 << 20) | (7 << 17) | (2 << 12)  # Sunday on or after 8 March
    assert daylight_rule(f"{after:08X}").moment(year) == daylight_rule("360E2000").moment(year)
    day = (12 << 28) | (31 << 20) | (1 << 12) | 1800  # 31 December, 01:30
    assert daylight_rule(f"{day:08X}").moment(year) == datetime(year, 12, 31, 1, 30)


@pytest.mark.parametrize(
    "text", ["", "360E200", "360E2000F", "G60E2000", "D60E2000", "00000000", "36002000", "0x360E20"]
)
def test_what_is_no_daylight_rule(text):
    with pytest.raises(OutOfRangeError, match="daylight saving rule"):
        daylight_rule(text)


def test_a_day_that_a_month_has_not():
    fifth = (2 << 28) | (6 << 25) | (7 << 17) | (2 << 12)  # fifth Sunday of February
    assert daylight_rule(f"{fifth:08X}").moment(2032) == datetime(2032, 2, 29, 2)
    with pytest.raises(OutOfRangeError, match="2026-02 has no day"):
        daylight_rule(f"{fifth:08X}").moment(2026)


# -------------------------------------------------------------------------------------- the traps of the sample files


@pytest.mark.published("ESPI sample files", **SAMPLES)
def test_a_feed_without_usage_point_and_with_gaps(read):
    # As in the year of 8727 hours: eight hours missing from 2011-02-09 00Z, the repeated hour 2011-11-06 09Z missing.
    before, after = hours("2011-02-08T22:00Z", [385, 365]), hours("2011-02-09T08:00Z", [0, 425])
    autumn = hours("2011-11-06T08:00Z", [5180]) + hours("2011-11-06T10:00Z", [500])
    [series] = read(feed(entry(kind()), entry(block(*before, *after)), entry(block(*autumn))))
    assert series.total / KWH == pytest.approx(6.855)  # 385 + 365 + 0 + 425 + 5180 + 500 Wh
    assert series.power.max() == pytest.approx(5180)
    assert [(series.show(a), series.show(b)) for a, b in series.gaps] == [
        ("2011-02-09T00:00Z", "2011-02-09T08:00Z"),
        ("2011-02-09T10:00Z", "2011-11-06T08:00Z"),
        ("2011-11-06T09:00Z", "2011-11-06T10:00Z"),
    ]
    assert series.zone is None
    assert "the file does not say its local clock" in series.notes
    assert series.commodity == "electricity"


@pytest.mark.published("ESPI sample files", **SAMPLES)
def test_days_of_23_and_25_hours(read):
    # 2013-03-10 has 82,800 s and 2013-11-03 has 90,000 s in New York.
    spring = [(at("2013-03-09T05:00Z"), 86400), (at("2013-03-10T05:00Z"), 82800), (at("2013-03-11T04:00Z"), 86400)]
    autumn = [(at("2013-11-02T04:00Z"), 86400), (at("2013-11-03T04:00Z"), 90000), (at("2013-11-04T05:00Z"), 86400)]
    days = [block(*(reading(start, length, 1000) for start, length in part)) for part in (autumn, spring)]
    [series] = read(feed(entry(ELECTRIC), entry(kind(multiplier=3)), entry(US_CLOCK.format(-18000)), *map(entry, days)))
    assert series.zone == "America/New_York"
    assert [str(day)[11:] for day in series.local()] == ["00:00:00"] * 6
    assert len(series.gaps) == 1  # the summer between, no hour at the clock changes
    assert series.monthly(2013, with_gaps=True)[[2, 10]] / KWH == pytest.approx([3000, 3000])


@pytest.mark.published("ESPI sample files", **SAMPLES)
def test_a_gas_feed_with_everything_wrong(read):
    # Five bills of 140.0 therm together, multiplier -3; +18000 for New York; start with a fraction; an empty kind.
    bills, start = [], at("2023-05-01T04:00Z")
    for value, days in ((12000, 29), (15000, 30), (20000, 32), (43000, 29), (50000, 30)):
        bills.append(block(reading(f"{start}.16136", days * 86400, value, "<cost>2806000</cost>")))
        start += days * 86400
    usage = "<UsagePoint><ServiceCategory><kind/></ServiceCategory></UsagePoint>"
    [series] = read(feed(entry(usage), entry("".join(bills)), entry(kind(169, -3)), entry(US_CLOCK.format(18000))))
    assert series.total == pytest.approx(140.0 * 1.0550558526e8, rel=1e-9)
    assert series.gaps == ()
    assert series.zone == "America/New_York"
    assert series.commodity == "gas"
    assert series.notes == (
        "5 readings start at a fraction of a second; rounded to the second",
        "5 readings carry a cost, 140.30 of a currency not named in all (the first in line 5); it is not used, "
        "a bill follows from the tariff",
        "the local clock is taken as America/New_York, whose offset and rules the file has; its tzOffset +18000 has the wrong sign",
        "the file does not say what is supplied; by its unit, gas",
    )
    with pytest.raises(CaseError, match="runs across the end of a month"):
        series.monthly(2023)


@pytest.mark.published("ESPI sample files", **SAMPLES)
def test_costs_and_summaries_are_named_with_their_place(read):
    # The hourly file: 216 readings of 22.05567 USD together, in 1e-5 of the currency; a summary with the bill of 22.08.
    costs = [10_000] * 215 + [2_205_567 - 2_150_000]
    rows = [reading(at("2013-06-01T04:00Z") + 3600 * i, 3600, 1, f"<cost>{c}</cost>") for i, c in enumerate(costs)]
    summary = "<UsageSummary><billLastPeriod>2208000</billLastPeriod></UsageSummary>"
    currency = kind(more="<currency>840</currency>")
    [series] = read(feed(entry(ELECTRIC), entry(currency), entry(block(*rows)), entry(summary)))
    assert series.total == pytest.approx(216 * 3600)
    assert series.notes[:2] == (
        "216 readings carry a cost, 22.06 USD in all (the first in line 6); it is not used, a bill follows from the tariff",
        "1 usage summaries are not used (the first in line 223); lay their bills beside the one worked out",
    )
    assert "line 6: cost 'x' cannot be used" in refusal(
        read, feed(entry(ELECTRIC), entry(currency), entry(block(reading(0, 900, 1, "<cost>x</cost>"))))
    )


@pytest.mark.published("ESPI sample files", **SAMPLES)
def test_quarter_hours_across_the_clock_change_with_qualities(read):
    marks = [
        "<ReadingQuality><quality>8</quality></ReadingQuality>",
        "<ReadingQuality><quality>7</quality></ReadingQuality>",
    ]
    start = at("2012-03-11T06:30Z")
    parts = [reading(start + 900 * i, 900, 1660, marks[i] if i < 2 else "") for i in range(4)]
    [series] = read(feed(entry(ELECTRIC), entry(kind()), entry(US_CLOCK.format(-18000)), entry(block(*parts))))
    assert series.power.tolist() == [6640.0] * 4  # 1660 Wh in a quarter of an hour
    assert [str(t)[11:16] for t in series.local()] == ["01:30", "01:45", "03:00", "03:15"]
    assert series.notes[:2] == (
        "1 readings in the file are marked edited",
        "1 readings in the file are marked estimated",
    )


@pytest.mark.parametrize(
    ("uom", "total", "counted"),
    [
        (72, 1000 * 3600, "energy"),
        (38, 1000 * 900, "energy"),
        (61, 1000 * 900, "apparent energy"),
        (63, 1000 * 900, "reactive energy"),
        (71, 1000 * 3600, "apparent energy"),
        (73, 1000 * 3600, "reactive energy"),
        (132, 1000 * 1055.05585262, "energy"),
        (169, 1000 * 1.05505585262e8, "energy"),
        (42, 1000, "volume"),
        (119, 1000 * 0.3048**3, "volume"),
        (128, 1000 * 231 * 0.0254**3, "volume"),
    ],
)
def test_units(read, uom, total, counted):
    [series] = read(feed(entry(kind(uom)), entry(block(reading(900, 900, 1000)))))
    assert series.total == pytest.approx(total, rel=1e-9)
    assert series.counted == counted


# -------------------------------------------------------------------------------------------- meters, links and clocks


def two_meters(*, links=True, first=None, second=None):
    def linked(*pairs):
        return pairs if links else ()

    return feed(
        entry(ELECTRIC),
        entry("<MeterReading/>", *linked(("self", "u/M/1"), ("related", "u/M/1/IntervalBlock"), ("related", "T/1"))),
        entry("<MeterReading/>", *linked(("self", "u/M/2"), ("related", "u/M/2/IntervalBlock"), ("related", "T/2"))),
        entry(first or kind(72), *linked(("self", "T/1"))),
        entry(second or kind(73), *linked(("self", "T/2"))),
        entry(block(reading(0, 900, 4)), *linked(("self", "u/M/1/IntervalBlock/7"), ("up", "u/M/1/IntervalBlock"))),
        entry(block(reading(0, 900, 3)), *linked(("self", "u/M/2/IntervalBlock/8"))),
        entry(block(reading(900, 900, 5)), *linked(("up", "u/M/1/IntervalBlock"))),
    )


def test_meter_readings_are_told_apart_by_their_links(read):
    real, reactive = read(two_meters())
    assert (real.counted, real.total) == ("energy", 9 * 3600)
    assert (reactive.counted, reactive.total) == ("reactive energy", 3 * 3600)
    assert "no link says which of 2 ReadingTypes" in refusal(read, two_meters(links=False))


def test_what_flows_back_is_a_series_of_its_own(read):
    _, back = read(two_meters(second=kind(72, more="<flowDirection>19</flowDirection>")))
    assert "this is what flows back to the supplier (flowDirection 19)" in back.notes


def test_prefixes_and_missing_durations(read):
    text = feed(entry(kind(more="<intervalLength>900</intervalLength>")), entry(block(reading(0, 900, 8))))
    text = text.replace("<duration>900</duration>", "")
    for name in ("feed", "entry", "content", "IntervalBlock", "IntervalReading", "value", "uom"):
        text = text.replace(f"<{name}", f"<ns:{name}").replace(f"</{name}", f"</ns:{name}")
    [series] = read(text)
    assert (series.total, series.step.tolist()) == (8 * 3600, [900])


def test_blocks_out_of_order_are_sorted_and_blanks_are_gaps(read):
    [series] = read(feed(entry(kind()), entry(block(reading(1800, 900, 2), reading(900, 900, ""), reading(0, 900, 1)))))
    assert series.start.tolist() == [0, 1800]
    assert series.gaps == ((900, 1800),)
    assert "1 readings have no value and count as gaps" in series.notes


@pytest.mark.parametrize(
    ("clock", "zone", "note"),
    [
        (US_CLOCK.format(-28800), "America/Los_Angeles", "America/Los_Angeles, whose offset"),
        (US_CLOCK.format(-21600), "America/Chicago", "America/Chicago"),
        (US_CLOCK.format(-12600), "America/St_Johns", "America/St_Johns"),
        (US_CLOCK.format(0), None, "no time zone is known"),
        (US_CLOCK.format(10**20), None, "cannot be used"),
        (US_CLOCK.format("east"), None, "not a number"),
        (US_CLOCK.format(-18000).replace("360E2000", "360E"), None, "eight hexadecimal digits"),
        (US_CLOCK.format(-18000).replace("360E2000", "FFFFFFFF"), None, "one daylight saving rule, not two"),
        ("<LocalTimeParameters><tzOffset>-25200</tzOffset></LocalTimeParameters>", "Etc/GMT+7", "UTC-7 h all year"),
        ("<LocalTimeParameters><tzOffset>0</tzOffset></LocalTimeParameters>", "UTC", "UTC+0 h"),
        (US_CLOCK.format(-18000) + US_CLOCK.format(-21600), None, "more than one local clock"),
    ],
)
def test_the_local_clock_of_a_file(read, clock, zone, note):
    text = feed(entry(kind()), entry(clock), entry(block(reading(at("2026-05-01T05:00Z"), 900, 1))))
    [series] = read(text)
    assert series.zone == zone
    assert any(note in line for line in series.notes)
    [told] = read(text, zone="America/Phoenix")
    assert told.zone == "America/Phoenix"
    assert any("are those of" in line for line in told.notes) == (zone is not None)


# ------------------------------------------------------------------------------------------------- what is refused


def test_a_bomb_is_not_lit(read):
    entities = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 10))
    bomb = f'<?xml version="1.0"?>\n<!DOCTYPE feed [<!ENTITY a0 "lol">{entities}]>\n<feed>&a9;</feed>'
    assert refusal(read, bomb).startswith("line 2: has a document type")
    fetch = '<!DOCTYPE feed SYSTEM "file:///etc/passwd"><feed/>'
    assert refusal(read, fetch).startswith("line 1: has a document type")
    assert "has a document type" in refusal(read, bomb.replace('"1.0"', '"1.0" encoding="utf-16"').encode("utf-16"))
    assert "undefined entity" in refusal(read, "<feed>&a9;</feed>")


def test_a_large_file_is_refused_unread(tmp_path):
    file = tmp_path / "plant.xml"
    with file.open("wb") as stream:
        stream.truncate(200_000_000)
    with pytest.raises(CaseError, match="has 200 MB; at most 50 MB are read"):
        read_espi(file)


def test_depth_and_length_are_bounded(read):
    assert "more than 60 deep" in refusal(read, "<a>" * 100_000)
    long = feed(entry(kind()), entry(block(reading(0, 900, "1" * 300_000))))
    assert "value is longer than 200 characters" in refusal(read, long)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "line 1: cannot be read as XML: no element found"),
        ("month,kWh\n1,2\n", "line 1: cannot be read as XML"),
        ("<feed>\n<entry>\n</feed>", "line 3: cannot be read as XML: mismatched tag"),
        ("<feed/>", "holds no IntervalReading"),
        ('<?xml version="1.0" encoding="klingon"?><feed/>', "encoding that is not known"),
        ('<?xml version="1.0" encoding="shift_jis"?><feed/>', "encoding that is not known"),
        (feed(entry(block(reading(0, 900, 1)))), "line 4: these readings have no ReadingType"),
        (feed(entry("<ReadingType/>"), entry(block(reading(0, 900, 1)))), "line 3: the ReadingType has no uom"),
        (feed(entry(kind(5)), entry(block(reading(0, 900, 1)))), "the unit uom '5' is not known; read are 38 W"),
        (feed(entry(kind(72, "big")), entry(block(reading(0, 900, 1)))), "powerOfTenMultiplier 'big' cannot be used"),
        (feed(entry(kind(72, 99)), entry(block(reading(0, 900, 1)))), "powerOfTenMultiplier '99' cannot be used"),
        (
            feed(
                entry(kind(more="<accumulationBehaviour>3</accumulationBehaviour>")), entry(block(reading(0, 900, 1)))
            ),
            "a meter's dial",
        ),
        (
            feed(entry(kind(38, more="<dataQualifier>8</dataQualifier>")), entry(block(reading(0, 900, 1)))),
            "highest or lowest",
        ),
        (feed(entry(kind()), entry(block(reading("", 900, 1)))), "line 5: has no start"),
        (
            feed(entry(kind()), entry(block(reading("now", 900, 1)))),
            "start 'now' cannot be used; start is seconds since",
        ),
        (feed(entry(kind()), entry(block(reading(1772955900000, 900, 1)))), "start '1772955900000' cannot be used"),
        (feed(entry(kind()), entry(block(reading(0, 0, 1)))), "duration '0' cannot be used"),
        (feed(entry(kind()), entry(block(reading(0, 900, "1e9")))), "value '1e9' cannot be used"),
        (feed(entry(kind()), entry(block(reading(0, 900, "nan")))), "value 'nan' cannot be used"),
        (
            feed(entry(kind()), entry(block(reading(0, 900, 1).replace("<duration>900</duration>", "")))),
            "has no duration, and its type has no intervalLength",
        ),
        (
            feed(entry(kind()), entry(block(reading(0, 900, 1).replace("<value>", "<value>7</value><value>")))),
            "value stands twice",
        ),
    ],
)
def test_what_is_refused(read, text, message):
    assert message in refusal(read, text)


def test_overlaps_and_duplicates_are_named(read):
    text = feed(entry(kind()), entry(block(reading(0, 900, 1), reading(900, 900, 1), reading(900, 900, 1))))
    assert (
        refusal(read, text)
        == "line 7: the reading from 1970-01-01T00:15:00Z stands a second time; it is already in line 6"
    )
    text = feed(entry(kind()), entry(block(reading(0, 900, 1), reading(600, 900, 1))))
    assert refusal(read, text) == "line 6: the reading from 1970-01-01T00:10:00Z overlaps the reading of line 5"
    many = refusal(read, feed(entry(kind()), entry(block(*[reading(0, 900, 1)] * 500))))
    assert len(many.splitlines()) == 21
    assert many.endswith("there may be more; reading stopped after 20 problems")


def test_no_file(tmp_path):
    with pytest.raises(CaseError, match="there is no such file"):
        read_espi(tmp_path / "none.xml")
    with pytest.raises(CaseError, match="is a folder"):
        read_espi(tmp_path)
    (tmp_path / "plant.xml").write_text(feed(entry(kind()), entry(block(reading(0, 900, 1)))))
    with pytest.raises(CaseError, match=r"plant\.xml: zone: 'Nowhere' is not a time zone"):
        read_espi(tmp_path / "plant.xml", zone="Nowhere")


GOOD = two_meters().replace("</feed>", entry(US_CLOCK.format(-18000)) + "</feed>")
PIECES = st.sampled_from(
    ["", "0", "-", "9" * 20, "<value>", "</entry>", "&", "NaN", "\x00", "<!DOCTYPE a>", "FFFFFFFF", "1e3"]
)


@given(st.lists(st.tuples(st.integers(0, len(GOOD)), st.integers(0, 12), PIECES), min_size=1, max_size=4))
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_damaged_file_gives_an_error_in_words(read, damage):
    text = GOOD
    for place, length, piece in damage:
        text = text[:place] + piece + text[place + length :]
    with suppress(EnergyError):  # any other error fails
        for series in read(text):
            assert abs(series.total) < 1e30
            for minutes in (15, 60):
                series.windows(minutes)
            series.monthly(1970)


@given(st.sets(st.integers(0, 95), max_size=90), st.randoms())
@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_removed_readings_are_gaps_and_never_filled(read, removed, shuffle):
    kept = sorted(set(range(96)) - removed)
    parts = [reading(900 * i, 900, i + 1) for i in kept]
    shuffle.shuffle(parts)
    [series] = read(feed(entry(kind()), *(entry(block(part)) for part in parts)))
    assert series.total == pytest.approx(3600 * sum(i + 1 for i in kept))
    inside = {i for i in removed if kept[0] < i < kept[-1]}
    assert {i for a, b in series.gaps for i in range(a // 900, b // 900)} == inside
