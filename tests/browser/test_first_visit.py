"""The first call and the first walk, from an empty list of jobs to a ground model: phone and desk."""

from __future__ import annotations

import math
import random
import re
import struct
import zlib

import pytest

from tests.browser.driver import Place, Window
from tests.browser.test_access import AXE, RULES, faults, sideways
from tests.browser.test_first_minutes import SHOTS

SHORE = [(25.5, 19.5), (22.5, 24.0), (17.0, 24.5), (14.0, 21.0), (16.0, 16.5), (21.5, 16.0)]
SQUARE_FEET = 0.3048**2


def picture(width: int = 64, height: int = 48, grey: int = 128, noise: bytes = b"") -> dict[str, object]:
    """A photo as a person picks it: a grey PNG, with rows of noise where it must be a large file."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    rows = b"".join(
        b"\0" + (noise[row * width : (row + 1) * width] or bytes([grey]) * width) for row in range(height)
    )
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    body = b"".join((chunk(b"IHDR", head), chunk(b"IDAT", zlib.compress(rows, 1)), chunk(b"IEND", b"")))
    return {"name": "photo.png", "mimeType": "image/png", "buffer": b"\x89PNG\r\n\x1a\n" + body}


def photos_of(window: Window) -> list[dict[str, object]]:
    """Photos as the server keeps them."""
    answer = window.page.request.get(f"{window.server.address}/api/jobs/{window.job_id}/photos")
    assert answer.ok, answer.text()
    return list(answer.json()["photos"])


def back(window: Window) -> None:
    """From a page of the site to the one before."""
    window.page.get_by_role("button", name="Back", exact=True).click()


def page_of(window: Window, name: str) -> None:
    """A page of the Site room, from its list."""
    window.on(f"site-{name}").click()
    window.page.locator(".leaf h2").wait_for()


def assert_fit_for_a_phone(window: Window, name: str) -> None:
    """Nothing that axe finds, and nothing that scrolls sideways."""
    window.page.evaluate(AXE)
    assert (name, faults(window, RULES, "tag")) == (name, [])
    assert (name, sideways(window) <= 0.0) == (name, True)


def seen(window: Window, across: float, down: float) -> Place:
    """Place of the site at a share of the plan's width and height."""
    box = window.on("plan").bounding_box()
    assert box is not None
    return window.site((box["x"] + across * box["width"], box["y"] + down * box["height"]))


def finger(window: Window, place: Place) -> None:
    """Press a place of the plan with a finger."""
    window.page.touchscreen.tap(*window.pixel(place))


@pytest.fixture
def phone(open_window) -> Window:
    """A phone on which a new job was just begun."""
    window: Window = open_window(360, 740, touch=True)
    window.open_jobs()
    window.on("new-name").fill("Mill Lane 4")
    window.on("new-units").select_option("metric")
    window.on("new-start").tap()
    window.opened()
    window.on("shots-text").wait_for()
    return window


