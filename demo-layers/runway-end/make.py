"""Makes the layers of the second demo site: another invented district, every name and object invented.

Run from any folder: python3 make.py. Writes the layers beside itself, then measures what it wrote
and prints the numbers that ../README.md quotes. Shares its small tools with ../make.py, and needs
what that needs. The same input gives the same files.
"""

import json
import math
import sys
import xml.etree.ElementTree as ElementTree
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy
import pyproj
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import transform

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))
import make as first  # noqa: E402
from make import GEOD, along, beside, feet, lowest_wire, oriented, rounded, strip  # noqa: E402

FOOT = 0.3048
# The reference point of the airport; plane coordinates are metres east and north of it.
ARP = (-117.40, 40.55)
PLANE = f"+proj=aeqd +lat_0={ARP[1]} +lon_0={ARP[0]} +ellps=WGS84"
TO_PLACE = pyproj.Transformer.from_crs(PLANE, "EPSG:4326", always_xy=True).transform

# The runway of the airport, 1 500 m at 85 degrees true, and that of the base, 2 400 m at 165.
BEARING, LENGTH, WIDTH = 85.0, 1500.0, 23.0
LOW, HIGH = along((0, 0), BEARING + 180, LENGTH / 2), along((0, 0), BEARING, LENGTH / 2)
BASE = (2554.0, 4436.0)
BASE_ENDS = along(BASE, 165 + 180, 1200), along(BASE, 165, 1200)
# Elevations in metres; the ground about the site is level.
LOW_M, HIGH_M, BASE_M, GROUND_M = 1396.0, 1400.0, 1410.0, 1402.0


def beyond(along_m, right_m):
    """A place beyond the east end of the runway: metres along its extension and to the right."""
    return along(along(HIGH, BEARING, along_m), BEARING + 90, right_m)


def feature(identity, properties, geometry):
    return first.feature(identity, properties, geometry, TO_PLACE)


def write(name, features):
    first.write(name, features, folder=HERE)


def place(point):
    return rounded(list(TO_PLACE(*point)))


def area():
    corners = [beyond(*corner) for corner in
               ((1110, -60), (1290, -60), (1290, 330), (1020, 330), (1020, 230), (1110, 230))]
    write("area.geojson", [
        feature("area", {"name": "Plinth Wash line survey"}, oriented(Polygon(corners)))])


def aerodromes():
    # The tower keeps other hours than control, and both are stated.
    write("aerodromes.geojson", [
        feature("SYN3", {"ident": "SYN3", "type": "medium_airport", "name": "Corbel Municipal Airport",
                         "elevation_ft": feet(HIGH_M), "controlled": True, "military": False,
                         "control_hours": "Mo-Fr 07:00-19:00",
                         "tower_hours": "Mo-Fr 06:30-20:00; Sa,Su 09:00-13:00",
                         "tz": "America/Los_Angeles"}, Point(0, 0)),
        feature("SYN3/movement", {"aerodrome": "SYN3", "part": "movement_area"},
                oriented(strip(LOW, HIGH, WIDTH))),
        feature("SYN4", {"ident": "SYN4", "type": "large_airport", "name": "Dentil Air Base",
                         "elevation_ft": feet(BASE_M), "controlled": True, "military": True,
                         "control_hours": "Mo-Fr 08:00-16:00",
                         "tz": "America/Los_Angeles"}, Point(BASE)),
    ])
    runways = []
    for owner, name, ends, heights, width, classification in (
        ("SYN3", "08/26", (LOW, HIGH), (LOW_M, HIGH_M), WIDTH,
         {"utility": 0, "le_approach": "non_instrument", "he_approach": "non_precision"}),
        ("SYN4", "16/34", BASE_ENDS, (BASE_M, BASE_M), 46.0, {}),
    ):
        low, high = name.split("/")
        places = [place(end) for end in ends]
        runways.append(feature(f"{owner}/{name}", {
            "airport_ident": owner, "length_ft": feet(math.dist(*ends)), "width_ft": feet(width),
            "surface": "asphalt", "closed": 0, "paved": 1, **classification,
            "le_ident": low, "le_latitude_deg": places[0][1], "le_longitude_deg": places[0][0],
            "le_elevation_ft": feet(heights[0]),
            "he_ident": high, "he_latitude_deg": places[1][1], "he_longitude_deg": places[1][0],
            "he_elevation_ft": feet(heights[1]),
        }, LineString(ends)))
    write("runways.geojson", runways)


