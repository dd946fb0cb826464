"""Study files: what they say comes out in SI; every mistake is one line with its place and a way out."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wingtool.errors import StudyError
from wingtool.study import bundled_study, checked_study, read_study, study_schema

GOOD = """title = "x"
[wing]
section = "2412"
span = "140 cm"
chord = "25 cm"
height = "1.2 m"
"""


def complaint(tmp_path, text: str) -> str:
    path = tmp_path / "s.toml"
    path.write_text(text)
    with pytest.raises(StudyError) as caught:
        read_study(path)
    message = str(caught.value)
    assert "\n" not in message
    assert "pydantic" not in message
    return message.removeprefix(f"{path}")


def test_si_inside(tmp_path):
    """EXACT: by definition of the inch, the mile and the Celsius scale."""
    path = tmp_path / "s.toml"
    path.write_text(
        GOOD.replace('"140 cm"', '"55 in"')
        + '[air]\ntemperature = "20 degC"\n[sweep]\nspeeds = ["100 mph", "60 mph"]\nangles = "0:3:1"\n'
    )
    study = read_study(path)
    assert study.wing.span_m == pytest.approx(55 * 0.0254, rel=1e-12)
    assert study.air.temperature_k == pytest.approx(293.15)
    assert study.sweep.speeds_m_s == pytest.approx((60 * 0.44704, 100 * 0.44704))
    assert study.sweep.angles_deg == (0.0, 1.0, 2.0, 3.0)
    assert study.folder == tmp_path


@pytest.mark.parametrize(
    ("old", "new", "parts"),
    [
        ("span", "sapn", [", line 4", "wing.sapn", "did you mean wing.span?"]),
        ("span =", "span_m =", [", line 4", "did you mean wing.span?"]),
        ('"140 cm"', "1.4", [", line 4", "wing.span", "1.4 has no unit", '"140 cm"', '"55 in"']),
        ('"140 cm"', '"140"', [", line 4", "has no unit", '"55 in"']),
        ('"140 cm"', '"55 kg"', [", line 4", "is not a length", '"140 cm"']),
        ('"140 cm"', '"nan cm"', [", line 4", "wing.span"]),
        ('"140 cm"', '"-3 cm"', [", line 4", "above 0 and at most 100 m", "check the number"]),
        ('"140 cm"', '"5 km"', [", line 4", "above 0 and at most 100 m"]),
        ('span = "140 cm"\n', "", [", line 2", "wing.span is missing", 'span = "140 cm"']),
        ("[wing]", "[wings]", ["unknown key wings", "did you mean wing?"]),
        ("[wing]", '[[circuit.segment]]\nname = "s"\nlength = "9 mm"\n[wing]', ["line 4", "at least 2 and"]),
        ("[wing]", "[wing", ["line 2"]),
        ("[wing]", "[correction]\ndrag_low = 1.0\n[wing]", [", line 2", "drag_low and drag_high together"]),
        (
            "[wing]",
            "[correction]\ndrag_low = 2\ndrag_high = 3\n[wing]",
            [", line 2", "drag_factor 1 is not between 2 and 3"],
        ),
        ('"1.2 m"', '"1.2 m"\nspan = "1 m"', ["line 7", "second time"]),
        ('"2412"', '""', [", line 3", "wing.section"]),
        ('"1.2 m"', '"1.2 m"\nspeeds = ["9 mph"]', [", line 7", "did you mean sweep.speeds?"]),
        ('"1.2 m"', '"1.2 m"\nsurface = "rough"', [", line 7", "smooth", "race", "dirty"]),
        ('"1.2 m"', '"1.2 m"\n[sweep]\nangles = "0:9"', [", line 8", "FROM:TO:STEP", "-2:16:1"]),
        ('"1.2 m"', '"1.2 m"\n[sweep]\nangles = "0:9:1e-9"', [", line 8", "400"]),
        ('"1.2 m"', '"1.2 m"\n[sweep]\nspeeds = [50]', [", line 8", "speeds[1]", '"160 km/h"']),
        ('"1.2 m"', '"1.2 m"\n[roof]\ninflow = 3', [", line 8", "[[roof.inflow]]"]),
        ('"1.2 m"', '"1.2 m"\n[[roof.inflow]]\nangle_deg = nan\nspan_fraction = 0', [", line 8", "finite"]),
    ],
)
def test_a_mistake_is_one_line_with_its_place_and_a_way_out(tmp_path, old, new, parts):
    message = complaint(tmp_path, GOOD.replace(old, new, 1))
    for part in parts:
        assert part in message


def test_a_study_in_inches_without_speeds_gets_whole_miles_an_hour():
    """EXACT: steps of 20 mph, by the definition of the mile."""
    sizes = {"section": "4412", "span": "55 in", "chord": "9 in", "height": "50 in"}
    speeds = checked_study({"title": "x", "wing": sizes}).sweep.speeds_m_s
    assert [round(speed / 0.44704, 6) for speed in speeds] == [40, 60, 80, 100, 120, 140]


@pytest.mark.parametrize(
    "text", ["", "\0\0", "[[wing]]\n", "wing = 1", "[" * 3000, "a = " + "[" * 3000, "é = 1"]
)
def test_what_is_no_study_is_refused(tmp_path, text):
    assert complaint(tmp_path, text)


def test_missing_folder_and_foreign_files_are_refused(tmp_path):
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(StudyError, match="name a study"):
            read_study(path)
    (tmp_path / "latin.toml").write_bytes(b'title = "caf\xe9"')
    with pytest.raises(StudyError, match="UTF-8"):
        read_study(tmp_path / "latin.toml")
    (tmp_path / "large.toml").write_bytes(b"#" * 1_000_001)
    with pytest.raises(StudyError, match="the most"):
        read_study(tmp_path / "large.toml")


@given(st.text(max_size=300))
def test_any_text_gives_a_study_or_one_line(tmp_path_factory, text):
    path = tmp_path_factory.mktemp("any") / "s.toml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    with pytest.raises(StudyError) as caught:
        read_study(path)
    assert len(str(caught.value).splitlines()) == 1


@given(
    st.dictionaries(
        st.text(max_size=8), st.recursive(st.none() | st.floats() | st.text(), st.lists), max_size=4
    )
)
def test_any_wing_table_gives_a_study_or_one_line(keys):
    with pytest.raises(StudyError):
        checked_study({"wing": keys})


def test_flags_and_files_build_the_same_study(tmp_path):
    path = tmp_path / "s.toml"
    path.write_text(GOOD)
    flagged = read_study(path, {"sweep": {"angles": "0:4:2"}})
    path.write_text(GOOD + '[sweep]\nangles = "0:4:2"\n')
    assert flagged == read_study(path)


def test_the_bundled_studies_read_and_the_schema_takes_them():
    """TWIN: a validator of JSON Schema that is not ours agrees with our reader."""
    import tomllib

    import jsonschema

    schema = study_schema()
    json.dumps(schema)
    for name in ("green_hatch", "green_hatch_plan_b"):
        path = bundled_study(name)
        read_study(path)
        jsonschema.validate(tomllib.loads(path.read_text()), schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"wing": {"sapn": "1 m"}}, schema)


CAR = """
[car]
mass = "1100 kg"
front_share = "53 %"
wheelbase = "2.5 m"
power = "100 kW"
top_speed = "200 kmh"
"""


def test_easier_spellings(tmp_path):
    """EXACT: per cent, degrees and speeds as people write them; back slashes in paths."""
    path = tmp_path / "s.toml"
    windows = GOOD.replace('"2412"', r'"C:\tools\new\my wing.dat"')
    path.write_text(windows + CAR + '[air]\ntemperature = "22 C"\n')
    study = read_study(path)
    assert study.car.front_share == pytest.approx(0.53)
    assert study.car.top_speed_m_s == pytest.approx(200 / 3.6)
    assert study.air.temperature_k == pytest.approx(295.15)
    assert study.wing.section == "C:/tools/new/my wing.dat"


def test_a_share_without_its_per_cent_says_both_ways_to_write_it(tmp_path):
    told = complaint(tmp_path, GOOD + CAR.replace('"53 %"', "58"))
    assert 'front_share: 58 is more than the whole; write 0.58 or "58 %"' in told


def test_a_car_is_written_once_and_shared(tmp_path):
    """EXACT: the study's own keys stand over those of its base, table by table."""
    (tmp_path / "my_car.toml").write_text(CAR + '[wing]\nspan = "1 m"\nsurface = "dirty"\n')
    path = tmp_path / "s.toml"
    path.write_text('base = "my_car.toml"\n' + GOOD + '[car]\nmass = "1200 kg"\n')
    study = read_study(path)
    assert study.car.mass_kg == 1200.0
    assert study.car.wheelbase_m == 2.5
    assert study.wing.span_m == pytest.approx(1.4)
    assert study.wing.surface == "dirty"
    (tmp_path / "my_car.toml").write_text('base = "other.toml"')
    with pytest.raises(StudyError, match="cannot name another"):
        read_study(path)
    (tmp_path / "my_car.toml").unlink()
    with pytest.raises(StudyError, match="no such file"):
        read_study(path)


