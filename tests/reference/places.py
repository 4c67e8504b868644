"""Places in longitude and latitude: unwrapping, splitting of segments, one local plane.

Segments are straight in longitude and latitude (RFC 7946, section 3.1.1), the short way round.
"""

import math
import sys

import numpy
import pyproj
import shapely

GEOD = pyproj.Geod(ellps="WGS84")
DIGITS = 12  # of a degree: 0.1 micrometres on the ground

# Where cases lie: inland, north, both sides of the antimeridian, far north, the equator and the
# zero meridian, far south.
ORIGINS = [(149.6, -30.9), (20.0, 60.0), (179.9996, -17.2), (-179.9997, 66.5), (25.0, 78.3),
           (0.0002, 0.0001), (-0.0004, 51.5), (-69.9, -54.2), (100.0, 84.9)]


def wrapped(lon):
    """A longitude in -180..180."""
    return (lon + 180.0) % 360.0 - 180.0


def near(lon, about):
    """The same meridian within half a turn of another."""
    return about + wrapped(lon - about)


def versions():
    return {"python": ".".join(map(str, sys.version_info[:3])),
            "numpy": numpy.__version__, "pyproj": pyproj.__version__,
            "PROJ": pyproj.proj_version_str, "shapely": shapely.__version__,
            "GEOS": shapely.geos_version_string}


class Plane:
    """The azimuthal equidistant plane about an origin, metres east and north of it."""

    def __init__(self, origin):
        self.origin = origin

    def place(self, x, y):
        """Degrees of a point of the plane, by a geodesic from the origin."""
        lon, lat, _ = GEOD.fwd(*self.origin, math.degrees(math.atan2(x, y)), math.hypot(x, y))
        return [round(wrapped(lon), DIGITS), round(lat, DIGITS)]

    def written(self, geometry):
        """A GeoJSON geometry of a shape of the plane, its corners in degrees."""
        def places(coords):
            return [self.place(x, y) for x, y in coords]

        if geometry.geom_type == "Point":
            return {"type": "Point", "coordinates": places(geometry.coords)[0]}
        if geometry.geom_type == "LineString":
            return {"type": "LineString", "coordinates": places(geometry.coords)}
        if geometry.geom_type == "Polygon":
            geometry = shapely.geometry.polygon.orient(geometry)
            rings = [geometry.exterior, *geometry.interiors]
            return {"type": "Polygon", "coordinates": [places(ring.coords) for ring in rings]}
        return {"type": "MultiPolygon",
                "coordinates": [self.written(part)["coordinates"] for part in geometry.geoms]}

    def drawn(self, written, step_m=5.0):
        """The shape of a written geometry, its segments split in degrees every few metres."""
        def path(coords):
            degrees = unwrapped(coords, self.origin[0])
            points = []
            for (lon1, lat1), (lon2, lat2) in zip(degrees, degrees[1:]):
                length = GEOD.inv(lon1, lat1, lon2, lat2)[2]
                count = max(1, math.ceil(length / step_m))
                share = numpy.arange(count) / count
                points += zip(lon1 + share * (lon2 - lon1), lat1 + share * (lat2 - lat1))
            # Unwrapping may move the last corner of a ring by a last digit.
            points.append(degrees[0] if coords[0] == coords[-1] else degrees[-1])
            return [self.exactly(lon, lat) for lon, lat in points]

        kind, coords = written["type"], written["coordinates"]
        if kind == "Point":
            return shapely.Point(self.exactly(*coords))
        if kind == "LineString":
            return shapely.LineString(path(coords))
        if kind == "Polygon":
            return shapely.Polygon(path(coords[0]), [path(ring) for ring in coords[1:]])
        return shapely.MultiPolygon([self.drawn({"type": "Polygon", "coordinates": part})
                                     for part in coords])

    def exactly(self, lon, lat):
        """A place in the plane, by the geodesic from the origin."""
        azimuth, _, metres = GEOD.inv(*self.origin, wrapped(lon), lat)
        return metres * math.sin(math.radians(azimuth)), metres * math.cos(math.radians(azimuth))


def unwrapped(coords, about):
    """Corners with longitudes that do not jump, near a meridian."""
    result = []
    for lon, lat in coords:
        about = near(lon, about)
        result.append((about, lat))
    return result
