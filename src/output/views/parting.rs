//! Which part of one scan was taken for body and which for tray, from above and from outside.

use super::WIDTH_MM;
use crate::math::{Point2, Vector2};
use crate::mesh::TriMesh;
use crate::output::Run;
use crate::output::drawing::{Anchor, Drawing, Ink, Line, Scale, TITLE_MM};

/// Paper at the sides, below for the bar and above for the title (mm).
const SIDE_MM: f64 = 14.0;
const BELOW_MM: f64 = 16.0;
const ABOVE_MM: f64 = 24.0;
/// Paper between the two views (mm).
const BETWEEN_MM: f64 = 12.0;
/// Tallest either view may be (mm on paper).
const TALL_MM: f64 = 90.0;
/// Distance between the marks (mm on paper).
const GRID_MM: f64 = 1.2;

/// Two views, one scale: y runs right in both; from above x runs down to the maker, from outside z runs up.
pub(super) fn draw(run: Run<'_>) -> Drawing {
    let scene = &run.measured.scene;
    let title = "What was taken as what";
    let bounds = [&scene.body.mesh, &scene.tray.mesh].map(TriMesh::bounds);
    let [Some((lo, hi)), Some((lo2, hi2))] = bounds else {
        return Drawing::new(title, [WIDTH_MM, ABOVE_MM]);
    };
    let (lo, hi) = (lo.inf(&lo2), hi.sup(&hi2));
    let size = hi - lo;
    let scale = [
        Scale::fitting(size.y, WIDTH_MM - 2.0 * SIDE_MM),
        Scale::fitting(size.x, TALL_MM),
        Scale::fitting(size.z, TALL_MM),
    ]
    .into_iter()
    .reduce(|a, b| if a.times(b) < 1.0 { a } else { b })
    .unwrap_or_else(|| Scale::fitting(size.y, WIDTH_MM));
    let outside_mm = scale.to_paper(size.z);
    let above_mm = BELOW_MM + outside_mm + BETWEEN_MM;
    let height = above_mm + scale.to_paper(size.x) + ABOVE_MM;
    let mut drawing = Drawing::new(title, [WIDTH_MM, height]);
    let at = Point2::new(SIDE_MM, height - 5.0);
    drawing.text(at, Anchor::Start, TITLE_MM, Ink::Plain, title);
    let keys = [
        "thick dark marks: body; thin pale marks: tray; what is not marked was left out",
        "top: from above, you below; bottom: from outside",
    ];
    for (i, key) in keys.into_iter().enumerate() {
        let at = Point2::new(SIDE_MM, height - 9.5 - 4.0 * i as f64);
        drawing.note(at, Anchor::Start, key);
    }
    for (mesh, line, ink) in [
        (&scene.tray.mesh, Line::Narrow, Ink::Faint),
        (&scene.body.mesh, Line::Wide, Ink::Plain),
    ] {
        let right = |y: f64| SIDE_MM + scale.to_paper(y - lo.y);
        let views: [Vec<Point2>; 2] = [
            mesh.points
                .iter()
                .map(|p| Point2::new(right(p.y), above_mm + scale.to_paper(hi.x - p.x)))
                .collect(),
            mesh.points
                .iter()
                .map(|p| Point2::new(right(p.y), BELOW_MM + scale.to_paper(p.z - lo.z)))
                .collect(),
        ];
        for marks in views {
            for at in thinned(&marks) {
                drawing.stroke(vec![at, at + Vector2::new(0.5, 0.0)], line, ink);
            }
        }
    }
    drawing.scale_bar(Point2::new(SIDE_MM, 3.0), scale, 40.0);
    let tail = Point2::new(WIDTH_MM - SIDE_MM - 16.0, 4.0);
    drawing.arrow(tail, tail + Vector2::new(16.0, 0.0), Ink::Plain);
    drawing.note(
        tail - Vector2::new(2.0, 1.0),
        Anchor::End,
        "to your right (y)",
    );
    drawing
}

/// One mark in each cell of a grid that has a point, in the order of the cells.
fn thinned(points: &[Point2]) -> Vec<Point2> {
    let mut cells: Vec<(i32, i32)> = points
        .iter()
        .filter(|p| p.x.is_finite() && p.y.is_finite())
        .map(|p| {
            (
                (p.y / GRID_MM).round() as i32,
                (p.x / GRID_MM).round() as i32,
            )
        })
        .collect();
    cells.sort_unstable();
    cells.dedup();
    cells
        .into_iter()
        .map(|(r, c)| Point2::new(f64::from(c) * GRID_MM, f64::from(r) * GRID_MM))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crowd_of_points_is_one_mark_a_cell() {
        let crowd: Vec<Point2> = (0..100)
            .map(|i| Point2::new(5.0 + 0.001 * f64::from(i), 3.0))
            .collect();
        assert_eq!(thinned(&crowd).len(), 1);
        assert_eq!(
            thinned(&[Point2::new(0.0, 0.0), Point2::new(2.0 * GRID_MM, 0.0)]).len(),
            2
        );
        assert!(thinned(&[Point2::new(f64::NAN, 0.0)]).is_empty());
    }
}
