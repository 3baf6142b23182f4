"""A rig.toml becomes settings, or every fault of it at once."""

import re
import tomllib
import types
import typing
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from controller.errors import InputError
from controller.settings import (
    BAND_TOP_LIMIT,
    TRIP_LIMIT,
    Settings,
    default_settings_text,
    parse_settings,
    read_settings,
)

LEAST = """
[rig]
backend = "simulated"
[shop]
altitude = "900 ft"
time_zone = "Europe/Oslo"
"""


def faults(text: str) -> list[str]:
    with pytest.raises(InputError) as refused:
        parse_settings(text)
    first, *lines = str(refused.value).split("\n")
    assert first == f"rig.toml: {len(lines)} fault" + ("s" if len(lines) > 1 else "")
    return lines


def keys(model: type[BaseModel], place: str = "") -> typing.Iterator[str]:
    for name, field in model.model_fields.items():
        parts = (field.annotation, *typing.get_args(field.annotation))
        below = [p for p in parts if isinstance(p, type) and not isinstance(p, types.GenericAlias)]
        tables = [p for p in below if issubclass(p, BaseModel)]
        if tables:
            yield from keys(tables[0], f"{place}{name}.")
        else:
            yield f"{place}{name}"


def written(tables: dict[str, object], place: str = "") -> typing.Iterator[str]:
    for name, value in tables.items():
        if isinstance(value, dict):
            yield from written(value, f"{place}{name}.")
        else:
            yield f"{place}{name}"


def test_the_example_has_every_key_of_the_settings_and_no_other():
    # a key that is none by default stands there as a comment
    whole = re.sub(r"(?m)^# (?=\w+ = )", "", default_settings_text())
    assert sorted(written(tomllib.loads(whole))) == sorted(keys(Settings))
    parse_settings(whole)


def test_every_key_of_the_example_is_explained_and_every_quantity_has_its_unit():
    for line in default_settings_text().splitlines():
        assert not re.match(r"\w+ = ", line) or "# " in line, line
        assert not re.match(r'\w+ = "[0-9]+(\.[0-9]+)?"', line), line


def test_the_example_is_a_whole_pretended_rig():
    settings = parse_settings(default_settings_text())
    assert settings.rig.backend == "simulated"
    assert (settings.lamp.wired, settings.pump.wired, settings.gauge.wired) == ("wired",) * 3
    assert settings.probes.face is not None


def test_the_values_the_example_calls_default_are_the_defaults():
    example, least = parse_settings(default_settings_text()), parse_settings(LEAST)
    table = key = ""
    checked = 0
    for line in default_settings_text().splitlines():
        if line.startswith("["):
            table = line.strip("[]")
        elif found := re.match(r"(\w+) = ", line):
            key = found[1]
        if "(default)" in line and table != "probes.face":
            checked += 1
            mine, theirs = (getattr(each, table) for each in (example, least))
            assert getattr(mine, key) == getattr(theirs, key), (table, key)
    assert checked >= 15


def test_a_file_with_the_least_in_it_has_nothing_wired():
    settings = parse_settings(LEAST)
    assert settings.shop.altitude == pytest.approx(274.32)
    assert (settings.lamp.wired, settings.pump.wired, settings.gauge.wired) == ("by hand",) * 3
    assert (settings.lamp.gpio, settings.probes.face) == (None, None)
    assert settings.rig.close_watch
    assert settings.pump.ultimate_absolute() == pytest.approx(101325.0 - 25 * 3386.389)
    assert settings.heat.coat_low == pytest.approx(305.15)
    assert settings.page.host == "127.0.0.1"


def test_a_shop_has_a_catalogue_of_its_own_only_where_it_is_told():
    assert parse_settings(LEAST).shop.catalogue is None
    told = parse_settings(LEAST + 'catalogue = "/etc/warmdraw/catalogue"\n').shop.catalogue
    assert told == Path("/etc/warmdraw/catalogue")
    assert faults(LEAST + 'catalogue = "catalogue"\n') == [
        'rig.toml: shop.catalogue = "catalogue": allowed: a folder as text that begins with /'
    ]


