"""Draws layers about an area to an A4 PNG at 300 dots per inch; prints how long that took."""

import json
import math
import pathlib
import platform
import sys
import time

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy

LAYERS = [
    "aerodromes", "runways", "power-lines", "power_lines", "power-supports", "power_supports",
    "structures", "airspace",
]


def parts(geometry):
    """Points, lines and rings of a geometry."""
    kind, found = geometry["type"], geometry.get("coordinates")
    if kind == "Point":
        yield "point", [found]
    elif kind == "LineString":
        yield "line", found
    elif kind == "MultiLineString":
        for line in found:
            yield "line", line
    elif kind == "Polygon":
        for ring in found:
            yield "ring", ring
    elif kind == "MultiPolygon":
        for polygon in found:
            for ring in polygon:
                yield "ring", ring
    elif kind == "GeometryCollection":
        for part in geometry["geometries"]:
            yield from parts(part)


def main():
    area, layers, out, feature = sys.argv[1:5]
    start = time.perf_counter()
    features = json.loads(pathlib.Path(area).read_text())
    features = features["features"] if features["type"] == "FeatureCollection" else [features]
    if feature:
        features = [it for it in features if str(it.get("id")) == feature]
    rings = [ring for it in features for _, ring in parts(it["geometry"])]
    corners = numpy.array([corner[:2] for ring in rings for corner in ring])
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    east = 111_320 * math.cos(math.radians(middle[1]))
    metres = lambda chain: (numpy.array([c[:2] for c in chain]) - middle) * [east, 111_320]
    reach = numpy.abs(metres(corners)).max() + 150
    figure, axes = plt.subplots(figsize=(297 / 25.4, 210 / 25.4), dpi=300)
    marks = texts = 0
    for ring in rings:
        xy = metres(ring)
        axes.fill(xy[:, 0], xy[:, 1], hatch="///", facecolor="#dbe8f3", edgecolor="#0f3d6e")
        marks += 1
    for name in LAYERS:
        path = pathlib.Path(layers) / f"{name}.geojson"
        if not path.exists():
            continue
        for it in json.loads(path.read_text())["features"]:
            if not it["geometry"]:
                continue
            for kind, chain in parts(it["geometry"]):
                xy = metres(chain)
                if numpy.abs(xy).max(axis=1).min() > 2 * reach:
                    continue
                if kind == "point":
                    axes.plot(xy[:, 0], xy[:, 1], "^", color="#2b2f36", markersize=4)
                else:
                    axes.plot(xy[:, 0], xy[:, 1], color="#2b2f36", linewidth=0.8)
                marks += 1
                at = xy.mean(axis=0)
                if numpy.abs(at).max() < reach:
                    axes.text(*at, str(it.get("id", name)), fontsize=7, clip_on=True)
                    texts += 1
    axes.set_xlim(-reach, reach)
    axes.set_ylim(-reach, reach)
    axes.set_aspect("equal")
    figure.savefig(out, dpi=300)
    seconds = time.perf_counter() - start
    versions = f"matplotlib {matplotlib.__version__}, numpy {numpy.__version__}, Python {platform.python_version()}"
    print(json.dumps({"seconds": seconds, "marks": marks, "texts": texts, "versions": versions}))


main()
