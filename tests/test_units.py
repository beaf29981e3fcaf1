"""The quantity grammar: what it reads, what it refuses and how, and its factors against an independent library."""

import math
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simcal import units
from simcal.units import KINDS, TABLE, UnitError, parse, parse_range, unit_names

KIND_OF = {kind.dimension: name for name, kind in KINDS.items()}


def refused(text, kind):
    with pytest.raises(UnitError) as caught:
        parse(text, kind)
    return f"{caught.value.found}; {caught.value.right}"


# --- what is read ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "value", "sd", "shape", "reference"),
    [
        ("20 bar gauge", "pressure", 2e6, 0.0, "exact", "gauge"),
        ("1013.2 hPa abs", "pressure", 101320.0, 0.0, "exact", "absolute"),
        ("-1 bar gauge", "pressure", -1e5, 0.0, "exact", "gauge"),
        ("100 cm3 +- 5 %", "volume", 1e-4, 5e-6, "normal", None),
        ("100cm3+-5%", "volume", 1e-4, 5e-6, "normal", None),
        ("100 cm³ ± 5 %(k=2)", "volume", 1e-4, 2.5e-6, "normal", None),
        ("100 cm3 +/- 5 cm3 (limits)", "volume", 1e-4, 5e-6 / math.sqrt(3.0), "uniform", None),
        ("20 bar abs +- 10 mbar (k = 2)", "pressure", 2e6, 500.0, "normal", "absolute"),
        ("20 degC +- 0.5 K", "temperature", 293.15, 0.5, "normal", None),
        ("20 °C", "temperature", 293.15, 0.0, "exact", None),
        ("68 degF", "temperature", 293.15, 0.0, "exact", None),
        ("0.3 K", "temperature_difference", 0.3, 0.0, "exact", None),
        ("1 degF", "temperature_difference", 5.0 / 9.0, 0.0, "exact", None),
        ("30s", "time", 30.0, 0.0, "exact", None),
        ("1e-10m3/(s Pa)", "conductance_iso", 1e-10, 0.0, "exact", None),
        ("1 dm3/(s.bar)", "conductance_iso", 1e-8, 0.0, "exact", None),
        ("10 W/(m²·K)", "film", 10.0, 0.0, "exact", None),
        ("0.3 K/h", "rate_temperature", 0.3 / 3600.0, 0.0, "exact", None),
        ("50 Pa/min", "rate_pressure", 50.0 / 60.0, 0.0, "exact", None),
        ("0.025 %", "share", 2.5e-4, 0.0, "exact", None),
        ("200 ppm +- 20 ppm", "share", 2e-4, 2e-5, "normal", None),
        ("0.02 % +- 20 ppm(k=2)", "share", 2e-4, 1e-5, "normal", None),
        ("0.3 +- 0.02", "ratio", 0.3, 0.02, "normal", None),
        ("5 µm", "length", 5e-6, 0.0, "exact", None),
        ("−3 m", "length", -3.0, 0.0, "exact", None),
        ("+1.5E2 mm", "length", 0.15, 0.0, "exact", None),
        ("1e-9 1/Pa", "compliance", 1e-9, 0.0, "exact", None),
        ("2 m3/h", "kv", 2.0, 0.0, "exact", None),
        ("3 mm +- 0 mm", "length", 3e-3, 0.0, "exact", None),
        ("0.2sccm(0degC)", "flow_amount", 1.4871678e-7, 0.0, "exact", None),
        ("1e-4 Pa.m3/s", "flow_amount", 4.102758e-8, 0.0, "exact", None),
    ],
)
def test_a_quantity_is_read(text, kind, value, sd, shape, reference):
    found = parse(text, kind)
    assert found.value == pytest.approx(value, rel=1e-7)
    assert found.sd == pytest.approx(sd, rel=1e-12)
    assert (found.shape, found.reference) == (shape, reference)


