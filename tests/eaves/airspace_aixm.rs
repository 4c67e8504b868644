//! AIXM: the Donlon data set, arcs through three positions, hours and authorities.

use std::path::Path;

use eaves::airspace::{Level, Volume};
use eaves::frame::{LonLat, destination, distance, geodesic};
use eaves::hours::Schedule;
use eaves::read::aixm;
use eaves::units::{Bearing, Metres};
use geo::{Contains, GeodesicArea, Point};

use crate::airspace_read::{LAT_LON, LIMITS, airspace, curve, message, one, read, reason, surface};

fn donlon() -> Vec<Volume> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/donlon/airspace.xml");
    let text = std::fs::read_to_string(file).unwrap();
    read("airspace.xml", &text, "").airspace.unwrap()
}

fn place(lat: f64, lon: f64) -> LonLat {
    LonLat::new(lon, lat).unwrap()
}

/// What the excerpt of the official sample says, read by hand from the file.
#[test]
fn the_donlon_sample_is_read() {
    let volumes = donlon();
    let idents: Vec<&str> = volumes
        .iter()
        .map(|it| it.ident.as_deref().unwrap())
        .collect();
    assert_eq!(idents, ["EAAD", "EAR1", "EAD21A", "EAV11", "EAV12"]);
    let [fir, bravo, ecliptra, uleni, donburg] = <[Volume; 5]>::try_from(volumes).unwrap();
    // An authority by the title of its reference, for the file has no organisation.
    assert_eq!(
        fir.authority.as_deref(),
        Some("ORG-AUTH NTL-AUTH DONLON-CAA (AIS)")
    );
    assert_eq!(bravo.authority, None);
    // Active without a time sheet: all the time. By NOTAM: not known.
    assert_eq!(fir.hours.as_deref(), Some("H24"));
    assert_eq!((bravo.hours, ecliptra.hours), (None, None));
    // Accuracies of 2.0 KM, 100.0 M and 10.0 M, and the half metre of curves.
    assert!((fir.horizontal_accuracy.m() - 2000.5).abs() < 1e-9);
    assert!((ecliptra.horizontal_accuracy.m() - 100.5).abs() < 1e-9);
    assert!((uleni.horizontal_accuracy.m() - 10.5).abs() < 1e-9);
    // FL200 to FL300 in an ElevatedSurface.
    assert_eq!(ecliptra.lower.stated, "200 FL STD");
    assert!(ecliptra.polygons.contains(&Point::new(-34.0, 54.5)));
    // 1525 M SFC.
    match bravo.upper.level {
        Level::AboveGround { height_m } => assert_eq!(height_m.m(), 1525.0),
        other => panic!("{other:?}"),
    }
    // The arc of 25 NM runs from west over north and east to 137 degrees: the stated ends of the
    // geodesics beside it are 25 NM from the centre.
    let centre = place(55.233_333_333_333_3, -36.166_666_666_666_664);
    for end in [
        place(55.231_163_728_076_67, -36.894_373_379_164_84),
        place(54.928_163_505_307_16, -35.674_116_070_018_954),
    ] {
        assert!((distance(centre, end).m() - 25.0 * 1852.0).abs() < 200.0);
    }
    for (bearing, is_in) in [(0.0, true), (90.0, true), (130.0, true), (200.0, false)] {
        let there = destination(
            centre,
            Bearing::new(bearing).unwrap(),
            Metres::of(20.0 * 1852.0),
        );
        let point = Point::new(there.lon(), there.lat());
        assert_eq!(bravo.polygons.contains(&point), is_in, "{bearing}");
    }
    // Off whenever it is not active, and without that statement.
    assert_eq!(
        uleni.hours.as_deref(),
        Some("Sa sunrise-sunset, Su sunrise-sunset")
    );
    assert_eq!(
        donburg.hours.as_deref(),
        Some("24/7 unknown, Sa 06:00-sunset, Su 09:00-16:00")
    );
    assert_eq!(donburg.zone.as_deref(), Some("UTC"));
}

