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


def _print_version(wanted: bool) -> None:
    if wanted:
        from pondwright import __version__

        typer.echo(f"pondwright {__version__}")
        raise typer.Exit


@app.callback()
def about(
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_print_version, help="Print the version.")
    ] = False,
) -> None:
    """From a dozen shots and a shoreline to a pond that holds."""


@app.command()
def check(
    job: JobFile,
    every: Annotated[
        bool, typer.Option("--all", help="Print every stop and look, not only those that matter most.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Print the checks of a job and its headline numbers; ends with 1 if any check stops."""
    from pondwright import api
    from pondwright.cli import checks

    run = api.compute(api.open_job(job))
    found = api.checks(run)
    checks.print_checks(run, found, every=every, as_json=as_json)
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

    run = api.compute(api.open_job(job), only=path)
    if explained:
        values.print_explanation(api.explain(run, path), run.job.shown_units, as_json=as_json)
    else:
        values.print_value(run, path, as_json=as_json)


@app.command()
def levels(
    job: JobFile,
    take: Annotated[
        Path | None, typer.Option("--take", metavar="PAGE", help="Page of a field book to take in (CSV).")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="JOB", help="File for the job with the page in it.")
    ] = None,
    unit: Annotated[
        str | None, typer.Option("--unit", help="Unit of the page's rod: m, cm, mm, ft or ft-in.")
    ] = None,
    up: Annotated[bool, typer.Option("--up", help="On the page a larger reading is higher ground.")] = False,
    as_json: AsJson = False,
) -> None:
    """Print the level books of a job, worked out, or take a page in; ends with 1 if a check stops."""
    from pondwright import api
    from pondwright.base.errors import DomainError
    from pondwright.base.findings import Grade
    from pondwright.cli import levels

    opened = api.open_job(job)
    if take is not None:
        opened = levels.taken(opened, take, out, unit, up=up)
    run = api.compute(opened, only="site.level_points")
    result = run.stages["site.levels"].result
    if result is None:
        raise DomainError(run.findings[0].says)
    levels.print_levels(result, run.findings, run.job.shown_units, as_json=as_json)
    if any(finding.grade is Grade.STOP for finding in run.findings):
        raise typer.Exit(STOPPED)


@app.command()
def hole(job: JobFile, as_json: AsJson = False) -> None:
    """Print the old hole that the survey tells: floor, lip, water marks, storage, and the muck in it."""
    from pondwright import api
    from pondwright.base.errors import DomainError
    from pondwright.cli import hole

    run = api.compute(api.open_job(job), only="site.layers")
    states = [run.stages[name] for name in ("site.old_hole", "site.layers")]
    for state in run.stages.values():
        if state.result is None:
            raise DomainError(state.findings[0].says)
    findings = [finding for state in states for finding in state.findings]
    found, layers = (state.result for state in states)
    hole.print_hole(found, layers, findings, run.job.shown_units, as_json=as_json)


@app.command()
def groundwater(job: JobFile, as_json: AsJson = False) -> None:
    """Print the water in the ground: heads, uplift, safe marks, drains, and water while it is built.

    Ends with 1 if a check stops.
    """
    from pondwright import api
    from pondwright.base.errors import DomainError
    from pondwright.base.findings import Grade
    from pondwright.cli import groundwater

    run = api.compute(api.open_job(job), tier="settle", only="groundwater")
    states = {name: state for name, state in run.stages.items() if name.startswith("groundwater.")}
    for state in run.stages.values():
        if state.failed:
            raise DomainError(state.findings[0].says)
    findings = [finding for state in states.values() for finding in state.findings]
    results = {name: state.result for name, state in states.items()}
    groundwater.print_groundwater(results, findings, run.job.shown_units, as_json=as_json)
    if any(finding.grade is Grade.STOP for finding in findings):
        raise typer.Exit(STOPPED)


@app.command()
def lining(job: JobFile, as_json: AsJson = False) -> None:
    """Print the lining: areas, sizes to order, piece list, weight, tapes, and the edge's low places.

    Ends with 1 if a check stops.
    """
    from pondwright import api
    from pondwright.base.errors import DomainError
    from pondwright.base.findings import Grade
    from pondwright.cli import lining

    run = api.compute(api.open_job(job), tier="background", only="lining")
    states = {key: state for key, state in run.stages.items() if key.startswith("lining.")}
    for state in run.stages.values():
        if state.failed:
            raise DomainError(state.findings[0].says)
    findings = [finding for state in states.values() for finding in state.findings]
    results = {key: state.result for key, state in states.items()}
    lining.print_lining(results, findings, run.job.shown_units, as_json=as_json)
    if any(finding.grade is Grade.STOP for finding in findings):
        raise typer.Exit(STOPPED)


@app.command()
def stone(job: JobFile, as_json: AsJson = False) -> None:
    """Print the stone: tons by class, on hand, to buy, loads, the yard list, and what lifts it.

    Ends with 1 if a check stops.
    """
    from pondwright import api
    from pondwright.base.errors import DomainError
    from pondwright.base.findings import Grade
    from pondwright.cli import stone

    run = api.compute(api.open_job(job), tier="settle", only="stone")
    states = {key: state for key, state in run.stages.items() if key.startswith("stone.")}
    for state in run.stages.values():
        if state.failed:
            raise DomainError(state.findings[0].says)
    findings = [finding for state in states.values() for finding in state.findings]
    results = {key: state.result for key, state in states.items()}
    stone.print_stone(results, findings, run.job.shown_units, as_json=as_json)
    if any(finding.grade is Grade.STOP for finding in findings):
        raise typer.Exit(STOPPED)


@app.command()
def hauls(job: JobFile, as_json: AsJson = False) -> None:
    """Print where the soil goes, how far a machine drives with it, and where its way bends.

    Ends with 1 if a check stops.
    """
    from pondwright import api
    from pondwright.base.errors import DomainError
    from pondwright.base.findings import Grade
    from pondwright.cli import hauls

    run = api.compute(api.open_job(job), tier="settle", only="earth.haul")
    for state in run.stages.values():
        if state.failed:
            raise DomainError(state.findings[0].says)
    state = run.stages["earth.haul"]
    hauls.print_hauls(state.result, state.findings, run.job, as_json=as_json)
    if any(finding.grade is Grade.STOP for finding in state.findings):
        raise typer.Exit(STOPPED)


@app.command()
def level(
    job: JobFile,
    body: Annotated[
        str, typer.Argument(metavar="[BODY]", help="Id of a body of water; all without it.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Print what each water level costs in rim, soil and liner, and what it holds."""
    from pondwright import api
    from pondwright.base.errors import DomainError
    from pondwright.cli import level

    run = api.compute(api.open_job(job), only="earth.levels")
    for state in run.stages.values():
        if state.result is None:
            raise DomainError(state.findings[0].says)
    results = run.results
    level.print_level(
        results.earth.levels, results.shape.shore.bodies, body, run.job.shown_units, as_json=as_json
    )


@app.command()
def banks(
    job: JobFile,
    add: Annotated[str, typer.Option("--add", metavar="NAME", help="Name of the bank that is added.")] = "",
    out: Annotated[
        Path | None, typer.Option("--out", metavar="JOB", help="File for the job with the bank in it.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Print banks to begin with, corner by corner, or add one of them to a job's bank types."""
    from pondwright import api
    from pondwright.cli import banks

    opened = api.open_job(job)
    if add:
        banks.added(opened, add, out)
    else:
        banks.print_banks(opened, as_json=as_json)


@app.command()
def bends(
    job: JobFile,
    body: Annotated[str, typer.Argument(metavar="BODY", help="Id of a pond.")],
    take: Annotated[str, typer.Option("--take", metavar="NAME", help="Name of the way that is taken.")] = "",
    out: Annotated[
        Path | None, typer.Option("--out", metavar="JOB", help="File for the job with the bend in it.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Print ways to bend a pond's shore with their numbers, or take one of them."""
    from pondwright import api
    from pondwright.base.errors import DomainError
    from pondwright.cli import bends

    run = api.compute(api.open_job(job), only="shape.bends")
    for state in run.stages.values():
        if state.result is None:
            raise DomainError(state.findings[0].says)
    if take:
        bends.taken(run, body, take, out)
    else:
        bends.print_bends(run, body, as_json=as_json)


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
def ballpark(
    past: Annotated[
        Path,
        typer.Option(
            "--past", metavar="TABLE", help="Past jobs (CSV): area, price, rocky, falls, hard access, wet."
        ),
    ],
    area: Annotated[str, typer.Option("--area", help="Water surface, such as 5400 ft2 or 500 m2.")],
    rocky: Annotated[bool, typer.Option("--rocky", help="Its edge is set in stone.")] = False,
    falls: Annotated[bool, typer.Option("--falls", help="It has falls or a stream.")] = False,
    hard_access: Annotated[
        bool, typer.Option("--hard-access", help="Machines come to it with trouble.")
    ] = False,
    wet: Annotated[bool, typer.Option("--wet", help="The ground is wet.")] = False,
    metric: Annotated[bool, typer.Option("--metric", help="A bare area is in m2; else in ft2.")] = False,
    as_json: AsJson = False,
) -> None:
    """Print a price band for a pond from your own past jobs."""
    from pondwright.cli import ballpark
    from pondwright.rooms.site.ballpark import Traits

    traits = Traits(rocky, falls, hard_access, wet)
    ballpark.print_ballpark(past, area, traits, "metric" if metric else "us", as_json=as_json)


@app.command()
def papers(
    job: JobFile,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder to write them into.")] = Path(
        "papers"
    ),
    photos: Annotated[
        Path | None, typer.Option("--photos", metavar="DIR", help="Folder of the job's photos, any names.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Write the papers of a job: site report, plans, sections, shore, soil plan and drain profiles."""
    from pondwright import api
    from pondwright.cli import output
    from pondwright.cli.photos import photos_by_hash

    files = photos_by_hash(photos) if photos else {}
    written = api.write_papers(api.compute(api.open_job(job)), out, files)
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
def rebase(
    job: JobFile,
    survey: Annotated[
        str, typer.Argument(metavar="SURVEY", help="Id of the survey that shot the ground again.")
    ],
    as_json: AsJson = False,
) -> None:
    """Print which figures a survey moved: without it, and with it."""
    from pondwright import api
    from pondwright.cli import values

    now = api.open_job(job)
    found = api.compare(api.without_survey(now, survey), now)
    values.print_moved(survey, found, now.shown_units, as_json=as_json)


@app.command()
def warm(as_json: AsJson = False) -> None:
    """Get ready once after installing, so that the first answer is as quick as the next."""
    from pondwright import api
    from pondwright.cli import output

    count = api.warm()
    output.answer({"kernels": count}, f"{count} kernels are ready", as_json=as_json)


@app.command("import")
def bring_in(
    job: JobFile,
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="Point table, XYZ, LAS, LAZ, GeoTIFF, LandXML or GeoJSON.")
    ],
    take_as: Annotated[
        str, typer.Option("--as", metavar="shots|cloud", help="Take it as shots, or as a measured surface.")
    ] = "",
    unit: Annotated[
        str, typer.Option(metavar="m|ft|ftUS", help="Unit of the file, where it does not tell it.")
    ] = "",
    height_unit: Annotated[
        str, typer.Option(metavar="m|ft|ftUS", help="Unit of its heights, where it is another.")
    ] = "",
    order: Annotated[str, typer.Option(help="Columns of a text, such as PNEZD or ENZ.")] = "",
    epsg: Annotated[int | None, typer.Option(help="Code of the file's map grid; 4326 for degrees.")] = None,
    surface: Annotated[str, typer.Option(help="Which surface of several.")] = "",
    lowest: Annotated[
        bool, typer.Option("--lowest", help="Take the lowest point of each cell, not the mean.")
    ] = False,
    window: Annotated[
        str, typer.Option(metavar="W,S,E,N", help="Only what lies there, in the job's own metres.")
    ] = "",
    points: Annotated[
        int, typer.Option(min=3, max=8000, help="Points of the thinned surface, at most.")
    ] = 4000,
    out: Annotated[
        Path | None, typer.Option(metavar="JOB", help="Write the job there instead of over itself.")
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Take it; without this it is only shown.")] = False,
    far: Annotated[bool, typer.Option("--far", help="Take it although it lies far off the job.")] = False,
    as_json: AsJson = False,
) -> None:
    """Show what a survey file holds, and with --yes take it into a job."""
    from pondwright.cli import bring_in

    asked = bring_in.Asked(take_as, unit, height_unit, order, epsg, surface, lowest, window, points)
    bring_in.bring_in(job, file, asked, out, yes=yes, far=far, as_json=as_json)


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
