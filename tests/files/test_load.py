"""What a bench file becomes: values in SI, spreads, assumptions, includes, `--set`; and what is no file at all."""

import dataclasses
import math

import pytest

from simcal.errors import InputError
from simcal.files.bench_file import load_bench
from simcal.files.examples import folder
from simcal.files.keys import rows
from tests.files.good_bench import GOOD

WALL = 'wall = { material = "steel", shape = "cylinder", bore = "20 mm", thickness = "3 mm" }'


def load(text, *sets, **more):
    return load_bench("bench.toml", sets, texts={"bench.toml": text, **more.pop("texts", {})}, **more)


def refused(*arguments, **more):
    with pytest.raises(InputError) as caught:
        load_bench(*arguments, **more)
    return caught.value


# --- values ---------------------------------------------------------------------------------------------------


def test_values_are_in_si_and_pressures_absolute():
    bench = load(GOOD.replace('"25 bar abs"', '"25 bar gauge"'))
    assert bench.supply.pressure == pytest.approx(25e5 + 101320.0)
    assert bench.volumes["manifold"].capacity == 2e-5
    assert bench.room.temperature == pytest.approx(293.15)
    assert bench.valves["outlet"].kv == pytest.approx(0.001)
    assert bench.lines["run"].between == ("manifold", "port")
    assert bench.controller.gains is not None
    assert (bench.controller.gains.kp, bench.controller.gains.ti) == (60.0, 0.5)
    assert bench.devices["one"].highest_rate == pytest.approx(1e6)
    assert bench.devices["one"].accuracy is not None
    assert bench.devices["one"].accuracy.span == pytest.approx(1e-3)


def test_ranges_and_limits_stay_as_stated():
    bench = load(GOOD.replace('[device.one]\nat = "port"\nfull_scale = "20 bar gauge"',
                              '[device.one]\nat = "port"\nrange = "-1..20 bar gauge"')
                 .replace('"0 %"', '"10 %"'))  # fmt: skip
    one = bench.devices["one"]
    assert (one.range.low, one.range.high, one.range.gauge) == (-1e5, 2e6, True)
    assert one.highest is not None
    assert one.highest.absolute(bench.room.barometer) == pytest.approx(22e5 + 101320.0)


def test_a_spread_stands_aside_under_the_key_of_its_value():
    spreads = load(GOOD).spreads
    assert spreads["volume.port.capacity"].sd == pytest.approx(5e-6)
    assert spreads["volume.port.capacity"].shape == "normal"
    assert spreads["volume.port.capacity"].low == pytest.approx(1e-8)


def test_a_size_of_unknown_sign_is_zero_with_half_of_it_as_standard_deviation():
    bench = load(GOOD)
    assert (bench.room.drift, bench.sensors["reference"].drift, bench.sensors["reference"].zero_shift) == (
        0.0,
        0.0,
        0.0,
    )
    assert bench.spreads["room.drift"].sd == pytest.approx(0.15 / 3600.0)
    assert bench.spreads["sensor.reference.drift"].sd == pytest.approx(10.0 / 3600.0)
    assert bench.spreads["sensor.reference.zero_shift"].sd == pytest.approx(0.5)


def test_the_gas_film_has_a_factor_of_two_unless_its_spread_is_stated():
    spread = load(GOOD).spreads["volume.manifold.wall.film_factor"]
    assert (spread.shape, spread.sd) == ("log", pytest.approx(0.5 * math.log(2.0)))
    stated = GOOD.replace('thickness = "3 mm" }', 'thickness = "3 mm", film = "20 W/(m2 K) +- 10 %" }')
    assert "volume.manifold.wall.film_factor" not in load(stated).spreads
    assert load(stated).spreads["volume.manifold.wall.film"].sd == pytest.approx(2.0)


def test_a_wall_nobody_stated_is_assumed_with_a_wide_spread():
    bench = load(GOOD)
    wall = bench.volumes["port"].wall
    assert math.pi / 2.0 * wall.bore**3 == pytest.approx(1e-4)  # a cylinder two bores long
    assert {"volume.port.wall.bore", "volume.port.wall.thickness"} <= set(bench.spreads)
    assert any(one.key == "volume.port.wall" for one in bench.assumed)