def test_a_section_drawn_the_other_way_is_turned_over(tmp_path):
    """EXACT: a mirror image about the chord; the plain one has the opposite camber."""
    from wingtool.study.wing.finite_wing import named_section

    path = tmp_path / "s.toml"
    path.write_text(GOOD)
    plain = named_section(read_study(path), "2412")
    path.write_text(GOOD + "flip = true\n")
    turned = named_section(read_study(path), "2412")
    assert turned.xy == pytest.approx((plain.xy * (1.0, -1.0))[::-1])
    assert any("turned over" in text for text in turned.repairs)


def test_the_side_of_a_body_type_stands_for_a_measured_one(tmp_path):
    """EXACT: as long and as high as the study says; three measures or none."""
    path = tmp_path / "s.toml"
    body = '[roof]\nbody = "estate"\nlength = "4.4 m"\nheight = "56 in"\n'
    path.write_text(GOOD + body)
    side = read_study(path).roof.side
    assert max(x for x, _ in side) == pytest.approx(4.4)
    assert max(z for _, z in side) == pytest.approx(56 * 0.0254)
    assert "length and height" in complaint(tmp_path, GOOD + body.replace('height = "56 in"\n', ""))


def test_every_key_is_listed_for_people():
    """TWIN: the JSON Schema's own tables and keys."""
    from wingtool.study import key_lines

    text = "\n".join(key_lines())
    for table in study_schema()["$defs"].values():
        for key in table.get("properties", {}):
            assert f"{key}" in text
    for heading in ("[wing]", "[[wing.element]]", "[[roof.inflow]]", "[car.tyre]", "[[circuit.segment]]"):
        assert heading in text


def test_the_list_of_keys_shows_what_holds_when_one_is_left_out():
    """TWIN: the defaults of the models, in the unit of the key; an example has no mark."""
    from wingtool.study import key_lines

    marked = {tuple(line.split("  ")[0].split()[:2]): line.split() for line in key_lines() if line[:1] == "="}
    assert marked["=", "foot_ahead"][2:] == ['"0', 'm"']
    assert marked["=", "bolt_rows"][2:4] == ['"0.1', 'm"']
    assert marked["=", "nose"][2:4] == ['"0.8', 'm"']
    assert marked["=", "speed_ratio"][2] == "1.0"  # the example's is 0.92
    assert not {("=", "tab"), ("=", "gap"), ("=", "span")} & set(marked)


def test_further_mistakes_are_named(tmp_path):
    told = complaint(tmp_path, GOOD.replace("[wing]", '[wing]\nspam = "1 m"\nchrod = "1 m"'))
    assert "unknown key wing.spam" in told
    assert told.endswith("(and 1 more: wing.chrod)")
