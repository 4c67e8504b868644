"""Makes coverage.json: areas, shields and what covers them, by buffers of shapely.

Run from any folder: python3 make_coverage.py. See README.md for the format and the method.
"""

import json
import math
import random
from pathlib import Path

import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate
from shapely.ops import unary_union

from places import GEOD, ORIGINS, Plane, versions

SEED = 20_260_901
QUADRANT = 256  # segments of a quarter circle
# What the method may be wrong by, metres: sagitta of split segments (1e-5 at 85 degrees), stretch
# of the plane within 1.5 km (1e-6 in 100 m), noise. Taken off inner reaches and added to outer ones.
DOUBT_M = 1e-4
NOTHING_M2 = 1e-9  # an area below this is noise of the overlay


def inner(shape, reach):
    return shape.buffer(reach - DOUBT_M, quad_segs=QUADRANT)


def outer(shape, reach):
    return shape.buffer((reach + DOUBT_M) / math.cos(math.pi / (4 * QUADRANT)), quad_segs=QUADRANT)


def answer(plane, case):
    """Intervals that hold the true answer."""
    area = plane.drawn(case["area"])
    assert area.is_valid, (case["id"], shapely.is_valid_reason(area))
    shields = sorted(((each["top_m"], plane.drawn(each["geometry"])) for each in case["shields"]),
                     key=lambda each: -each[0])
    reach = case["reach_m"]
    surely, maybe = Polygon(), Polygon()  # covered by the shields so far
    low = high = None
    # Equal tops are one shield: which of them governs is no matter.
    for top in sorted({top for top, _ in shields}, reverse=True):
        level = [shape for each, shape in shields if each == top]
        adds_surely = unary_union([inner(shape, reach) for shape in level])
        adds_maybe = unary_union([outer(shape, reach) for shape in level])
        if area.intersection(adds_maybe).difference(surely).area > 0.0:
            low = top
        if area.intersection(adds_surely).difference(maybe).area > NOTHING_M2:
            high = top
        surely, maybe = surely.union(adds_surely), maybe.union(adds_maybe)
    bare = [area.difference(maybe).area, area.difference(surely).area]
    wholly = True if bare[1] < NOTHING_M2 else False if bare[0] > NOTHING_M2 else None
    return {
        "area_m2": round(area.area, 6),
        "is_wholly_covered": wholly,
        # Outwards to 12 places, so that noise cannot spoil the interval.
        "covered_share": [max(0.0, math.floor(1e12 * (1.0 - bare[1] / area.area)) / 1e12),
                          math.ceil(1e12 * (1.0 - bare[0] / area.area)) / 1e12],
        "uncovered_m2": bare,
        "lowest_shielding_top_m": None if low is None else [low, high],
    }


def sampled(plane, case, rng):
    """Looks at random places with geodesics alone, so that the buffers are not their own judge."""
    area = plane.drawn(case["area"])
    shields = [(each["top_m"], plane.drawn(each["geometry"], 0.5)) for each in case["shields"]]
    found = case["answer"]
    part = rng.choice(list(area.geoms))
    west, south, east, north = part.bounds
    for _ in range(4000):
        spot = Point(rng.uniform(west, east), rng.uniform(south, north))
        if not part.contains(spot):
            continue
        here = plane.place(spot.x, spot.y)
        tops = []
        for top, shape in shields:
            nearest = shapely.ops.nearest_points(shape, spot)[0]
            if GEOD.inv(*here, *plane.place(nearest.x, nearest.y))[2] <= case["reach_m"]:
                tops.append(top)
        if tops:
            assert max(tops) >= found["lowest_shielding_top_m"][0], case["id"]
        else:
            assert found["is_wholly_covered"] is not True, case["id"]


