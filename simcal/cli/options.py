"""The options that several commands share, each with its one help text."""

from typing import Annotated

import typer

Json = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of text.")]
JsonLines = Annotated[bool, typer.Option("--json", help="Print one JSON document a record, one line each.")]
Out = Annotated[
    str | None,
    typer.Option("--out", metavar="DIR", help="Write result.json, tables, figures and page.html into a new folder."),
]
Force = Annotated[bool, typer.Option("--force", help="Replace what is already there.")]
Sets = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        help="Change a key of the bench, like volume.port.capacity='50 cm3'; may be repeated.",
    ),
]
AboutSets = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        help="Change a key of the about-file, like permitted_leak='2e-7 mol/s'; may be repeated.",
    ),
]
LabSets = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="KEY=VALUE", help="Change a key of the LAB file, like rule.ratio=3; may be repeated."
    ),
]
Seed = Annotated[int, typer.Option("--seed", metavar="N", help="Seed of everything drawn.")]
Workers = Annotated[
    int | None,
    typer.Option("--workers", metavar="N", min=1, max=4096, help="Threads to use; else one for each core."),
]
Processes = Annotated[
    int | None,
    typer.Option("--workers", metavar="N", min=1, max=4096, help="Processes to use; else one for each core."),
]
Resume = Annotated[
    bool, typer.Option("--resume", help="Take up what an interrupted run of the same question had done.")
]
Quiet = Annotated[bool, typer.Option("--quiet", help="No progress and no messages on stderr.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show where a defect of simcal happened.")]
AllErrors = Annotated[bool, typer.Option("--all-errors", help="Name every fault of the input, one a line.")]
