"""The docstring of a flow or heat law is its data sheet: every argument stands there, with its unit."""

import inspect
import re

import pytest

from simcal.physics import (
    conduction,
    convection,
    flow,
    heat,
    leaks,
    nozzle,
    permeation,
    rates,
    shapes,
    stated,
    tube,
)

ROOMS = (conduction, convection, flow, heat, leaks, nozzle, permeation, rates, shapes, stated, tube)
NO_UNIT = {
    "gas",
    "a",
    "f",
    "shape",
    "kind",
    "table",
}  # objects, names, and arrays whose places are told one by one


def functions():
    for room in ROOMS:
        for name, thing in vars(room).items():
            plain = getattr(thing, "py_func", thing)
            own = inspect.isfunction(plain) and plain.__module__ == room.__name__
            if own and not name.startswith("_"):
                yield pytest.param(plain, id=f"{room.__name__.rsplit('.', 1)[1]}.{name}")


@pytest.mark.parametrize("function", list(functions()))
def test_every_argument_is_told_with_its_unit(function):
    sheet = inspect.getdoc(function)
    for argument in inspect.signature(function).parameters:
        told = re.search(rf"^{argument}: (.+(?:\n    .+)*)", sheet, re.MULTILINE)
        assert told, f"{argument} is missing"
        assert argument in NO_UNIT or re.search(r"\[[^\]]+\]", told.group(1)), f"{argument} has no unit"
