"""Makes the demo layers: one invented district, every name and object invented.

Run from any folder: python3 make.py. Writes the layers beside itself, then measures what it wrote
and prints the numbers that README.md quotes. Needs numpy, pyproj, rasterio and shapely; the
versions used are in README.md. The same input gives the same files.
"""

import json
import math
from pathlib import Path

import numpy
import pyproj
import rasterio
import shapely
from rasterio.transform import Affine
from shapely.geometry import LineString, Point, Polygon, mapping, shape
from shapely.ops import transform, unary_union

HERE = Path(__file__).resolve().parent
GEOD = pyproj.Geod(ellps="WGS84")
NOTE = "Synthetic: an invented district for the demonstration of eaves. Nothing here exists."

# The aerodrome reference point of the first aerodrome; plane coordinates are metres east and north
# of it in the azimuthal equidistant plane, so that a ring about it is a circle.
ARP = (149.62, -30.86)
PLANE = f"+proj=aeqd +lat_0={ARP[1]} +lon_0={ARP[0]} +ellps=WGS84"
TO_PLANE = pyproj.Transformer.from_crs("EPSG:4326", PLANE, always_xy=True).transform
TO_PLACE = pyproj.Transformer.from_crs(PLANE, "EPSG:4326", always_xy=True).transform

# The structures are written in a projected system, as many surveys are: WGS 84 / UTM zone 55 south,
# named in the legacy `crs` member of GeoJSON.
UTM = "EPSG:32755"
TO_UTM = pyproj.Transformer.from_crs("EPSG:4326", UTM, always_xy=True).transform
FROM_UTM = pyproj.Transformer.from_crs(UTM, "EPSG:4326", always_xy=True).transform

# The angle tower of the 330 kV line stands 3 NM from the reference point, true bearing 62 degrees.
# (u, v) are metres along the two arms of the line from it, turned 7 degrees from east and north.
RING_M = 5556.0
BEND = (RING_M * math.sin(math.radians(62)), RING_M * math.cos(math.radians(62)))
TURN = math.radians(7)


def uv(u, v):
    east = BEND[0] + u * math.cos(TURN) + v * math.sin(TURN)
    north = BEND[1] - u * math.sin(TURN) + v * math.cos(TURN)
    return east, north


def ground(east, north):
    """The invented ground: a slope of 1.2 % with gentle swells, metres above mean sea level."""
    swell = 1.2 * numpy.sin(east / 260.0) * numpy.cos(north / 310.0)
    return 268.0 + 0.010 * east + 0.006 * north + swell


def on_earth(geometry, to_place=TO_PLACE):
    """From the plane to degrees, rounded to 1e-7 (about 1 cm)."""
    return shapely.set_precision(transform(to_place, geometry), 1e-7, mode="pointwise")


def feature(identity, properties, geometry, to_place=TO_PLACE):
    geometry = json.loads(json.dumps(mapping(on_earth(geometry, to_place))))
    return {
        "type": "Feature",
        "id": identity,
        "properties": {**properties, "synthetic": True},
        "geometry": rounded(geometry),
    }


def rounded(value):
    if isinstance(value, dict):
        return {key: rounded(part) for key, part in value.items()}
    if isinstance(value, list):
        return [rounded(part) for part in value]
    return round(value, 7) if isinstance(value, float) else value


def write(name, features, crs="", folder=HERE):
    lines = ",\n".join(json.dumps(each, ensure_ascii=False) for each in features)
    text = f'{{"type": "FeatureCollection", "note": "{NOTE}", {crs}"features": [\n{lines}\n]}}\n'
    (folder / name).write_text(text, encoding="utf-8")


def along(start, bearing_deg, metres):
    angle = math.radians(bearing_deg)
    return start[0] + metres * math.sin(angle), start[1] + metres * math.cos(angle)


def strip(start, end, width):
    return LineString([start, end]).buffer(width / 2, cap_style="flat")


def oriented(polygon):
    return shapely.geometry.polygon.orient(polygon)


def feet(metres):
    return round(metres / 0.3048)