def ell(rng):
    w, h = rng.uniform(150, 420), rng.uniform(150, 420)
    a, b = rng.uniform(40, 0.7 * w), rng.uniform(40, 0.7 * h)
    shape = Polygon([(0, 0), (w, 0), (w, b), (a, b), (a, h), (0, h)])
    return centred(shape, rng)


def centred(shape, rng):
    middle = shape.envelope.centroid
    return rotate(translate(shape, -middle.x, -middle.y), rng.uniform(0, 360), origin=(0, 0))


def strip(rng, width):
    points = [(0.0, 0.0)]
    heading = rng.uniform(0, 2 * math.pi)
    for _ in range(rng.choice([1, 1, 3])):
        length = rng.uniform(60, 260)
        points.append((points[-1][0] + length * math.cos(heading),
                       points[-1][1] + length * math.sin(heading)))
        heading += rng.uniform(-0.5, 0.5)
    return centred(LineString(points).buffer(width / 2, cap_style="flat", join_style="mitre"), rng)


def holed(rng):
    shape = box(-200, -150, 200, 150)
    for x, y in ((-110, -50), (0, 60), (120, -40)):
        shape = shape.difference(rotate(box(x - 35, y - 45, x + 35, y + 30), rng.uniform(0, 90)))
    return centred(shape, rng)


def slivers(rng):
    parts = [Polygon([(0, k * 40), (300, k * 40 + rng.uniform(0.01, 0.4)), (300, k * 40)])
             for k in range(4)]
    return centred(MultiPolygon(parts), rng)


def around(rng, area, count, spread, kinds=("point", "line", "outline")):
    """Shields of all shapes on and about an area."""
    west, south, east, north = area.bounds
    shields = []
    for _ in range(count):
        x, y = rng.uniform(west - spread, east + spread), rng.uniform(south - spread, north + spread)
        kind = rng.choice(kinds)
        if kind == "point":
            shape = Point(x, y)
        elif kind == "line":
            angle, length = rng.uniform(0, 6.3), rng.uniform(30, 400)
            shape = LineString([(x, y), (x + length * math.cos(angle), y + length * math.sin(angle))])
        else:
            shape = rotate(box(x - rng.uniform(4, 20), y - 6, x + 10, y + rng.uniform(4, 25)),
                           rng.uniform(0, 90))
        shields.append((round(rng.uniform(5, 65), 1), shape))
    return shields


def grid(rng, area, reach):
    """Points so close that they cover the area whatever their tops."""
    west, south, east, north = area.bounds
    step = reach * 1.3
    shields = []
    for i in range(math.ceil((east - west) / step) + 1):
        for j in range(math.ceil((north - south) / step) + 1):
            shields.append((round(rng.uniform(8, 60), 1), Point(west + i * step, south + j * step)))
    return shields


def corridor(rng, half):
    """An area along a line that turns, with one corner out of reach or just in it: the corner is
    half * sqrt(2) from the tower, 99.99 m for 70.7 and 100.01 m for 70.72."""
    area = Polygon([(half, -half), (half, 300), (-half, 300), (-half, half), (-300, half),
                    (-300, -half)])
    spans = [LineString([(-420, 0), (0, 0)]), LineString([(0, 0), (0, 400)])]
    shields = [(round(rng.uniform(40, 60), 1), span) for span in spans]
    shields += [(round(rng.uniform(55, 62), 1), Point(p)) for p in ((-420, 0), (0, 0), (0, 400))]
    # Low poles in the middle of it govern nothing.
    shields += [(round(rng.uniform(4, 9), 1), Point(rng.uniform(-200, 0), 10)) for _ in range(3)]
    return area, shields


def tangent(rng, gap):
    """Two discs that touch, or miss by a gap, in the middle of a thin area; a third far below."""
    area = box(-150, -0.5, 150, 0.5) if rng.random() < 0.5 else box(-150, -0.01, 150, 0.01)
    shields = [(50.0, Point(-100 - gap / 2, 0)), (45.0, Point(100 + gap / 2, 0))]
    if rng.random() < 0.6:
        shields.append((12.0, Point(0, rng.uniform(0, 99))))
    return area, shields