def test_an_unknown_capacity_follows_from_a_stated_hollow():
    text = GOOD.replace('capacity = "200 cm3"', f'capacity = "unknown"\nlength = "100 mm"\n{WALL}')
    bench = load(text)
    assert bench.volumes["buffer"].capacity == pytest.approx(math.pi / 4.0 * 0.02**2 * 0.1)
    assert bench.spreads["volume.buffer.capacity"].sd == pytest.approx(0.1 * bench.volumes["buffer"].capacity)
    assert any(one.key == "volume.buffer.capacity" for one in bench.assumed)


def test_a_quantity_with_a_defended_default_may_be_unknown():
    text = GOOD.replace('lag = "5 ms"', 'lag = "unknown"').replace('"steel"', '"unknown"')
    text = text.replace('thickness = "3 mm" }', 'thickness = "unknown", film = "unknown" }')
    bench = load(text)
    assert bench.volumes["manifold"].wall.film is None
    assert {"valve.inlet.lag", "volume.manifold.wall.material"} <= {one.key for one in bench.assumed}


def test_what_is_absent_and_defended_stands_in_assumed():
    text = GOOD.replace(', barometer = "1013.2 hPa abs"', "")
    found = {one.key: one.value for one in load(text).assumed}
    assert found["room.barometer"] == "101325 Pa abs"
    assert found["device.one.lag"] == "10 ms"
    assert "valve.outlet.critical_ratio" not in found  # it is given by Kv
    assert "valve.inlet.lag" not in found  # it is stated


def test_what_follows_from_the_room_follows():
    bench = load(GOOD.replace('[exhaust]\npressure = "1013.2 hPa abs"\n', ""))
    assert bench.exhaust.pressure == bench.room.barometer
    assert bench.supply.temperature == bench.room.temperature


def test_without_a_sequence_the_usual_one_is_assumed():
    bench = load(GOOD[: GOOD.index("[sequence")])
    assert [point.text() for point in bench.sequences["up_down"].points] == ["0 %", "50 %", "100 %", "50 %", "0 %"]
    assert any(one.key == "sequence.up_down" for one in bench.assumed)


def test_a_sequence_knows_its_device():
    bench = load(GOOD)
    assert bench.device_of("up_down") is bench.devices["one"]


TWO = "[device.two]\nat = 'port'\nfull_scale = '10 bar gauge'\nallowance = '5 Pa'\n[controller]"


def test_with_several_devices_the_command_line_may_say_which():
    text = GOOD.replace("[controller]", TWO).replace('"20 bar gauge", "50 %"', '"10 bar gauge", "50 %"')
    assert load(text, device="two").sequences["up_down"].device == "two"
    with pytest.raises(InputError, match=r'command line: --device: no device "three"; known are: one, two'):
        load(text, device="three")


def test_a_controller_known_from_outside_needs_no_valves():
    gains = next(line for line in GOOD.splitlines() if line.startswith("gains"))
    start, end = GOOD.index("[valve.inlet]"), GOOD.index("[valve.vent]")
    text = (GOOD[:start] + GOOD[end:]).replace(
        gains, 'behaviour = { rate = "1 bar/s", overshoot = "0.1 %", settled_in = "5 s", ripple = "20 Pa" }'
    )
    behaviour = load(text).controller.behaviour
    assert behaviour is not None
    assert (behaviour.rate, behaviour.overshoot.of(1e5)) == (pytest.approx(1e5), pytest.approx(100.0))


# --- includes and --set ---------------------------------------------------------------------------------------


def test_an_include_adds_its_tables_and_its_text_is_kept():
    start, end = GOOD.index("[device.one]"), GOOD.index("[controller]")
    text = GOOD[:start] + GOOD[end:]
    text = text.replace('name = "good"', 'name = "good"\ninclude = ["parts/devices.toml"]')
    bench = load(text, texts={"parts/devices.toml": GOOD[start:end]})
    assert list(bench.devices) == ["one"]
    assert set(bench.texts) == set(bench.hashes) == {"bench.toml", "parts/devices.toml"}


