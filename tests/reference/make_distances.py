"""Makes distances.json: nearest and farthest geodesic distances by refinement with pyproj.Geod.

Run from any folder: python3 make_distances.py. See README.md for the format and the method.
"""

import json
import math
import random
from pathlib import Path

import numpy
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from places import GEOD, ORIGINS, Plane, unwrapped, versions, wrapped

SEED = 20_260_902
COARSE = 9  # places a segment at the first look
PIECE_M = 400.0  # longest piece of a segment, so that a distance within it has one minimum
STOP_M = 1e-5  # refinement ends when a step is shorter


def pieces(written, about):
    """The segments of a geometry in degrees, cut to pieces; a point is one of no length."""
    kind, coords = written["type"], written["coordinates"]
    if kind == "Point":
        paths = [[coords, coords]]
    elif kind == "LineString":
        paths = [coords]
    elif kind == "MultiLineString" or kind == "Polygon":
        paths = coords
    else:
        paths = [ring for polygon in coords for ring in polygon]
    found = []
    for path in paths:
        corners = unwrapped(path, about)
        for (lon1, lat1), (lon2, lat2) in zip(corners, corners[1:]):
            count = max(1, math.ceil(GEOD.inv(lon1, lat1, lon2, lat2)[2] / PIECE_M))
            ends = [(lon1 + k / count * (lon2 - lon1), lat1 + k / count * (lat2 - lat1))
                    for k in range(count + 1)]
            found += list(zip(ends, ends[1:]))
    return numpy.array(found)


def at(piece, share):
    return piece[0] + share[..., None] * (piece[1] - piece[0])


def between(first, second):
    """Geodesic distances of all of one list of places to all of another."""
    a = numpy.repeat(first, len(second), axis=0)
    b = numpy.tile(second, (len(first), 1))
    metres = GEOD.inv(a[:, 0], a[:, 1], b[:, 0], b[:, 1])[2]
    return numpy.array(metres).reshape(len(first), len(second))


def refine(one, two, sense):
    """The least (sense 1) or greatest (sense -1) distance between two pieces, with its places."""
    low, high = numpy.zeros(2), numpy.ones(2)
    length = max(GEOD.inv(*piece[0], *piece[1])[2] for piece in (one, two))
    while True:
        shares = [numpy.linspace(low[k], high[k], COARSE) for k in range(2)]
        grid = sense * between(at(one, shares[0]), at(two, shares[1]))
        i, j = numpy.unravel_index(numpy.argmin(grid), grid.shape)
        best = numpy.array([shares[0][i], shares[1][j]])
        step = (high - low) / (COARSE - 1)
        if step.max() * length < STOP_M:
            return sense * grid[i, j], at(one, best[0]), at(two, best[1])
        # Two steps either way: near-parallel pieces have long, flat valleys.
        low, high = numpy.maximum(best - 2 * step, 0.0), numpy.minimum(best + 2 * step, 1.0)


def extreme(first, second, sense):
    """The least or greatest distance over all pairs of pieces."""
    share = numpy.linspace(0.0, 1.0, 3)
    a = numpy.array([at(piece, share) for piece in first])
    b = numpy.array([at(piece, share) for piece in second])
    grid = sense * between(a.reshape(-1, 2), b.reshape(-1, 2))
    grid = grid.reshape(len(first), 3, len(second), 3).min(axis=(1, 3))
    half_m = [max(GEOD.inv(*piece[0], *piece[1])[2] for piece in part) / 2 for part in (first, second)]
    # No place of a piece is farther than a quarter of it from one that was looked at.
    hopeful = numpy.argwhere(grid <= grid.min() + (half_m[0] + half_m[1]) / 2 + 1.0)
    found = [refine(first[i], second[j], sense) for i, j in hopeful]
    return min(found, key=lambda each: sense * each[0])


def in_degrees(written, about):
    kind, coords = written["type"], written["coordinates"]
    if kind == "Point":
        return Point(unwrapped([coords], about)[0])
    if kind == "LineString":
        return LineString(unwrapped(coords, about))
    if kind == "MultiLineString":
        return shapely.MultiLineString([unwrapped(path, about) for path in coords])
    polygons = [coords] if kind == "Polygon" else coords
    return MultiPolygon([Polygon(unwrapped(rings[0], about),
                                 [unwrapped(ring, about) for ring in rings[1:]])
                         for rings in polygons])


def answer(case, about):
    area, reference = case["area"], case["reference"]
    overlap = in_degrees(area, about).intersects(in_degrees(reference, about))
    sides, marks = pieces(area, about), pieces(reference, about)
    found = {"overlap": bool(overlap)}
    if overlap:
        found["nearest_m"] = 0.0
    else:
        metres, mark, side = extreme(marks, sides, 1)
        found["nearest_m"] = round(float(metres), 6)
        found["from"] = [round(wrapped(float(mark[0])), 10), round(float(mark[1]), 10)]
        found["to"] = [round(wrapped(float(side[0])), 10), round(float(side[1]), 10)]
        if reference["type"] == "Point":
            found["bearing_deg"] = round(GEOD.inv(*mark, *side)[0] % 360.0, 6)
    if reference["type"] == "Point":
        # The farthest place of an area from a point lies on its edge.
        found["farthest_m"] = round(float(extreme(marks, sides, -1)[0]), 6)
    return found


