//! Pictures of the real meshes with a bar for lengths and an arrow: the panel in its place, and every
//! segment on its bed.

use super::{View as Named, WIDTH_MM};
use crate::gap::Front;
use crate::math::{Point2, Point3, Vector3};
use crate::mesh::TriMesh;
use crate::mesh::weld::with_points_used;
use crate::output::Run;
use crate::output::drawing::{Anchor, Drawing, Ink, NOTE_MM, TITLE_MM, round_length};
use crate::output::picture::{Form, Picture, Shown, View};
use crate::output::row::Row;
use crate::panel::Panel;
use crate::split::Segment;
use rayon::prelude::*;

/// Colours of the parts in full light: greys for what was scanned, a warm one for what is made.
const BODY: [u8; 3] = [206, 204, 198];
pub(super) const TRAY: [u8; 3] = [176, 186, 192];
pub(super) const PANEL: [u8; 3] = [232, 186, 150];
const BED: [u8; 3] = [226, 226, 222];

/// Dots of a picture of the whole, and of one segment: 200 to the inch on paper.
pub(super) const WHOLE: [usize; 2] = [1400, 1000];
const SMALL: [usize; 2] = [560, 460];
/// Width on paper of one segment's picture (mm).
const SMALL_MM: f64 = 58.0;
/// Paper under a picture for the bar and the arrow, over it for the title (mm).
pub(super) const BELOW_MM: f64 = 13.0;
pub(super) const ABOVE_MM: f64 = 8.0;
/// How far round the panel the scans are shown (mm).
const AROUND_MM: f64 = 160.0;

/// A picture under its title, with a bar and an arrow.
pub(super) fn framed(
    title: &str,
    picture: &Picture,
    view: &View,
    width_mm: f64,
    arrow: Option<(Vector3, &str)>,
) -> Drawing {
    let mm = width_mm / picture.size[0] as f64;
    let tall = picture.size[1] as f64 * mm;
    let mut drawing = Drawing::new(title, [width_mm, BELOW_MM + tall + ABOVE_MM]);
    drawing.image(Point2::new(0.0, BELOW_MM), [width_mm, tall], picture.png());
    let at = Point2::new(1.0, BELOW_MM + tall + 2.5);
    let height = if width_mm < 100.0 { NOTE_MM } else { TITLE_MM };
    drawing.text(at, Anchor::Start, height, Ink::Plain, title);
    let paper = picture.pixels_per_unit * mm;
    let length = round_length(0.25 * width_mm / paper);
    drawing.length_bar(Point2::new(1.0, 3.0), length, length * paper);
    if let Some((way, name)) = arrow {
        let seen = view.seen(way).xy() * 9.0;
        let middle = Point2::new(width_mm - 8.0, 0.5 * BELOW_MM);
        drawing.arrow(middle - seen / 2.0, middle + seen / 2.0, Ink::Plain);
        let at = Point2::new(width_mm - 15.0, 2.5);
        drawing.note(at, Anchor::End, name);
    }
    drawing
}

/// Direction of the arrow: to the front where the job says where it lies, else to the outside.
pub(super) fn arrow(front: Option<Front>) -> (Vector3, &'static str) {
    front.map_or((Vector3::x(), "outside"), |front| {
        (front.direction(), "front")
    })
}

/// The triangles of a scan that lie near the panel.
pub(in crate::output) fn near_panel(mesh: &TriMesh, panel: &Panel) -> TriMesh {
    match panel.solid.mesh().bounds() {
        Some((low, high)) => near(mesh, low, high),
        None => TriMesh::default(),
    }
}

fn near(mesh: &TriMesh, low: Point3, high: Point3) -> TriMesh {
    let reach = Vector3::repeat(AROUND_MM);
    let (low, high) = (low - reach, high + reach);
    let inside = |p: Point3| (0..3).all(|k| (low[k]..=high[k]).contains(&p[k]));
    let kept = (0..mesh.triangles.len()).filter(|&t| inside(mesh.corners(t)[0]));
    with_points_used(&mesh.points, kept.map(|t| mesh.triangles[t]).collect())
}

/// The panel between body and tray, from outside and from inside.
pub(super) fn in_place(run: Run<'_>) -> Vec<Named> {
    let Some((panel, _)) = run.made else {
        return Vec::new();
    };
    let scene = &run.measured.scene;
    let near = |mesh| near_panel(mesh, panel);
    let (body, tray) = rayon::join(|| near(&scene.body.mesh), || near(&scene.tray.mesh));
    let whole = [
        Shown::new(&body, BODY, Form::Soft),
        Shown::new(&tray, TRAY, Form::Soft),
        Shown::new(panel.solid.mesh(), PANEL, Form::Sharp),
    ];
    let hidden = [whole[1], whole[2]];
    let ways: [(&str, &str, View, &[Shown<'_>]); 2] = [
        (
            "panel_outside",
            "Panel, body and tray, from outside",
            View::from_outside(),
            &whole,
        ),
        (
            "panel_inside",
            "Panel on the tray, from inside: the hidden side",
            View::from_inside(),
            &hidden,
        ),
    ];
    ways.into_par_iter()
        .filter_map(|(name, title, view, shown)| {
            let picture = Picture::take(shown, view, WHOLE)?;
            let arrow = Some(arrow(run.measured.front));
            Some(Named {
                name: name.to_owned(),
                drawing: framed(title, &picture, &view, WIDTH_MM, arrow),
            })
        })
        .collect()
}

/// Every segment of a row on its bed, as it is printed.
pub(super) fn on_bed(row: Row<'_>) -> Vec<Named> {
    let count = row.parts.segments.len();
    row.parts
        .segments
        .par_iter()
        .filter_map(|segment| {
            let title = format!("Segment {} of {count}{}", segment.number, row.of.whose());
            Some(Named {
                name: format!("{}pictures/segment_{:02}", row.of.folder(), segment.number),
                drawing: bed_picture(&title, segment)?,
            })
        })
        .collect()
}

/// On a bed the vehicle's front says nothing; how much of the bed it takes does.
fn bed_picture(title: &str, segment: &Segment) -> Option<Drawing> {
    let mesh = segment.on_bed.mesh();
    let [w, d, h] = segment.size_mm;
    let [x, y] = [w, d].map(|side| side / 2.0 + 8.0);
    let corner = |x: f64, y: f64| Point3::new(x, y, -0.2);
    let bed = TriMesh {
        points: vec![corner(-x, -y), corner(x, -y), corner(x, y), corner(-x, y)],
        triangles: vec![[0, 1, 2], [0, 2, 3]],
    };
    let view = View::from(Vector3::new(0.5, -1.0, 0.75), Vector3::z());
    let shown = [
        Shown::new(&bed, BED, Form::Sharp),
        Shown::new(mesh, PANEL, Form::Sharp),
    ];
    let picture = Picture::take(&shown, view, SMALL)?;
    let mut drawing = framed(title, &picture, &view, SMALL_MM, None);
    let size = format!("{w:.0} \u{d7} {d:.0} \u{d7} {h:.0} mm");
    drawing.note(Point2::new(1.0, 8.5), Anchor::Start, size);
    Some(drawing)
}