def aerodromes():
    # Two runways that cross: 1 400 m at 112 degrees true, 900 m at 28 degrees true.
    cross = (60.0, -20.0)
    long_ends = along(cross, 112 + 180, 760), along(cross, 112, 640)
    short_ends = along(cross, 28 + 180, 380), along(cross, 28, 520)
    apron = Polygon([along(along(cross, 112, d), 22, s) for d, s in
                     ((-420, 120), (-300, 120), (-300, 190), (-420, 190))])
    taxiway = strip(along(along(cross, 112, -360), 22, 0), along(along(cross, 112, -360), 22, 125), 12)
    movement = unary_union([strip(*long_ends, 30), strip(*short_ends, 18), taxiway, apron])
    boundary = Polygon([(-980, 420), (-700, -160), (180, -560), (900, -420), (960, 60), (420, 620),
                        (-300, 640)])
    # North-east of the site.
    heliport = uv(1350, 2900)
    pad = Point(heliport).buffer(15, quad_segs=1)
    elevation = feet(float(ground(0.0, 0.0)))
    write("aerodromes.geojson", [
        feature("SYN1", {"ident": "SYN1", "type": "small_airport", "name": "Soffit Downs Aerodrome",
                         "elevation_ft": elevation, "controlled": True,
                         "hours": "24/7", "control_hours": "Mo-Fr 07:00-17:00; Sa 08:00-12:00",
                         "tz": "Australia/Sydney"}, Point(0, 0)),
        feature("SYN1/movement", {"aerodrome": "SYN1", "part": "movement_area"}, oriented(movement)),
        feature("SYN1/boundary", {"aerodrome": "SYN1", "part": "boundary"}, oriented(boundary)),
        feature("SYN2", {"ident": "SYN2", "type": "heliport", "name": "Fascia Hill Heliport",
                         "elevation_ft": feet(float(ground(*heliport))), "controlled": False},
                Point(heliport)),
        feature("SYN2/movement", {"aerodrome": "SYN2", "part": "movement_area"}, oriented(pad)),
    ])
    runways = []
    # What decides the obstacle limitation surfaces; the kind of approach to end 20 is left out.
    for name, ends, length, width, bearing, surface, classification in (
        ("10/28", long_ends, 1400, 30, 112.0, "bitumen",
         {"code_number": 3, "code_letter": "C", "paved": 1, "utility": 0,
          "le_approach": "non_precision", "he_approach": "non_instrument"}),
        ("02/20", short_ends, 900, 18, 28.0, "gravel",
         {"code_number": 2, "code_letter": "B", "paved": 0, "utility": 1,
          "le_approach": "non_instrument"}),
    ):
        low, high = name.split("/")
        places = [rounded(list(TO_PLACE(*end))) for end in ends]
        runways.append(feature(f"SYN1/{name}", {
            "airport_ident": "SYN1", "length_ft": feet(length), "width_ft": feet(width),
            "surface": surface, "closed": 0, **classification,
            "le_ident": low, "le_latitude_deg": places[0][1], "le_longitude_deg": places[0][0],
            "le_elevation_ft": feet(float(ground(*ends[0]))), "le_heading_degT": bearing,
            "he_ident": high, "he_latitude_deg": places[1][1], "he_longitude_deg": places[1][0],
            "he_elevation_ft": feet(float(ground(*ends[1]))), "he_heading_degT": bearing + 180,
        }, LineString(ends)))
    write("runways.geojson", runways)


# Towers of the 330 kV line: (u, v) and height. Spans of 430, 385, 410, 395, 440 and 365 m.
TOWERS = [((-1225, 0), 57.0), ((-795, 0), 58.5), ((-410, 0), 61.0), ((0, 0), 55.0),
          ((0, 395), 60.0), ((0, 835), 62.0), ((0, 1200), 56.0)]
# Poles of the 66 kV line, which passes under the first arm: 115 m apart.
POLES = [((-300, -290 + 115 * k), height)
         for k, height in enumerate((18.0, 19.0, 18.5, 20.0, 19.5, 18.0))]


def power():
    lines, supports = [], []
    for identity, name, voltage, offset, kind, places in (
        ("line-330", "Purlin to Rafter 330 kV", "330000", 9, "tower", TOWERS),
        ("line-66", "Batten 66 kV", "66000", 1.5, "pole", POLES),
    ):
        lines.append(feature(identity, {"power": "line", "name": name, "voltage": voltage,
                                        "wire_offset_m": offset},
                             LineString([uv(*place) for place, _ in places])))
        for number, (place, height) in enumerate(places, 1):
            supports.append(feature(f"{identity}/{number}", {
                "power": kind, "name": f"{name}, {kind} {number}", "height": f"{height:g} m",
            }, Point(uv(*place))))
    write("power-lines.geojson", lines)
    write("power-supports.geojson", supports)


