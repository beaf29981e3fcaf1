"""Further gases: tabulated once from the reference library (the `gases` extra) and kept in the user's cache.

A gas is taken when it can be a test gas and stays a gas. Oxygen and other oxidisers are refused, and
whatever burns or poisons, or of which the library does not say that it does not: the bench model knows
nothing of those dangers. A gas that would condense in the range gets a table up to the vapour density at
its cold end; where even that is below 200 kPa at room temperature it is refused.
"""

from __future__ import annotations

import hashlib
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simcal import cache
from simcal.errors import InputError
from simcal.tables import store

if TYPE_CHECKING:
    from simcal.tables.make import Recipe

_USUAL = ", ".join(f'"{name}"' for name in store.NAMES)
_OXIDISER = "it feeds fire and is never a test gas: compressed with a trace of oil or dirt it can ignite"
_BURNS = "it burns; simcal does not model benches for flammable gases"
_REFUSED = {
    **dict.fromkeys(("oxygen", "o2", "nitrousoxide", "n2o", "fluorine", "ozone"), _OXIDISER),
    **dict.fromkeys(("hydrogen", "h2", "parahydrogen", "orthohydrogen", "deuterium", "methane", "ethane"), _BURNS),
    **dict.fromkeys(("propane", "ethylene", "acetylene", "carbonmonoxide", "co", "ammonia"), _BURNS),
}
# Not flammable and of low toxicity by long use, but without a hazard figure in the library.
_HARMLESS = ("R14", "Neon", "Krypton", "Xenon")

_T_ALWAYS_GAS = 245.0  # K: a gas that cannot condense from here up gets the whole pressure range
_T_COLD = 230.0  # K, the coldest temperature of a gas that can condense
_P_LEAST = 200.0e3  # Pa at 293.15 K: a table that ends lower is of no use


def table_file(name: str) -> store.GasFile:
    """The table of a further gas, from the cache or made now (some seconds, once).

    Raises InputError: the gas is refused or unknown, or the reference library is not installed.
    """
    slug = "".join(c for c in name.lower() if c.isalnum())
    _refuse_known(name, slug)
    library = _library_version(name)
    folder = cache.folder()
    path = folder / f"gas-{slug}-{_key(library)}.npz" if folder else None
    if path and path.is_file():
        return store.read_table(path)
    from simcal.tables import make

    recipe = _recipe(name, slug)
    try:
        file = make.tabulate(name, recipe)
    except ValueError as fault:
        raise _refused(name, "the reference library cannot follow it over the range needed") from fault
    if path:
        cache.write_whole(path, store.write_table(file))
    return file


def _refused(name: str, why: str) -> InputError:
    return InputError("", "gas", f'"{name}": {why}', f"one of {_USUAL}")


def _refuse_known(name: str, slug: str) -> None:
    if slug in _REFUSED:
        raise _refused(name, _REFUSED[slug])
    if slug in store.NAMES:
        raise InputError("", "gas", f'"{name}"', f'write "{slug}"')


def _library_version(name: str) -> str:
    try:
        return metadata.version("CoolProp")
    except metadata.PackageNotFoundError:
        why = 'no shipped gas, and the library for further ones is missing (pip install "simcal-engine[gases]")'
        raise _refused(name, why) from None


def _key(library: str) -> str:
    """Changes with the library and with anything that makes a table."""
    digest = hashlib.sha256(library.encode())
    for file in ("extra.py", "make.py", "grid.py", "critical.py", "store.py", "library.py"):
        digest.update((Path(__file__).parent / file).read_bytes())
    return digest.hexdigest()[:16]


def _find(name: str, slug: str) -> tuple[str, dict[str, Any]]:
    """(library name, library record) of a gas by any of its names there."""
    from simcal.tables import library

    for fluid in library.fluids():
        info = library.record(fluid)
        if slug in {"".join(c for c in known.lower() if c.isalnum()) for known in (fluid, *info["ALIASES"])}:
            return fluid, info
    raise _refused(name, "the reference library has no such gas")


def _refuse_hazard(name: str, fluid: str, info: dict[str, Any]) -> None:
    """Refuse what the library does not call harmless: fire 0 and health 0 or 1, or refrigerant group A1."""
    hazard = info.get("ENVIRONMENTAL", {})
    stated = hazard.get("FH") == 0 and hazard.get("HH") in (0, 1)
    if not (stated or hazard.get("ASHRAE34") == "A1" or fluid in _HARMLESS):
        raise _refused(name, "the reference library does not say that it neither burns nor poisons")


def _recipe(name: str, slug: str) -> Recipe:
    """Range and source of a further gas; InputError when it cannot serve."""
    from simcal.tables import library
    from simcal.tables.make import Recipe

    fluid, info = _find(name, slug)
    _refuse_known(name, fluid.lower())
    _refuse_hazard(name, fluid, info)
    _refuse_without_transport(name, fluid)
    state = library.plain_state(fluid)
    source = f"library keys: {library.sources(fluid)}"
    T_max = min(600.0, 0.99 * state.Tmax())
    T_min = max(150.0, 1.06 * state.T_critical(), 1.02 * state.Tmin())
    if T_min <= _T_ALWAYS_GAS:
        return Recipe(fluid, T_min, T_max, source, p_max=min(35.0e6, 0.9 * state.pmax()))
    T_min = max(_T_COLD, 1.02 * state.Tmin())
    try:
        rho_max = 0.98 * library.saturation(state, T_min)[0]
        library.put(state, rho_max, 293.15)
    except ValueError as fault:
        raise _refused(name, "the reference library cannot follow it over the range needed") from fault
    if state.p() < _P_LEAST:
        at = f"{state.p() / 1e3:.0f} kPa at room temperature"
        raise _refused(name, f"it condenses when gas that had {at} is cooled to {T_min:.0f} K")
    return Recipe(fluid, T_min, T_max, source, p_max=state.p(), rho_max=rho_max)


def _refuse_without_transport(name: str, fluid: str) -> None:
    from simcal.tables import library

    state = library.gas_state(fluid)
    library.put(state, 0.1, 300.0)
    try:
        state.viscosity(), state.conductivity()
    except ValueError:
        raise _refused(name, "the reference library has no viscosity or conductivity for it") from None
