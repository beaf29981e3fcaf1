"""The closed table of units, and what the keys of files hold.

Sources of the factors: SI brochure, 9th edition (2019); NIST SP 811 (2008), appendix B; CODATA 2018.
"""

from typing import NamedTuple

R = 8.314462618
"""Molar gas constant, J/(mol K) (CODATA 2018, rounded from an exact value)."""
ATM = 101325.0
"""Standard atmosphere, Pa (exact)."""
_POUND = 0.45359237 * 9.80665  # force; pound, standard gravity and inch are exact
_PSI = _POUND / 0.0254**2
_YEAR = 365.25 * 86400.0
_WATER, _MERCURY = 999.972 * 9.80665e-3, 13595.1 * 9.80665e-3  # columns of 1 mm
_SCCM0 = ATM * 1e-6 / (R * 273.15) / 60.0
_SCCM20 = ATM * 1e-6 / (R * 293.15) / 60.0
_SCCM25 = ATM * 1e-6 / (R * 298.15) / 60.0
_CM3 = ATM * 1e-6 / (R * 273.15)  # cm3 of gas at 0 degC and 1 atm as mol
_PAM3 = 1.0 / (R * 293.15)  # Pa m3 of gas at 20 degC as mol

_PRESSURE = {
    "Pa": 1.0, "hPa": 100.0, "kPa": 1e3, "MPa": 1e6, "ubar": 0.1, "mbar": 100.0, "bar": 1e5, "psi": _PSI,
    "atm": ATM, "Torr": ATM / 760.0, "mTorr": ATM / 760e3, "kgf/cm2": 98066.5, "mmH2O(4 degC)": _WATER,
    "cmH2O(4 degC)": 10.0 * _WATER, "inH2O(4 degC)": 25.4 * _WATER,
    "mmHg(0 degC)": _MERCURY, "inHg(0 degC)": 25.4 * _MERCURY,
}  # fmt: skip
_TIME = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0, "h": 3600.0, "d": 86400.0}
_RATE_OF = ("Pa", "hPa", "kPa", "MPa", "mbar", "bar", "psi", "Torr")

TABLE: dict[str, dict[str, float]] = {
    "pressure": _PRESSURE,
    "temperature": {"K": 1.0, "degC": 1.0, "degF": 5.0 / 9.0},
    "length": {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "um": 1e-6, "nm": 1e-9, "in": 0.0254, "ft": 0.3048},
    "area": {"m2": 1.0, "cm2": 1e-4, "mm2": 1e-6, "um2": 1e-12},
    "volume": {
        "m3": 1.0, "dm3": 1e-3, "L": 1e-3, "l": 1e-3, "cm3": 1e-6, "mL": 1e-6, "ml": 1e-6, "mm3": 1e-9,
        "uL": 1e-9, "in3": 0.0254**3,
    },
    "time": _TIME,
    "amount flow": {
        "mol/s": 1.0, "mmol/s": 1e-3, "umol/s": 1e-6, "nmol/s": 1e-9, "Pa m3/s": _PAM3, "kPa L/s": _PAM3,
        "mbar L/s": 0.1 * _PAM3, "mbar l/s": 0.1 * _PAM3, "Torr L/s": ATM / 760e3 * _PAM3,
        "sccm(0 degC)": _SCCM0, "sccm(20 degC)": _SCCM20, "sccm(25 degC)": _SCCM25,
        "slm(0 degC)": 1e3 * _SCCM0, "slm(20 degC)": 1e3 * _SCCM20, "slm(25 degC)": 1e3 * _SCCM25,
    },
    "sonic conductance": {
        "m3/(s Pa)": 1.0, "dm3/(s bar)": 1e-8, "L/(s bar)": 1e-8, "L/(min bar)": 1e-8 / 60.0,
        "cm3/(s bar)": 1e-11,
    },
    "flow coefficient Kv": {"m3/h": 1.0, "L/h": 1e-3, "L/min": 0.06},
    "film coefficient": {"W/(m2 K)": 1.0, "kW/(m2 K)": 1e3},
    "pressure rate": {f"{p}/{t}": _PRESSURE[p] / _TIME[t] for p in _RATE_OF for t in ("s", "min", "h")},
    "temperature rate": {"K/s": 1.0, "K/min": 1.0 / 60.0, "K/h": 1.0 / 3600.0},
    "share": {"%": 1e-2, "ppm": 1e-6},
    "ratio": {"": 1.0, "%": 1e-2},
    "mass": {"kg": 1.0, "g": 1e-3, "mg": 1e-6},
    "energy": {"J": 1.0, "kJ": 1e3, "MJ": 1e6},
    "compliance": {"1/Pa": 1.0, "1/kPa": 1e-3, "1/bar": 1e-5, "1/MPa": 1e-6, "%/bar": 1e-7, "%/MPa": 1e-8},
    "zero shift": {f"{p}/K": _PRESSURE[p] for p in ("Pa", "hPa", "kPa", "mbar", "bar", "psi")},
    "mass flow": {
        "kg/s": 1.0, "g/s": 1e-3, "mg/s": 1e-6, "kg/h": 1.0 / 3600.0, "g/min": 1e-3 / 60.0, "g/a": 1e-3 / _YEAR,
        "mg/a": 1e-6 / _YEAR,
    },
    "frequency": {"Hz": 1.0, "kHz": 1e3},
    "heat flow": {"W": 1.0, "mW": 1e-3, "kW": 1e3},
    "torque": {"N m": 1.0, "cN m": 1e-2, "lbf in": _POUND * 0.0254, "lbf ft": _POUND * 0.3048},
    "stiffness": {"N/m": 1.0, "N/mm": 1e3, "kN/mm": 1e6, "N/um": 1e6},
    "permeability": {"mol/(m s Pa)": 1.0, "cm3(0 degC) cm/(cm2 s bar)": _CM3 * 1e-3, "barrer": _CM3 * 1e-8 / 1333.22},
    "diffusivity": {"m2/s": 1.0, "cm2/s": 1e-4, "mm2/s": 1e-6},
}  # fmt: skip
"""Dimension -> unit -> its size in SI (Kv: in m3/h; temperature: of one degree)."""
ZERO_OF = {"K": 0.0, "degC": 273.15, "degF": 459.67 * 5.0 / 9.0}
"""What is added in K to a temperature level."""