def box(u, v, width, depth):
    return oriented(Polygon([uv(u - width / 2, v - depth / 2), uv(u + width / 2, v - depth / 2),
                             uv(u + width / 2, v + depth / 2), uv(u - width / 2, v + depth / 2)]))


def in_utm(each):
    """The same feature in UTM, to the centimetre."""
    geometry = shapely.set_precision(transform(TO_UTM, shape(each["geometry"])), 0.01,
                                     mode="pointwise")
    return {**each, "geometry": rounded(json.loads(json.dumps(mapping(geometry))))}


def structures():
    crs = '"crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32755"}}, '
    write("structures.geojson", [in_utm(each) for each in [
        # Within 100 m of the uncovered corner, and 70 m tall; but it will go.
        feature("crane", {"man_made": "crane", "name": "Rafter Bend tower crane", "height": "70 m"},
                Point(uv(115, -115))),
        # Nobody measured it.
        feature("shed", {"building": "shed", "name": "Tin shed"}, box(70, -150, 24, 14)),
        feature("silo", {"man_made": "silo", "name": "North silo", "height": "32 m"},
                oriented(Point(uv(-180, 112)).buffer(7, quad_segs=3))),
        feature("mast", {"man_made": "mast", "name": "Ridge mast", "height": "148 ft"},
                Point(uv(-460, -30))),
        feature("tank", {"man_made": "storage_tank", "name": "Stock tank", "height": "9 m"},
                oriented(Point(uv(180, 260)).buffer(6, quad_segs=3))),
        feature("homestead", {"building": "house", "name": "Gable homestead", "height": "6.5"},
                box(430, 520, 22, 16)),
        feature("woolshed", {"building": "farm", "name": "Woolshed"}, box(390, 470, 30, 12)),
    ]], crs)


AREA = [(95, -95), (95, 330), (-75, 330), (-75, 75), (-370, 75), (-370, -95)]


def area():
    write("area.geojson", [
        feature("area", {"name": "Rafter Bend survey area"},
                oriented(Polygon([uv(*corner) for corner in AREA]))),
    ])


# Points of the plan: where it lies, roles, name.
PLAN = {
    "gate": ((66, 190), "take_off; landing", "Rafter gate"),
    "west": ((-335, 44), "take_off", "West paddock"),
    "dam": ((150, 60), "emergency", "Dam flat"),
    "pilot": ((74, 204), "crew", "Remote pilot"),
    "observer": ((-392, -20), "crew", "Observer"),
}


def plan():
    write("plan.geojson", [
        feature(identity, {"role": role, "name": name}, Point(uv(*place)))
        for identity, (place, role, name) in PLAN.items()
    ])


def airspace():
    # A control zone and, around it, a control area whose step is lower than its neighbours; a danger
    # area across the corner of the site; a restricted area far away.
    def circle(nautical_miles):
        return Point(0, 0).buffer(nautical_miles * 1852.0, quad_segs=90)

    write("airspace.geojson", [
        feature("SYN-CTR", {
            "ident": "SYN CTR", "name": "Soffit Downs control zone", "kind": "CTR", "class": "D",
            "authority": "Soffit Downs Tower", "hours": "Mo-Fr 06:00-22:00; Sa,Su 08:00-18:00",
            "tz": "Australia/Sydney",
            "lower_limit": "GND", "upper_limit": 2500, "upper_unit": "FT",
            "upper_reference": "MSL"}, oriented(circle(2.5))),
        feature("SYN-CTA", {
            "ident": "SYN CTA 1", "name": "Soffit Downs control area, lower step", "kind": "CTA",
            "class": "C", "authority": "Purlin Approach", "hours": "24/7",
            "lower_limit": "1300 ft AMSL", "upper_limit": "FL085"},
            oriented(circle(7.0).difference(circle(2.5)))),
        feature("SYN-D1", {
            "ident": "SYN D1", "name": "Rafter Bend flying club", "kind": "D",
            "hours": "Sa,Su 09:00-17:00", "tz": "Australia/Sydney", "lower_limit": 100, "lower_unit": "FT",
            "lower_reference": "SFC", "upper_limit": "1500FT AGL"},
            oriented(Polygon([uv(20, 250), uv(900, 250), uv(900, 1500), uv(20, 1500)]))),
        feature("SYN-R9", {
            "ident": "SYN R9", "name": "Fascia Hill range", "kind": "R",
            "lower_limit": "SFC", "upper_limit": "UNL"},
            oriented(Point(uv(9000, 8000)).buffer(2000.0, quad_segs=45))),
    ])