def test_the_pump_has_a_speed_only_where_it_is_told():
    assert parse_settings(LEAST).pump.speed is None
    told = parse_settings(LEAST + "[pump]\nspeed = '10 L/min'").pump.speed
    assert told == pytest.approx(10e-3 / 60)  # 1 L is 1e-3 m3
    assert faults(LEAST + "[pump]\nspeed = '10 L/h'\n") == [
        "rig.toml: pump.speed = \"10 L/h\": 'L/h' is no unit of flow; "
        "say e.g. '60 L/min' or '1.5 cfm'"
    ]
    assert faults(LEAST + "[pump]\nspeed = '900 L/min'\n") == [
        'rig.toml: pump.speed = "900 L/min": allowed: 0.5 L/min to 500 L/min'
    ]


# A rig.toml written before a converter could be named must still be read.
def test_a_gauge_needs_no_converter_until_a_rig_is_real():
    points = "low_volts = '0 V'\nlow_pressure = '0 kPa abs'\n"
    points += "high_volts = '10 V'\nhigh_pressure = '100 kPa abs'"
    gauge = parse_settings(LEAST + f"[gauge]\nwired = 'wired'\n{points}").gauge
    assert (gauge.adc, gauge.output, gauge.channel, gauge.divider) == (None, "ratiometric", 0, 1.0)
    assert parse_settings(LEAST).barometer.wired == "absent"


def test_a_current_is_read_over_its_resistor():
    text = "[gauge]\nadc = 'ads1115'\noutput = 'current'\n"
    for written in ("150 ohm", "150.0 Ω", "150ohm"):
        gauge = parse_settings(LEAST + f"{text}resistor = '{written}'").gauge
        assert gauge.resistor == 150.0
        # 21 mA, a gauge that says it is broken, over 150 ohm
        assert gauge.most() == pytest.approx(3.15)