class Kind(NamedTuple):
    """What a key holds: the dimension of its units, an example in its usual unit, whether it is a level."""

    dimension: str
    example: str
    level: bool = False

    @property
    def unit(self) -> str:
        """The usual unit, of a level with its reference: "s", "bar abs"; "" of a ratio."""
        return self.example.partition(" ")[2]


KINDS: dict[str, Kind] = {
    "pressure": Kind("pressure", "20 bar abs", level=True),
    "pressure_difference": Kind("pressure", "20 Pa"),
    "temperature": Kind("temperature", "20 degC", level=True),
    "temperature_difference": Kind("temperature", "0.3 K"),
    "length": Kind("length", "4 mm"),
    "area": Kind("area", "2 mm2"),
    "volume": Kind("volume", "100 cm3"),
    "time": Kind("time", "10 s"),
    "flow_amount": Kind("amount flow", "2e-8 mol/s"),
    "conductance_iso": Kind("sonic conductance", "1e-10 m3/(s Pa)"),
    "kv": Kind("flow coefficient Kv", "0.05 m3/h"),
    "film": Kind("film coefficient", "20 W/(m2 K)"),
    "rate_pressure": Kind("pressure rate", "0.5 bar/s"),
    "rate_temperature": Kind("temperature rate", "0.3 K/h"),
    "share": Kind("share", "5 %"),
    "ratio": Kind("ratio", "0.3"),
    "mass": Kind("mass", "0.3 kg"),
    "energy": Kind("energy", "35 J"),
    "compliance": Kind("compliance", "1e-9 1/Pa"),
    "zero_shift": Kind("zero shift", "10 Pa/K"),
    "mass_flow": Kind("mass flow", "1 g/s"),
    "frequency": Kind("frequency", "50 Hz"),
    "heat_flow": Kind("heat flow", "5 W"),
    "torque": Kind("torque", "5 N m"),
    "stiffness": Kind("stiffness", "20 kN/mm"),
    "permeability": Kind("permeability", "3e-16 mol/(m s Pa)"),
    "diffusivity": Kind("diffusivity", "1e-10 m2/s"),
}

_SCCM = "sccm(0 degC), sccm(20 degC) or sccm(25 degC)"
_SLM = "slm(0 degC), slm(20 degC) or slm(25 degC)"
_PV = "Pa m3/s (at 20 degC) or sccm(0 degC)"
AMBIGUOUS = {
    "sccm": _SCCM, "cm3/min": _SCCM, "mL/min": _SCCM, "ml/min": _SCCM, "std.cm3/min": _SCCM, "slm": _SLM,
    "slpm": _SLM, "std.cm3/s": _PV, "atm.cm3/s": _PV, "inH2O": "inH2O(4 degC)", "mmH2O": "mmH2O(4 degC)",
    "cmH2O": "cmH2O(4 degC)", "mmHg": "mmHg(0 degC)", "inHg": "inHg(0 degC)", "cc": "cm3", "C": "degC", "F": "degF",
    "deg": "degC", "sec": "s", "hr": "h", "micron": "um", "torr": "Torr",
}  # fmt: skip
"""Names that are refused -> what to write."""
