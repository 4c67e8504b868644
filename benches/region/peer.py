"""The screening of the synthetic region as a practitioner would write it in Python.

shapely 2 (GEOS), pyproj (PROJ's geodesics), orjson and numpy; arrays throughout, no loop over sites or
obstacles but for taking apart JSON. It answers what `eaves screen` answers with profile.toml:

- the nearest aerodrome within 10 NM: distance and true bearing from its reference point;
- the ring of 3 NM that lies worst: inside, straddles, outside, with its signed margin;
- the covered share, and the ceiling above flat ground: of the whole area where it is wholly covered,
  else of the covered part.

It shares no code with eaves. Circles are polygons inside the true circle, so a covered share may come
out short by what they lack; `--outside` draws them around it instead, which brackets the truth.

usage: peer.py SITES LAYERS OUT.csv [--outside] [TIMES.json]
"""

import json
import resource
import sys
import time
from itertools import chain

import numpy as np
import orjson
import shapely
from pyproj import Geod

REACH_M = 100.0
MARGIN_M = 10.0
CAP_M = 120.0
RING_M = 3 * 1852.0
SEARCH_M = 10 * 1852.0
SAG_SHARE = 0.02
# Horizontal and vertical accuracy: layers.toml.
STRUCTURES_M = (2.0, 1.0)
LINES_M = (1.0, 0.5)
LONGEST_SPAN_M = 1500.0
QUADRANT_SEGMENTS = 16
PERMANENT = {"building", "mast", "chimney", "silo", "water_tower"}

GEOD = Geod(ellps="WGS84")
A, E2 = GEOD.a, GEOD.es


def radii(lat_deg):
    """Radii of curvature: along the meridian, and of the parallel."""
    lat = np.radians(lat_deg)
    w = np.sqrt(1 - E2 * np.sin(lat) ** 2)
    return A * (1 - E2) / w**3, A / w * np.cos(lat)


def features(path):
    with open(path, "rb") as file:
        return orjson.loads(file.read())["features"]


def flat(lists):
    """Lists of coordinates as one array, and how many each has."""
    counts = np.fromiter(map(len, lists), np.int64, len(lists))
    numbers = chain.from_iterable(chain.from_iterable(lists))
    return np.fromiter(numbers, np.float64, 2 * int(counts.sum())).reshape(-1, 2), counts


def offsets(counts):
    return np.concatenate(([0], np.cumsum(counts)))


def polygons(lists):
    coordinates, counts = flat(lists)
    rings = np.arange(len(lists) + 1)
    return shapely.from_ragged_array(
        shapely.GeometryType.POLYGON, coordinates, (offsets(counts), rings)
    )


def height(properties, key):
    text = properties.get(key)
    return np.nan if text is None else float(text)


def read_structures(path):
    found = features(path)
    properties = [feature["properties"] for feature in found]
    geometries = [feature["geometry"]["coordinates"] for feature in found]
    kinds = ["building" if "building" in p else p["kind"] for p in properties]
    heights = np.array([height(p, "height") for p in properties])
    serves = np.array([kind in PERMANENT for kind in kinds]) & (heights - STRUCTURES_M[1] > 0)
    is_point = np.fromiter((g["geometry"]["type"] == "Point" for g in found), bool, len(found))
    shapes = np.empty(len(found), dtype=object)
    shapes[is_point] = shapely.points(
        np.array([g for g, p in zip(geometries, is_point) if p]).reshape(-1, 2)
    )
    shapes[~is_point] = polygons([g[0] for g, p in zip(geometries, is_point) if not p])
    level = heights - STRUCTURES_M[1]
    return shapes[serves], level[serves], np.full(int(serves.sum()), REACH_M - STRUCTURES_M[0])


def read_lines(path):
    """Spans and the supports at their ends."""
    found = features(path)
    coordinates, counts = flat([feature["geometry"]["coordinates"] for feature in found])
    of_line = np.array([height(feature["properties"], "height_m") for feature in found])
    of_vertex = np.repeat(of_line, counts)
    first = np.ones(len(coordinates), bool)
    first[np.cumsum(counts) - 1] = False  # the last vertex of a line begins no span
    starts = np.flatnonzero(first)
    a, b = coordinates[starts], coordinates[starts + 1]
    length = GEOD.inv(a[:, 0], a[:, 1], b[:, 0], b[:, 1])[2]
    spans = shapely.linestrings(np.stack([a, b], axis=1))
    span_level = of_vertex[starts] - SAG_SHARE * length - LINES_M[1]
    support_level = of_vertex - LINES_M[1]
    shapes = np.concatenate([spans, shapely.points(coordinates)])
    level = np.concatenate([span_level, support_level])
    serves = level > 0
    serves[: len(spans)] &= length <= LONGEST_SPAN_M
    return shapes[serves], level[serves], np.full(int(serves.sum()), REACH_M - LINES_M[0])