# Each bad file, with its lines; L10 is the lamp's line, H02 the degrees, H04 the comma.
@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("", [
            "rig.backend: missing; e.g. backend = \"simulated\"",
            "shop.altitude: missing; e.g. altitude = \"3 m\"",
            "shop.time_zone: missing; e.g. time_zone = \"America/New_York\"",
        ]),
        (LEAST.replace("simulated", "pi"), [
            "rig.backend = \"pi\": allowed: 'simulated', 'mock' or 'raspberry'",
        ]),
        (LEAST.replace("Europe/Oslo", "Oslo"), [
            "shop.time_zone = \"Oslo\": no such time zone; say e.g. 'Europe/Oslo'",
        ]),
        (LEAST.replace('"900 ft"', "900"), [
            "shop.altitude = 900: write it as text with its unit; say e.g. '270 m' or '900 ft'",
        ]),
        (LEAST + "[lamp]\nwired = 'wired'\n[pump]\nwired = 'on'", [
            "lamp.gpio: needed where wired = 'wired'",
            "pump.wired = \"on\": allowed: 'wired', 'by hand' or 'absent'",
        ]),
        (LEAST + "[lamp]\ngpio = 17\npower = '1,5 W'\n[pump]\ngpio = 17\nmin_off = '0 s'", [
            "lamp.power = \"1,5 W\": say '1.5 W' or '15 W'",
            "pump.min_off = \"0 s\": allowed: 1 s to 10 min",
            "pump.gpio = 17: allowed: another than lamp.gpio",
        ]),
        (LEAST + "[lamp]\ngpio = 17\n[pump]\ngpio = 17", [
            "pump.gpio = 17: allowed: another than lamp.gpio",
        ]),
        (LEAST + "[heat]\nband_top_limit = '120 C'\ntrip = '141 degF'", [
            "heat.band_top_limit = \"120 C\": allowed: 15.0 °C (59 °F) to 50.0 °C (122 °F)",
            "heat.trip = \"141 degF\": allowed: 15.0 °C (59 °F) to 60.0 °C (140 °F)",
        ]),
        (LEAST + "[heat]\ncoat_low = '100 F'\ncoat_high = '90 F'\ntrip = '45 C'", [
            "heat.trip = \"45 C\": allowed: above band_top_limit, 50.0 °C (122 °F)",
            "heat.coat_high = \"90 F\": allowed: above coat_low, 37.8 °C (100 °F)",
        ]),
        (LEAST + "[heat]\nband_top_limit = '36 C'", [
            "heat.coat_high = \"38 C\": allowed: at most band_top_limit, 36.0 °C (97 °F)",
        ]),
        (LEAST + "[bag]\ntarget = '22 inHg'\nhold_band = '3 inHg vacuum'", [
            "bag.target = \"22 inHg\": say '22 inHg vacuum' (26.8 kPa abs at sea level) or "
            "'22 inHg abs' (74.5 kPa abs)",
            "bag.hold_band = \"3 inHg vacuum\": 'inHg vacuum' is no unit of pressure difference; "
            "say e.g. '3 inHg' or '10 kPa'",
        ]),
        (LEAST + "[bag]\ntarget = '22 mbar vacuum'", [
            "bag.target = \"22 mbar vacuum\": allowed: 5 kPa abs to 90 kPa abs, "
            "or 3.3 inHg vacuum to 28.4 inHg vacuum",
        ]),
        (LEAST + "[gauge]\nwired = 'wired'\nlow_volts = '1 V'\nlow_pressure = '0 kPa abs'\n"
         "high_volts = '1 V'\nhigh_pressure = '28 inHg vacuum'", [
            "gauge.high_volts = \"1 V\": allowed: at least 0.1 V above low_volts",
            "gauge.high_pressure = \"28 inHg vacuum\": allowed: a pressure marked abs, "
            "like low_pressure",
        ]),
        (LEAST + "[gauge]\nlow_pressure = '5 kPa abs'\nhigh_pressure = '50 mbar abs'", [
            "gauge.high_pressure = \"50 mbar abs\": allowed: another pressure than low_pressure",
        ]),
        (LEAST + "[gauge]\nlow_volts = '0 V'\nadc = 'mcp3008'\nchannel = 8\nresistor = 150", [
            "gauge.output = \"ratiometric\": allowed: with low_volts and high_volts from 0.4 V to "
            "4.8 V, where such a gauge lives",
            "gauge.resistor = 150: allowed: 1 ohm to 1000 ohm, as text like '150 ohm'",
            "gauge.channel = 8: allowed: less than or equal to 7",
        ]),
        (LEAST + "[gauge]\nadc = 'ads1115'\nchannel = 4\noutput = 'current'", [
            "gauge.resistor: needed where output = 'current'",
            "gauge.channel = 4: allowed: 0 to 3 on an ads1115",
        ]),
        (LEAST + "[gauge]\nhigh_volts = '4.5 V'\nadc = 'ads1115'\noutput = 'current'\n"
         "resistor = '150 ohm'\nsupply_channel = 1", [
            "gauge.resistor = \"150 ohm\": allowed: with low_volts and high_volts from 0.54 V to "
            "3.15 V, where such a gauge lives",
            "gauge.supply_channel = 1: allowed: none where output = 'current', which no supply "
            "moves",
        ]),
        (LEAST + "[gauge]\nadc = 'mcp3008'\nsupply_channel = 0", [
            "gauge.supply_channel = 0: allowed: another than channel",
        ]),
        (LEAST + "[gauge]\nadc = 'mcp3008'", [
            "gauge.divider = 1.0: allowed: at most 0.68 here, so that 4.8 V stays under the "
            "mcp3008's 3.28 V",
        ]),
        (LEAST + "[gauge]\nadc = 'mcp3008'\nsupply_channel = 1\ndivider = 0.66", [
            "gauge.divider = 0.66: allowed: at most 0.62 here, so that 5.25 V stays under the "
            "mcp3008's 3.28 V",
        ]),
        (LEAST + "[lamp]\ngpio = 10\n[gauge]\nadc = 'mcp3008'\ndivider = 0.5", [
            "lamp.gpio = 10: allowed: another than 9, 10 and 11, the mcp3008's",
        ]),
        (LEAST + "[barometer]\nwired = 'by hand'\naddress = 0x76", [
            "barometer.wired = \"by hand\": allowed: 'wired' or 'absent'",
            "barometer.address = 118: allowed: '0x76' or '0x77'",
        ]),
        (LEAST + "[probes]\nface = 1\nfilm = {id = '28-0'}\nback = {id = '28-0000000000ba'}\n"
         "room = {id = '28-0000000000ba', lag = '2 s'}", [
            "probes.face = 1: allowed: a table, [probes.face]",
            "probes.room.lag: no such key; known here: id",
            "probes.film.id = \"28-0\": allowed: 28- and twelve of 0-9 and a-f",
            "probes.room.id = 28-0000000000ba: allowed: another than probes.back.id",
        ]),
        (LEAST + "[page]\nport = 8420.0\nallowed_hosts = ['a b']\nhsot = 'x'\n[lights]", [
            "page.port = 8420.0: allowed: a whole number",
            "page.allowed_hosts.0 = \"a b\": allowed: a host's name or address",
            "page.hsot: no such key; did you mean host?",
            "lights: no such key; known here: rig, shop, lamp, probes, pump, gauge, barometer, "
            "infrared, panel, sense, heat, bag, page",
        ]),
        (LEAST.replace("[shop]", "close_watch = 1\nstate_folder = 'here'\nname = ''\n[shop]"), [
            "rig.name = \"\": allowed: 1 to 60 characters on one line",
            "rig.state_folder = \"here\": allowed: a folder as text that begins with /",
            "rig.close_watch = 1: allowed: true or false",
        ]),
    ],
)  # fmt: skip
def test_every_fault_of_a_file_has_its_line(text, lines):
    assert faults(text) == [f"rig.toml: {line}" for line in lines]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[rig]\nbackend = simulated", "rig.toml line 2: not TOML: Invalid value"),
        ("[rig]\n\nname = 'a", "rig.toml line 3: not TOML: "),
        ("x = " + "[" * 5000, "rig.toml line 1: not TOML: "),
        ("x = " + "9" * 5000, "rig.toml line 1: not TOML: "),
    ],
)
def test_a_slip_in_the_toml_is_one_line_with_its_number(text, line):
    (only,) = faults(text)
    assert only.startswith(line)


