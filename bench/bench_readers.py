"""Readers of files from outside: seconds and peak memory of each, in a process of its own.

The files are made by this module in a temporary folder, from a surface that is a formula.  The peers read
the same file in the same run, also in processes of their own: what is usually written with laspy and
numpy, which holds all points as floating numbers at once.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from bench.rows import Row, at_most
from pondwright.base.kinds import FloatArray

POINTS = int(os.environ.get("PONDWRIGHT_BENCH_POINTS", 20_000_000))
SIDE = 600.0
NODES = 1500
ORIGIN = (429_000.0, 5_150_000.0)
ROUND = 1_000_000
MEGA = 2.0**20


def rows() -> list[Row]:
    """The cloud of 20 million points beside its peers, then every kind of file."""
    with tempfile.TemporaryDirectory(prefix="pondwright-bench-") as folder:
        made = make_files(Path(folder))
        return [*cloud_rows(made["las"]), *kind_rows(made), *thin_rows(made["las"])]


def cloud_rows(path: Path) -> list[Row]:
    """20 million points to 1500 x 1500 cells, with the file read, beside numpy and scipy."""
    name = f"readers: {POINTS / 1e6:.3g} million points of LAS to {NODES} x {NODES} cells"
    ours = best_of(3, "ours", path)
    counted, binned = best_of(1, "bincount", path), best_of(1, "scipy", path)
    return [
        Row(f"{name}, whole preview", ours["seconds"], "s", goal=at_most(3.0)),
        Row(f"{name}, peak memory", ours["memory"], "MB", goal=at_most(1000.0)),
        Row(f"{name}, beside numpy", ours["seconds"], "s", "laspy, numpy.bincount", counted["seconds"]),
        Row(f"{name}, memory beside numpy", ours["memory"], "MB", "laspy, numpy.bincount", counted["memory"]),
        Row(
            f"{name}, beside scipy",
            ours["seconds"],
            "s",
            "laspy, scipy binned_statistic_2d",
            binned["seconds"],
        ),
        Row(f"{name}, cells that differ from numpy", ours_differs(path), "-", goal=at_most(1e-3)),
    ]


def kind_rows(made: dict[str, Path]) -> list[Row]:
    """Every other kind of file: seconds and peak memory."""
    found = []
    for kind, path in made.items():
        if kind == "las":
            continue
        seen = best_of(1, "ours", path)
        size = path.stat().st_size / MEGA
        found.append(Row(f"readers: {kind}, {size:.0f} MB", seen["seconds"], "s"))
        found.append(
            Row(f"readers: {kind}, {size:.0f} MB, peak memory", seen["memory"], "MB", goal=at_most(1000.0))
        )
    return found


def thin_rows(path: Path) -> list[Row]:
    """The cells thinned to 4,000 points."""
    seen = best_of(1, "thin", path)
    return [
        Row("readers: 1500 x 1500 cells thinned to 4,000 points", seen["seconds"], "s", goal=at_most(10.0)),
        Row("readers: 1500 x 1500 cells thinned, largest miss", seen["miss"], "m"),
    ]


def best_of(times: int, what: str, path: Path) -> dict[str, float]:
    """The quickest of some processes that each do one thing; memory is the highest of them."""
    seen = [in_process(what, path) for _ in range(times)]
    return {**min(seen, key=lambda each: each["seconds"]), "memory": max(each["memory"] for each in seen)}


def in_process(what: str, path: Path, *more: str) -> dict[str, float]:
    """What a process of its own measures about one thing."""
    said = subprocess.run(
        [sys.executable, "-m", "bench.bench_readers", what, str(path), *more],
        check=True, capture_output=True, text=True, cwd=Path(__file__).parents[1],
    )  # fmt: skip
    found: dict[str, float] = json.loads(said.stdout)
    return found


def ours_differs(path: Path) -> float:
    """Share of the cells whose mean is another than numpy's.

    A point within rounding of an edge may fall to either side; nothing else may differ.
    """
    with tempfile.TemporaryDirectory() as folder:
        ours, theirs = Path(folder) / "ours.npy", Path(folder) / "theirs.npy"
        in_process("ours", path, str(ours))
        in_process("bincount", path, str(theirs))
        same = np.isclose(np.load(ours), np.load(theirs), rtol=0.0, atol=1e-6, equal_nan=True)
        return float(1.0 - same.mean())


def peak_memory() -> float:
    """Peak memory of this process [MB], of its own image alone: rusage mixes it with its parent's."""
    import resource

    status = Path("/proc/self/status")
    if status.exists():
        line = next(row for row in status.read_text().splitlines() if row.startswith("VmHWM"))
        return float(line.split()[1]) / 1024.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def measured(what: str, path: Path, kept: Path | None) -> dict[str, float]:
    """One thing, timed, with the peak memory of this process."""
    import time

    work = WORK[what]
    work_ready = work(path)
    began = time.perf_counter()
    found = work_ready()
    seconds = time.perf_counter() - began
    memory = peak_memory()
    miss = found if isinstance(found, float) else 0.0
    if kept is not None and not isinstance(found, float):
        np.save(kept, found)
    return {"seconds": seconds, "memory": memory, "miss": miss}