def test_includes_are_read_beside_the_file_that_names_them(tmp_path):
    start, end = GOOD.index("[device.one]"), GOOD.index("[controller]")
    (tmp_path / "parts").mkdir()
    main, inner, last = tmp_path / "bench.toml", tmp_path / "parts" / "a.toml", tmp_path / "parts" / "b.toml"
    main.write_text(f'include = ["parts/a.toml"]\n{GOOD[:start]}{GOOD[end:]}', encoding="utf-8")
    inner.write_text('schema = "simcal/bench/1"\ninclude = ["b.toml"]\n', encoding="utf-8")
    last.write_text(GOOD[start:end], encoding="utf-8")
    assert list(load_bench(main).texts) == ["bench.toml", "parts/a.toml", "parts/b.toml"]
    last.write_text(GOOD[start:end].replace('"port"', '"prt"'), encoding="utf-8")
    error = refused(main)
    assert (error.file, error.place) == (str(last), "device.one.at")


def test_a_file_that_includes_itself_is_refused():
    text = GOOD.replace('name = "good"', 'include = ["a.toml"]')
    with pytest.raises(
        InputError, match=r'a.toml: include: "bench.toml" leads back to itself; leave out bench.toml -> a.toml -> bench'
    ):
        load(text, texts={"a.toml": 'include = ["bench.toml"]'})


def test_a_key_that_stands_in_two_files_is_refused():
    text = GOOD.replace('name = "good"', 'include = ["a.toml"]')
    with pytest.raises(InputError, match=r"a.toml: supply.pressure: also in bench.toml; state it once, or override"):
        load(text, texts={"a.toml": '[supply]\npressure = "5 bar abs"'})


def test_an_include_that_is_not_there_is_named(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_text(GOOD.replace('name = "good"', 'include = ["no.toml"]'), encoding="utf-8")
    assert str(refused(path)).startswith(f"{tmp_path / 'no.toml'}: no such file; ")


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("volume.port.capacity=50 cm3", "volume.port.capacity", 5e-5),
        ("volume.port.capacity='50 cm3'", "volume.port.capacity", 5e-5),
        ("valve.inlet.critical_ratio=0.2", "valve.inlet.critical_ratio", 0.2),
        ("line.run.cells = 3", "line.run.cells", 3),
        ("gas=helium", "gas", "helium"),
        ("valve.side.open=true", "valve.side.open", True),
        ("controller.ramp=0.5 bar/s", "controller.ramp", 5e4),
        ("device.one.accuracy.is=k=2", "device.one.accuracy.is", "k=2"),
        ('line.run.between=["port", "manifold"]', "line.run.between", ("port", "manifold")),
        ("supply.droop=0 Pa +- 1 kPa", "supply.droop", 0.0),
    ],
)
def test_set_changes_one_value_after_the_includes(text, key, value):
    found = load(GOOD, text).value(key)
    assert found == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("volume.port.capacity", 'command line: --set: "volume.port.capacity" is not KEY=VALUE; --set v'),
        ("=5", 'command line: --set: "=5" is not KEY=VALUE'),
        ("volume..capacity=5", "is not KEY=VALUE"),
        ("volume.prt.capacity=5 cm3", 'there is no [volume.prt]; did you mean "port"?'),
        ("touch.hand.power=5 W", "there is no [touch.hand]; --set changes what a file has: add [touch.hand] there"),
        ("gas.x=5", "command line: --set gas.x: gas is not a table"),
        ("volume.port.capacity=50", "--set: volume.port.capacity: 50 (a number without unit)"),
        ("volume.port.capcity=50 cm3", '--set: volume.port.capcity: unknown key; did you mean "capacity"?'),
        ("supply.pressure=25 bar", '--set: supply.pressure: "25 bar" does not say abs or gauge'),
        ("volume=5", "--set: volume: is not a table of named tables"),
        ("name=a\nb", "--set: name:"),
    ],
)  # fmt: skip
def test_a_set_that_does_not_fit_is_refused(text, message):
    with pytest.raises(InputError) as caught:
        load(GOOD, text)
    assert message in caught.value.line()


# --- numbers without a unit -----------------------------------------------------------------------------------

TWO_WAYS = 'write "0.05 %" or "5 %"'


