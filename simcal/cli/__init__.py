"""The command line: parse, call one function, print; the only room that exits or turns an error into a line."""

from simcal.cli.app import main

__all__ = ["main"]
