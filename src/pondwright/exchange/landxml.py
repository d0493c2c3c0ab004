"""Surfaces and points of LandXML 1.2, read as a stream.

XML from outside can be a trap: entities that unfold to gigabytes, or that name files and addresses.  No
document type is needed for a survey, so a file with one is refused at its first sign, and nothing is ever
fetched.  Depth, numbers and size have limits.

Points stand in the file as north, east, elevation.  Faces marked ``i="1"`` are invisible: they are no
ground.

References
----------
LandXML.org, *LandXML-1.2 schema* (2008): Units, Surface/Definition/Pnts and Faces, CgPoints, from memory.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from typing import Any, BinaryIO
from xml.parsers import expat

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import FloatArray
from pondwright.exchange.reading import (
    FARTHEST,
    HIGHEST_GROUND,
    LOWEST_GROUND,
    LeftOut,
    Question,
    Unit,
    Wanted,
    factor,
    left_out,
    unit_question,
)

DEEPEST = 32
PIECE = 2**20
MOST_POINTS = 5_000_000
LONGEST_TEXT = 1_000_000
MOST_SURFACES = 200
UNIT_NAMES: dict[str, Unit] = {
    "meter": "m", "metre": "m", "foot": "ft", "internationalfoot": "ft", "ussurveyfoot": "ftUS",
}  # fmt: skip
SCALES = {"millimeter": 0.001, "centimeter": 0.01, "kilometer": 1000.0, "inch": 0.0254}


@dataclass
class Surface:
    """A triangulated surface as it stands in the file, in the file's unit."""

    name: str
    ids: dict[str, int] = field(default_factory=dict)
    places: array[float] = field(default_factory=lambda: array("d"))
    faces: array[int] = field(default_factory=lambda: array("i"))
    invisible: int = 0
    broken_faces: int = 0


@dataclass(frozen=True, slots=True)
class LandXml:
    """What a LandXML file holds, in metres: one surface, or its points.

    ``points`` are (n, 3) rows of east, north and elevation; ``faces`` (t, 3) index them, and are None where
    the file has points only.
    """

    points: FloatArray
    faces: NDArray[np.int32] | None
    names: tuple[str, ...]
    codes: tuple[str, ...]
    surface: str
    surfaces: tuple[str, ...]
    epsg: int | None
    unit: str
    count: int
    left_out: tuple[LeftOut, ...]
    says: tuple[str, ...]
    questions: tuple[Question, ...]


def read_landxml(stream: BinaryIO, name: str, wanted: Wanted) -> LandXml:
    """A surface of a LandXML file, or its points where it has none.

    Parameters
    ----------
    stream : binary stream
    name : str
        The file's name, for what is said.
    wanted : Wanted
        ``surface`` chooses one of several; else the one with the most points is read.

    Returns
    -------
    LandXml

    Raises
    ------
    ImportRefused
    """
    gathered = _Gatherer(name)
    try:
        gathered.read(stream)
    except expat.ExpatError as error:
        raise ImportRefused(f"{name} is damaged or cut off: it is no whole XML ({error})") from None
    except (UnicodeError, LookupError, ValueError) as error:
        raise ImportRefused(f"{name} cannot be read: {' '.join(str(error).split())[:100]}") from None
    return _chosen(gathered, name, wanted)