# Towers of the line that crosses the extended centreline: metres right of it, and height.
TOWERS = [(-420, 54.0), (-100, 56.0), (240, 55.0), (580, 57.0)]


def power():
    places = [beyond(1200, right) for right, _ in TOWERS]
    write("power-lines.geojson", [
        feature("line-230", {"power": "line", "name": "Plinth to Dado 230 kV", "voltage": "230000",
                             "wire_offset_m": 7}, LineString(places))])
    write("power-supports.geojson", [
        feature(f"line-230/{number}", {"power": "tower", "height": f"{height:g} m",
                                       "name": f"Plinth to Dado 230 kV, tower {number}"}, Point(at))
        for number, (at, (_, height)) in enumerate(zip(places, TOWERS), 1)])


def structures():
    # Covers the corner that the line does not reach; it has no width, so it has no shielding planes.
    write("structures.geojson", [
        feature("mast", {"man_made": "mast", "name": "Dado mast", "height": "195 ft"},
                Point(beyond(1060, 290)))])


AIRSPACE = """<message:hasMember><aixm:Airspace gml:id="{id}"><aixm:timeSlice>
<aixm:AirspaceTimeSlice gml:id="{id}-1"><aixm:interpretation>BASELINE</aixm:interpretation>
<aixm:type>{type}</aixm:type><aixm:designator>{designator}</aixm:designator><aixm:name>{name}</aixm:name>
<aixm:class><aixm:AirspaceLayerClass gml:id="{id}-c"><aixm:classification>{letter}</aixm:classification>
</aixm:AirspaceLayerClass></aixm:class>
<aixm:geometryComponent><aixm:AirspaceGeometryComponent gml:id="{id}-g"><aixm:theAirspaceVolume>
<aixm:AirspaceVolume gml:id="{id}-v">
<aixm:upperLimit uom="{upper[1]}">{upper[0]}</aixm:upperLimit>
<aixm:upperLimitReference>{upper[2]}</aixm:upperLimitReference>
<aixm:lowerLimit uom="FT">{lower[0]}</aixm:lowerLimit>
<aixm:lowerLimitReference>{lower[1]}</aixm:lowerLimitReference>
{outline}
</aixm:AirspaceVolume></aixm:theAirspaceVolume></aixm:AirspaceGeometryComponent></aixm:geometryComponent>
{hours}</aixm:AirspaceTimeSlice></aixm:timeSlice></aixm:Airspace></message:hasMember>
"""

OUTLINE = """<aixm:horizontalProjection><aixm:Surface gml:id="{id}-s" srsName="urn:ogc:def:crs:EPSG::4326">
<gml:patches><gml:PolygonPatch><gml:exterior><gml:Ring><gml:curveMember><gml:Curve gml:id="{id}-r">
<gml:segments>{segments}</gml:segments>
</gml:Curve></gml:curveMember></gml:Ring></gml:exterior></gml:PolygonPatch></gml:patches>
</aixm:Surface></aixm:horizontalProjection>"""

AUTHORITY = """<message:hasMember><aixm:Unit gml:id="UNIT1"><aixm:timeSlice><aixm:UnitTimeSlice gml:id="UNIT1-1">
<aixm:interpretation>BASELINE</aixm:interpretation><aixm:name>Corbel Tower</aixm:name>
</aixm:UnitTimeSlice></aixm:timeSlice></aixm:Unit></message:hasMember>
<message:hasMember><aixm:AuthorityForAirspace gml:id="AUTH1"><aixm:timeSlice>
<aixm:AuthorityForAirspaceTimeSlice gml:id="AUTH1-1"><aixm:interpretation>BASELINE</aixm:interpretation>
<aixm:type>OTHER</aixm:type><aixm:responsibleUnit xlink:href="#UNIT1"/>
<aixm:assignedAirspace xlink:href="#SYN-CTR3"/></aixm:AuthorityForAirspaceTimeSlice>
</aixm:timeSlice></aixm:AuthorityForAirspace></message:hasMember>
"""