@pytest.mark.parametrize(
    ("key", "value", "right"),
    [
        ("device.one.accuracy.span", "0.05", TWO_WAYS),
        ("device.one.accuracy.span", "'0.05'", TWO_WAYS),
        ("sensor.reference.accuracy.reading", "0.05", TWO_WAYS),
        ("sensor.reference.accuracy.floor", "20", 'write "20 %"'),
        ("device.one.accuracy.span", "0", 'write "0 %"'),
        ("device.one.after_effect", "0.05", TWO_WAYS),
        ("device.one.step_shift", "0.05", TWO_WAYS),
        ("valve.side.dead_band", "0.05", TWO_WAYS),
        ("device.one.overshoot", "0.05", '"50 Pa" or "1 %"'),
        ("device.one.overshoot", "'0.05'", '"50 Pa" or "1 %"'),
        ("sequence.up_down.points", "[50]", 'write "50 %" or "10 bar gauge", in quotes'),
        ("sequence.up_down.points", "['50']", 'write "50 %" or "10 bar gauge", in quotes'),
        ("sequence.up_down.nearness", "0.01", 'write it in quotes with its unit, "0.01 Pa"'),
    ],
)
def test_a_number_that_could_mean_a_share_or_a_percentage_is_refused(key, value, right):
    with pytest.raises(InputError) as caught:
        load(GOOD, f"{key}={value}")
    assert caught.value.place == key
    assert right in caught.value.line()


def test_every_key_that_holds_a_share_refuses_a_plain_number_and_every_ratio_takes_one():
    kinds = {row.key.replace("NAME", "one"): row.kind for row in rows("bench") if row.key.startswith("device.")}
    shares = [key for key, kind in kinds.items() if kind == "share"]
    assert len(shares) >= 5
    for key in shares:
        with pytest.raises(InputError, match=r'write "0\.01 %" or "1 %"'):
            load(GOOD, f"{key}=0.01")
    for key in ("valve.inlet.critical_ratio", "valve.outlet.terminal_ratio", "volume.manifold.wall.film_factor"):
        assert load(GOOD, f"{key}=0.5").value(key) == load(GOOD, f"{key}='0.5'").value(key) == 0.5


@pytest.mark.parametrize(
    ("key", "number", "shown"),
    [
        ("controller.period", "10", "10 ms"),
        ("sequence.up_down.window", "2", "2 s"),
        ("sequence.up_down.dwell", "30", "30 s"),
        ("room.barometer", "1013", "1013 hPa abs"),
        ("supply.pressure", "8", "8 bar abs"),
        ("room.temperature", "20", "20 degC"),
        ("room.temperature", "293", "293 K"),
        ("volume.port.capacity", "50", "50 cm3"),
        ("line.run.bore", "2", "2 mm"),
        ("valve.inlet.conductance", "0.01", "0.01 dm3/(s bar)"),
        ("valve.inlet.conductance", "1e-10", "1e-10 m3/(s Pa)"),
    ],
)
def test_a_number_without_unit_is_answered_with_a_unit_that_suits_the_key_and_the_number(key, number, shown):
    for text in (number, f"'{number}'"):
        with pytest.raises(InputError) as caught:
            load(GOOD, f"{key}={text}")
        assert caught.value.right == f'write it in quotes with its unit, "{shown}"'


# --- faults together ------------------------------------------------------------------------------------------


def test_the_first_fault_is_told_and_the_number_of_the_others():
    text = GOOD.replace('"2 mm"', '"2"').replace('"5 Pa"', '"5"').replace('"10 ms"', '"10"')
    with pytest.raises(InputError, match=r"bench.toml: line.run.bore: .* \(and 3 more; --all-errors\)$") as caught:
        load(text)
    assert [one.place for one in caught.value.faults] == [
        "line.run.bore", "sensor.reference.noise", "controller.period", "controller.gains.td",
    ]  # fmt: skip


# --- what is no file ------------------------------------------------------------------------------------------


def test_a_missing_file_is_refused_with_the_name_that_is_near(tmp_path):
    (tmp_path / "bench.toml").write_text(GOOD, encoding="utf-8")
    assert str(refused(tmp_path / "bnch.toml")) == f"{tmp_path / 'bnch.toml'}: no such file; did you mean bench.toml?"


def test_a_folder_is_refused(tmp_path):
    assert str(refused(tmp_path)).startswith(f"{tmp_path}: is a folder; the name of a TOML file")


def test_a_folder_that_holds_an_answer_names_it(tmp_path):
    (tmp_path / "result.json").write_text("{}", encoding="utf-8")
    assert str(refused(tmp_path)) == f"{tmp_path}: is a folder; did you mean {tmp_path.name}/result.json?"


