"""From whatever a command does or raises to an exit code and at most one line on stderr."""

import logging
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

import typer

from simcal import errors
from simcal.cli import output

log = logging.getLogger("simcal")


def guarded(work: Callable[[], int], words: Sequence[str]) -> int:
    """Exit code of `work()`; a known error becomes its line, anything else a defect.

    Args:
        work: does the whole command and returns its code.
        words: the command line; --quiet, --debug and --all-errors are looked up in it, because they must count
            also when it cannot be parsed.
    """
    with _messages(quiet="--quiet" in words):
        try:
            code = work()
            output.finish()
            return code
        except typer.Exit as stop:
            output.finish()
            return stop.exit_code
        except errors.InputError as error:
            return _unusable(error, every="--all-errors" in words)
        except typer.TyperException as error:
            return _usage(error)
        except (KeyboardInterrupt, errors.Interrupted):
            return _ended(errors.INTERRUPTED, "interrupted")
        except Exception as error:
            return _defect(error, debug="--debug" in words)


def reported(work: Callable[[], None], unreadable: Callable[[str], None], *, debug: bool, every: bool) -> int:
    """Exit code of one record of several: a fault of one does not keep the others from their answer.

    Args:
        work: reads and shows the record.
        unreadable: told the one line of a record that could not be read.
        debug: show where a defect happened.
        every: name every fault.
    """
    try:
        work()
    except errors.InputError as error:
        unreadable(str(error))
        return _unusable(error, every)
    except (typer.Exit, typer.TyperException, errors.Interrupted):
        raise
    except Exception as error:
        unreadable(f"a defect of simcal: {type(error).__name__}: {error}")
        return _defect(error, debug)
    return errors.GOOD


def _unusable(error: errors.InputError, every: bool) -> int:
    if every:
        for fault in error.faults:
            output.complain(fault.line())
        return errors.UNUSABLE
    output.complain(str(error))
    return errors.UNUSABLE


def _usage(error: typer.TyperException) -> int:
    """A command line that cannot be parsed."""
    format_message = getattr(error, "format_message", None)
    text = format_message() if format_message else str(error)
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "simcal"
    return _ended(errors.UNUSABLE, f"{text.rstrip('.')}; `{path} --help` lists what there is")


def _defect(error: Exception, debug: bool) -> int:
    if debug:
        import traceback

        output.complain_text(traceback.format_exc())
    hint = "" if debug else "; --debug shows where"
    return _ended(errors.DEFECT, f"a defect of simcal: {type(error).__name__}: {error}{hint}")


def _ended(code: int, text: str) -> int:
    output.complain(f"simcal: {text}")
    return code


@contextmanager
def _messages(quiet: bool) -> Iterator[None]:
    """Show what the rooms log, one line each on stderr, while the block lasts."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(logging.Formatter("simcal: %(message)s"))
    handler.setLevel(logging.ERROR if quiet else logging.INFO)
    log.addHandler(handler)
    try:
        yield
    finally:
        log.removeHandler(handler)
