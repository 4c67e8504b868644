"""Makes runways.json: places at known offsets from extended centrelines, laid out with pyproj.Geod.

Run from any folder: python3 make_runways.py. See README.md for the format and the method.
"""

import json
import random
from pathlib import Path

from places import DIGITS, GEOD, ORIGINS, versions, wrapped

SEED = 20_261_125


def rounded(lon, lat):
    return [round(wrapped(lon), DIGITS), round(lat, DIGITS)]


def offset(end, bearing, along, across):
    """The place `along` beyond `end` on the geodesic of that bearing, then `across` to its right."""
    lon, lat, back = GEOD.fwd(*end, bearing, along)
    # pyproj turns the azimuth at the far place round, for steps backwards too.
    lon, lat, _ = GEOD.fwd(lon, lat, back + 180.0 + 90.0, across)
    return rounded(lon, lat)


def main():
    rng = random.Random(SEED)
    cases = []
    for origin in ORIGINS:
        for away in (800.0, 9_000.0, 38_000.0):
            lon, lat, _ = GEOD.fwd(*origin, rng.uniform(0, 360), away)
            end = rounded(lon, lat)
            bearing, length = rng.uniform(0, 360), rng.uniform(400, 4_500)
            other = rounded(*GEOD.fwd(*end, bearing + 180.0, length)[:2])
            # The ends as written decide the direction, not what they were drawn from.
            az, _, length = GEOD.inv(*end, *other)
            bearing = az + 180.0
            places = []
            for k in range(24):
                if k < 12:
                    along, across = rng.uniform(-6_000, 9_000), rng.uniform(-1_500, 1_500)
                elif k < 18:
                    along = rng.choice([0.0, 5_000.0]) + rng.uniform(-0.5, 0.5)
                    across = rng.uniform(-480, 480)
                else:
                    along = rng.uniform(50, 4_950)
                    across = rng.choice([-500.0, 500.0]) + rng.uniform(-0.5, 0.5)
                places.append({"along_m": round(along, 6), "right_m": round(across, 6),
                               "place": offset(end, bearing, along, across)})
            middle = GEOD.fwd(*end, az, length / 2)
            cases.append({"id": f"{len(cases)}", "origin": list(origin), "end": end, "other": other,
                          "bearing_deg": bearing % 360.0, "length_m": round(length, 6),
                          "middle": rounded(*middle[:2]), "places": places})
    text = json.dumps({"seed": SEED, "versions": versions(), "cases": cases}, indent=1)
    Path(__file__).with_name("runways.json").write_text(text + "\n", encoding="utf-8")


main()