def read_aerodromes(path):
    found = features(path)
    places = np.array([feature["geometry"]["coordinates"] for feature in found])
    return places, np.array([feature["properties"]["ident"] for feature in found])


def read_sites(path):
    found = features(path)
    ids = np.array([feature["id"] for feature in found])
    return ids, polygons([feature["geometry"]["coordinates"][0] for feature in found])


class Planes:
    """A plane about the middle of each site: east and north in metres by the radii of curvature,
    good to a millimetre in a kilometre."""

    def __init__(self, sites):
        west, south, east, north = shapely.bounds(sites).T
        self.lon, self.lat = (west + east) / 2, (south + north) / 2
        meridian, parallel = radii(self.lat)
        self.x, self.y = np.radians(parallel), np.radians(meridian)
        # The change of the parallel with latitude, to first order.
        self.turn = -np.sin(np.radians(self.lat)) * A / np.sqrt(
            1 - E2 * np.sin(np.radians(self.lat)) ** 2
        )

    def lay_out(self, shapes, site):
        """Each shape in the plane of its site."""
        coordinates, of_shape = shapely.get_coordinates(shapes, return_index=True)
        site = site[of_shape]
        north = coordinates[:, 1] - self.lat[site]
        parallel = self.x[site] + np.radians(self.turn[site] * np.radians(north))
        plane = np.column_stack(
            ((coordinates[:, 0] - self.lon[site]) * parallel, north * self.y[site])
        )
        return shapely.set_coordinates(shapes.copy(), plane)


def grown(bounds, distance):
    """Boxes of degrees grown by a distance."""
    west, south, east, north = bounds.T
    meridian, parallel = radii(np.maximum(np.abs(south), np.abs(north)) + 0.01)
    dx, dy = np.degrees(distance / parallel) * 1.001, np.degrees(distance / meridian) * 1.011
    return shapely.box(west - dx, south - dy, east + dx, north + dy)


def nearest_points(sites, site, place):
    """The point of each site nearest to a place, by the plane, refined about the place's bearing."""
    return shapely.get_coordinates(shapely.shortest_line(site, place))[::2]


def aerodromes(sites, planes, places):
    """Distance, bearing and number of the nearest aerodrome; state and margin of the worst ring."""
    count = len(sites)
    boxes = grown(shapely.bounds(sites), SEARCH_M)
    site, aerodrome = shapely.STRtree(shapely.points(places)).query(boxes, predicate="intersects")
    # A plane about the aerodrome, where distances from it are nearly straight.
    lon, lat = places[aerodrome].T
    meridian, parallel = radii(lat)
    coordinates, of_pair = shapely.get_coordinates(sites[site], return_index=True)
    north = np.radians(coordinates[:, 1] - lat[of_pair])
    sine = np.sin(np.radians(lat))[of_pair]
    east = np.radians(coordinates[:, 0] - lon[of_pair])
    # Along a parallel the radius changes with latitude; the middle latitude serves.
    across = parallel[of_pair] - A * sine * north / 2
    plane = np.column_stack((east * across, north * meridian[of_pair]))
    laid = shapely.set_coordinates(sites[site].copy(), plane)
    origin = shapely.points(np.zeros((len(site), 2)))
    at = nearest_points(sites, laid, origin)
    north = at[:, 1] / meridian
    to_lat = lat + np.degrees(north)
    to_lon = lon + np.degrees(at[:, 0] / (parallel - A * np.sin(np.radians(lat)) * north / 2))
    bearing, _, distance = GEOD.inv(lon, lat, to_lon, to_lat)
    corner_pair = of_pair
    _, _, out = GEOD.inv(
        lon[corner_pair], lat[corner_pair], coordinates[:, 0], coordinates[:, 1]
    )
    farthest = np.maximum.reduceat(out, offsets(np.bincount(of_pair, minlength=len(site)))[:-1])
    near = distance <= SEARCH_M
    site, aerodrome, distance, bearing, farthest = (
        it[near] for it in (site, aerodrome, distance, bearing, farthest)
    )
    order = np.lexsort((distance, site))
    first = np.ones(len(order), bool)
    first[1:] = site[order][1:] != site[order][:-1]
    best = order[first]
    number = np.full(count, -1)
    found = {name: np.full(count, np.nan) for name in ("distance", "bearing", "margin")}
    number[site[best]] = aerodrome[best]
    found["distance"][site[best]] = distance[best]
    found["bearing"][site[best]] = bearing[best] % 360
    state = np.where(distance > RING_M, 2, np.where(farthest <= RING_M, 0, 1))
    order = np.lexsort((distance, state, site))
    first[1:] = site[order][1:] != site[order][:-1]
    worst = order[first]
    states = np.full(count, -1)
    states[site[worst]] = state[worst]
    found["margin"][site[worst]] = distance[worst] - RING_M
    return number, states, found


