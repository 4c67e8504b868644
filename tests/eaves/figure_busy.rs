//! Random busy sites for tests of the placing of labels.

use eaves::aerodrome::AerodromeKind;
use eaves::answer::{Assessment, CeilingPair};
use eaves::obstacle::{ObstacleKind, Shape};
use geo::MultiPolygon;

use crate::figure_fixture::{Ground, aerodrome, bare, ceiling_value, obstacle};

/// A site with many lines, masts and aerodromes at random; `number` gives values from 0 to 1.
pub fn busy(number: &mut dyn FnMut() -> f64) -> Assessment {
    let mut between = |low: f64, high: f64| low + (high - low) * number();
    let g = Ground::at(between(-180.0, 180.0), between(-70.0, 70.0));
    let size = between(20.0, 900.0);
    let area = g.polygon(&[
        (-size, -size * 0.4),
        (size * 0.7, -size),
        (size, size * 0.5),
        (-size * 0.2, size),
    ]);
    let mut a = bare("Busy", MultiPolygon::new(vec![area]));
    let count = between(20.0, 140.0) as usize;
    for index in 0..count {
        let (x, y) = (between(-1.6, 1.6) * size, between(-1.6, 1.6) * size);
        let id = format!("m{index}");
        let title = format!("mast \"Number {index} of many\"");
        let kind = ObstacleKind::Structure("mast".into());
        let top = (between(0.0, 1.0) > 0.2).then(|| between(9.0, 90.0));
        a.obstacles.push(obstacle(
            &title,
            kind,
            &id,
            None,
            top,
            Shape::Point(g.place(x, y)),
        ));
    }
    for line in 0..4 {
        let (mut x, mut y) = (-1.8 * size, between(-1.0, 1.0) * size);
        for span in 0..10 {
            let (nx, ny) = (x + 0.4 * size, y + between(-0.2, 0.2) * size);
            let chain = vec![g.place(x, y), g.place(nx, ny)];
            let title = format!("span {} of line way/{line}", span + 1);
            let top = Some(between(20.0, 60.0));
            let id = format!("way/{line}");
            a.obstacles.push(obstacle(
                &title,
                ObstacleKind::Span,
                &id,
                Some(span),
                top,
                Shape::Chain(chain),
            ));
            a.obstacles.push(obstacle(
                "support",
                ObstacleKind::Support,
                &format!("{line}-{span}"),
                None,
                top,
                Shape::Point(g.place(x, y)),
            ));
            (x, y) = (nx, ny);
        }
    }
    let governs = (between(-0.2, 0.6) * size, between(-0.3, 0.4) * size);
    let at = g.place(governs.0, governs.1);
    let other = g.place(governs.0 + between(0.0, 0.1) * size, governs.1);
    a.ceiling.undetermined.clear();
    a.ceiling.whole = Some(CeilingPair {
        amsl: Some(ceiling_value(
            410.0,
            other,
            Some("mast \"Number 1 of many\""),
        )),
        above_ground: ceiling_value(30.0, at, Some("mast \"Number 1 of many\"")),
    });
    for index in 0..6 {
        let (x, y) = (between(-9e3, 9e3), between(-9e3, 9e3));
        a.aerodromes.push(aerodrome(
            &format!("X{index}"),
            "Field",
            AerodromeKind::Aerodrome,
            g.place(x, y),
            &[("09/27", 90.0, 900.0)],
            g.place(0.0, 0.0),
            size,
        ));
    }
    a
}

/// Such a site whose key needs a sheet of its own.
pub fn even() -> Assessment {
    let mut number = 0.0;
    busy(&mut || {
        // Multiples of the golden ratio fill the unit interval evenly (from memory).
        number = (number + 0.618_033_988_75_f64).fract();
        number
    })
}

/// Sites whose masts leave each other no room.
pub fn adversarial() -> Vec<(&'static str, Assessment)> {
    let g = Ground::at(16.0, 48.0);
    let site = |places: &[(f64, f64)], title: &dyn Fn(usize) -> String| {
        let area = g.polygon(&[(-90.0, -60.0), (90.0, -60.0), (90.0, 60.0), (-90.0, 60.0)]);
        let mut a = bare("Crowded", MultiPolygon::new(vec![area]));
        for (index, (x, y)) in places.iter().enumerate() {
            a.obstacles.push(obstacle(
                &title(index),
                ObstacleKind::Structure("mast".into()),
                &format!("m{index}"),
                None,
                Some(20.0 + index as f64),
                Shape::Point(g.place(*x, *y)),
            ));
        }
        a
    };
    let short = |index: usize| format!("mast {index}");
    let long =
        |index: usize| format!("mast number {index} of a row whose names are very long indeed");
    let spread = |count: usize, step: f64| -> Vec<(f64, f64)> {
        (0..count)
            .map(|k| {
                let (row, column) = ((k / 12) as f64, (k % 12) as f64);
                (column * step - 6.0 * step, row * step - 3.0 * step)
            })
            .collect()
    };
    let line: Vec<_> = (0..40).map(|k| (f64::from(k) * 4.0 - 80.0, 0.0)).collect();
    let corner: Vec<_> = (0..30)
        .map(|k| (96.0 + f64::from(k % 6) * 0.5, 64.0 + f64::from(k / 6) * 0.5))
        .collect();
    vec![
        ("all in one place", site(&[(3.0, 2.0); 25], &short)),
        ("a line", site(&line, &short)),
        ("a corner", site(&corner, &short)),
        ("long names", site(&spread(48, 14.0), &long)),
        ("a grid", site(&spread(110, 9.0), &short)),
    ]
}