/// The hours of the sample on a Friday to Sunday of UTC: Friday is off where the data say so, and
/// not known where they do not; Sunday is active from 09:00 to 16:00.
#[test]
fn hours_of_the_donlon_sample() {
    let volumes = donlon();
    let minutes = |ident: &str, from: &str, to: &str| {
        let volume = volumes
            .iter()
            .find(|it| it.ident.as_deref() == Some(ident))
            .unwrap();
        let text = volume.hours.as_deref().unwrap();
        let schedule = Schedule::parse(text, volume.zone.as_deref()).unwrap();
        let found = schedule.activity(
            place(51.867_222, -34.004_167),
            from.parse().unwrap(),
            to.parse().unwrap(),
        );
        let sum = |spans: &eaves::hours::spans::Spans| -> i64 {
            spans.iter().map(|span| span.minutes()).sum()
        };
        (sum(&found.active), sum(&found.undetermined))
    };
    // 2026-07-03 is a Friday.
    let friday = ("2026-07-03T00:00Z", "2026-07-04T00:00Z");
    assert_eq!(minutes("EAV11", friday.0, friday.1), (0, 0));
    assert_eq!(minutes("EAV12", friday.0, friday.1), (0, 1440));
    let sunday = ("2026-07-05T00:00Z", "2026-07-06T00:00Z");
    let (active, undetermined) = minutes("EAV12", sunday.0, sunday.1);
    // Only 09:00 to 16:00 is certain; the rest of the day must not be taken as off.
    assert_eq!(active, 420);
    assert_eq!(undetermined, 1440 - 420);
    let (active, undetermined) = minutes("EAV11", sunday.0, sunday.1);
    // 16 h 24 min of sun at 51.9 N on 5 July (common knowledge: within 10 minutes).
    assert!((active - 984).abs() < 15 && undetermined == 0, "{active}");
}

fn on_circle(centre: LonLat, radius: f64, bearings: &[f64]) -> String {
    bearings
        .iter()
        .map(|bearing| {
            let there = destination(centre, Bearing::new(*bearing).unwrap(), Metres::of(radius));
            format!("{:.10} {:.10}", there.lat(), there.lon())
        })
        .collect::<Vec<_>>()
        .join(" ")
}

/// Three places at one geodesic distance (geographiclib) from a centre far from the equator: all of
/// the arc is at that distance, it runs past the middle one, and a circle has the area of one by its
/// centre.
#[test]
fn arcs_through_three_positions_lie_on_the_ellipsoid() {
    let centre = place(-52.0, 149.0);
    for radius in [5_556.0, 150_000.0] {
        for (bearings, is_east) in [([10.0, 60.0, 170.0], true), ([10.0, 300.0, 170.0], false)] {
            // Closed by its chord.
            let ring = curve(&format!(
                "<gml:Arc><gml:posList>{}</gml:posList></gml:Arc><gml:LineStringSegment>\
                 <gml:posList>{}</gml:posList></gml:LineStringSegment>",
                on_circle(centre, radius, &bearings),
                on_circle(centre, radius, &[bearings[2], bearings[0]])
            ));
            let volume = one(LAT_LON, &ring);
            let mut greatest_turn = 0f64;
            for corner in volume.polygons.0[0].exterior().coords() {
                let corner = LonLat::new(corner.x, corner.y).unwrap();
                let line = geodesic(centre, corner);
                // Positions are written to 0.01 mm.
                assert!((line.distance.m() - radius).abs() < 1e-3);
                let turn = (line.bearing_from.degrees() - 90.0 + 180.0).rem_euclid(360.0) - 180.0;
                greatest_turn = greatest_turn.max(turn.abs());
            }
            assert_eq!(greatest_turn < 81.0, is_east, "{greatest_turn}");
        }
        let positions = on_circle(centre, radius, &[0.0, 100.0, 250.0]);
        let circle = one(
            LAT_LON,
            &curve(&format!(
                "<gml:Circle><gml:posList>{positions}</gml:posList></gml:Circle>"
            )),
        );
        let by_centre = one(
            LAT_LON,
            &curve(&format!(
                r#"<gml:CircleByCenterPoint><gml:pos>-52 149</gml:pos>
                <gml:radius uom="m">{radius}</gml:radius></gml:CircleByCenterPoint>"#
            )),
        );
        let area = |volume: &Volume| volume.polygons.geodesic_area_unsigned();
        assert!((area(&circle) / area(&by_centre) - 1.0).abs() < 1e-6);
        // Two arcs in one string close the same circle.
        let string = on_circle(centre, radius, &[0.0, 100.0, 200.0, 300.0, 0.0]);
        let string = one(
            LAT_LON,
            &curve(&format!(
                "<gml:ArcString><gml:posList>{string}</gml:posList></gml:ArcString>"
            )),
        );
        assert!((area(&string) / area(&by_centre) - 1.0).abs() < 1e-4);
        assert!(string.horizontal_accuracy.m() <= 0.501);
    }
    let nearly_straight = "<gml:Arc><gml:posList>0 0 0.0000001 1 0 2</gml:posList></gml:Arc>";
    assert!(reason(LAT_LON, &curve(nearly_straight)).contains("no circle"));
}