def shielding(sites, planes, shapes, level, reach, tree, outside):
    """Covered share and the lowest shielding level of each site."""
    boxes = grown(shapely.bounds(sites), REACH_M)
    site, shape = tree.query(boxes)
    laid = planes.lay_out(shapes[shape], site)
    areas = planes.lay_out(sites, np.arange(len(sites)))
    distance = shapely.distance(areas[site], laid)
    near = distance <= reach[shape]
    site, shape, laid = site[near], shape[near], laid[near]
    order = np.lexsort((-level[shape], site))
    site, shape, laid = site[order], shape[order], laid[order]
    radius = reach[shape]
    drawn = radius / np.cos(np.pi / (4 * QUADRANT_SEGMENTS)) if outside else radius
    # The highest of every site first, then the second of every site not yet covered, and so on.
    starts = np.searchsorted(site, np.arange(len(sites)))
    ends = np.searchsorted(site, np.arange(len(sites)), side="right")
    size = shapely.area(areas)
    left = areas.copy()
    lowest = np.full(len(sites), np.nan)
    active = np.flatnonzero(ends > starts)
    turn = 0
    while len(active):
        pair = starts[active] + turn
        touches = shapely.distance(left[active], laid[pair]) < drawn[pair]
        hit, pair = active[touches], pair[touches]
        reaches = shapely.buffer(laid[pair], drawn[pair], quad_segs=QUADRANT_SEGMENTS)
        after = shapely.difference(left[hit], reaches)
        gone = shapely.area(left[hit]) - shapely.area(after) > 1e-9 * size[hit]
        lowest[hit[gone]] = level[shape[pair[gone]]]
        left[hit] = after
        turn += 1
        active = active[(starts[active] + turn < ends[active]) & ~shapely.is_empty(left[active])]
    share = 1 - shapely.area(left) / size
    is_whole = shapely.area(left) <= 1e-9 * size
    return np.clip(share, 0, 1), is_whole, np.minimum(lowest - MARGIN_M, CAP_M)


def main():
    options = [a for a in sys.argv[1:] if a.startswith("--")]
    sites_path, layers, out, *rest = [a for a in sys.argv[1:] if not a.startswith("--")]
    times, begun, begun_cpu = {}, time.perf_counter(), time.process_time()

    def lap(name):
        nonlocal begun, begun_cpu
        now, now_cpu = time.perf_counter(), time.process_time()
        times[f"{name}_s"], times[f"{name}_cpu_s"] = now - begun, now_cpu - begun_cpu
        begun, begun_cpu = now, now_cpu

    structures = read_structures(f"{layers}/structures.geojson")
    lines = read_lines(f"{layers}/power-lines.geojson")
    shapes, level, reach = (np.concatenate(pair) for pair in zip(structures, lines))
    places, idents = read_aerodromes(f"{layers}/aerodromes.geojson")
    tree = shapely.STRtree(shapes)
    tree.query(shapely.box(0, 0, 0, 0))
    lap("load_and_index")
    ids, sites = read_sites(sites_path)
    lap("sites")
    planes = Planes(sites)
    number, states, found = aerodromes(sites, planes, places)
    lap("aerodromes")
    share, is_whole, ceiling = shielding(
        sites, planes, shapes, level, reach, tree, "--outside" in options
    )
    lap("shielding")
    words = np.array(["inside", "straddles", "outside", ""])
    with open(out, "w") as file:
        file.write("id,aerodrome,distance_m,bearing_true_deg,state,margin_m,share,whole,ceiling_m\n")
        rows = zip(
            ids, np.append(idents, "")[number], found["distance"], found["bearing"],
            words[states], found["margin"], share, is_whole.astype(int), ceiling,
        )
        file.writelines(
            f"{i},{a},{d:.3f},{b:.5f},{s},{m:.3f},{c:.6f},{w},{h:.3f}\n"
            for i, a, d, b, s, m, c, w, h in rows
        )
    lap("write")
    times["peak_mib"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if rest:
        with open(rest[0], "w") as file:
            json.dump(times, file)
    else:
        print(json.dumps(times))


if __name__ == "__main__":
    main()