def on_the_edge(rng, excess):
    """One disc whose edge passes through the corners of a square, or leaves or gains a little."""
    side = 100.0 * math.sqrt(2.0) + excess
    area = box(-side / 2, -side / 2, side / 2, side / 2)
    return area, [(33.0, Point(0, 0)), (9.0, Point(rng.uniform(150, 165), 0))]


def shapes(rng):
    """Name, area, shields and reach of every case."""
    for n in range(12):
        area = ell(rng)
        reach = rng.choice([50.0, 100.0, 100.0, 121.92])
        yield f"ell-{n}", area, around(rng, area, rng.randint(2, 12), reach), reach
    for n, width in enumerate([0.02, 0.02, 0.05, 0.05, 0.1, 0.1, 0.3, 0.3, 1.0, 1.0]):
        area = strip(rng, width)
        yield f"strip-{n}-{width:g}m", area, around(rng, area, rng.randint(3, 9), 80), 100.0
    for n in range(6):
        area = holed(rng)
        yield f"holed-{n}", area, around(rng, area, rng.randint(4, 12), 60), 100.0
    for n in range(4):
        area = slivers(rng)
        yield f"slivers-{n}", area, around(rng, area, rng.randint(3, 8), 60), 100.0
    for n in range(6):
        area = ell(rng) if n % 2 else holed(rng)
        yield f"grid-{n}", area, grid(rng, area, 60.96), 60.96
    for n in range(5):
        area = ell(rng)
        yield f"layered-{n}", area, around(rng, area, 30, 40), 100.0
    for half in (60.0, 69.9, 70.7, 70.72, 71.0, 85.0, 95.0):
        yield f"corridor-{half:g}m", *corridor(rng, half), 100.0
    for gap in (0.0, 0.0, 1e-3, -1e-3, 0.02, -0.02, 1.0, -1.0):
        yield f"tangent-{gap:g}m", *tangent(rng, gap), 100.0
    for excess in (0.0, 1e-3, -1e-3, 0.5, -0.5):
        yield f"edge-{excess:g}m", *on_the_edge(rng, excess), 100.0
    # Nothing in reach; and a shield that touches the reach of one corner only.
    yield "none-0", box(-50, -50, 50, 50), [(40.0, Point(400, 0))], 100.0
    yield "corner-0", box(-50, -50, 50, 50), [(40.0, Point(149, 49)), (30.0, Point(-160, -50))], 100.0


def main():
    rng = random.Random(SEED)
    cases = []
    for number, (name, area, shields, reach) in enumerate(shapes(rng)):
        plane = Plane(ORIGINS[number % len(ORIGINS)])
        # Off the middle of the plane, as an area is whose frame is about its own box.
        shift = rng.uniform(-300, 300), rng.uniform(-300, 300)
        if area.geom_type == "Polygon":
            area = MultiPolygon([area])
        case = {
            "id": f"{number}-{name}",
            "reach_m": reach,
            "area": plane.written(translate(area, *shift)),
            "shields": [{"top_m": top, "geometry": plane.written(translate(shape, *shift))}
                        for top, shape in shields],
        }
        case["answer"] = answer(plane, case)
        sampled(plane, case, random.Random(number))
        cases.append(case)
    lines = ",\n".join(json.dumps(case) for case in cases)
    head = json.dumps({"made_by": "make_coverage.py", "seed": SEED, "versions": versions()})[:-1]
    path = Path(__file__).resolve().with_name("coverage.json")
    path.write_text(f'{head}, "cases": [\n{lines}\n]}}\n', encoding="utf-8")
    for case in cases:
        found = case["answer"]
        print(case["id"], found["is_wholly_covered"], found["covered_share"],
              found["lowest_shielding_top_m"])


if __name__ == "__main__":
    main()
