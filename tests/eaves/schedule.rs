//! Letters, order and degrees, minutes and seconds of the coordinate schedule.

use eaves::dms;
use eaves::frame::LonLat;
use eaves::schedule::{letter, of};
use eaves::site::{FeatureRef, OperatingArea};
use geo::{MultiPolygon, Polygon, polygon};

fn area(polygons: Vec<Polygon<f64>>) -> OperatingArea {
    OperatingArea {
        source: FeatureRef {
            file: "a.geojson".into(),
            feature: "#1".into(),
        },
        name: "a".into(),
        polygons: MultiPolygon::new(polygons),
    }
}

/// Bijective base 26, as the columns of spreadsheets are named: the 27th is AA, the 702nd ZZ, the
/// 703rd AAA (ECMA-376 names the last of its 16 384 columns XFD; from memory).
/// Part, hole, and the letter and place of each vertex.
type Told = (usize, Option<usize>, Vec<(String, f64, f64)>);

#[test]
fn letters_go_on_as_columns_do() {
    let of_number = [
        (1, "A"),
        (26, "Z"),
        (27, "AA"),
        (52, "AZ"),
        (53, "BA"),
        (702, "ZZ"),
        (703, "AAA"),
        (16_384, "XFD"),
    ];
    for (number, letters) in of_number {
        assert_eq!(letter(number - 1), letters);
    }
}

/// Flinders Peak in the GDA94 Technical Manual: 37°57'03.72030"S 144°25'29.52440"E is −37.951033417,
/// 144.424867889 (worked example of the Vincenty chapter; to 0.01" here).
#[test]
fn degrees_minutes_seconds_are_those_of_the_manual() {
    let peak = LonLat::new(144.424_867_889, -37.951_033_417).unwrap();
    assert_eq!(dms::latitude(peak), "37°57'03.72\"S");
    assert_eq!(dms::longitude(peak), "144°25'29.52\"E");
    let carried = LonLat::new(-0.000_000_1, 9.999_999_9).unwrap();
    assert_eq!(dms::latitude(carried), "10°00'00.00\"N");
    assert_eq!(dms::longitude(carried), "000°00'00.00\"E");
}

/// Whatever order a file has, the outline runs clockwise from the north, the hole the other way, and
/// letters go on from part to part.
#[test]
fn rings_are_ordered_and_letters_go_on() {
    let outline = polygon!(
        exterior: [(x: 0.0, y: 0.0), (x: 3.0, y: 0.0), (x: 3.0, y: 2.0), (x: 0.0, y: 2.0)],
        interiors: [[(x: 1.0, y: 0.5), (x: 2.0, y: 0.5), (x: 1.5, y: 1.5)]],
    );
    let other = polygon![(x: 10.0, y: 1.0), (x: 11.0, y: 5.0), (x: 12.0, y: 1.0)];
    let rings = of(&area(vec![outline, other]));
    let told: Vec<Told> = rings
        .iter()
        .map(|ring| {
            let vertices = ring
                .vertices
                .iter()
                .map(|vertex| {
                    let place = vertex.place;
                    (vertex.letter.clone(), place.lon(), place.lat())
                })
                .collect();
            (ring.part, ring.hole, vertices)
        })
        .collect();
    let at = |letter: &str, lon: f64, lat: f64| (letter.to_owned(), lon, lat);
    assert_eq!(
        told,
        vec![
            (
                1,
                None,
                vec![
                    at("A", 0.0, 2.0),
                    at("B", 3.0, 2.0),
                    at("C", 3.0, 0.0),
                    at("D", 0.0, 0.0)
                ]
            ),
            (
                1,
                Some(1),
                vec![at("E", 1.5, 1.5), at("F", 1.0, 0.5), at("G", 2.0, 0.5)]
            ),
            (
                2,
                None,
                vec![at("H", 11.0, 5.0), at("I", 12.0, 1.0), at("J", 10.0, 1.0)]
            ),
        ]
    );
}

/// Across the antimeridian the north-western corner is the one in the east of the map.
#[test]
fn the_antimeridian_is_crossed_the_short_way() {
    let across = polygon![
        (x: -179.9, y: 10.1), (x: 179.9, y: 10.1), (x: 179.9, y: 10.0), (x: -179.9, y: 10.0),
    ];
    let ring = &of(&area(vec![across]))[0];
    let lons: Vec<f64> = ring.vertices.iter().map(|it| it.place.lon()).collect();
    assert_eq!(lons, [179.9, -179.9, -179.9, 179.9]);
    assert_eq!(ring.vertices[0].place.lat(), 10.1);
}