const SQUARE: &str = "<gml:LinearRing><gml:posList>-31 10 -31 10.1 -30.9 10.1 -30.9 10 -31 10</gml:posList></gml:LinearRing>";

/// The hours that one airspace is read with, or why none are.
fn hours_of(activation: &str) -> Result<String, String> {
    let text = message(&[airspace("A", LIMITS, &surface(LAT_LON, SQUARE)).replace(
        "</aixm:AirspaceTimeSlice>",
        &format!("{activation}</aixm:AirspaceTimeSlice>"),
    )]);
    let parsed = aixm::features(&text).unwrap();
    match parsed.features[0].properties.object().get("hours") {
        Some(hours) => {
            let hours = hours.as_str().unwrap().to_owned();
            Schedule::parse(&hours, Some("UTC")).unwrap();
            Ok(hours)
        }
        None => Err(parsed.notes[0].1.clone()),
    }
}

fn active(sheet: &str) -> String {
    format!(
        "<aixm:activation><aixm:AirspaceActivation><aixm:timeInterval><aixm:Timesheet>{sheet}\
         </aixm:Timesheet></aixm:timeInterval><aixm:status>ACTIVE</aixm:status>\
         </aixm:AirspaceActivation></aixm:activation>"
    )
}

const UTC: &str = "<aixm:timeReference>UTC</aixm:timeReference>";
const MORNING: &str = "<aixm:startTime>07:00</aixm:startTime><aixm:endTime>12:00</aixm:endTime>";

#[test]
fn simple_time_sheets_become_hours() {
    for (sheet, expected) in [
        (
            format!("{UTC}<aixm:day>ANY</aixm:day>{MORNING}"),
            "24/7 unknown, 07:00-12:00",
        ),
        (
            format!(
                "{UTC}<aixm:startDate>01-01</aixm:startDate><aixm:endDate>31-12</aixm:endDate><aixm:day>WED</aixm:day>{MORNING}"
            ),
            "24/7 unknown, We 07:00-12:00",
        ),
        (
            format!(
                "{UTC}<aixm:startTime>00:00</aixm:startTime><aixm:endTime>24:00</aixm:endTime>"
            ),
            "H24",
        ),
        (
            format!("{UTC}<aixm:startEvent>SR</aixm:startEvent><aixm:endEvent>SS</aixm:endEvent>"),
            "24/7 unknown, sunrise-sunset",
        ),
        (
            format!(
                "{UTC}<aixm:startTime>22:00</aixm:startTime><aixm:endTime>02:00</aixm:endTime>"
            ),
            "24/7 unknown, 22:00-02:00",
        ),
    ] {
        assert_eq!(hours_of(&active(&sheet)).as_deref(), Ok(expected));
    }
}

