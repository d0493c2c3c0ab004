"""The command ``pondwright``: its commands, and what a person is told when something is wrong.

It ends with 0 if all is well, 1 if a check stops the job or a published case is not met, 2 if the question
or the file was wrong, and 3 if pondwright itself is at fault.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from pondwright.base.errors import DocumentError, PondwrightError, StageError

STOPPED, WRONG, OUR_FAULT = 1, 2, 3

JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job's file, such as larkmeadow.pond.json.")]
AsJson = Annotated[
    bool, typer.Option("--json", help="Print JSON, metric whatever the job shows, instead of text.")
]

app = typer.Typer(
    name="pondwright",
    help="From a dozen shots and a shoreline to a pond that holds.",
    epilog="It ends with 1 if a check stops the job, with 2 if a file or a question is wrong.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.command()
def check(job: JobFile, as_json: AsJson = False) -> None:
    """Print the checks of a job and its headline numbers; ends with 1 if any check stops."""
    from pondwright import api
    from pondwright.cli import checks

    run = api.compute(api.open_job(job))
    found = api.checks(run)
    checks.print_checks(run, found, as_json=as_json)
    if found.stops:
        raise typer.Exit(STOPPED)


@app.command()
def show(
    job: JobFile,
    path: Annotated[
        str,
        typer.Argument(metavar="PATH", help="Dotted path, such as shape.storage.bodies.pond.volume."),
    ],
    explained: Annotated[
        bool, typer.Option("--explain", help="Tell where the value comes from: method, source, inputs.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Print one value of a job, or all figures below a path."""
    from pondwright import api
    from pondwright.cli import values

    run = api.compute(api.open_job(job))
    if explained:
        values.print_explanation(api.explain(run, path), run.job.shown_units, as_json=as_json)
    else:
        values.print_value(run, path, as_json=as_json)


@app.command()
def ledger(
    missing: Annotated[
        bool, typer.Option("--missing", help="Print only the methods that no case covers.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Try every method against its published and hand-derived cases; ends with 1 if one is not met."""
    from pondwright import api
    from pondwright.cli import cases

    found = api.ledger()
    cases.print_ledger(found, missing=missing, as_json=as_json)
    if found.missing if missing else found.unmet:
        raise typer.Exit(STOPPED)


@app.command()
def papers(
    job: JobFile,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder to write them into.")],
    as_json: AsJson = False,
) -> None:
    """Write the papers of a job."""
    from pondwright import api
    from pondwright.cli import output

    written = api.write_papers(api.compute(api.open_job(job)), out)
    names = [str(path) for path in written]
    output.answer(names, "\n".join(names), as_json=as_json)


@app.command()
def schema(as_json: AsJson = False) -> None:
    """Print the JSON Schema of the job document (always as JSON)."""
    from pondwright import api
    from pondwright.cli import output

    output.print_json(api.schema())


@app.command()
def compare(
    before: Annotated[Path, typer.Argument(metavar="JOB", help="The earlier job's file.")],
    now: Annotated[Path, typer.Argument(metavar="JOB", help="The later job's file.")],
    as_json: AsJson = False,
) -> None:
    """Print what differs between two jobs, and which figures moved."""
    from pondwright import api
    from pondwright.cli import values

    later = api.open_job(now)
    values.print_comparison(api.compare(api.open_job(before), later), later.shown_units, as_json=as_json)


@app.command()
def warm(as_json: AsJson = False) -> None:
    """Get ready once after installing, so that the first answer is as quick as the next."""
    from pondwright import api
    from pondwright.cli import output

    count = api.warm()
    output.answer({"kernels": count}, f"{count} kernels are ready", as_json=as_json)


@app.command()
def serve(
    data: Annotated[
        Path | None,
        typer.Option("--data", metavar="DIR", help="Folder of the jobs; else PONDWRIGHT_DATA or the user's."),
    ] = None,
    host: Annotated[
        str, typer.Option("--host", help="A name of this machine; no other is served.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="0 for any that is free.")] = 8420,
    open_example: Annotated[
        bool,
        typer.Option(
            "--open-example", help="Put the example on an empty shelf, and print its plan's address."
        ),
    ] = False,
) -> None:
    """Serve the page of pondwright on this machine."""
    from pondwright.cli.serve import serve

    serve(data, host, port, open_example=open_example)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str or None
        What follows the word ``pondwright``; None for what this process was given.

    Returns
    -------
    int
        How it ended.
    """
    try:
        return _ended(arguments)
    except StageError as error:
        return _told(_our_fault(error), OUR_FAULT)
    except DocumentError as error:
        return _told("\n".join([error.says, *(f"  {fault}" for fault in error.faults)]), WRONG)
    except PondwrightError as error:
        return _told(str(error), WRONG)
    except BrokenPipeError:  # the reader of our output has gone
        sys.stderr.close()
        return WRONG
    except Exception as error:
        return _told(_our_fault(error), OUR_FAULT)


def _ended(arguments: Sequence[str] | None) -> int:
    try:
        app(args=list(sys.argv[1:] if arguments is None else arguments), prog_name="pondwright")
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else 0
    return 0


def _told(says: str, code: int) -> int:
    typer.echo(f"pondwright: {says}", err=True)
    return code


def _our_fault(error: Exception) -> str:
    """Sentence about a fault of ours, with what a report of it needs."""
    import platform
    import traceback

    from pondwright import __version__

    last = traceback.extract_tb(error.__traceback__)[-1]
    return (
        f"this is a fault of pondwright, not of your job: {type(error).__name__}: {error}\n"
        f"  Nothing was changed.  Please report it with the command that you typed, the job's file, and this"
        f" line:\n  pondwright {__version__}, Python {platform.python_version()},"
        f" {Path(last.filename).name} line {last.lineno} in {last.name}"
        + "".join(f", {note}" for note in getattr(error, "__notes__", ()))
    )


if __name__ == "__main__":
    sys.exit(main())
