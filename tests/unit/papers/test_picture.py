"""The small picture: every shore and shot inside its frame, the longer way fitted, north up."""

import re
import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest
from hypothesis import given

from pondwright.examples import EXAMPLES, LARKMEADOW, example_text
from pondwright.job.codec import loads
from pondwright.job.document import new_job
from pondwright.papers.picture import HEIGHT, WIDTH, picture
from tests.strategies import jobs

SVG = "{http://www.w3.org/2000/svg}"


def drawn(job):
    """Water as points on paper, and the shots."""
    tree = ElementTree.fromstring(picture(job))
    path = tree.find(f"{SVG}path")
    numbers = re.findall(r"-?[\d.]+", path.get("d")) if path is not None else []
    shots = [(float(one.get("cx")), float(one.get("cy"))) for one in tree.findall(f"{SVG}circle")]
    return np.array(numbers, dtype=float).reshape(-1, 2), np.array(shots).reshape(-1, 2)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_job_is_drawn_within_its_frame(name):
    water, shots = drawn(loads(example_text(name)))

    marks = np.vstack([water, shots])
    assert len(water) > 10 and len(shots) > 0
    assert (marks >= 0).all() and (marks <= (WIDTH, HEIGHT)).all()


def test_north_is_up_and_east_is_right():
    job = loads(example_text(LARKMEADOW))
    _water, shots = drawn(job)

    places = [shot.place for shot in job.site.shots.values() if shot.place.by == "coordinates"]
    northmost = int(np.argmax([place.north for place in places]))
    eastmost = int(np.argmax([place.east for place in places]))
    assert shots[northmost, 1] == shots[:, 1].min() and shots[eastmost, 0] == shots[:, 0].max()


def test_a_job_without_shore_and_shots_is_an_empty_picture():
    water, shots = drawn(new_job("Mill Lane 4", "us"))

    assert len(water) == len(shots) == 0


def test_a_name_never_enters_the_picture():
    job = new_job("<script>alert(1)</script>", "us")

    assert "script" not in picture(job)


@given(jobs())
def test_every_job_has_a_sound_picture_within_its_frame(job):
    water, shots = drawn(job)

    marks = np.vstack([water, shots])
    assert (
        np.isfinite(marks).all() and (marks >= -0.1).all() and (marks <= np.add((WIDTH, HEIGHT), 0.1)).all()
    )
