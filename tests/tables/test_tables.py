"""The tables themselves: what the files hold, what is refused, and further gases."""

from __future__ import annotations

import json

import numpy as np
import pytest

from simcal.errors import InputError, SimcalError
from simcal.tables import extra, grid, materials, store
from simcal.tables import gas as tables


@pytest.mark.parametrize("name", tables.NAMES)
def test_file_is_small_and_tells_where_it_comes_from(name):
    """A shipped table is under 400 kB and holds gas, library, version, source and the hash of its numbers."""
    assert (store.DATA / f"{name}.npz").stat().st_size < 400_000
    meta = tables.about(name)
    assert meta["gas"] == name
    assert meta["library"] == "CoolProp"
    assert len(meta["library_version"].split(".")) >= 2
    assert "J. Phys. Chem. Ref. Data" in meta["source"] or "JPCRD" in meta["source"]
    assert len(meta["sha256"]) == 64
    assert "throat" in meta["critical_flow"]


@pytest.mark.parametrize("name", tables.NAMES)
def test_shape_is_what_the_kernels_expect(name):
    """64 x 32 nodes, five properties, contiguous; density from zero, temperature over the stated range."""
    t = tables.load(name)
    assert t.coef.shape == (63, 31, 5, 4, 4)
    assert t.coef.flags.c_contiguous
    assert (t.n_rho, t.n_s, t.rho0) == (64, 32, 0.0)
    assert 1.0 / t.s0 == pytest.approx(t.T_max)
    assert 1.0 / (t.s0 + 31 * t.ds) == pytest.approx(t.T_min)
    assert t.drho * 63 == pytest.approx(t.rho_max)
    assert t.p_max == 35.0e6


@pytest.mark.parametrize("name", tables.NAMES)
def test_file_is_what_the_script_makes(name):
    """The making script gives the nodes of the shipped file again (another release may differ by 1e-9)."""
    make = pytest.importorskip("simcal.tables.make", reason="CoolProp")
    file = store.read_table(store.DATA / f"{name}.npz")
    state = make.library.gas_state(make.RECIPES[name].fluid)
    for i, j in ((0, 0), (1, 30), (20, 10), (63, 31)):
        s = 1.0 / file.T_max + j * (1.0 / file.T_min - 1.0 / file.T_max) / 31
        made = np.array(make._caloric(state, i * file.rho_max / 63, s))
        np.testing.assert_allclose(file.nodes[i, j, :2], made, rtol=1e-9, atol=1e-12)


def test_damaged_file_is_refused(tmp_path):
    """A changed number, a foreign file and a cut file are refused with the file's name."""
    good = store.read_table(store.DATA / "helium.npz")
    whole = store.write_table(good)
    assert store.read_table(_put(tmp_path, whole)).meta["gas"] == "helium"
    good.nodes[3, 3, 0, 0] += 1e-9
    np.savez_compressed(tmp_path / "changed.npz", nodes=good.nodes, numbers=np.zeros(6),
                        meta=np.frombuffer(json.dumps(good.meta).encode(), dtype=np.uint8))  # fmt: skip
    for path in (tmp_path / "changed.npz", _put(tmp_path, whole[:5000]), _put(tmp_path, b"no"),
                 tmp_path / "missing.npz"):  # fmt: skip
        with pytest.raises(SimcalError, match=f"{path.name}: gas table"):
            store.read_table(path)


def _put(folder, content):
    path = folder / "table.npz"
    path.write_bytes(content)
    return path


def test_bicubic_cells_reproduce_a_bicubic():
    """Cells built from values and derivatives are exact for any polynomial of third degree in both."""
    x, y = np.linspace(0.0, 2.0, 4), np.linspace(1.0, 2.5, 3)
    X, Y = np.meshgrid(x, y, indexing="ij")
    f = np.stack([X**3 * Y**2, 3 * X**2 * Y**2, 2 * X**3 * Y, 6 * X**2 * Y], axis=-1)[:, :, None, :]
    c = grid.cell_coefficients(f, x[1] - x[0], y[1] - y[0])[1, 1, 0]
    powers = np.outer(0.3 ** np.arange(4), 0.6 ** np.arange(4))
    at_x, at_y = x[1] + 0.3 * (x[1] - x[0]), y[1] + 0.6 * (y[1] - y[0])
    assert (c * powers).sum() == pytest.approx(at_x**3 * at_y**2, rel=1e-12)