@pytest.mark.parametrize(
    ("text", "kind", "low", "high", "reference"),
    [
        ("-1..5 bar gauge", "pressure", -1e5, 5e5, "gauge"),
        ("10 mbar..5 bar abs", "pressure", 1e3, 5e5, "absolute"),
        ("10cm3..1L", "volume", 1e-5, 1e-3, None),
        ("0.5..3.5 mm", "length", 5e-4, 3.5e-3, None),
        ("0..50 %", "share", 0.0, 0.5, None),
        ("0..1", "ratio", 0.0, 1.0, None),
        ("250 K..330 K", "temperature", 250.0, 330.0, None),
        ("20..30 degC", "temperature", 293.15, 303.15, None),
    ],
)
def test_in_a_range_what_the_first_value_leaves_out_is_that_of_the_second(text, kind, low, high, reference):
    found = parse_range(text, kind)
    assert [one.value for one in found] == pytest.approx([low, high], rel=1e-12)
    assert {one.reference for one in found} == {reference}


# --- what is refused, and how ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("1,5 bar abs", "pressure", '"1,5 bar abs" has a comma; write 1.5'),
        ("1.000,5 mm", "length", "write 1000.5"),
        ("1,000 mm", "length", "has a comma; write 1.000"),
        (".5 mm", "length", "no digit before the point; write 0.5"),
        ("-.5 mm", "length", "no digit before the point; write -0.5"),
        ("5. mm", "length", "no digit after the point; write 5 or 5.0"),
        ("1 000 Pa", "pressure_difference", "is not one number; write digits without gaps"),
        ("1_000 Pa", "pressure_difference", "is not one number"),
        ("1'000 Pa", "pressure_difference", "is not one number"),
        ("1.2.3 mm", "length", "is not one number"),
        ("9**9**9 m", "length", "is not one number"),
        ("٣ mm", "length", "does not begin with a number"),
        ("five mm", "length", 'does not begin with a number; write for example "4 mm"'),
        ("", "length", "empty text"),
        ("   ", "length", "empty text"),
        ("nan s", "time", "is not a finite number"),
        ("inf s", "time", "is not a finite number"),
        ("1e999 s", "time", "is not a finite number"),
        ("1e308 h", "time", "is not a finite number"),
        ("5 mm", "volume", "is in units of length; a volume is wanted"),
        ("5", "volume", "has no unit"),
        ("5 bar", "pressure", 'does not say abs or gauge; write "5 bar abs" or "5 bar gauge"'),
        ("5 bar gauge", "pressure_difference", 'says "gauge"; a difference has no reference'),
        ("5 mm abs", "length", 'says "abs"; this has no reference'),
        ("5 psig", "pressure", 'unit "psig"; write "psi gauge"'),
        ("5 bara", "pressure", 'write "bar abs"'),
        ("5 bar(g)", "pressure", 'write "bar gauge"'),
        ("1 Mpa abs", "pressure", 'unknown unit "Mpa"; did you mean "MPa"?'),
        ("1 m bar abs", "pressure", 'unknown unit "m bar"; did you mean "mbar"?'),
        ("20 C", "temperature", "write degC"),
        ("20 degrees", "temperature", 'unknown unit "degrees"'),
        ("0.2 sccm", "flow_amount", "does not say its temperature; write sccm(0 degC), sccm(20 degC) or sccm(25 degC)"),
        ("1 slm", "flow_amount", "write slm(0 degC), slm(20 degC) or slm(25 degC)"),
        ("1e-5 std cm3/s", "flow_amount", "does not say its temperature"),
        ("10 mL/min", "flow_amount", "write sccm(0 degC)"),
        ("1 inH2O", "pressure_difference", "does not say its temperature; write inH2O(4 degC)"),
        ("5 mm +- 1", "length", "the spread has no unit; write it with its unit or in %"),
        ("5 mm +- 1 % (k=3)", "length", "unknown meaning of the spread; write (k=2), (limits) or nothing"),
        ("5 mm +- -1 mm", "length", "has a negative spread"),
        ("5 mm +- 1 mm +- 2 mm", "length", "has two spreads"),
        ("5 mm +- 200 %", "length", "a spread above 100 %"),
        ("5 mm +- 1 K", "length", "is in units of temperature"),
        ("5 mm +- 1e999 mm", "length", "is not a finite number"),
        ("20 degC +- 5 %", "temperature", "% of a temperature"),
        ("5 % +- 1 %", "share", 'reads two ways; the spread in ppm, "0.05 % +- 100 ppm"'),
        ("0.3 +- 5 %", "ratio", 'reads two ways; plain numbers, "0.3 +- 0.02"'),
        ("0.05", "share", '"0.05" has no unit; write "0.05 %" or "5 %"'),
        ("5", "share", '"5" has no unit; write "5 %"'),
        ("10", "time", 'has no unit; write for example "10 s"'),
        ("2.5", "pressure", 'has no unit; write for example "2.5 bar abs"'),
        ("2.5 gauge", "pressure", 'has no unit; write for example "2.5 bar gauge"'),
        ("20", "temperature", 'write for example "20 degC"'),
        ("5 bar abs +- 1 mbar abs", "pressure", "the word goes before +-"),
        ("1..5 mm", "length", "is a range; one value is wanted"),
        ("unknown", "length", '"unknown"; this must be stated'),
        ("5 mm; rm", "length", 'unknown unit "mm; rm"'),
        ("5 __import__('os')", "length", "is not one number"),
        ("x" * 201, "length", "201 characters"),
    ],
)
def test_a_text_that_is_no_quantity_is_refused_with_what_would_be_right(text, kind, message):
    assert message in refused(text, kind)


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("5 mm", "length", "is not a range; write A..B"),
        ("5..1 mm", "length", "does not rise"),
        ("1..1 mm", "length", "does not rise"),
        ("1..2..3 mm", "length", "is not a range"),
        ("1..5 mm +- 1 mm", "length", "has a spread"),
        ("1 bar gauge..5 bar abs", "pressure", "mixes abs and gauge"),
        ("1..5 bar", "pressure", "does not say abs or gauge"),
        ("1...5 mm", "length", "no digit before the point"),
        ("1 K..5 mm", "length", "is in units of temperature"),
    ],
)
def test_a_text_that_is_no_range_is_refused(text, kind, message):
    with pytest.raises(UnitError) as caught:
        parse_range(text, kind)
    assert message in str(caught.value)