NO_DATA = -9999.0


def terrain():
    # 80 by 80 cells of one second of arc; heights to 0.1 m at the middle of each cell.
    size, cells = 1 / 3600, 80
    middle = TO_PLACE(*uv(-500, 500))
    west = (round(middle[0] * 3600) - cells / 2) / 3600
    north = (round(middle[1] * 3600) + cells / 2) / 3600
    columns, rows = numpy.meshgrid(numpy.arange(cells), numpy.arange(cells))
    east_m, north_m = TO_PLANE(west + (columns + 0.5) * size, north - (rows + 0.5) * size)
    heights = numpy.round(ground(east_m, north_m), 1).astype("float32")
    heights[3:6, 70:74] = NO_DATA
    heights[9, 62] = NO_DATA
    with rasterio.open(
        HERE / "terrain.tif", "w", driver="GTiff", width=cells, height=cells, count=1,
        dtype="float32", crs="EPSG:4326", nodata=NO_DATA,
        transform=Affine(size, 0, west, 0, -size, north),
    ) as file:
        file.write(heights, 1)
        file.update_tags(NOTE=NOTE)


def read(name, folder=HERE):
    collection = json.loads((folder / name).read_text(encoding="utf-8"))
    to_degrees = FROM_UTM if "crs" in collection else None
    return {each["id"]: transform(to_degrees, shape(each["geometry"])) if to_degrees
            else shape(each["geometry"]) for each in collection["features"]}


# As declared in layers.toml.
SAG_SHARE, LINE_ACCURACY_M, SUPPORT_ACCURACY_M, STRUCTURE_ACCURACY_M = 0.0155, 1.0, 1.0, 2.0


def sampled(file, place):
    """Terrain at a place, bilinear between the middles of cells."""
    column, row = ~file.transform * place
    column, row = column - 0.5, row - 0.5
    x, y = math.floor(column), math.floor(row)
    (a, b), (c, d) = file.read(1)[y:y + 2, x:x + 2].astype(float)
    upper, lower = a + (b - a) * (column - x), c + (d - c) * (column - x)
    return upper + (lower - upper) * (row - y)


def lowest_wire(first, second, length, sag):
    """The lowest point of a parabola hung between two tops: y = chord - 4 sag t (1 - t)."""
    t = min(max(0.5 - (second - first) / (8 * sag), 0.0), 1.0)
    return first + (second - first) * t - 4 * sag * t * (1 - t)


def bottleneck(flat, local, lines, supports, others):
    """Trusted tops AMSL and the shield that completes the cover of all that is covered."""
    heights = {each["id"]: each["properties"].get("height") for name in
               ("power-supports", "structures")
               for each in json.loads((HERE / f"{name}.geojson").read_text())["features"]}
    shields = []
    with rasterio.open(HERE / "terrain.tif") as file:
        tops = {}
        for identity, place in supports.items():
            tops[identity] = sampled(file, place.coords[0]) + float(heights[identity].split()[0])
            shields.append((tops[identity] - SUPPORT_ACCURACY_M, identity, place, 2.0))
        for identity, line in lines.items():
            places = line.coords
            for number in range(1, len(places)):
                length = GEOD.inv(*places[number - 1], *places[number])[2]
                top = lowest_wire(tops[f"{identity}/{number}"], tops[f"{identity}/{number + 1}"],
                                  length, SAG_SHARE * length)
                shields.append((top - LINE_ACCURACY_M, f"{identity} span {number} ({length:.1f} m)",
                                LineString(places[number - 1:number + 1]), 2.0))
        for identity, metres in (("silo", 32.0), ("mast", 148 * 0.3048), ("tank", 9.0),
                                 ("homestead", 6.5)):
            base = min(sampled(file, place) for place in shapely.get_coordinates(others[identity]))
            shields.append((base + metres - STRUCTURE_ACCURACY_M, identity, others[identity], 3.0))
    shields = [(top, name, transform(local, geometry).buffer(100.0 - accuracy, quad_segs=512))
               for top, name, geometry, accuracy in sorted(shields, key=lambda each: -each[0])]
    left, governs = flat, None
    for top, name, cover in shields:
        if not cover.intersects(flat):
            continue
        print(f"in reach: {top:.2f} m AMSL, {name}: leaves "
              f"{left.difference(cover).area / flat.area:.4%} of the area")
        smaller = left.difference(cover)
        governs = top if smaller.area < left.area - 1e-6 else governs
        left = smaller
    return governs