/// What could be read in two ways, or not at all, leaves the hours undetermined and says why.
#[test]
fn other_activations_are_named() {
    for (activation, expected) in [
        (active(&format!("{UTC}<aixm:day>WORK_DAY</aixm:day>{MORNING}")), "WORK_DAY"),
        (active(&format!("{UTC}<aixm:day>MON</aixm:day><aixm:dayTil>FRI</aixm:dayTil>{MORNING}")), "several days"),
        (active(&format!("<aixm:timeReference>UTC+10</aixm:timeReference>{MORNING}")), "not in UTC"),
        (active(&format!("{UTC}<aixm:startDate>SDLST</aixm:startDate><aixm:endDate>EDLST</aixm:endDate>{MORNING}")), "part of the year"),
        (active(&format!("{UTC}{MORNING}<aixm:daylightSavingAdjust>YES</aixm:daylightSavingAdjust>")), "daylight saving"),
        (active(&format!("{UTC}{MORNING}<aixm:startEvent>SR</aixm:startEvent>")), "two times"),
        (active(&format!("{UTC}{MORNING}<aixm:startTimeRelativeEvent uom=\"MIN\">-30</aixm:startTimeRelativeEvent>")), "counted from"),
        (active(&format!("{UTC}<aixm:startTime>7</aixm:startTime><aixm:endTime>12:00</aixm:endTime>")), "start is not read"),
        (active(&format!("{UTC}<aixm:startTime>07:00</aixm:startTime><aixm:endTime>24:30</aixm:endTime>")), "end is not read"),
        (active(&format!("{UTC}{MORNING}<aixm:excluded>YES</aixm:excluded>")), "excluded"),
        (active(UTC).replace("ACTIVE", "AVBL_FOR_ACTIVATION"), "AVBL_FOR_ACTIVATION"),
        (active(UTC).replace("<aixm:status>ACTIVE</aixm:status>", ""), "without a status"),
        (active(&format!("{UTC}{MORNING}")).replace("ACTIVE", "INACTIVE"), "no activation that is active"),
        (
            active(&format!("{UTC}{MORNING}")).replace(
                "</aixm:AirspaceActivation>",
                "<aixm:levels><aixm:AirspaceLayer><aixm:lowerLimit uom=\"FT\">500</aixm:lowerLimit></aixm:AirspaceLayer></aixm:levels></aixm:AirspaceActivation>",
            ),
            "part of its height",
        ),
    ] {
        let why = hours_of(&activation).unwrap_err();
        assert!(why.contains(expected), "{why} for {expected}");
    }
}

/// The name of the organisation in the same file goes before the title of the reference.
#[test]
fn an_authority_is_named_as_the_file_names_it() {
    let authority = r##"<message:hasMember><aixm:AuthorityForAirspace gml:id="h"><aixm:timeSlice>
        <aixm:AuthorityForAirspaceTimeSlice><aixm:interpretation>BASELINE</aixm:interpretation>
        <aixm:type>DLGT</aixm:type><aixm:responsibleUnit xlink:href="#u" xlink:title="by title"/>
        <aixm:assignedAirspace xlink:href="#A"/></aixm:AuthorityForAirspaceTimeSlice>
        </aixm:timeSlice></aixm:AuthorityForAirspace></message:hasMember>"##;
    let unit = r#"<message:hasMember><aixm:Unit gml:id="u"><aixm:timeSlice><aixm:UnitTimeSlice>
        <aixm:interpretation>BASELINE</aixm:interpretation><aixm:name>Eave Approach</aixm:name>
        </aixm:UnitTimeSlice></aixm:timeSlice></aixm:Unit></message:hasMember>"#;
    let of = |members: &[String]| {
        let parsed = aixm::features(&message(members)).unwrap();
        parsed.features[0]
            .properties
            .object()
            .get("authority")
            .map(|it| it.as_str().unwrap().to_owned())
    };
    let zone = airspace("A", LIMITS, &surface(LAT_LON, SQUARE));
    assert_eq!(of(std::slice::from_ref(&zone)), None);
    assert_eq!(
        of(&[zone.clone(), authority.into()]).as_deref(),
        Some("by title (DLGT)")
    );
    assert_eq!(
        of(&[zone, authority.into(), unit.into()]).as_deref(),
        Some("Eave Approach (DLGT)")
    );
}