def test_what_is_no_text_at_all_is_refused():
    for value in (5, 5.0, True, None, [], {}):
        with pytest.raises(UnitError, match="is not text"):
            parse(value, "length")


# --- the factors ----------------------------------------------------------------------------------------------

PINT = {
    "ubar": "microbar", "L": "liter", "l": "liter", "mL": "milliliter", "ml": "milliliter", "uL": "microliter",
    "in3": "inch**3", "in": "inch", "ft": "foot", "um": "micrometer", "d": "day", "kgf/cm2": "kilogram_force/cm**2",
    "": "dimensionless", "%": "percent", "ppm": "ppm", "1/kPa": "1/kPa", "%/bar": "percent/bar", "%/MPa": "percent/MPa",
    "cm2": "cm**2", "mm2": "mm**2", "um2": "um**2", "m2": "m**2", "m3": "m**3", "dm3": "dm**3", "cm3": "cm**3",
    "mm3": "mm**3", "m3/(s Pa)": "m**3/(s*Pa)", "dm3/(s bar)": "dm**3/(s*bar)", "L/(s bar)": "L/(s*bar)",
    "L/(min bar)": "L/(min*bar)", "cm3/(s bar)": "cm**3/(s*bar)", "W/(m2 K)": "W/(m**2*K)",
    "kW/(m2 K)": "kW/(m**2*K)", "m3/h": "m**3/h", "mTorr": "millitorr", "Torr": "torr",
    "g/a": "g/year", "mg/a": "mg/year", "N m": "N*m", "cN m": "cN*m", "lbf in": "force_pound*inch",
    "lbf ft": "force_pound*foot", "N/um": "N/micrometer", "m2/s": "m**2/s", "cm2/s": "cm**2/s", "mm2/s": "mm**2/s",
}  # fmt: skip
COLUMNS = {"mmH2O(4 degC)", "cmH2O(4 degC)", "inH2O(4 degC)", "mmHg(0 degC)", "inHg(0 degC)"}
SI = {
    "pressure": "Pa", "length": "m", "area": "m**2", "volume": "m**3", "time": "s", "sonic conductance": "m**3/(s*Pa)",
    "flow coefficient Kv": "m**3/h", "film coefficient": "W/(m**2*K)", "pressure rate": "Pa/s",
    "temperature rate": "K/s", "share": "dimensionless", "ratio": "dimensionless", "mass": "kg", "energy": "J",
    "compliance": "1/Pa", "zero shift": "Pa/K", "mass flow": "kg/s", "frequency": "Hz",
    "torque": "N*m", "stiffness": "N/m", "diffusivity": "m**2/s",
}  # fmt: skip