def ours(path: Path) -> Callable[[], FloatArray | float]:
    """Our reader, to the whole preview: hash, cells, extent, small picture."""
    from pondwright.exchange.read import read_file
    from pondwright.exchange.reading import Wanted

    wanted = Wanted(unit="m", spacing=0.02)  # finer than 1500 cells a side allow: so 1500 it is

    def work() -> FloatArray | float:
        reading = read_file(path, path.name, wanted)
        return np.empty(0) if reading.binned is None else reading.binned.z

    return work


def thinned(path: Path) -> Callable[[], FloatArray | float]:
    """The thinning alone."""
    from pondwright.exchange.read import read_file
    from pondwright.exchange.reading import Wanted
    from pondwright.exchange.thin import thin

    cells = read_file(path, path.name, Wanted(unit="m", spacing=0.02)).binned
    assert cells is not None

    def work() -> FloatArray | float:
        return thin(cells).tolerance

    return work


def whole_floats(path: Path) -> tuple[FloatArray, FloatArray, FloatArray, list[FloatArray]]:
    """All points at once, and the edges of our cells."""
    import laspy

    cloud = laspy.read(path)
    x, y, z = (np.asarray(each) for each in (cloud.x, cloud.y, cloud.z))
    scale = float(max(cloud.header.scales[:2]))
    low = [float(each) - scale for each in cloud.header.mins[:2]]
    high = [float(each) + scale for each in cloud.header.maxs[:2]]
    step = max(high[0] - low[0], high[1] - low[1]) / (NODES - 1)
    edges = [np.arange(NODES + 1) * step + at - step / 2.0 for at in low]
    return x, y, z, [np.asarray(edge, dtype=np.float64) for edge in edges]


def by_bincount(path: Path) -> Callable[[], FloatArray | float]:
    """The usual way with numpy."""

    def work() -> FloatArray | float:
        x, y, z, edges = whole_floats(path)
        step = edges[0][1] - edges[0][0]
        column = ((x - edges[0][0]) / step).astype(np.int64)
        row = ((y - edges[1][0]) / step).astype(np.int64)
        cell = row * NODES + column
        counts = np.bincount(cell, minlength=NODES * NODES)
        sums = np.bincount(cell, weights=z, minlength=NODES * NODES)
        with np.errstate(invalid="ignore"):
            return np.asarray((sums / counts).reshape(NODES, NODES))

    return work


def by_scipy(path: Path) -> Callable[[], FloatArray | float]:
    """The usual way with scipy."""
    from scipy.stats import binned_statistic_2d

    def work() -> FloatArray | float:
        x, y, z, edges = whole_floats(path)
        return np.asarray(binned_statistic_2d(y, x, z, "mean", bins=[edges[1], edges[0]]).statistic)

    return work


WORK = {"ours": ours, "thin": thinned, "bincount": by_bincount, "scipy": by_scipy}


def ground(east: FloatArray, north: FloatArray) -> FloatArray:
    """Height of an invented site: a slope, swales and a hollow. [m]"""
    slope = 100.0 + 0.02 * east - 0.01 * north
    swales = 0.6 * np.sin(east / 23.0) * np.cos(north / 31.0)
    hollow = -3.0 * np.exp(-((east - 250.0) ** 2 + (north - 320.0) ** 2) / 3000.0)
    return np.asarray(slope + swales + hollow)