def test_from_the_first_call_to_the_ground_model_on_a_phone(phone):
    page = phone.page
    phone.on("to-site").tap()
    phone.on("site-card").wait_for()
    assert_fit_for_a_phone(phone, "site")

    # The first call.
    page_of(phone, "card")
    with phone.change(3):
        phone.type_in("card-client", "Ann Miller (invented)")
        phone.type_in("card-size_guess", "650 sq ft")
        phone.type_in("card-next_step", "walk the site")
    with phone.change(2):
        phone.on("card-next_on").fill("2027-04-02")
        phone.on("card-old_pond").get_by_text("an old pond").tap()
    phone.on("card-state").select_option("seen")
    assert_fit_for_a_phone(phone, "card")
    brief = phone.kept()["brief"]
    assert brief["size_guess"] == pytest.approx(650 * SQUARE_FEET)
    assert (brief["client"], brief["next_on"], brief["old_pond"]) == (
        "Ann Miller (invented)",
        "2027-04-02",
        True,
    )

    # The walk: three answers, and a photo of what is trouble.
    back(phone)
    page_of(phone, "walk")
    assert phone.on("walk-progress").inner_text().strip() == "0 of 30 looked at"
    with phone.change(3):
        phone.on("walk-gate_width-fine").tap()
        phone.on("walk-overhead_lines-trouble").tap()
        phone.on("walk-well-none").tap()
    assert phone.on("walk-progress").inner_text().strip() == "3 of 30 looked at · 1 with trouble"
    with phone.change():
        phone.on("walk-overhead_lines-photo").set_input_files(picture())
    with phone.change():
        phone.on("walk-overhead_lines-says").fill("Low over the gate")
        page.keyboard.press("Tab")
    page.locator(".thumbs img").wait_for()
    assert_fit_for_a_phone(phone, "walk")
    walk = phone.kept()["site"]["walk"]
    assert {name: row["answer"] for name, row in walk.items()} == {
        "gate_width": "fine", "overhead_lines": "trouble", "well": "none",
    }  # fmt: skip
    assert walk["overhead_lines"]["says"] == "Low over the gate"
    (logged,) = photos_of(phone)
    assert logged["of"] == "site.walk.overhead_lines"
    assert logged["files"] == walk["overhead_lines"]["files"]

    # The brief: a wish that becomes a check.
    back(phone)
    page_of(phone, "brief")
    with phone.change():
        phone.on("wish-new").fill("Deep enough to swim")
        phone.on("wish-add").tap()
    with phone.change():
        phone.on("wish-wish-tie").select_option("depth")
    with phone.change():
        phone.type_in("wish-wish-number", "6 ft")
    assert_fit_for_a_phone(phone, "brief")
    wish = phone.kept()["brief"]["wishes"]["wish"]
    assert wish["at_least"] == pytest.approx(6 * 0.3048)
    assert wish["figure"].endswith("greatest_depth")

    # A dozen shots, and the shore that the client has in mind.
    back(phone)
    page.get_by_role("button", name="Add shots").tap()
    phone.on("shots-text").fill(SHOTS)
    page.get_by_role("button", name="Add 12 shots").wait_for()
    with phone.change():
        phone.on("shots-add").tap()
    # Shots that are added from the site leave the hand free; the shoreline is a press of its own.
    assert page.locator("main").get_attribute("data-drawing") == "no"
    page.get_by_role("button", name="Add shots").tap()
    page.get_by_role("button", name="Draw a shoreline").tap()
    phone.until("pondwright.pixel([20, 20]) !== null && document.querySelector('.plan').checkVisibility()")
    for place in SHORE:
        finger(phone, place)
    with phone.change():
        phone.on("finish").tap()

    # The ground model: the low rim as a number, the checks, and what became of the wish.
    assert page.locator(".plan").is_visible(), "the new water is what one wants to see"
    phone.on("room-site").tap()
    # The rim is lowest somewhere between the bottom of the hollow and the lowest shot of the rim.
    low = phone.figure("site.existing.bodies.pond.low_rim")
    assert 99.20 < low < 99.62
    page.get_by_role("button", name=re.compile(rf"{math.floor(100 * low) / 100:.2f}\d* m")).first.wait_for()
    assert page.locator(".all-checks .check").count() > 0
    assert_fit_for_a_phone(phone, "site with a ground model")
    page_of(phone, "brief")
    page.locator("[data-code='brief.wish.wish']").wait_for()
    deepest = phone.figure("shape.storage.bodies.pond.greatest_depth")
    grade = page.locator("[data-code='brief.wish.wish'] .grade").inner_text().strip()
    assert (grade == "Good") == (deepest >= 6 * 0.3048)

    # Level notes, one reading after the other.
    phone.on("leaf-close").tap()
    phone.go("tables")
    page.get_by_text("Field book", exact=True).tap()
    with phone.change():
        phone.on("book-new").tap()
    for point, reading in (("BM1", "1.20"), ("12", "1.55")):
        with phone.change():
            phone.on("next-point").fill(point)
            phone.on("next-rod").fill(reading)
            phone.on("next-keep").tap()
    with phone.change():
        phone.type_in("mark-bm1", "100")
    page.locator(".card-of-book", has_text="99.65").wait_for()
    assert_fit_for_a_phone(phone, "field book")