@pytest.fixture(scope="module")
def registry():
    import pint

    return pint.UnitRegistry()


@pytest.mark.parametrize("dimension", SI)
def test_our_factors_are_those_of_an_independent_library(registry, dimension):
    for name, factor in TABLE[dimension].items():
        if name in COLUMNS:
            continue
        theirs = (1.0 * registry(PINT.get(name, name).replace("Torr", "torr"))).to(SI[dimension]).magnitude
        assert factor == pytest.approx(theirs, rel=1e-9), name


def test_columns_of_liquid_agree_with_the_library_within_their_definitions(registry):
    """The library's columns are the conventional ones (1000 and 13 595.1 kg/m3); ours name a temperature."""
    for name, theirs in (("mmHg", "mmHg"), ("inHg", "inHg"), ("inH2O", "inH2O"), ("cmH2O", "cmH2O")):
        ours = next(f for unit, f in TABLE["pressure"].items() if unit.startswith(name))
        assert ours == pytest.approx(registry(theirs).to("Pa").magnitude, rel=4e-5)


def test_the_temperature_scales_agree_with_the_library(registry):
    for unit, theirs in (("degC", "degC"), ("degF", "degF"), ("K", "kelvin")):
        kelvin = registry.Quantity(25.0, theirs).to("kelvin").magnitude
        assert parse(f"25 {unit}", "temperature").value == pytest.approx(kelvin, rel=1e-12)


AMOUNTS = [
    # checks D1-D6: closed forms with R = 8.314462618 J/(mol K) and 101325 Pa
    ("1 Pa m3/s", 4.102758e-4),  # D4
    ("10 mbar L/s", 4.102758e-4),  # D1
    ("7.500617 Torr L/s", 4.102758e-4),  # D1
    ("1 kPa L/s", 4.102758e-4),
    ("1 sccm(0 degC)", 7.435839e-7),  # D2
    ("1 sccm(20 degC)", 6.928533e-7),  # D2
    ("1 sccm(25 degC)", 6.812341e-7),  # D2
    ("1.812400e-3 Pa m3/s", 7.435839e-7),  # D3: a 0 degC sccm in gas at 20 degC
    ("1.688750e-3 Pa m3/s", 6.928533e-7),  # D3: a 20 degC sccm at its own temperature
    ("551.7546 sccm(0 degC)", 4.102758e-4),  # D4
    ("592.1540 sccm(20 degC)", 4.102758e-4),  # D4
    ("1 slm(0 degC)", 7.435839e-4),
]


@pytest.mark.parametrize(("text", "mol_per_s"), AMOUNTS)
def test_amounts_of_gas_per_time_are_the_check_values(text, mol_per_s):
    assert parse(text, "flow_amount").value == pytest.approx(mol_per_s, rel=1e-6)


def test_a_permeability_is_the_check_value():
    """Check G9: 1e-8 std cm3 cm/(cm2 s bar) is 4.4615e-16 mol/(m s Pa) and 1.33323 barrer (definitions)."""
    value = parse("1e-8 cm3(0 degC) cm/(cm2 s bar)", "permeability").value
    assert value == pytest.approx(4.4615e-16, rel=1e-4)
    assert value == pytest.approx(parse("1.33323 barrer", "permeability").value, rel=1e-4)


