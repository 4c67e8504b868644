"""screening.json: the 240 candidate sites of New Zealand beside pyproj and shapely.

What `eaves screen` is compared with: distances and bearings from every aerodrome reference point within
10 NM of a candidate, and cover by the power lines within 100 m. Method: everything in an azimuthal
equidistant plane about the middle of the candidate, made of geodesics (pyproj.Geod); distances and
bearings are then geodesics between the points found. The lines carry no heights: each vertex is taken
for a support of 40 m, and each segment of up to 1500 m for a span that hangs 2 % of its length.

Circles are drawn inside and outside of the true ones, which brackets cover and level.
"""

import json
from pathlib import Path

import numpy as np
import pyproj
import shapely
from pyproj import Geod

GEOD = Geod(ellps="WGS84")
DATA = Path(__file__).parent.parent / "data" / "real" / "new-zealand"
SEARCH_M = 18_520.0
REACH_M = 100.0
TOP_M, SAG_SHARE, LONGEST_M = 40.0, 0.02, 1_500.0
SEGMENTS = 64


def features(name):
    return json.loads((DATA / name).read_text())["features"]


def densified(ring):
    """Points along straight lines of longitude and latitude, at most some 10 m apart."""
    ring = np.asarray(ring)
    parts = []
    for a, b in zip(ring[:-1], ring[1:]):
        count = int(np.ceil(GEOD.inv(*a, *b)[2] / 10)) or 1
        share = np.arange(count)[:, None] / count
        parts.append(a + share * (b - a))
    return np.concatenate(parts + [ring[-1:]])


class Plane:
    def __init__(self, ring):
        low, high = np.min(ring, axis=0), np.max(ring, axis=0)
        self.lon, self.lat = (low + high) / 2

    def __call__(self, places):
        places = np.asarray(places, dtype=float).reshape(-1, 2)
        lon, lat = np.full(len(places), self.lon), np.full(len(places), self.lat)
        bearing, _, distance = GEOD.inv(lon, lat, places[:, 0], places[:, 1])
        return np.column_stack(
            (distance * np.sin(np.radians(bearing)), distance * np.cos(np.radians(bearing)))
        )


def aerodromes(ring):
    """Of each near aerodrome: nearest and farthest distance and the bearing to the nearest point."""
    dense = densified(ring)
    found = {}
    for feature in features("aerodromes.geojson"):
        lon, lat = feature["geometry"]["coordinates"]
        origin = np.full(len(dense), lon), np.full(len(dense), lat)
        bearing, _, distance = GEOD.inv(*origin, dense[:, 0], dense[:, 1])
        near = int(np.argmin(distance))
        if distance[near] > SEARCH_M + 20:
            continue
        # Refined along the two pieces at the nearest point.
        for a, b in ((near - 1, near), (near, near + 1)):
            if 0 <= a and b < len(dense):
                fine = dense[a] + np.linspace(0, 1, 2_001)[:, None] * (dense[b] - dense[a])
                turn, _, out = GEOD.inv(np.full(2_001, lon), np.full(2_001, lat), fine[:, 0], fine[:, 1])
                best = int(np.argmin(out))
                if out[best] < distance[near]:
                    bearing[near], distance[near] = turn[best], out[best]
        if shapely.Polygon(ring).covers(shapely.Point(lon, lat)):
            distance[near] = 0.0
        found[feature["id"]] = [
            round(float(distance[near]), 4),
            round(float(bearing[near]) % 360, 5),
            round(float(distance.max()), 4),
        ]
    return found


def lines():
    """Segments of longitude and latitude with the part's vertices."""
    for feature in features("power_lines.geojson"):
        geometry = feature["geometry"]
        parts = geometry["coordinates"]
        for part in parts if geometry["type"] == "MultiLineString" else [parts]:
            yield np.array([place[:2] for place in part])


def shields_near(ring, parts):
    """Shapes in the plane of a candidate with their trusted tops."""
    plane = Plane(ring)
    low, high = np.min(ring, axis=0) - 0.02, np.max(ring, axis=0) + 0.02
    shapes, tops = [], []
    for part in parts:
        keep = np.ones(len(part), bool)
        keep[1:] = np.any(part[1:] != part[:-1], axis=1)
        part = part[keep]
        for place in part:
            if np.all(place >= low) and np.all(place <= high):
                shapes.append(shapely.Point(plane(place)[0]))
                tops.append(TOP_M)
        for a, b in zip(part[:-1], part[1:]):
            if np.any(np.maximum(a, b) < low) or np.any(np.minimum(a, b) > high):
                continue
            length = GEOD.inv(*a, *b)[2]
            if length <= LONGEST_M:
                shapes.append(shapely.LineString(plane(densified([a, b]))))
                tops.append(TOP_M - SAG_SHARE * length)
    return plane, shapes, np.array(tops)


INSIDE, OUTSIDE = 1.0, 1 / np.cos(np.pi / (4 * SEGMENTS))


def cover(area, shapes, tops):
    """The covered share, and the least, over covered places, of the highest top in reach: an interval of
    each. A shield may govern where its outer reach holds some of what is left of the area outside the
    inner reaches of the higher ones, and surely does the other way round."""
    left = {INSIDE: area, OUTSIDE: area}
    least, most = None, None
    for k in np.argsort(-tops, kind="stable"):
        reach = {
            grow: shapely.buffer(shapes[k], REACH_M * grow, quad_segs=SEGMENTS)
            for grow in (INSIDE, OUTSIDE)
        }
        if left[INSIDE].intersection(reach[OUTSIDE]).area > 0:
            least = float(tops[k])
        if left[OUTSIDE].intersection(reach[INSIDE]).area > 1e-6 * area.area:
            most = float(tops[k])
        left = {grow: rest.difference(reach[grow]) for grow, rest in left.items()}
    shares = [1 - left[grow].area / area.area for grow in (INSIDE, OUTSIDE)]
    return shares, [least, most]


def main():
    parts = list(lines())
    sites = {}
    for feature in features("candidate_sites.geojson"):
        (ring,) = feature["geometry"]["coordinates"]
        plane, shapes, tops = shields_near(ring, parts)
        area = shapely.Polygon(plane(densified(ring)))
        shares, levels = cover(area, shapes, tops)
        sites[feature["id"]] = {
            "area_m2": round(area.area, 2),
            "aerodromes": aerodromes(ring),
            "covered_share": [round(share, 7) for share in shares],
            "lowest_top_m": [None if top is None else round(top, 4) for top in levels],
        }
    text = {
        "how": " ".join(__doc__.split()),
        "versions": f"pyproj {pyproj.__version__}, PROJ {pyproj.proj_version_str}, "
        f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}",
        "sites": sites,
    }
    path = Path(__file__).parent / "screening.json"
    path.write_text(json.dumps(text, separators=(",", ":")).replace('"cand', '\n"cand') + "\n")


main()