# 29 CFR 1926.1408, Table A: up to 350 kV 20 ft, up to 200 kV 15 ft.
CLEARANCE_M = {"line-330": 20 * 0.3048, "line-66": 15 * 0.3048}
# As declared in layers.toml: how well lines and points are placed, and the ground is known.
LINE_PLACED_M, POINT_PLACED_M, GROUND_ACCURACY_M = 2.0, 3.0, 1.0


def measure_clearance(flat, local, lines, uncovered):
    """Electrical clearance bands by buffers, and what is left of the area."""
    offsets = {each["id"]: each["properties"]["wire_offset_m"]
               for each in json.loads((HERE / "power-lines.geojson").read_text())["features"]}
    bands = []
    for name, line in lines.items():
        half = CLEARANCE_M[name] + offsets[name] + LINE_PLACED_M
        bands.append(transform(local, line).buffer(half, quad_segs=2048))
        print(f"electrical clearance {name}: {half:.3f} m to each side, "
              f"{flat.intersection(bands[-1]).area:.1f} m2 of the area")
    band = unary_union(bands)
    left = flat.difference(band).difference(uncovered)
    parts = [part for part in getattr(left, "geoms", [left]) if part.area >= 1.0]
    print(f"electrical clearance: {flat.intersection(band).area:.1f} m2 of the area; usable "
          f"{sum(part.area for part in parts):.1f} m2 in {len(parts)} parts, "
          f"{100 * sum(part.area for part in parts) / flat.area:.2f} % of the area")
    return band


def measure_plan(flat, local, band, ceiling_m_amsl):
    """Where the points lie, and the ceiling above the take-off points."""
    with rasterio.open(HERE / "terrain.tif") as file:
        for name, point in read("plan.geojson").items():
            place = transform(local, point)
            here = point.coords[0]
            net = numpy.linspace(-POINT_PLACED_M, POINT_PLACED_M, 31)
            back = pyproj.Transformer.from_crs(local.__self__.target_crs, "EPSG:4326",
                                               always_xy=True).transform
            ground = [sampled(file, back(place.x + x, place.y + y)) for x in net for y in net]
            corners = shapely.get_coordinates(flat)
            print(f"plan {name}: {place.distance(flat):.1f} m from the area, farthest "
                  f"{max(math.hypot(x - place.x, y - place.y) for x, y in corners):.1f} m, in the band "
                  f"{band.intersects(place)}, {GEOD.inv(*ARP, *here)[2]:.1f} m from SYN1, ground "
                  f"{min(ground):.2f} to {max(ground):.2f} m; ceiling above it "
                  f"{ceiling_m_amsl - max(ground) - GROUND_ACCURACY_M:.2f} m")


def beside(end, bearing, place):
    """Along-track distance beyond an end and distance to the right: the foot is found by halving."""
    def foot(along):
        lon, lat, back = GEOD.fwd(*end, bearing, along)
        azimuth, _, away = GEOD.inv(lon, lat, *place)
        turn = math.radians(azimuth - back - 180.0)
        return away * math.cos(turn), away * math.sin(turn)
    low, high = -50_000.0, 50_000.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if foot(middle)[0] > 0.0 else (low, middle)
    return low, foot(low)[1]


def measure_runways(flat, local, corners):
    """Offsets from the extended centrelines, and the share within 5 km of each centreline."""
    for runway in json.loads((HERE / "runways.geojson").read_text())["features"]:
        low, high = runway["geometry"]["coordinates"]
        for name, end, other in (("low", low, high), ("high", high, low)):
            bearing = GEOD.inv(*end, *other)[0] + 180.0
            found = [beside(end, bearing, corner) for corner in corners]
            along, right = zip(*found)
            print(f"{runway['id']} beyond the {name} end, bearing {bearing % 360:.2f}: "
                  f"{min(along):.2f} to {max(along):.2f} m, right {min(right):.2f} to {max(right):.2f} m")
        line = transform(local, LineString([low, high]))
        near = flat.intersection(line.buffer(5_000.0, quad_segs=2048))
        print(f"{runway['id']} centreline: {line.distance(flat):.2f} m from the area, "
              f"share within 5 km {near.area / flat.area:.4f}")


