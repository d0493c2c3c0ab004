"""Files of every kind that the tests read: written by general libraries or by hand, from invented ground."""

import io
import json

import laspy
import numpy as np
import rasterio
from affine import Affine
from rasterio.io import MemoryFile

EAST, NORTH = 429_000.0, 5_150_000.0
FOOT, SURVEY_FOOT = 0.3048, 1200.0 / 3937.0


def ground(east, north):
    """Height of an invented slope with a swale."""
    return 100.0 + 0.03 * east - 0.01 * north + 0.4 * np.sin(east / 7.0) * np.cos(north / 9.0)


def places(count=3_000, side=60.0, seed=1):
    rng = np.random.default_rng(seed)
    east, north = rng.random((2, count)) * side
    return np.column_stack([east, north, ground(east, north)])


def las_bytes(rows, form=1, version="1.2", classes=None, epsg=None, scale=0.001, laz=False, offset=None):
    header = laspy.LasHeader(point_format=form, version=version)
    header.scales = np.full(3, scale) if np.isscalar(scale) else np.asarray(scale)
    header.offsets = np.floor(rows.min(axis=0)) if offset is None else np.asarray(offset)
    if epsg is not None:
        from pyproj import CRS

        header.add_crs(CRS.from_epsg(epsg))
    cloud = laspy.LasData(header)
    cloud.x, cloud.y, cloud.z = rows.T
    cloud.classification = np.full(len(rows), 2) if classes is None else np.asarray(classes)
    return written(cloud, laz)


def written(cloud, laz=False):
    stream = io.BytesIO()
    cloud.write(stream, do_compress=laz)
    return stream.getvalue()


def tiff_bytes(z, transform=None, epsg=26915, nodata=-9999.0, **more):
    """GeoTIFF of heights, first row north."""
    z = np.asarray(z, dtype=more.pop("dtype", "float32"))
    transform = Affine(1.0, 0.0, EAST, 0.0, -1.0, NORTH) if transform is None else transform
    bands = more.pop("bands", 1)
    with MemoryFile() as memory:
        with memory.open(
            driver="GTiff", width=z.shape[1], height=z.shape[0], count=bands, dtype=z.dtype,
            transform=transform, crs=None if epsg is None else rasterio.crs.CRS.from_epsg(epsg),
            nodata=nodata, **more,
        ) as file:  # fmt: skip
            for band in range(1, bands + 1):
                file.write(z, band)
        return memory.read()


def landxml_text(points, faces, unit='<Metric linearUnit="meter"/>', name="ground", more="", invisible=()):
    """LandXML with one surface; points are east, north and elevation, faces index them from 0."""
    pnts = "".join(f'<P id="{at}">{n:.4f} {e:.4f} {z:.4f}</P>' for at, (e, n, z) in enumerate(points, 1))
    marks = {at: ' i="1"' for at in invisible}
    body = "".join(
        f"<F{marks.get(at, '')}>{' '.join(str(corner + 1) for corner in face)}</F>"
        for at, face in enumerate(faces)
    )
    return (
        '<?xml version="1.0"?><LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2">'
        f'<Units>{unit}</Units>{more}<Surfaces><Surface name="{name}"><Definition surfType="TIN">'
        f"<Pnts>{pnts}</Pnts><Faces>{body}</Faces></Definition></Surface></Surfaces></LandXML>"
    )


def geojson_text(*features):
    """A collection of (geometry type, coordinates, properties)."""
    listed = [
        {"type": "Feature", "properties": properties, "geometry": {"type": kind, "coordinates": coordinates}}
        for kind, coordinates, properties in features
    ]
    return json.dumps({"type": "FeatureCollection", "features": listed})


def xyz_text(rows, separator=" ", head=""):
    return head + "".join(separator.join(f"{number:.4f}" for number in row) + "\n" for row in rows)