def test_difference_formulas_are_exact_for_fourth_powers():
    """The five-point formulas differentiate polynomials of fourth degree exactly, at the edges too."""
    x = np.linspace(0.0, 1.0, 9)
    np.testing.assert_allclose(grid.difference_weights(9, x[1]) @ x**4, 4 * x**3, atol=1e-12)


@pytest.mark.parametrize(("name", "reason"), [
    ("oxygen", "never a test gas"), ("O2", "never a test gas"), ("nitrous oxide", "never a test gas"),
    ("hydrogen", "it burns"), ("methane", "it burns"), ("Nitrogen", 'write "nitrogen"'),
])  # fmt: skip
def test_gases_that_are_refused_without_the_library(name, reason):
    """Oxidisers, flammable gases and misspelt ones are refused at once, with the reason."""
    with pytest.raises(InputError, match=reason):
        tables.load(name)


@pytest.mark.parametrize(("name", "reason"), [
    ("unobtainium", "no such gas"), ("neon", "no viscosity or conductivity"), ("water", "condenses"),
    ("benzene", "neither burns nor poisons"), ("R134a", "condenses"), ("ParaDeuterium", "neither burns"),
])  # fmt: skip
def test_gases_that_the_library_cannot_serve(name, reason, tmp_path, monkeypatch):
    """A gas unknown to the library, without transport, dangerous, or condensing is refused with reason."""
    pytest.importorskip("CoolProp")
    monkeypatch.setenv("SIMCAL_CACHE_DIR", str(tmp_path))
    with pytest.raises(InputError, match=reason):
        tables.load(name)


def test_further_gas_is_tabulated_once(tmp_path, monkeypatch):
    """Carbon dioxide is made with the library, kept in the cache, and read from there the next time."""
    make = pytest.importorskip("simcal.tables.make", reason="CoolProp")
    monkeypatch.setenv("SIMCAL_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr(make, "N_RHO", 6)
    monkeypatch.setattr(make, "N_S", 6)
    first = extra.table_file("carbon dioxide")
    assert len(list(tmp_path.glob("gas-carbondioxide-*.npz"))) == 1
    monkeypatch.setattr(make, "tabulate", None)
    again = extra.table_file("carbon dioxide")
    np.testing.assert_array_equal(first.nodes, again.nodes)
    assert first.molar_mass == pytest.approx(44.0098e-3)
    assert first.T_min == 230.0  # it would condense: the table ends at the vapour's density there
    assert first.p_max == pytest.approx(1.18e6, rel=0.01)


def test_further_gas_without_the_library(monkeypatch):
    """Without the library the message says what to install."""

    def missing(name):
        raise extra.metadata.PackageNotFoundError(name)

    monkeypatch.setattr(extra.metadata, "version", missing)
    with pytest.raises(InputError, match=r"simcal-engine\[gases\]"):
        tables.load("krypton")


def test_materials_are_physical_and_sourced():
    """Every wall material has positive properties, a source, and heat capacities of solids (rho c 1 to 4
    MJ/m3K).
    """
    for material in materials.MATERIALS.values():
        assert material.source
        assert 1.0e6 < material.density * material.specific_heat < 4.0e6
        assert 0.1 < material.conductivity < 500.0
    with pytest.raises(InputError, match="one of steel, stainless"):
        materials.find("unobtainium")


@pytest.mark.parametrize(("name", "depth", "within"), [("stainless", 6.16e-3, 0.03), ("aluminium", 26.3e-3, 1e-3)])
def test_wall_penetration_of_heat(name, depth, within):
    """Check C15: heat reaches sqrt(k t/(rho c)) in 10 s; handbook figures, those of stainless steel rounder."""
    metal = materials.find(name)
    alpha = metal.conductivity / (metal.density * metal.specific_heat)
    assert (10.0 * alpha) ** 0.5 == pytest.approx(depth, rel=within)