@pytest.mark.parametrize("name", ["hose-6bar", "hose-6bar.toml"])
def test_a_shipped_file_that_is_not_here_names_the_command_that_copies_it(tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    assert (
        str(refused(name))
        == f"{name}: no such file; `simcal example hose-6bar` copies the shipped file of that name here"
    )
    assert "did you mean the shipped hose-6bar?" in str(refused("hose6bar"))
    (tmp_path / "hose-6bar.toml").write_text("", encoding="utf-8")
    assert name.endswith(".toml") or str(refused(name)).endswith("no such file; did you mean hose-6bar.toml?")


def test_a_file_that_is_only_included_says_so_and_by_whom(tmp_path):
    error = refused(folder() / "manifold-four-devices.toml")
    assert error.faults == (error,)
    assert (
        error.found
        == "is no bench by itself, it has no schema, gas, [supply], [volume.NAME], [sensor.NAME], [controller]"
    )
    assert error.right.startswith("run manifold-four.toml, which includes it; a bench has schema, gas, ")
    alone = tmp_path / "devices.toml"
    alone.write_text(GOOD[GOOD.index("[device.one]") : GOOD.index("[controller]")], encoding="utf-8")
    assert refused(alone).right.startswith("run a bench that includes it; ")


def test_a_device_file_is_refused():
    assert "is not a plain file" in str(refused("/dev/null"))


@pytest.mark.parametrize("name", ["a\0b.toml", "x" * 5000])
def test_an_impossible_name_is_refused(name):
    assert "cannot be read" in str(refused(name))


def test_a_file_that_is_too_large_is_refused(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_bytes(b"# x\n" * 100_000)
    assert str(refused(path)) == f"{path}: larger than 256 kB; a smaller file"


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        (GOOD.replace("good", "g\xf6d").encode("latin-1"), "line 2, column 10: byte 0xF6 is not UTF-8; save the"),
        (GOOD.encode("utf-16"), "line 1, column 1: UTF-16 text; save the file as UTF-8"),
        (b"\x00\x01\x02", "line 1, column 1: invalid"),
        (b"", "schema: missing"),
        (b"\xef\xbb\xbf", "schema: missing"),
        (b"\xef\xbb\xbf\xef\xbb\xbf", "line 1, column 1"),
        (b"%PDF-1.4", "line 1, column 1"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_utf8_toml_is_refused(tmp_path, raw, message):
    path = tmp_path / "bench.toml"
    path.write_bytes(raw)
    assert message in str(refused(path))


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path):
    path = tmp_path / "bench.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert load_bench(path).name == "good"


# --- the shipped benches --------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", sorted(folder().glob("*.toml")), ids=lambda path: path.name)
def test_every_shipped_bench_loads_alike_from_disk_and_from_its_recorded_texts(path):
    if "simcal/bench/1" not in path.read_text(encoding="utf-8"):
        return
    bench = load_bench(path)
    again = load_bench(path.name, texts=bench.texts)
    assert dataclasses.replace(bench) == again


@pytest.mark.parametrize(
    ("rate", "mol_per_s"),
    [
        # 1 g/a of nitrogen, 28.0134 g/mol, a year of 365.25 d
        ('"1 g/a +- 10 %"', 1.0 / 28.0134 / 31557600.0),
        # check D21, worked with CoolProp: 100 cm3 at 20.684 MPa, 100 Pa in 60 s
        ('"100 Pa/min +- 10 %"\nrate_in = "100 cm3"', 5.5177e-8),
        # check D4: 551.7546 sccm(0 degC) are 4.102758e-4 mol/s
        ('"551.7546 sccm(0 degC) +- 10 %"', 4.102758e-4),
    ],
)
def test_a_leak_rate_may_be_stated_in_every_shop_form(tmp_path, rate, mol_per_s):
    text = GOOD.replace('rate = "2e-8 mol/s"', f"rate = {rate}").replace(
        'rate_at = "20 bar abs"', 'rate_at = "206.84 bar abs"'
    )
    path = tmp_path / "bench.toml"
    path.write_text(text, encoding="utf-8")
    bench = load_bench(path)
    assert bench.leaks["fitting"].rate == pytest.approx(mol_per_s, rel=1e-4)
    assert bench.spreads["leak.fitting.rate"].sd == pytest.approx(0.1 * mol_per_s, rel=1e-4)