# Radii in nautical miles; the sector of the control area in degrees true from the reference point.
CTR_NM, CTA_NM, CTA_FROM, CTA_TO = 4.0, 9.0, 30.0, 150.0
# The control zone is active from 15:00 to 03:00 UTC.
CTR_FROM, CTR_TO = 15, 3


def sheet(start, end, excluded=""):
    return ("<aixm:timeInterval><aixm:Timesheet><aixm:timeReference>UTC</aixm:timeReference>"
            f"<aixm:day>ANY</aixm:day><aixm:startTime>{start:02}:00</aixm:startTime>"
            f"<aixm:endTime>{end:02}:00</aixm:endTime>{excluded}</aixm:Timesheet></aixm:timeInterval>")


def activation(status, sheets):
    return ("<aixm:activation><aixm:AirspaceActivation>" + "\n".join(sheets) +
            f"<aixm:status>{status}</aixm:status></aixm:AirspaceActivation></aixm:activation>\n")


def airspace():
    """An AIXM 5.1.1 message: a circle, a sector with an arc, and a corridor, which is not read."""
    def position(lon, lat):
        return f"{lat:.8f} {lon:.8f}"

    centre = position(*ARP)
    start, end = (position(*GEOD.fwd(*ARP, bearing, CTA_NM * 1852)[:2]) for bearing in (CTA_FROM, CTA_TO))
    radius = '<gml:radius uom="[nmi_i]">{}</gml:radius>'.format
    circle = (f'<gml:CircleByCenterPoint numArc="1"><gml:pos>{centre}</gml:pos>{radius(CTR_NM)}'
              "</gml:CircleByCenterPoint>")
    sector = (f"<gml:GeodesicString><gml:posList>{centre} {start}</gml:posList></gml:GeodesicString>\n"
              f'<gml:ArcByCenterPoint numArc="1"><gml:pos>{centre}</gml:pos>{radius(CTA_NM)}'
              f'<gml:startAngle uom="deg">{CTA_FROM}</gml:startAngle>'
              f'<gml:endAngle uom="deg">{CTA_TO}</gml:endAngle></gml:ArcByCenterPoint>\n'
              f"<gml:GeodesicString><gml:posList>{end} {centre}</gml:posList></gml:GeodesicString>")
    corridor = (f'<aixm:width uom="NM">2</aixm:width><aixm:centreline><aixm:Curve gml:id="SYN-T9-r" '
                f'srsName="urn:ogc:def:crs:EPSG::4326"><gml:segments><gml:GeodesicString><gml:posList>{centre} '
                f"{start}</gml:posList></gml:GeodesicString></gml:segments></aixm:Curve></aixm:centreline>")
    hours = (activation("ACTIVE", [sheet(CTR_FROM, CTR_TO)]) +
             activation("INACTIVE", [sheet(0, 24), sheet(CTR_FROM, CTR_TO,
                                                         "<aixm:excluded>YES</aixm:excluded>")]))
    members = [AIRSPACE.format(id=identity, type=kind, designator=designator, name=name, letter=letter,
                               lower=lower, upper=upper, outline=outline, hours=times)
               for identity, kind, designator, name, letter, lower, upper, outline, times in (
        ("SYN-CTR3", "CTR", "SYN CTR 3", "Corbel control zone", "D", ("GND", "SFC"), (7000, "FT", "MSL"),
         OUTLINE.format(id="SYN-CTR3", segments=circle), hours),
        ("SYN-CTA3", "CTA", "SYN CTA 3", "Corbel control area", "E", (1200, "SFC"), (180, "FL", "STD"),
         OUTLINE.format(id="SYN-CTA3", segments=sector), ""),
        ("SYN-T9", "OTHER", "SYN T9", "Cornice helicopter route", "G", ("GND", "SFC"), (6000, "FT", "MSL"),
         corridor, ""),
    )]
    (HERE / "airspace.xml").write_text(
        f'<?xml version="1.0" encoding="UTF-8"?>\n<!-- {first.NOTE} -->\n'
        '<message:AIXMBasicMessage xmlns:message="http://www.aixm.aero/schema/5.1.1/message"\n'
        ' xmlns:aixm="http://www.aixm.aero/schema/5.1.1" xmlns:gml="http://www.opengis.net/gml/3.2"\n'
        ' xmlns:xlink="http://www.w3.org/1999/xlink" gml:id="SYN-AIXM">\n'
        + "".join(members) + AUTHORITY + "</message:AIXMBasicMessage>\n", encoding="utf-8")


