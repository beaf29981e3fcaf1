"""From what was asked of `settle` to its answer and the document of it."""

from typing import TYPE_CHECKING, Any

from simcal.cli.asked import Asked

if TYPE_CHECKING:
    from simcal.analysis.settle.result import SettleResult
    from simcal.bench.bench import Bench


def answer(bench: "Bench", asked: Asked, workers: int | None, quiet: bool, resume: bool = False) -> "SettleResult":
    """The analysis, with bars on a terminal while it runs."""
    from simcal.analysis.settle import settle as analyse
    from simcal.run import on_terminal

    with on_terminal(quiet) as progress:
        return analyse(
            bench,
            device=asked.device,
            sequence=asked.sequence,
            trials=asked.trials,
            groups=asked.groups,
            dwell_s=asked.dwell_s(),
            seed=asked.seed,
            workers=workers,
            progress=progress,
            self_check=asked.self_check,
            resume=resume,
        )


def document_of(result: "SettleResult", bench: "Bench", asked: Asked) -> dict[str, Any]:
    """The JSON document of an answer, with what is needed to run it again."""
    from simcal.show.jsonout import settle_document

    return settle_document(result, bench, asked.arguments())
