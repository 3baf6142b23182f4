"""The form of a description: what is offered, what stands in it, and where its faults are told."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.errors import InputError
from controller.planning.catalogue import built_in
from controller.planning.description import description_of
from controller.planning.examples import EXAMPLES, example
from controller.planning.form_blanks import GROUPS
from controller.planning.sheet_form import UNITS, Fault, FormField, faults_of, form, in_each_unit


def fields(**changes: object) -> dict[str, FormField]:
    """The ash washboard's form, by key."""
    tables = tomllib.loads(example(EXAMPLES[0])) | changes
    return {field.key: field for field in form(tables, built_in())}


# Conversions: exact definitions (1 in = 25.4 mm, 1 oz = 28.349523125 g, 1 ft = 0.3048 m; 1 inHg =
# 3386.389 Pa conventional), rounded to the three digits a person would type.
@pytest.mark.parametrize(
    ("text", "kind", "units"),
    [
        ("7/8 in", "length", ("22.2 mm", "0.875 in")),
        ("20 mm", "length", ("20 mm", "0.787 in")),
        ("1234 mm", "length", ("1234 mm", "48.6 in")),
        ("68 degF", "temperature", ("20 °C", "68 °F")),
        ("-40 C", "temperature", ("-40 °C", "-40 °F")),
        ("1.62 kg", "mass", ("1620 g", "57.1 oz")),
        ("200 g/m2", "coat_weight", ("200 g/m2", "0.655 oz/ft2")),
        ("22 inHg vacuum", "pressure", ("22 inHg vacuum", "74.5 kPa vacuum", "745 mbar vacuum")),
        ("27 kPa abs", "pressure", ("27 kPa abs", "270 mbar abs")),
        ("1016 hPa", "air_pressure", ("1016 hPa", "30 inHg")),
        ("270 m", "altitude", ("270 m", "886 ft")),
        ("0 m", "altitude", ("0 m", "0 ft")),
        ("20", "length", ()),
        ("", "length", ()),
        ("20 mm", "text", ()),
    ],
)
def test_a_typed_value_is_said_in_each_unit_on_offer(text, kind, units):
    assert in_each_unit(text, kind) == units


@given(st.sampled_from(sorted(UNITS)), st.text(max_size=20))
def test_stray_text_is_in_no_unit_or_in_some_that_can_be_typed(kind, text):
    for said in in_each_unit(text, kind):
        assert in_each_unit(said, kind)


@given(st.floats(3, 60))
def test_a_length_survives_the_change_of_unit_and_back_to_half_a_per_cent(thickness):
    _, inches = in_each_unit(f"{thickness} mm", "length")
    millimetres, _ = in_each_unit(inches, "length")
    # three digits twice: half a unit in 100 each time
    assert float(millimetres.split()[0]) == pytest.approx(thickness, rel=0.0101)


def test_choices_come_from_the_catalogue_the_models_words_and_the_boards():
    form_now = fields()
    assert "white ash" in form_now["pieces 1 wood"].choices
    assert form_now["pieces 1 ends"].choices == ("sealed", "bare")
    assert form_now["coats 1 pieces"].choices == ("washboard",)
    assert form_now["coats 1 pieces"].text == "washboard"


def test_what_holds_where_a_blank_is_left_out_is_said():
    form_now = fields(waste=None, shop={})
    assert (form_now["waste"].text, form_now["waste"].without) == ("", "15 %")
    assert form_now["shop room"].without == "20 C"
    assert form_now["shop night_low"].without == "as the room"
    assert form_now["coats 1 bagged"].without == "yes"
    assert form_now["pieces 1 thickness"].without == ""


OWN_WORDS = {blank.key for group in GROUPS for blank in group.blanks if blank.without}


def test_a_default_that_is_named_may_as_well_be_written():
    tables = tomllib.loads(example(EXAMPLES[0]))
    written = []
    for field in form({**tables, "shop": {}, "bench": {}, "times": {}}, built_in()):
        table, _, key = field.key.rpartition(" ")
        if field.without and field.key not in OWN_WORDS and table in ("shop", "bench", "times"):
            description_of({**tables, table: {key: field.without}})
            written.append(field.key)
    assert {"shop room", "shop humidity", "times bedtime", "bench scale"} <= set(written)


@pytest.mark.parametrize("pieces", [None, "x", 3, [], [1, "a", None], {"name": "a"}])
def test_the_form_stands_whatever_is_wrong_with_the_tables(pieces):
    assert "name" in fields(pieces=pieces, shop="x", data_sheet=[1])


def test_a_start_is_as_a_browsers_picker_takes_it():
    for typed in ("2026-05-02 16:00", "2026-05-02T16:00:00"):
        assert fields(times={"start": typed})["times start"].text == "2026-05-02T16:00"
    assert fields(times={"start": "tomorrow"})["times start"].text == "tomorrow"


def test_faults_are_told_at_their_fields_without_the_texts_name():
    tables = tomllib.loads(example(EXAMPLES[0]))
    tables["pieces"][0] |= {"thickness": 'a": b', "width": 3}
    tables["shop"]["room"] = "95 C"
    with pytest.raises(InputError) as refused:
        description_of(tables)
    found = {fault.key: fault.says for fault in faults_of(refused.value, "sheet", tables)}
    assert set(found) == {"pieces 1 thickness", "pieces 1 width", "shop room"}
    assert found["pieces 1 thickness"].startswith("no number")
    assert found["shop room"] == "allowed: 5.0 °C (41 °F) to 30.0 °C (86 °F)"


def test_a_board_called_by_its_name_is_found_by_its_number_and_the_rest_is_of_the_whole():
    tables = {"pieces": [{"name": "door"}, {"name": "sill 2"}]}
    told = faults_of(InputError("pieces sill 2 mass: weigh anew"), "sheet", tables)
    assert told == (Fault("pieces 2 mass", "weigh anew"),)
    told = faults_of(InputError("The shop is too warm"), "sheet", tables)
    assert told == (Fault("", "The shop is too warm"),)


@pytest.mark.parametrize(
    ("coat", "key"),
    [
        ({"thinner_share": "60 %"}, "coats 1 thinner_share"),
        ({"pieces": ["washboard", "shelf"]}, "coats 1 pieces"),
        ({"pieces": ["washboard", "washboard"]}, "coats 1 pieces"),
    ],
)
def test_what_is_wrong_between_a_coat_and_the_rest_is_told_at_the_coats_own_field(coat, key):
    tables = tomllib.loads(example(EXAMPLES[0]))
    tables["coats"][0] |= {"thinner": "ethanol"} | coat
    with pytest.raises(InputError) as refused:
        description_of(tables)
    (fault,) = faults_of(refused.value, "sheet", tables)
    assert fault.key == key
    assert key in {field.key for field in form(tables, built_in())}
