"""The pages of the documentation say what is so: commands, examples, checks, rooms and fields."""

import doctest
import importlib
import re
import runpy
from pathlib import Path

import pytest

from pondwright.cli.main import app
from pondwright.cli.pages import limits
from pondwright.flow.stages import STAGES
from pondwright.job.codec import job_schema
from tools.make_walks import PAGES, ROOT, walked

DOCS = ROOT / "docs"
ROOMS = sorted((DOCS / "rooms").glob("*.md"))
GALLERY = sorted((ROOT / "examples/gallery").glob("*.py"))
MARKDOWN = sorted([ROOT / "README.md", *DOCS.rglob("*.md")])


def text(path):
    return path.read_text(encoding="utf-8")


def named(path):
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_a_page_shows_what_its_commands_print(page):
    assert text(page) == walked(text(page))


@pytest.mark.parametrize("script", GALLERY, ids=named)
def test_a_script_of_the_gallery_runs_and_asserts_a_number(script):
    assert "\nassert " in text(script)

    runpy.run_path(str(script))


@pytest.mark.parametrize("page", ROOMS, ids=named)
def test_the_examples_of_a_room_run(page):
    failed, tried = doctest.testfile(
        str(page), module_relative=False, optionflags=doctest.NORMALIZE_WHITESPACE
    )

    assert tried > 0 and failed == 0


def codes_in_source():
    """Codes of all checks: those with a limit, and those that the checks of the rooms write themselves."""
    places = {stage.function.__module__.partition(".stage")[:2] for stage in STAGES}
    for room in {room for room, in_a_room in places if in_a_room}:
        checks = Path(importlib.import_module(f"{room}.checks").__file__)
        # A room's checks are one module, or a package with a module for each question.
        modules = checks.parent.glob("*.py") if checks.stem == "__init__" else (checks,)
        source = "".join(map(text, modules))
        yield from re.findall(r'code="([a-z_]+\.[a-z_]+)"', source)
    yield from (limit.code for limit in limits())


def test_every_check_stands_in_the_page_of_its_room():
    told = "".join(map(text, ROOMS))

    assert {code for code in codes_in_source() if f"`{code}`" not in told} == set()


def test_the_pages_of_the_rooms_name_no_check_that_is_not_there():
    rooms = {stage.name.partition(".")[0] for stage in STAGES}
    rows = re.findall(r"^\| (`.*?) \|", "".join(map(text, ROOMS)), re.MULTILINE)
    told = {code for row in rows for code in re.findall(r"`([a-z_]+\.[a-z_]+)`", row)}

    assert {code for code in told if code.partition(".")[0] in rooms} - set(codes_in_source()) == set()


def test_every_room_with_a_stage_has_its_page_and_its_row_in_the_readme():
    rooms = dict.fromkeys(stage.name.partition(".")[0] for stage in STAGES)
    pages = dict.fromkeys(page.stem.split("-")[1] for page in ROOMS)

    assert list(pages) == list(rooms)
    assert [room for room in rooms if f"| `{room}` |" not in text(ROOT / "README.md")] == []


def test_every_command_is_told():
    named = [command for command in app.registered_commands if command.callback]
    commands = [command.name or command.callback.__name__ for command in named]
    told = text(DOCS / "reference/cli.md")

    assert [command for command in commands if f"## {command}\n" not in told] == []


def test_every_field_of_the_job_is_told():
    schema = job_schema()
    _, *parts = re.split(r"^## ", text(DOCS / "reference/job-document.md"), flags=re.MULTILINE)
    told = {part.partition("\n")[0]: part for part in parts}

    left_out = [
        f"{name}.{field}"
        for name, model in {"Job": schema, **schema["$defs"]}.items()
        for field in model["properties"]
        if f"| `{field}` |" not in told.get(name, "")
    ]
    assert left_out == []


@pytest.mark.parametrize("page", MARKDOWN, ids=named)
def test_every_link_to_a_file_leads_to_one(page):
    links = re.findall(r"\]\((?!https?:|#)([^)#\s]+)", text(page))

    assert [link for link in links if not (page.parent / link).exists()] == []