# As declared in layers.toml, and as the demo asks.
SAG_SHARE, LINE_ACCURACY_M, PLACED_M, GROUND_ACCURACY_M, WISH_M = 0.0125, 1.0, 2.0, 1.0, 30.0
MAST_ACCURACY_M, MAST_PLACED_M = 2.0, 3.0


def measure_ceiling(flat, local):
    """Trusted tops; the ceiling is that of the shield that completes the cover."""
    towers = list(first.read("power-supports.geojson", HERE).values())
    heights = [float(each["properties"]["height"].split()[0]) for each in
               json.loads((HERE / "power-supports.geojson").read_text())["features"]]
    spans = []
    for number in range(1, len(towers)):
        pair = towers[number - 1:number + 1]
        length = GEOD.inv(*pair[0].coords[0], *pair[1].coords[0])[2]
        top = lowest_wire(heights[number - 1], heights[number], length, SAG_SHARE * length)
        line = transform(local, LineString([each.coords[0] for each in pair]))
        spans.append((GROUND_M - GROUND_ACCURACY_M + top - LINE_ACCURACY_M, number, length, line))
    mast = json.loads((HERE / "structures.geojson").read_text())["features"][0]
    height = float(mast["properties"]["height"].split()[0]) * FOOT
    shields = [(top, f"span {number} of {length:.1f} m", line.buffer(100.0 - PLACED_M, quad_segs=512))
               for top, number, length, line in spans]
    shields.append((GROUND_M - GROUND_ACCURACY_M + height - MAST_ACCURACY_M, "mast", transform(
        local, shapely.geometry.shape(mast["geometry"])).buffer(100.0 - MAST_PLACED_M, quad_segs=512)))
    left = flat
    for top, name, cover in sorted(shields, key=lambda each: -each[0]):
        left = left.difference(cover)
        print(f"{name}: trusted top {top:.2f} m AMSL, leaves {left.area / flat.area:.4%} of the area")
        if left.area < 1e-6:
            break
    ceiling = top - 10.0
    print(f"ceiling: {ceiling:.2f} m AMSL, {ceiling - GROUND_M - GROUND_ACCURACY_M:.2f} m above ground")
    return ceiling, spans


def net(flat, step=1.0):
    """Places of the area in rows of a metre, edges and corners with them."""
    west, south, east, north = flat.bounds
    x, y = numpy.meshgrid(numpy.arange(west, east, step), numpy.arange(south, north, step))
    inside = shapely.contains_xy(flat, x, y)
    return list(zip(x[inside], y[inside])), list(flat.exterior.segmentize(step).coords)


