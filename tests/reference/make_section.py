"""Makes section.json: hanging wires, stations of cuts, and cuts through the demo, without eaves.

Run from any folder: python3 make_section.py. See README.md for the format and the method.
"""

import json
import math
import random
from pathlib import Path

import numpy
import pyproj
import rasterio
import scipy
import shapely
from scipy.optimize import brentq

from places import DIGITS, GEOD, ORIGINS, versions, wrapped

SEED = 20_261_127
DEMO = Path(__file__).resolve().parents[2] / "demo-layers"
# As demo-layers/layers.toml declares them.
SAG_SHARE, LINE_H, LINE_V, GROUND_V = 0.0155, 2.0, 1.0, 1.0
FOOT, POUND_FORCE = 0.3048, 4.4482216152605


def rounded(lon, lat):
    return [round(wrapped(lon), DIGITS), round(lat, DIGITS)]


# ---- hanging wires -------------------------------------------------------------------------------

def catenary(span, first, last, sag):
    """The level of a wire at x, from the sag of a level span as long: both constants by root finding
    (Brent), where eaves has closed forms for the second."""
    c = brentq(lambda c: c * math.expm1(math.log(math.cosh(span / 2 / c))) - sag,
               span * span / 8 / sag * 0.4, span * span / 8 / sag + 2 * sag, xtol=1e-12, rtol=1e-15)
    # The lowest point lies where the wire comes out at the far support.
    def misfit(x0):
        return c * (math.cosh((span - x0) / c) - math.cosh(x0 / c)) - (last - first)
    x0 = brentq(misfit, -20 * span, 21 * span, xtol=1e-12, rtol=1e-15)
    return lambda x: first + c * (math.cosh((x - x0) / c) - math.cosh(x0 / c)), x0, c


def wires():
    rng = random.Random(SEED)
    cases = []

    def add(name, span, first, last, sag, **more):
        level, x0, c = catenary(span, first, last, sag)
        at = [span * k / 10 for k in range(11)] + ([x0] if 0 < x0 < span else [])
        cases.append({"id": name, "span_m": span, "first_m": first, "last_m": last, "sag_m": sag,
                      "lowest_from_first_m": round(x0, 6), "constant_m": round(c, 6),
                      "at_m": [round(x, 6) for x in at], "level_m": [round(level(x), 6) for x in at],
                      **more})

    # 795 kcmil 26/7 ACSR "Drake", 1.094 lb/ft, 6300 lb: catenary sags of a level span, feet (overhead
    # conductor handbook example; data from memory, sags computed): 7.816, 21.720, 87.044.
    for feet in (600, 1000, 2000):
        constant = 6300.0 / 1.094
        sag = constant * (math.cosh(feet / 2 / constant) - 1)
        add(f"D{feet}", feet * FOOT, 40.0, 40.0, sag * FOOT, sag_ft=round(sag, 3),
            weight_n_per_m=1.094 * POUND_FORCE / FOOT, tension_n=6300.0 * POUND_FORCE)
    # Chakrabarti, Soni, Gupta and Bhatnagar, example 5.2: span 250 m, supports 10 m apart; printed
    # 60.05 m from the lower support, by the parabola.
    tension, weight = 4300 / 3 * math.pi, math.hypot(2.5, 1.2)
    parabola = 125.0 - tension * 10 / (weight * 250)
    sag = tension / weight * (math.cosh(125.0 * weight / tension) - 1)
    add("T5.2", 250.0, 30.0, 40.0, sag, printed_low_point_m=60.05,
        parabola_low_point_m=round(parabola, 3))
    for k in range(20):
        span = rng.uniform(40, 1400)
        add(f"random {k}", round(span, 3), round(rng.uniform(10, 80), 3),
            round(rng.uniform(10, 80), 3), round(span * rng.uniform(0.002, 0.09), 3))
    return cases


# ---- stations ------------------------------------------------------------------------------------

def stations():
    rng = random.Random(SEED + 1)
    cases = []
    for origin in ORIGINS:
        bearing, length = rng.uniform(0, 360), rng.uniform(300, 9_000)
        start = rounded(*GEOD.fwd(*origin, bearing + 180.0, length * rng.uniform(0.2, 0.8))[:2])
        end = rounded(*GEOD.fwd(*start, bearing, length)[:2])
        bearing, _, length = GEOD.inv(*start, *end)
        at = [length * k / 12 for k in range(13)]
        cases.append({"origin": list(origin), "from": start, "to": end,
                      "length_m": round(length, 6), "bearing_deg": round(bearing % 360.0, 9),
                      "at_m": [round(x, 6) for x in at],
                      "places": [rounded(*GEOD.fwd(*start, bearing, x)[:2]) for x in at]})
    return cases


# ---- the demo ------------------------------------------------------------------------------------