def make_files(folder: Path) -> dict[str, Path]:
    """One file of each kind."""
    made = {"las": folder / "cloud.las", "laz": folder / "cloud.laz", "xyz": folder / "cloud.xyz"}
    make_las(made["las"], POINTS)
    make_las(made["laz"], POINTS // 10)
    rng = np.random.default_rng(3)
    with made["xyz"].open("w", encoding="ascii") as file:
        for _ in range(max(POINTS // 10 // ROUND, 1)):
            np.savetxt(file, cloud(rng, min(ROUND, POINTS)), fmt="%.3f")
    return {**made, **make_tiff(folder), **make_xml(folder), **make_json(folder)}


def cloud(rng: np.random.Generator, count: int, south: float = 0.0, depth: float = SIDE) -> FloatArray:
    """Rows of east, north and elevation, in strips from south to north as a flight has them. [m]"""
    east, north = rng.random(count) * SIDE, south + rng.random(count) * depth
    z = ground(east, north) + rng.normal(0.0, 0.02, count)
    return np.column_stack([east + ORIGIN[0], north + ORIGIN[1], z])


def make_las(path: Path, points: int) -> None:
    """A cloud of which all is ground, strip by strip."""
    import laspy

    header = laspy.LasHeader(point_format=1, version="1.2")
    header.scales, header.offsets = np.full(3, 0.001), np.array([*ORIGIN, 0.0])
    rng, rounds = np.random.default_rng(2), -(-points // ROUND)
    with laspy.open(path, mode="w", header=header) as writer:
        for at in range(rounds):
            places = cloud(rng, min(ROUND, points - at * ROUND), at * SIDE / rounds, SIDE / rounds)
            record = laspy.ScaleAwarePointRecord.zeros(len(places), header=header)
            record.x, record.y, record.z = places.T
            record.classification = np.full(len(places), 2, dtype=np.uint8)
            writer.write_points(record)


def make_tiff(folder: Path) -> dict[str, Path]:
    """A raster of 8000 x 8000 cells."""
    import rasterio
    from rasterio.transform import from_origin
    from rasterio.windows import Window

    path, cells = folder / "heights.tif", 8000 if POINTS >= 20_000_000 else 2000
    step = SIDE / cells
    place = from_origin(ORIGIN[0], ORIGIN[1] + SIDE, step, step)
    with rasterio.open(
        path, "w", driver="GTiff", width=cells, height=cells, count=1, dtype="float32", crs="EPSG:26915",
        transform=place, tiled=True, nodata=-9999.0,
    ) as file:  # fmt: skip
        east = np.asarray((np.arange(cells) + 0.5) * step, dtype=np.float64)
        for first in range(0, cells, 500):
            north = np.asarray(SIDE - (np.arange(first, first + 500) + 0.5) * step, dtype=np.float64)
            part = ground(east[None, :], north[:, None]).astype(np.float32)
            file.write(part, 1, window=Window(0, first, cells, 500))
    return {"geotiff": path}


def make_xml(folder: Path) -> dict[str, Path]:
    """A surface of 200,000 points."""
    path, side = folder / "surface.xml", 450
    along = np.linspace(0.0, SIDE, side, dtype=np.float64)
    east, north = (np.asarray(each) for each in np.meshgrid(along, along))
    z = ground(east, north)
    with path.open("w", encoding="ascii") as file:
        file.write('<LandXML version="1.2"><Units><Metric linearUnit="meter"/></Units><Surfaces>')
        file.write('<Surface name="ground"><Definition surfType="TIN"><Pnts>')
        for at, (x, y, h) in enumerate(zip(east.flat, north.flat, z.flat, strict=True), 1):
            file.write(f'<P id="{at}">{y:.3f} {x:.3f} {h:.3f}</P>')
        file.write("</Pnts><Faces>")
        for row in range(side - 1):
            for column in range(side - 1):
                a = row * side + column + 1
                file.write(f"<F>{a} {a + 1} {a + side + 1}</F><F>{a} {a + side + 1} {a + side}</F>")
        file.write("</Faces></Definition></Surface></Surfaces></LandXML>")
    return {"landxml": path}


def make_json(folder: Path) -> dict[str, Path]:
    """Contour-like lines of 200,000 places."""
    path = folder / "contours.geojson"
    features = []
    for line in range(200):
        east = np.linspace(0.0, SIDE, 1000)
        north = np.full(1000, line * 3.0)
        z = ground(np.asarray(east, dtype=np.float64), north)
        places = [
            [7.6 + x / 68_000.0, 51.9 + y / 111_000.0, h] for x, y, h in zip(east, north, z, strict=True)
        ]
        line_of = {"type": "LineString", "coordinates": places}
        features.append({"type": "Feature", "properties": {}, "geometry": line_of})
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}), encoding="ascii")
    return {"geojson": path}


if __name__ == "__main__":
    print(json.dumps(measured(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]) if sys.argv[3:] else None)))
