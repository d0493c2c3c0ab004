"""The shelf of jobs: files dropped on it, examples as copies, archive, history and named versions."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import expect

from pondwright import examples
from tests.browser.driver import Window, assert_same

DROP = """([name, text]) => {
    const carried = new DataTransfer();
    carried.items.add(new File([text], name, { type: "application/json" }));
    const told = { dataTransfer: carried, bubbles: true, cancelable: true };
    document.querySelector("main").dispatchEvent(new DragEvent("drop", told));
}"""


@pytest.fixture
def shelf(window) -> Window:
    window.open_jobs()
    return window


def test_a_job_file_dropped_anywhere_opens_as_a_job(shelf):
    text = examples.example_text("dozen_shots")

    shelf.page.evaluate(DROP, ["dozen.pond.json", text])
    shelf.opened()

    assert len(shelf.job()["site"]["shots"]) == 12


def test_a_bad_file_is_refused_in_words_and_the_shelf_stays(shelf):
    shelf.pardoned = ("Failed to load resource",)
    broken = json.loads(examples.example_text("dozen_shots"))
    broken["site"]["shots"]["s01"]["elevation"] = "high"

    for text in ("this is no job", json.dumps(broken)):
        shelf.page.evaluate(DROP, ["bad.pond.json", text])
        fault = shelf.page.locator("#begin-fault")
        expect(fault).not_to_be_empty()
        assert shelf.page.url.endswith("#/jobs")


def test_a_job_file_is_picked_and_its_download_is_the_same_job(shelf, tmp_path):
    file = tmp_path / "mine.pond.json"
    file.write_text(examples.example_text("dozen_shots"), encoding="utf-8")

    shelf.on("import").set_input_files(file)
    shelf.opened()
    kept = shelf.kept()
    job_id = shelf.job_id
    shelf.open_jobs()
    card = shelf.page.locator("li.card").filter(has=shelf.page.get_by_test_id(f"job-{job_id}"))
    card.locator("summary").click()
    with shelf.page.expect_download() as download:
        card.get_by_role("link", name="Download").click()

    again = json.loads(download.value.path().read_text(encoding="utf-8"))
    assert again["site"]["shots"].keys() == kept["site"]["shots"].keys()
    assert again["shape"] == json.loads(file.read_text(encoding="utf-8"))["shape"]


def test_a_new_job_needs_a_name(shelf):
    shelf.on("new-start").click()

    expect(shelf.page.locator("#begin-fault")).to_contain_text("A job needs a name")


def test_an_example_opens_as_a_copy_that_says_it_is_invented(shelf):
    shelf.on("example-dozen_shots").click()
    shelf.opened()
    first = shelf.job_id
    with shelf.change():
        shelf.type_in("box-level", "99.1 m")
    expect(shelf.page.locator("h1")).to_contain_text("invented example")
    shelf.open_jobs()
    shelf.on("example-dozen_shots").click()
    shelf.page.wait_for_url(lambda address: "#/job/" in address and first not in address)
    shelf.opened()

    assert shelf.job_id != first
    assert shelf.kept()["shape"]["bodies"]["pond"]["level"] is None


def test_a_job_is_duplicated_archived_and_given_a_state(shelf, copy_of):
    job = copy_of("dozen_shots")
    shelf.page.reload()
    card = shelf.page.locator("li.card").filter(has=shelf.page.get_by_test_id(f"job-{job}"))
    card.wait_for()
    cards = shelf.page.locator("li.card")
    count = cards.count()

    card.locator("summary").click()
    card.get_by_role("button", name="Duplicate").click()
    expect(cards).to_have_count(count + 1)
    card.locator("select").select_option("signed")
    shelf.page.reload()
    expect(card.locator("select")).to_have_value("signed")
    card.locator("summary").click()
    card.get_by_role("button", name="Archive").click()
    expect(card).to_have_count(0)
    shelf.page.get_by_label("Show the archive").check()
    expect(card).to_have_count(1)
    card.locator("summary").click()
    card.get_by_role("button", name="Take out of the archive").click()
    shelf.page.get_by_label("Show the archive").uncheck()
    expect(card).to_have_count(1)


def test_jobs_are_found_by_name(shelf, copy_of):
    copy_of("larkmeadow")
    copy_of("dozen_shots")
    shelf.page.reload()

    shelf.page.get_by_label("Search jobs").fill("lark")

    names = shelf.page.locator("li.card h3")
    expect(names.first).to_contain_text("Lark")
    assert all("lark" in name.lower() for name in names.all_inner_texts())


def test_history_brings_back_the_start_as_a_new_edit(window, copy_of):
    window.open(copy_of("dozen_shots"))
    before = window.kept()
    for level in ("99.1 m", "99.2 m"):
        with window.change():
            window.type_in("box-level", level)

    window.on("history").click()
    with window.change():
        window.page.get_by_role("button", name="Bring back revision 0", exact=True).click()

    assert_same(window.kept(), before)
    assert window.job()["shape"]["bodies"]["pond"].get("level") is None


def test_a_version_is_named_brought_back_and_tells_what_moved_since(window, copy_of):
    page = window.page
    window.open(copy_of("dozen_shots"))
    with window.change():
        window.type_in("box-level", "99.1 m")
    window.on("history").click()
    window.on("version-name").fill("signed 12 March")
    page.get_by_label("Signed by").fill("Ann Example")
    page.get_by_role("button", name="Name this revision").click()
    page.locator(".revisions").first.get_by_text("signed 12 March").wait_for()
    signed = window.kept()
    with window.change():
        window.type_in("box-level", "99.2 m")

    page.locator(".corner").get_by_role("button", name="Dig:").click()
    window.on("explain-since").select_option("signed 12 March")
    page.get_by_text("Since “signed 12 March” it was").wait_for()
    page.locator(".leaf li", has_text="→").first.wait_for()
    moved = page.locator(".leaf li").all_inner_texts()
    window.on("history").click()
    with window.change():
        page.get_by_role("button", name="Bring back revision 1", exact=True).first.click()

    assert any("water at rest: 99.1" in words for words in moved), moved
    assert_same(window.kept(), signed)