def test_a_photo_on_a_phone_is_placed_on_the_plan_and_taken_again_from_the_same_spot(phone):
    phone.on("to-site").tap()
    page_of(phone, "photos")
    phone.on("photo-add").set_input_files(picture(grey=80))
    phone.on("photo-form").wait_for()
    assert_fit_for_a_phone(phone, "a photo in the making")

    phone.on("photo-stand").tap()
    phone.until("document.querySelector('.plan').checkVisibility() && pondwright.pixel([0, 0]) !== null")
    phone.on("pick-take").wait_for()
    x, y = phone.pixel(phone.site((180.0, 150.0)))
    phone.touch("touchStart", (x, y))
    phone.touch("touchMove", (x + 40, y))
    phone.touch("touchMove", (x + 60, y))
    phone.touch("touchEnd")
    phone.on("pick-take").tap()
    assert "looking 90" in phone.on("photo-stood").inner_text()
    phone.on("photo-keep").tap()
    phone.on("photo-form").wait_for(state="detached")

    (first,) = photos_of(phone)
    assert first["bearing"] == pytest.approx(math.pi / 2, abs=0.02)
    phone.on(f"photo-{first['id']}").tap()
    phone.on("photo-again").set_input_files(picture(grey=200))
    phone.on("photo-form").wait_for()
    phone.on("photo-keep").tap()
    phone.on("photo-pair").wait_for()
    assert_fit_for_a_phone(phone, "before and after")

    again = next(photo for photo in photos_of(phone) if photo["id"] != first["id"])
    assert again["repeats"] == first["id"]
    assert (again["place"], again["bearing"]) == (first["place"], first["bearing"])


def test_a_very_large_photo_is_made_smaller_before_it_is_sent(open_window, copy_of):
    window = open_window()
    window.open(copy_of("dozen_shots"))
    side = 3000
    # Noise does not let itself be packed: every pixel is a byte of the file.
    photo = picture(side, side, noise=random.Random(1).randbytes(side * side))
    window.on("room-site").click()
    page_of(window, "photos")
    window.on("photo-add").set_input_files(photo)
    window.on("photo-keep").click()
    window.on("photo-form").wait_for(state="detached")

    (kept,) = photos_of(window)
    size = window.page.evaluate(
        "(address) => { const picture = new Image(); picture.src = address;"
        " return picture.decode().then(() => [picture.naturalWidth, picture.naturalHeight]); }",
        f"api/files/{kept['files'][0]}",
    )
    assert size == [2560, 2560]


@pytest.fixture
def desk(open_window, copy_of) -> Window:
    """A window at the desk on a job with shots and no line yet."""
    window: Window = open_window(1280, 860)
    window.open(copy_of("dozen_shots"))
    window.hide_flags()
    return window


def test_a_boundary_is_drawn_named_and_opened_again_from_the_plan(desk):
    desk.on("room-site").click()
    page_of(desk, "bounds")
    desk.on("bound-draw").click()
    corners = [seen(desk, *share) for share in ((0.5, 0.8), (0.9, 0.8), (0.9, 0.4), (0.5, 0.4))]
    for corner in corners:
        desk.page.keyboard.down("Alt")  # nothing of the job takes the place of what was pressed
        desk.tap(corner)
        desk.page.keyboard.up("Alt")
    desk.on("finish").click()
    desk.on("new-name").fill("Miller's ground")
    desk.page.keyboard.press("Tab")
    with desk.change():
        desk.on("keep-line").click()

    (bound,) = desk.kept()["site"]["bounds"].values()
    assert (bound["kind"], bound["name"], bound["place"]["at"]) == ("boundary", "Miller's ground", "ring")
    drawn = [(peg["east"], peg["north"]) for peg in bound["place"]["curve"]["pegs"]]
    assert [one == pytest.approx(other, abs=0.2) for one, other in zip(drawn, corners, strict=True)] == 4 * [
        True
    ]
    assert desk.page.locator("details[open]").count() == 0
    (east, south), (_, north) = drawn[1], drawn[2]
    desk.tap((east, (south + north) / 2))
    desk.page.locator("details[open] summary", has_text="Miller's ground").wait_for()