@pytest.mark.parametrize("line", [*range(-1, 9), 14, 15, 28, 40])
def test_no_output_sits_on_a_line_that_is_up_at_boot(line):
    assert faults(LEAST + f"[lamp]\ngpio = {line}") == [
        f"rig.toml: lamp.gpio = {line}: allowed: a BCM number from 9 to 27, but not 14 or 15"
    ]


# H02: every temperature setting, both degrees, up to and over its limit.
@pytest.mark.parametrize("key", ["band_top_limit", "trip", "coat_low", "coat_high"])
@given(tenths=st.integers(0, 3000), unit=st.sampled_from(["C", "°C", "degF", "F", "K"]))
def test_no_setting_raises_the_band_or_the_trip(key, tenths, unit):
    try:
        heat = parse_settings(LEAST + f"[heat]\n{key} = '{tenths / 10} {unit}'").heat
    except InputError as refused:
        assert f"heat.{key}" in str(refused) or "heat.coat_high" in str(refused)
    else:
        assert heat.coat_low < heat.coat_high <= heat.band_top_limit <= BAND_TOP_LIMIT
        assert heat.band_top_limit < heat.trip <= TRIP_LIMIT


def test_the_limits_are_50_and_60_degrees_and_can_be_reached():
    assert (BAND_TOP_LIMIT - 273.15, TRIP_LIMIT - 273.15) == pytest.approx((50.0, 60.0))
    heat = parse_settings(LEAST + "[heat]\nband_top_limit = '122 F'\ntrip = '140 F'").heat
    assert (heat.band_top_limit, heat.trip) == (BAND_TOP_LIMIT, TRIP_LIMIT)


def test_settings_cannot_be_changed_once_read():
    settings = parse_settings(LEAST)
    with pytest.raises(ValidationError, match="frozen"):
        settings.heat.trip = 400.0


# D18: a file cut at any byte, as a failing card would leave it.
def test_a_file_cut_at_any_byte_is_settings_or_refused(tmp_path: Path):
    # without its comments: a cut inside one is a cut before it
    text = re.sub(r"(?m) *# .*$\n?", "\n", default_settings_text())
    whole, path, good = re.sub(r"\n+", "\n", text).encode(), tmp_path / "rig.toml", 0
    for end in range(len(whole)):
        path.write_bytes(whole[:end])
        try:
            good += isinstance(read_settings(path), Settings)
        except InputError as refused:
            first, *lines = str(refused).split("\n")
            assert first.startswith(f"{path}: ") and lines
    assert 0 < good < len(whole)


@given(st.binary(max_size=60))
def test_stray_bytes_in_a_file_are_settings_or_refused(tmp_path_factory, stray):
    path = tmp_path_factory.mktemp("rig") / "rig.toml"
    path.write_bytes(LEAST.encode() + stray)
    try:
        assert isinstance(read_settings(path), Settings)
    except InputError as refused:
        assert str(path) in str(refused)


def test_a_file_that_is_not_there_says_what_to_copy(tmp_path: Path):
    with pytest.raises(InputError, match=r"No such file.*rig\.example\.toml"):
        read_settings(tmp_path / "rig.toml")


def test_a_file_that_is_not_utf8_says_the_line(tmp_path: Path):
    path = tmp_path / "rig.toml"
    path.write_bytes(LEAST.encode() + b"# 35 \xb0C")
    with pytest.raises(InputError, match="line 7: not UTF-8"):
        read_settings(path)