def checked(case):
    """The same numbers by another way: planes in which they are exact, with plain plane geometry.

    In the azimuthal equidistant plane about the middle of the nearest line both halves of it are
    true to length, and no other line is shortened; in the one about a point every distance from
    it is. Segments are split to 5 m, which leaves a sagitta below 0.01 mm.
    """
    found = case["answer"]
    if not found["overlap"]:
        ends = [*found["from"], *found["to"]]
        azimuth, _, metres = GEOD.inv(*ends)
        middle = GEOD.fwd(*found["from"], azimuth, metres / 2)[:2]
        plane = Plane(middle)
        there = plane.drawn(case["area"]).distance(plane.drawn(case["reference"]))
        assert abs(there - found["nearest_m"]) < 1e-4, (case["id"], there)
    if "farthest_m" in found:
        plane = Plane(case["reference"]["coordinates"])
        corners = shapely.get_coordinates(plane.drawn(case["area"]))
        there = numpy.hypot(corners[:, 0], corners[:, 1]).max()
        assert abs(there - found["farthest_m"]) < 1e-4, (case["id"], there)


def star(rng, corners, size):
    """A simple polygon of any form about the origin."""
    angles = sorted(rng.uniform(0, 2 * math.pi) for _ in range(corners))
    points = [(r * math.cos(angle), r * math.sin(angle))
              for angle in angles for r in [rng.uniform(0.3 * size, size)]]
    shape = Polygon(points)
    return shape if shape.is_valid and shape.area > 100.0 else star(rng, corners, size)


def sites(rng):
    """Name, area and reference of every case, metres east and north of an origin."""
    def away(metres):
        angle = rng.uniform(0, 2 * math.pi)
        return metres * math.cos(angle), metres * math.sin(angle)

    def area():
        return star(rng, rng.randint(3, 12), rng.choice([40.0, 300.0, 800.0, 3000.0]))

    for n in range(18):
        yield f"point-{n}", area(), Point(away(rng.choice([3500, 5556, 9260, 20_000, 40_000])))
    for n in range(14):
        x, y = away(rng.choice([3500, 5556, 12_000]))
        angle, length = rng.uniform(0, 2 * math.pi), rng.uniform(300, 4000)
        runway = LineString([(x, y), (x + length * math.cos(angle), y + length * math.sin(angle))])
        yield f"runway-{n}", area(), runway
    for n in range(12):
        shape = translate(star(rng, rng.randint(4, 12), 1200.0), *away(rng.choice([4500, 7000])))
        yield f"boundary-{n}", area(), shape
    # Edges that run side by side: the nearest places are not unique, the distance is.
    for n, turn in enumerate((0.0, 0.0, 90.0, 45.0)):
        pair = [box(0, 0, 2000, 300), LineString([(200, 700), (1800, 700)])]
        yield f"parallel-{n}", *(rotate(shape, turn, origin=(0, 0)) for shape in pair)
    # Thin areas.
    for n, width in enumerate((0.02, 0.1, 1.0)):
        strip = LineString([(-700, 0), (100, 40), (600, -200)]).buffer(width / 2, cap_style="flat")
        yield f"strip-{n}", strip, Point(away(1500))
    # Overlaps, and a reference in a hole of the area, which does not overlap.
    ring = box(-900, -900, 900, 900).difference(box(-400, -300, 500, 350))
    yield "inside-0", box(-900, -900, 900, 900), Point(120, 80)
    yield "inside-1", box(-100, -100, 100, 100), box(-900, -900, 900, 900)
    yield "across-0", box(-100, -100, 100, 100), LineString([(-900, -600), (900, 700)])
    yield "hole-0", ring, Point(37, -21)
    yield "hole-1", ring, LineString([(-250, -100), (300, 200)])
    yield "hole-2", ring, star(rng, 7, 200)
    # Nearly touching.
    yield "near-0", box(0, 0, 300, 300), Point(-0.5, 120)
    yield "near-1", box(0, 0, 300, 300), LineString([(300.05, -50), (300.4, 340)])
    # Long edges far north, where straight in degrees is far from the geodesic.
    yield "long-0", box(-6000, -500, 6000, 500), Point(300, 4000)
    yield "long-1", box(-6000, -500, 6000, 500), Point(-900, -7000)
    yield "long-2", box(-500, -6000, 500, 6000), LineString([(3000, -900), (3500, 1200)])


def main():
    rng = random.Random(SEED)
    cases = []
    for number, (name, area, reference) in enumerate(sites(rng)):
        origin = (100.0, 84.9) if name.startswith("long") else ORIGINS[number % len(ORIGINS)]
        plane = Plane(origin)
        if area.geom_type == "Polygon":
            area = MultiPolygon([area])
        case = {"id": f"{number}-{name}", "area": plane.written(area),
                "reference": plane.written(reference)}
        case["answer"] = answer(case, origin[0])
        checked(case)
        cases.append(case)
        print(case["id"], origin, case["answer"])
    lines = ",\n".join(json.dumps(case) for case in cases)
    head = json.dumps({"made_by": "make_distances.py", "seed": SEED, "versions": versions()})[:-1]
    path = Path(__file__).resolve().with_name("distances.json")
    path.write_text(f'{head}, "cases": [\n{lines}\n]}}\n', encoding="utf-8")


if __name__ == "__main__":
    main()