class Terrain:
    """Bilinear between the middles of cells; NaN where one of the four is not known."""

    def __init__(self, path):
        with rasterio.open(path) as raster:
            band = raster.read(1, masked=True).astype("float64")
            self.z, self.inverse = band.filled(numpy.nan), ~raster.transform

    def at(self, lon, lat):
        column, row = self.inverse * (lon, lat)
        column, row = column - 0.5, row - 0.5
        c, r = math.floor(column), math.floor(row)
        if c < 0 or r < 0 or c + 1 >= self.z.shape[1] or r + 1 >= self.z.shape[0]:
            return math.nan
        u, v = column - c, row - r
        z = self.z[r:r + 2, c:c + 2]
        return float((1 - v) * ((1 - u) * z[0, 0] + u * z[0, 1])
                     + v * ((1 - u) * z[1, 0] + u * z[1, 1]))

    def about(self, lon, lat, spread):
        """Least and greatest in a square of half the side `spread`, from a net of 41 by 41."""
        levels = []
        for i in range(41):
            for j in range(41):
                x, y = spread * (i / 20 - 1), spread * (j / 20 - 1)
                there = GEOD.fwd(lon, lat, math.degrees(math.atan2(x, y)), math.hypot(x, y))
                levels.append(self.at(there[0], there[1]))
        return min(levels), max(levels)


def features(name):
    return json.loads((DEMO / name).read_text(encoding="utf-8"))["features"]


def spans():
    tops = {tuple(f["geometry"]["coordinates"]): float(f["properties"]["height"].split()[0])
            for f in features("power-supports.geojson")}
    for line in features("power-lines.geojson"):
        places = line["geometry"]["coordinates"]
        for index, (a, b) in enumerate(zip(places, places[1:])):
            yield line["id"], index, a, b, tops[tuple(a)], tops[tuple(b)]


def demo():
    terrain = Terrain(DEMO / "terrain.tif")
    middle = (149.6699, -30.8330)
    plane = pyproj.Proj(proj="aeqd", lon_0=middle[0], lat_0=middle[1], ellps="WGS84")
    cuts = []
    for name, start, end in [
        ("across the 330 kV line and under the 66 kV line", [149.6660, -30.8345], [149.6745, -30.8362]),
        ("across one span", [149.6690, -30.8300], [149.6760, -30.8305]),
        ("over cells without data and off the terrain", [149.6590, -30.8400], [149.6900, -30.8200]),
    ]:
        bearing, _, length = GEOD.inv(*start, *end)
        step = 7.0
        at = [step * k for k in range(int(length // step) + 1)]
        ground = []
        for x in at:
            level = terrain.at(*GEOD.fwd(*start, bearing, x)[:2])
            ground.append(None if math.isnan(level) else round(level, 4))
        # The cut as short straight pieces of the plane.
        fine = numpy.linspace(0.0, length, int(length // 20) + 2)
        cut = shapely.LineString([plane(*GEOD.fwd(*start, bearing, x)[:2]) for x in fine])
        crossings = []
        for line, index, a, b, top_a, top_b in spans():
            # Straight in longitude and latitude.
            span = shapely.LineString([plane(a[0] + k / 64 * (b[0] - a[0]), a[1] + k / 64 * (b[1] - a[1]))
                                       for k in range(65)])
            if not cut.intersects(span):
                continue
            there = plane(*cut.intersection(span).coords[0], inverse=True)
            from_a = GEOD.inv(*a, *there)[2]
            length_ab = GEOD.inv(*a, *b)[2]
            (low_a, high_a), (low_b, high_b) = (terrain.about(*p, LINE_H) for p in (a, b))
            off = LINE_V + GROUND_V
            low, _, _ = catenary(length_ab, low_a + top_a - off, low_b + top_b - off,
                                 SAG_SHARE * length_ab)
            high_a, high_b = high_a + top_a + off, high_b + top_b + off
            crossings.append({
                "line": line, "span_index": index,
                "at_m": round(GEOD.inv(*start, *there)[2], 4),
                "from_support_m": round(from_a, 4),
                "low_m_amsl": round(low(from_a), 4),
                "high_m_amsl": round(high_a + from_a / length_ab * (high_b - high_a), 4)})
        crossings.sort(key=lambda crossing: crossing["at_m"])
        cuts.append({"id": name, "from": start, "to": end, "length_m": round(length, 6),
                     "at_m": at, "ground_m_amsl": ground, "crossings": crossings})
    return cuts


def main():
    text = json.dumps({"seed": SEED,
                       "versions": {**versions(), "scipy": scipy.__version__,
                                    "rasterio": rasterio.__version__,
                                    "GDAL": rasterio.__gdal_version__},
                       "wires": wires(), "stations": stations(), "demo": demo()}, indent=1)
    Path(__file__).with_name("section.json").write_text(text + "\n", encoding="utf-8")


main()