def measure():
    site = first.read("area.geojson", HERE)["area"]
    middle = site.envelope.centroid
    aeqd = f"+proj=aeqd +lat_0={middle.y} +lon_0={middle.x} +ellps=WGS84"
    local = pyproj.Transformer.from_crs("EPSG:4326", aeqd, always_xy=True).transform
    back = pyproj.Transformer.from_crs(aeqd, "EPSG:4326", always_xy=True).transform
    flat = transform(local, site)
    runways = {each["id"]: each for each in json.loads((HERE / "runways.geojson").read_text())["features"]}
    airport, base = runways["SYN3/08/26"], runways["SYN4/16/34"]
    elevation = {each["id"]: each["properties"]["elevation_ft"] * FOOT for each in
                 json.loads((HERE / "aerodromes.geojson").read_text())["features"]
                 if "elevation_ft" in each["properties"]}
    low, high = airport["geometry"]["coordinates"]
    end_m = airport["properties"]["he_elevation_ft"] * FOOT
    bearing = GEOD.inv(*high, *low)[0] + 180.0
    print(f"area {flat.area:.1f} m2; extended centreline {bearing:.2f} true; end 26 at {end_m:.3f} m AMSL")

    ceiling, spans = measure_ceiling(flat, local)
    inner, edge = net(flat)
    offsets = {point: beside(high, bearing, back(*point)) for point in edge}
    out, right = zip(*offsets.values())
    print(f"beyond end 26: {min(out):.2f} to {max(out):.2f} m, right {min(right):.2f} to {max(right):.2f} m")

    # The plane of the site keeps straight lines within a millimetre over these 2 km.
    foot, unit = local(*high), numpy.subtract(local(*high), local(*low))
    unit = unit / math.hypot(*unit)

    def split(point):
        x, y = point[0] - foot[0], point[1] - foot[1]
        return x * unit[0] + y * unit[1], x * unit[1] - y * unit[0]

    def trapezoid(start, end, half_start, half_end):
        return Polygon([tuple(numpy.add(foot, s * unit + t * numpy.array([unit[1], -unit[0]]))) for s, t in
                        ((start, -half_start), (end, -half_end), (end, half_end), (start, half_start))])

    # Plain profile: 150 m wide at the end, 1 950 m after 6 km, rising 120 m.
    part = flat.intersection(trapezoid(0, 6000, 75, 975))
    floor = end_m + 0.02 * min(split(point)[0] for point in edge)
    print(f"approach area of the profile: {part.area / flat.area:.4f} of the area inside, begins over the area at "
          f"{floor:.2f} m AMSL; the ceiling is {ceiling - floor:.2f} m above that, the wish of {WISH_M} m "
          f"{GROUND_M + GROUND_ACCURACY_M + WISH_M - floor:.2f} m")

    # 14 CFR 77.19, non-precision, 3/4 mile: 34:1 from 200 ft beyond the end, 1 000 ft to 4 000 ft wide
    # after 10 000 ft. It is below the ceiling up to where it has risen to it.
    start = 200 * FOOT
    reached = start + 34 * (ceiling - end_m)
    whole = flat.intersection(trapezoid(start, start + 1e4 * FOOT, 500 * FOOT, 2000 * FOOT))
    below = whole.intersection(trapezoid(start, reached, 1e4, 1e4))
    lowest = end_m + (min(split(point)[0] for point in whole.exterior.coords) - start) / 34
    horizontal = elevation["SYN3"] + 150 * FOOT
    pierced = [point for point in inner if shapely.contains_xy(below, *point)]
    print(f"77.19 approach to 26: lowest {lowest:.2f} m AMSL, {lowest - ceiling:+.2f} m from the ceiling; over "
          f"{whole.area / flat.area:.5f} of the area, {below.area / flat.area:.5f} above it; horizontal surface "
          f"{horizontal:.2f} m AMSL, {horizontal - ceiling:+.2f} m")

    # Shielding planes: from each point of a span, as placed, level away from the runway and 10 % down
    # towards it, 150 m along; the direction is from the middle of the span to the end of the runway.
    def planes(point):
        best = -math.inf
        for top, _, _, line in spans:
            a, b = (numpy.array(end) for end in line.coords)
            towards = numpy.subtract(foot, (a + b) / 2)
            towards = towards / math.hypot(*towards)
            # point = a + share (b - a) + fall towards
            share, fall = numpy.linalg.solve(numpy.column_stack([b - a, towards]), numpy.subtract(point, a))
            if 0 <= share <= 1 and abs(fall) <= 150.0:
                best = max(best, top - max(fall, 0.0) * 0.10)
        return best

    held = [point for point in pierced if planes(point) >= ceiling]
    print(f"shielding planes: at most {len(held) / len(inner):.4f} of the area above the approach and below them")

    # 14 CFR 77.21: conical, 20:1 from 7 500 ft about the runway ends, from 150 ft up.
    base_line = transform(local, LineString(base["geometry"]["coordinates"]))
    away = flat.distance(base_line)
    conical = elevation["SYN4"] + 150 * FOOT + (away - 7500 * FOOT) / 20
    print(f"77.21 conical: the area is {away:.2f} m from the runway of SYN4, lowest {conical:.2f} m AMSL, "
          f"{conical - ceiling:+.2f} m from the ceiling")

    # 77.9(b): 100:1 from the nearest point of the nearest runway.
    for name, runway in runways.items():
        line = transform(local, LineString(runway["geometry"]["coordinates"]))
        half = runway["properties"]["width_ft"] * FOOT / 2
        near = flat.distance(line.buffer(half, cap_style="flat"))
        level = min(runway["properties"][f"{end}_elevation_ft"] for end in ("le", "he")) * FOOT
        print(f"77.9(b) {name}: {near:.2f} m, {level + near / 100:.2f} m AMSL from its lowest end, "
              f"{level + near / 100 - GROUND_M - GROUND_ACCURACY_M:.2f} m above ground")
    for name, centre in (("SYN3", ARP), ("SYN4", TO_PLACE(*BASE))):
        far = max(GEOD.inv(*centre, *back(*point))[2] for point in edge) / 1852
        height = max(200 * FOOT, elevation[name] + 200 * FOOT - GROUND_M - GROUND_ACCURACY_M)
        print(f"77.17(a)(2) {name}: at most {far:.3f} NM; {height:.2f} m above ground")

    tree = ElementTree.parse(HERE / "airspace.xml")
    gml = "{http://www.opengis.net/gml/3.2}"
    radii = [float(each.text) * 1852 for each in tree.iter(f"{gml}radius")]
    far = [GEOD.inv(*ARP, *back(*point)) for point in edge]
    print(f"airspace: the area is {min(each[2] for each in far):.1f} to {max(each[2] for each in far):.1f} m from "
          f"the centre on {min(each[0] for each in far):.2f} to {max(each[0] for each in far):.2f} degrees; radii {radii}")
    measure_hours()