def test_one_sccm_is_the_stated_mass():
    """Check D5: N2 28.0134, air 28.96546, He 4.002602 g/mol."""
    amount = parse("1 sccm(0 degC)", "flow_amount").value
    for molar_mass, mass in ((28.0134e-3, 2.083031e-8), (28.96546e-3, 2.153825e-8), (4.002602e-3, 2.976270e-9)):
        assert amount * molar_mass == pytest.approx(mass, rel=1e-6)


def test_the_molar_volumes_are_those_of_the_reference_temperatures():
    """Check D6: 22.413970, 24.055117, 24.465404 L/mol at 101325 Pa."""
    for kelvin, litres in (("0 degC", 22.413970), ("20 degC", 24.055117), ("25 degC", 24.465404)):
        per_second = parse(f"1 sccm({kelvin})", "flow_amount").value * 60.0
        assert 1e-3 / per_second == pytest.approx(litres, rel=1e-6)


def test_the_pound_per_square_inch_is_the_check_value():
    """Check I2: 100 psi = 689.4757293 kPa, 3000 psi = 20.68427188 MPa."""
    assert parse("100 psi", "pressure_difference").value == pytest.approx(689475.7293, rel=1e-9)
    assert parse("3000 psi", "pressure_difference").value == pytest.approx(20.68427188e6, rel=1e-9)


def test_every_unit_is_read_back_by_its_own_name():
    for dimension, names in TABLE.items():
        for name in names:
            kind = KIND_OF[dimension]
            reference = " abs" if kind == "pressure" else ""
            assert parse(f"3 {name}{reference}", kind).unit == name


def test_every_kind_has_units_and_an_example_that_is_right():
    for name, kind in KINDS.items():
        assert unit_names(name)
        assert parse(kind.example, name).value > 0.0


def test_pressures_are_worded_for_messages():
    assert units.pressure_text(620000.0, "abs") == "6.2 bar abs"
    assert units.pressure_text(850.0) == "850 Pa"


# --- hostile text ---------------------------------------------------------------------------------------------


@given(st.text(max_size=300), st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_quantity_or_refused(text, kind):
    for reader in (parse, parse_range):
        try:
            reader(text, kind)
        except UnitError as error:
            assert error.found
            assert error.right


PIECES = st.sampled_from(
    ["1", "0.5", "1e-3", "-", "+-", "..", ".", ",", " ", "bar", "Pa", "abs", "gauge", "%", "(k=2)", "(limits)", "(",
     "mm", "sccm", "(0 degC)", "e", "9" * 50, "±", "/", "**", "1/Pa", "K"]
)  # fmt: skip


@given(st.lists(PIECES, max_size=12), st.sampled_from(sorted(KINDS)))
def test_any_join_of_its_own_words_is_a_finite_quantity_or_refused(pieces, kind):
    try:
        found = parse("".join(pieces), kind)
    except UnitError:
        return
    assert math.isfinite(found.value)
    assert math.isfinite(found.sd)
    assert found.sd >= 0.0


@given(
    st.floats(min_value=-1e6, max_value=1e6, allow_nan=False).filter(lambda x: "e" not in repr(x)),
    st.sampled_from(sorted(TABLE["length"])),
)
def test_a_written_number_comes_back(number, unit):
    assert parse(f"{number!r} {unit}", "length").value == pytest.approx(number * TABLE["length"][unit], rel=1e-15)


@pytest.mark.parametrize(
    "text",
    ["9**9**9 m", "1" * 200, "(" * 200, "1 " + "(" * 190, "1 mm" + "+-" * 90, "1" + " " * 190 + "x", "1..." * 40],
)
def test_hostile_text_costs_no_time(text):
    start = time.perf_counter()
    for kind in KINDS:
        for reader in (parse, parse_range):
            try:
                reader(text, kind)
            except UnitError:
                continue
    assert time.perf_counter() - start < 1.0