class _Gatherer:
    """What the elements of the file say, gathered as they pass by."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.path: list[str] = []
        self.text: list[str] = []
        self.size = 0
        self.attributes: dict[str, str] = {}
        self.surfaces: list[Surface] = []
        self.points: list[tuple[str, str]] = []
        self.places: array[float] = array("d")
        self.unit_word = ""
        self.epsg: int | None = None
        self.bad_points = 0
        self.breaklines = 0

    def read(self, stream: BinaryIO) -> None:
        parser = expat.ParserCreate(namespace_separator="}")
        parser.buffer_text = True
        parser.StartDoctypeDeclHandler = self._refuse_trap
        parser.EntityDeclHandler = self._refuse_trap
        parser.ExternalEntityRefHandler = self._refuse_trap
        parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        parser.StartElementHandler = self._begin
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._characters
        while piece := stream.read(PIECE):
            parser.Parse(piece, False)
        parser.Parse(b"", True)

    def _refuse_trap(self, *_: Any) -> int:
        raise ImportRefused(
            f"{self.name} brings a document type or entities of its own, which a survey has no need of and"
            " which can be a trap: save it without them"
        )

    def _begin(self, element: str, attributes: dict[str, str]) -> None:
        tag = element.rpartition("}")[2]
        if not self.path and tag != "LandXML":
            raise ImportRefused(f"{self.name} is XML of another kind ({tag[:40]}); read is LandXML")
        if len(self.path) >= DEEPEST:
            raise ImportRefused(
                f"{self.name} nests its elements more than {DEEPEST} deep; LandXML never does"
            )
        self.path.append(tag)
        self.text, self.size, self.attributes = [], 0, attributes
        if tag in ("Metric", "Imperial"):
            self.unit_word = attributes.get("linearUnit", "")
        elif tag == "CoordinateSystem":
            code = attributes.get("epsgCode", "").strip()
            self.epsg = int(code) if code.isdecimal() and 1024 <= int(code[:9]) <= 99_999 else None
        elif tag == "Surface":
            if len(self.surfaces) >= MOST_SURFACES:
                raise ImportRefused(f"{self.name} has more than {MOST_SURFACES} surfaces")
            self.surfaces.append(
                Surface(attributes.get("name", "")[:100] or f"surface {len(self.surfaces) + 1}")
            )
        elif tag == "Breakline":
            self.breaklines += 1

    def _characters(self, text: str) -> None:
        if self.path and self.path[-1] in ("P", "F", "CgPoint"):
            self.size += len(text)
            if self.size > LONGEST_TEXT:
                raise ImportRefused(f"{self.name} has an element with more text than any point or face")
            self.text.append(text)

    def _end(self, element: str) -> None:
        tag = self.path.pop()
        if tag == "P" and self.surfaces and "Pnts" in self.path:
            self._point(self.surfaces[-1])
        elif tag == "F" and self.surfaces and "Faces" in self.path:
            self._face(self.surfaces[-1])
        elif tag == "CgPoint":
            place = self._numbers()
            if place:
                self.places.extend(place)
                names = (
                    self.attributes.get("name", ""),
                    self.attributes.get("code", "") or self.attributes.get("desc", ""),
                )
                self.points.append((names[0][:100], names[1][:200]))
        self.text = []

    def _point(self, surface: Surface) -> None:
        place = self._numbers()
        name = self.attributes.get("id", "")
        if place is None or not name or name in surface.ids:
            self.bad_points += 1
            return
        surface.ids[name] = len(surface.ids)
        surface.places.extend(place)
        if len(surface.ids) > MOST_POINTS:
            raise ImportRefused(f"{self.name} has a surface of more than {MOST_POINTS} points")

    def _face(self, surface: Surface) -> None:
        if self.attributes.get("i") == "1":
            surface.invisible += 1
            return
        corners = [surface.ids.get(word, -1) for word in "".join(self.text).split()]
        if len(corners) not in (3, 4) or min(corners) < 0 or len(set(corners)) < len(corners):
            surface.broken_faces += 1
            return
        surface.faces.extend(corners[:3])
        if len(corners) == 4:
            surface.faces.extend((corners[0], corners[2], corners[3]))
        if len(surface.faces) > 9 * MOST_POINTS:
            raise ImportRefused(f"{self.name} has a surface of more than {3 * MOST_POINTS} faces")

    def _numbers(self) -> tuple[float, float, float] | None:
        """East, north and elevation of the text, which tells north, east and elevation."""
        words = "".join(self.text).split()
        if len(words) != 3:
            return None
        try:
            north, east, z = map(float, words)
        except ValueError:
            return None
        return east, north, z


def _chosen(found: _Gatherer, name: str, wanted: Wanted) -> LandXml:
    """The wanted surface, or the points, in metres."""
    unit, scale, questions = _unit(found, name, wanted)
    up = factor(wanted.height_unit) if wanted.height_unit else scale
    surfaces = [surface for surface in found.surfaces if surface.ids]
    names = tuple(surface.name for surface in surfaces)
    if wanted.surface and wanted.surface not in names:
        told = ", ".join(names[:10]) or "none"
        raise ImportRefused(f"{name} has no surface `{wanted.surface[:60]}`; it has: {told}")
    if not surfaces:
        return _only_points(found, name, wanted, unit, (scale, up), questions)
    surface = next((each for each in surfaces if each.name == wanted.surface), None) or max(
        surfaces, key=lambda each: len(each.ids)
    )
    if len(surfaces) > 1 and not wanted.surface:
        says = f"{name} holds {len(surfaces)} surfaces; `{surface.name}` has the most points and is read"
        questions = (*questions, Question("surface", says, surface.name, names))
    points, sound = _metres(surface.places, (scale, up))
    faces = np.array(surface.faces, dtype=np.int32).reshape(-1, 3)
    whole = sound[faces].all(axis=1)
    renumbered = np.cumsum(sound) - 1
    faces, points = renumbered[faces[whole]].astype(np.int32), points[sound]
    left = left_out(
        (int((~sound).sum()), "points beyond 10 000 000 m, or lower than −500 m or higher than 9000 m"),
        (found.bad_points, "points that are no three numbers, or come twice"),
        (surface.broken_faces + int((~whole).sum()), "faces without three sound points"),
        (surface.invisible, "faces marked as invisible"),
    )
    says_all = [f"The surface `{surface.name}` has {len(points)} points and {len(faces)} faces."]
    if found.breaklines:
        says_all.append(f"Its {found.breaklines} break lines are not read: they are in its faces already.")
    return LandXml(
        points, faces if len(faces) else None, (), (), surface.name, names, wanted.epsg or found.epsg, unit,
        len(surface.ids) + found.bad_points, left, tuple(says_all), questions,
    )  # fmt: skip


def _only_points(
    found: _Gatherer,
    name: str,
    wanted: Wanted,
    unit: str,
    factors: tuple[float, float],
    questions: tuple[Question, ...],
) -> LandXml:
    if not found.points:
        raise ImportRefused(f"{name} is LandXML without a surface of triangles and without points")
    points, sound = _metres(found.places, factors)
    kept = [each for each, good in zip(found.points, sound, strict=True) if good]
    left = left_out((int((~sound).sum()), "beyond 10 000 000 m, or lower than −500 m or higher than 9000 m"))
    names, codes = tuple(each[0] for each in kept), tuple(each[1] for each in kept)
    return LandXml(
        points[sound], None, names, codes, "", (), wanted.epsg or found.epsg, unit, len(found.points), left,
        ("It holds no surface; its points are read.",), questions,
    )  # fmt: skip


def _unit(found: _Gatherer, name: str, wanted: Wanted) -> tuple[str, float, tuple[Question, ...]]:
    word = found.unit_word.replace(" ", "").lower()
    unit: str = wanted.unit or UNIT_NAMES.get(word) or ""
    if unit:
        return unit, factor(unit), ()
    if word in SCALES:
        return "m", SCALES[word], ()
    return "", 1.0, (unit_question(name),)


def _metres(places: array[float], factors: tuple[float, float]) -> tuple[FloatArray, NDArray[np.bool_]]:
    points = np.array(places, dtype=np.float64).reshape(-1, 3) * [factors[0], factors[0], factors[1]]
    with np.errstate(invalid="ignore"):
        sound = (np.abs(points[:, :2]) <= FARTHEST).all(axis=1)
        sound &= (points[:, 2] >= LOWEST_GROUND) & (points[:, 2] <= HIGHEST_GROUND)
    return points, sound