def measure_hours():
    """The windows of the demo minute by minute, on the clock of the zone database."""
    zone = ZoneInfo("America/Los_Angeles")

    def control(day, minute):
        return day < 5 and 7 * 60 <= minute < 19 * 60

    def tower(day, minute):
        return 390 <= minute < 1200 if day < 5 else 540 <= minute < 780

    def base(day, minute):
        return day < 5 and 480 <= minute < 960

    counts = {"outside": 0, "active": 0, "tower alone": 0}
    for shift in range(4):
        day = date(2026, 10, 30) + timedelta(days=shift)
        if day.weekday() not in (4, 5, 6):
            continue
        line = []
        for minute in range(360, 600):
            at = datetime(day.year, day.month, day.day, minute // 60, minute % 60, tzinfo=zone)
            utc = at.astimezone(timezone.utc)
            who = [name for name, on in (("control", control(day.weekday(), minute)),
                                         ("tower", tower(day.weekday(), minute)),
                                         ("base", base(day.weekday(), minute)),
                                         ("zone", utc.hour >= CTR_FROM or utc.hour < CTR_TO)) if on]
            counts["active" if who else "outside"] += 1
            counts["tower alone"] += who == ["tower"]
            if not line or line[-1][1] != who:
                line.append((f"{minute // 60:02}:{minute % 60:02} ({utc:%H:%M}Z)", who))
        print(f"hours {day:%a %Y-%m-%d}:", "; ".join(f"{at} {'+'.join(who) or 'none'}" for at, who in line))
    print("minutes:", counts)


if __name__ == "__main__":
    area()
    aerodromes()
    power()
    structures()
    airspace()
    measure()