def test_a_service_is_typed_with_its_depth_and_who_marks_it(desk):
    desk.on("room-site").click()
    page_of(desk, "bounds")
    desk.on("service-type").click()
    desk.on("service-new-kind").select_option("gas")
    desk.on("service-new-places").fill("0 5\n40 6")
    with desk.change():
        desk.on("service-add").click()
    with desk.change(2):
        desk.type_in("service-gas_line-depth", "24 in")
        desk.on("service-gas_line-private").check()

    line = next(row for row in desk.kept()["site"]["things"].values() if row.get("service") == "gas")
    assert line["depth"] == pytest.approx(24 * 0.0254)
    assert line["private"] is True
    assert line["kind"] == "utility"


def test_places_that_cannot_be_read_are_told_with_their_line_and_stay_in_the_box(desk):
    desk.on("room-site").click()
    page_of(desk, "bounds")
    desk.on("bound-type").click()
    desk.on("bound-new-places").fill("0 0\nnorth of the oak")
    desk.on("bound-add").click()

    desk.page.get_by_text("Line 2 must be two lengths").first.wait_for()
    assert desk.on("bound-new-places").input_value() == "0 0\nnorth of the oak"
    assert not desk.kept()["site"].get("bounds")


def test_a_photo_is_opened_from_its_mark_on_the_plan(desk):
    desk.on("room-site").click()
    desk.on("site-photos").wait_for()
    stood = seen(desk, 0.5, 0.3)
    kept = desk.page.request.put(
        f"{desk.server.address}/api/jobs/{desk.job_id}/files",
        data=picture()["buffer"],
        headers={"Content-Type": "image/png"},
    )
    entry = {
        "kind": "photo", "id": "gate", "time": "2027-03-01T08:00:00Z", "note": "From the gate",
        "files": [kept.json()["hash"]], "place": {"east": stood[0], "north": stood[1]}, "bearing": 0.8,
    }  # fmt: skip
    answer = desk.page.request.post(f"{desk.server.address}/api/jobs/{desk.job_id}/log", data=entry)
    assert answer.ok, answer.text()
    page_of(desk, "photos")
    desk.on("photo-gate").wait_for()

    desk.tap(stood)

    desk.page.locator(".leaf-body", has_text="From the gate").wait_for()


def test_three_past_jobs_give_a_band_and_none_gives_words(desk):
    desk.on("room-site").click()
    page_of(desk, "card")
    with desk.change(2):
        desk.type_in("card-size_guess", "70 m2")
        desk.type_in("card-currency", "USD")
    back(desk)
    page_of(desk, "ballpark")
    assert "Type what your last jobs came to" in desk.on("ballpark").inner_text()

    for area, price in ((60, 30_000), (80, 52_000), (100, 61_000)):
        desk.type_in("past-area", f"{area} m2")
        desk.type_in("past-price", str(price))
        rows = desk.page.locator(".past li").count()
        desk.on("past-add").click()
        desk.page.locator(".past li").nth(rows).wait_for()

    desk.on("ballpark").get_by_text("From 3 jobs of mine").wait_for()
    words = desk.on("ballpark").locator(".value").inner_text()
    low, high = (float(re.sub(r"[^0-9]", "", part)) for part in words.split("–"))
    assert low < 70 * 30_000 / 60 < 70 * 52_000 / 80 < high