def measure():
    """What the written files say, measured from the files alone."""
    site = read("area.geojson")["area"]
    ring = shapely.Polygon(
        [GEOD.fwd(*ARP, azimuth, RING_M)[:2] for azimuth in numpy.arange(0, 360, 0.01)])
    # A plane about the site: its scale differs from 1 by less than 1e-8 here.
    middle = site.envelope.centroid
    local = pyproj.Transformer.from_crs(
        "EPSG:4326", f"+proj=aeqd +lat_0={middle.y} +lon_0={middle.x} +ellps=WGS84",
        always_xy=True).transform
    flat = transform(local, site)
    corners = list(site.exterior.coords)[:-1]
    to_corner = [GEOD.inv(*ARP, *corner)[2] for corner in corners]
    edge = [GEOD.inv(*ARP, *place)[2] for place in site.exterior.segmentize(1e-6).coords]
    print(f"area: {flat.area:.1f} m2, {len(corners)} corners, box "
          f"{flat.bounds[2] - flat.bounds[0]:.1f} by {flat.bounds[3] - flat.bounds[1]:.1f} m")
    print(f"distance of the reference point of SYN1: {min(edge):.2f} to {max(to_corner):.2f} m; "
          f"share inside the 3 NM ring {site.intersection(ring).area / site.area:.4f}")
    lines, supports, others = (read(f"{name}.geojson")
                               for name in ("power-lines", "power-supports", "structures"))
    shields = [lines["line-330"], lines["line-66"], *supports.values(),
               *(others[name] for name in ("silo", "mast", "tank", "homestead"))]
    for reach in (100.0, 98.0):
        cover = unary_union([transform(local, each).buffer(reach, quad_segs=512)
                             for each in shields])
        left = flat.difference(cover)
        parts = list(getattr(left, "geoms", [left]))
        print(f"reach {reach:g} m: uncovered {left.area:.1f} m2 in {len(parts)} part(s), "
              f"{100 * left.area / flat.area:.3f} % of the area")
    wrong = transform(local, others["crane"]).buffer(100.0, quad_segs=512)
    print(f"left uncovered if the crane were a shield: {left.difference(wrong).area:.1f} m2")
    band = measure_clearance(flat, local, lines, left)
    # The lowest wire that completes the cover (below), less ground accuracy at its base and margin.
    measure_plan(flat, local, band, bottleneck(flat, local, lines, supports, others) - 1.0 - 10.0)
    measure_runways(flat, local, corners)
    for name, volume in read("airspace.geojson").items():
        outline = transform(local, volume)
        print(f"airspace {name}: share of the area inside "
              f"{flat.intersection(outline).area / flat.area:.4f}, nearest {flat.distance(outline):.1f} m, "
              f"outline {flat.distance(outline.boundary):.1f} m")
    with rasterio.open(HERE / "terrain.tif") as file:
        west, south, east, north = site.bounds
        net = [(x, y) for x in numpy.linspace(west, east, 60) for y in numpy.linspace(south, north, 60)
               if shapely.contains_xy(site, x, y)] + corners
        highest = max(sampled(file, place) for place in net)
        print(f"highest ground of the area: {highest:.2f} m AMSL; 1 300 ft are "
              f"{1300 * 0.3048 - highest:.2f} m above it")
        heights, profile = file.read(1), file.transform
        known = heights[heights != NO_DATA]
        print(f"terrain: {known.min():.1f} to {known.max():.1f} m, {(heights == NO_DATA).sum()} cells "
              f"without data, bounds {tuple(round(edge, 6) for edge in file.bounds)}")
        gaps = [profile * (column + 0.5, row + 0.5) for row, column in zip(*numpy.where(heights == NO_DATA))]
        print(f"nearest cell without data: "
              f"{min(flat.distance(Point(local(*gap))) for gap in gaps):.0f} m from the area")
        inside = shapely.geometry.box(*file.bounds)
        print("outside the terrain:", [name for name, each in {**supports, **others}.items()
                                       if not inside.contains(each)])


if __name__ == "__main__":
    aerodromes()
    power()
    structures()
    area()
    airspace()
    plan()
    terrain()
    measure()
