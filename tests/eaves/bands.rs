//! Cells joined to polygons, beside a count of the cells in them.

use eaves::region::bands::{Polygon, Tracer};
use geo::{Area, Contains, LineString, Point, Validation};

use crate::cover::Numbers;

fn traced(rows: &[Vec<Option<i32>>]) -> Vec<Polygon> {
    let mut tracer = Tracer::new(rows[0].len());
    let mut found: Vec<Polygon> = rows.iter().flat_map(|row| tracer.row(row)).collect();
    found.extend(tracer.finish());
    found
}

/// North up: rows count downwards.
fn drawn(polygon: &Polygon) -> geo::Polygon<f64> {
    let mut rings = polygon.rings.iter().map(|ring| {
        ring.iter()
            .map(|(column, row)| (f64::from(*column), -f64::from(*row)))
            .collect::<LineString<f64>>()
    });
    geo::Polygon::new(rings.next().unwrap(), rings.collect())
}

#[test]
fn polygons_are_valid_and_hold_their_cells_alone() {
    let mut random = Numbers(7);
    let mut with_holes = 0;
    for case in 0..300 {
        let (columns, rows, classes) = (1 + case % 13, 1 + case % 11, 2 + case % 3);
        let cells: Vec<Vec<Option<i32>>> = (0..rows)
            .map(|_| {
                (0..columns)
                    .map(|_| Some((random.next() * f64::from(classes)) as i32 - 1))
                    .map(|class| class.filter(|class| *class >= 0))
                    .collect()
            })
            .collect();
        let found = traced(&cells);
        let drawn: Vec<(i32, geo::Polygon<f64>)> =
            found.iter().map(|it| (it.class, drawn(it))).collect();
        for (polygon, (_, shape)) in found.iter().zip(&drawn) {
            assert!(
                shape.is_valid(),
                "{:?}: {polygon:?}",
                shape.validation_errors()
            );
            assert_eq!(shape.signed_area(), polygon.cells as f64);
            with_holes += usize::from(polygon.rings.len() > 1);
        }
        for (row, classes) in cells.iter().enumerate() {
            for (column, class) in classes.iter().enumerate() {
                let centre = Point::new(column as f64 + 0.5, -(row as f64) - 0.5);
                let over: Vec<i32> = drawn
                    .iter()
                    .filter(|(_, shape)| shape.contains(&centre))
                    .map(|(class, _)| *class)
                    .collect();
                assert_eq!(
                    over,
                    Vec::from_iter(*class),
                    "case {case} at {column}, {row}"
                );
            }
        }
        // Of neighbours of one class both are in one polygon: no two polygons of a class share an edge.
        for (index, (class, one)) in drawn.iter().enumerate() {
            for (_, other) in drawn[index + 1..].iter().filter(|(it, _)| it == class) {
                let joined = geo::MultiPolygon::new(vec![one.clone(), other.clone()]);
                assert!(joined.is_valid(), "case {case}");
            }
        }
    }
    assert!(with_holes > 20, "{with_holes}");
}

/// A ring of cells about a hole that touches the outside at a corner.
#[test]
fn a_hole_may_touch_the_outline_at_a_corner() {
    let (one, none) = (Some(1), None);
    let found = traced(&[
        vec![one, one, one],
        vec![one, none, one],
        vec![one, one, none],
    ]);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].rings.len(), 2);
    assert_eq!(found[0].cells, 7);
    assert!(drawn(&found[0]).is_valid());
}

#[test]
fn a_polygon_is_handed_out_as_soon_as_it_ends() {
    let mut tracer = Tracer::new(3);
    assert!(tracer.row(&[Some(1), None, Some(2)]).is_empty());
    let ended: Vec<i32> = tracer
        .row(&[Some(1), None, None])
        .iter()
        .map(|it| it.class)
        .collect();
    assert_eq!(ended, [2]);
    let ended: Vec<u64> = tracer.finish().iter().map(|it| it.cells).collect();
    assert_eq!(ended, [2]);
}
