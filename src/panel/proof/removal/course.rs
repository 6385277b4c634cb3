//! One mount: what moves, what stands, and sweeps along a way.

use super::body::body_in_the_way;
use super::path::{Move, Path};
use super::trim::Tops;
use super::{Moment, Part, Surface, Tightest, WITHIN_MM};
use crate::gap::Survey;
use crate::math::locator::Locator;
use crate::math::{Point3, Vector3};
use crate::mesh::TriMesh;
use crate::mesh::sweep::{
    Motion, Near, Swept, first_touch, mark_near, mark_touching, nearest_on_the_way,
};
use crate::panel::{Mount, Panel, PanelOptions};
use nalgebra::Isometry3;

/// Longest edge of what moves (mm): keeps the steps of a tilt long.
const LONGEST_MM: f64 = 20.0;
/// How far round a place that touches at rest a scan is left out (mm): a few of its triangles.
const ROUND_MM: f64 = 10.0;
/// Let down by the noise of the tray times this, so that few of its points still touch: one in 15000.
const SIGMAS: f64 = 4.0;
/// Room beside the panel in which a point still belongs to a station (mm).
const ASIDE_MM: f64 = 200.0;
/// Room left when everything is let down past the body (mm).
const PAST_MM: f64 = 15.0;

/// Panel, body and tray, made ready.
pub(super) struct Scene<'a> {
    survey: &'a Survey,
    panel: Option<Swept>,
    body: Option<Swept>,
    tray: Option<Swept>,
    tray_noise_mm: f64,
    tops: Tops,
    allowance: f64,
    pub panel_box: (Point3, Point3),
    body_low: f64,
    /// Where the body touches the panel at rest: there it was left out.
    touching: Vec<Point3>,
    /// Where the back of a joint touches it: arc length (mm) and place.
    pub joint_in_body: Option<(f64, Point3)>,
}

impl<'a> Scene<'a> {
    pub(super) fn new(
        (panel, joints): (&Panel, &TriMesh),
        survey: &'a Survey,
        [body, tray]: [Surface<'_>; 2],
        options: &PanelOptions,
        allowance: f64,
    ) -> Self {
        let mut whole = panel.solid.mesh().clone();
        whole.append(joints);
        let panel_box = whole
            .bounds()
            .unwrap_or((Point3::origin(), Point3::origin()));
        let mesh = body_in_the_way(body.mesh, survey, options);
        // Nothing that moves gets up there.
        let ceiling = highest(tray.mesh).max(panel_box.1.z) + 2.0 * WITHIN_MM;
        let near = below(&mesh, ceiling);
        let ((panel_ready, body_whole), tray_ready) = rayon::join(
            || {
                rayon::join(
                    || Swept::new(&whole, LONGEST_MM),
                    || Swept::new(&near, f64::INFINITY),
                )
            },
            || Swept::new(tray.mesh, LONGEST_MM),
        );
        let joint_in_body = (Swept::new(joints, f64::INFINITY).as_ref())
            .zip(body_whole.as_ref())
            .and_then(|(joints, body)| {
                let (rest, here) = (Motion::Shift(Vector3::zeros()), Isometry3::identity());
                let within = allowance * (1.0 + 1e-9) + 1e-9;
                nearest_on_the_way(joints, &here, &rest, body, within, allowance)
            })
            .map(|near| (survey.spine.locate(near.at.xy()).0, near.at));
        let (body_ready, touching) = match (body_whole, &panel_ready) {
            (Some(body), Some(panel)) => apart(body, &[panel], allowance, &Isometry3::identity()),
            (body, _) => (body, Vec::new()),
        };
        let locator = Locator::new(&survey.spine, ASIDE_MM, ASIDE_MM);
        Self {
            survey,
            panel: panel_ready,
            body_low: near.bounds().map_or(0.0, |b| b.0.z),
            body: body_ready,
            tray: tray_ready,
            tray_noise_mm: tray.noise_mm,
            tops: Tops::new(panel, locator),
            allowance,
            panel_box,
            touching,
            joint_in_body,
        }
    }

    /// Stretches of the spine, 10 mm each, in which the panel touches the body before anything moves: how
    /// many, and the arc length in the middle of them (mm).
    pub(super) fn touching(&self) -> Option<(usize, f64)> {
        const STRETCH_MM: f64 = 10.0;
        let along = self.touching.iter().map(|p| self.station(*p).0);
        let mut stretches: Vec<i64> = along.map(|s| (s / STRETCH_MM) as i64).collect();
        stretches.sort_unstable();
        stretches.dedup();
        let middle = stretches.get(stretches.len() / 2)?;
        Some((stretches.len(), (*middle as f64 + 0.5) * STRETCH_MM))
    }

    /// How far down brings all that moves clear of the body (mm).
    pub(super) fn drop_mm(&self) -> f64 {
        (self.panel_box.1.z - self.body_low).max(0.0) + PAST_MM
    }

    /// Arc length at a point and the survey's uncertainty there (mm).
    fn station(&self, at: Point3) -> (f64, f64) {
        let (s, _) = self.survey.spine.locate(at.xy());
        let near = |a: f64, b: f64| (a - s).abs().total_cmp(&(b - s).abs());
        let station = self.survey.stations.iter().min_by(|a, b| near(a.s, b.s));
        (s, station.map_or(0.0, |station| station.sigma))
    }
}

fn highest(mesh: &TriMesh) -> f64 {
    mesh.bounds().map_or(0.0, |b| b.1.z)
}

fn below(mesh: &TriMesh, ceiling: f64) -> TriMesh {
    let low = |t: &[u32; 3]| {
        let heights = t.map(|i| mesh.points.get(i as usize).map_or(f64::INFINITY, |p| p.z));
        heights.into_iter().fold(f64::INFINITY, f64::min)
    };
    let triangles = mesh.triangles.iter().copied();
    let below = triangles.filter(|t| low(t) < ceiling).collect();
    crate::mesh::weld::with_points_used(&mesh.points, below)
}

/// What moves and what stands under one mount.
pub(super) struct Course<'a> {
    scene: &'a Scene<'a>,
    mount: Mount,
    tray: Option<Swept>,
    left_out: usize,
}

impl<'a> Course<'a> {
    pub(super) fn new(scene: &'a Scene<'a>, mount: Mount) -> Self {
        Self {
            scene,
            mount,
            tray: scene.tray.clone(),
            left_out: 0,
        }
    }

    pub(super) fn other_mount(&self) -> Mount {
        match self.mount {
            Mount::Tray => Mount::Body,
            Mount::Body => Mount::Tray,
        }
    }

    pub(super) fn left_out(&self) -> usize {
        self.left_out
    }

    pub(super) fn let_down_mm(&self) -> f64 {
        match self.mount {
            Mount::Tray => 0.0,
            Mount::Body => SIGMAS * self.scene.tray_noise_mm + self.scene.allowance,
        }
    }

    fn start(&self) -> Isometry3<f64> {
        Isometry3::translation(0.0, 0.0, -self.let_down_mm())
    }

    fn moving(&self) -> impl Iterator<Item = (Part, &Swept)> {
        let panel = match self.mount {
            Mount::Tray => self.scene.panel.as_ref(),
            Mount::Body => None,
        };
        let panel = panel.map(|panel| (Part::Panel, panel));
        panel
            .into_iter()
            .chain(self.tray.as_ref().map(|tray| (Part::Tray, tray)))
    }

    fn still(&self) -> impl Iterator<Item = (Part, &Swept)> {
        let panel = match self.mount {
            Mount::Tray => None,
            Mount::Body => self.scene.panel.as_ref(),
        };
        let body = self.scene.body.as_ref().map(|body| (Part::Body, body));
        body.into_iter()
            .chain(panel.map(|panel| (Part::Panel, panel)))
    }

    fn pairs(&self) -> Vec<[(Part, &Swept); 2]> {
        self.moving()
            .flat_map(|moving| self.still().map(move |still| [moving, still]))
            .collect()
    }

    /// The tray's scan is taken without what touches before anything moves: two scans that overlap there
    /// would never come apart.
    pub(super) fn leave_out_what_touches(&mut self) {
        let Some(tray) = self.tray.take() else {
            return;
        };
        let still: Vec<&Swept> = self.still().map(|(_, still)| still).collect();
        let (kept, touching) = apart(tray, &still, self.scene.allowance, &self.start());
        self.left_out = touching.len();
        self.tray = kept;
    }

    /// The moves of a way, each with where it begins.
    fn motions(&self, path: &Path) -> Vec<(Isometry3<f64>, Motion)> {
        let mut at = self.start();
        // Whatever happens before the first move is a move of nothing.
        let mut motions = vec![(at, Motion::Shift(Vector3::zeros()))];
        for motion in path
            .moves
            .iter()
            .map(|m: &Move| m.motion(self.scene.panel_box))
        {
            motions.push((at, motion));
            at = motion.after(1.0) * at;
        }
        motions
    }

    /// Where a way is tightest, or where it first fouls, and whether it does.
    pub(super) fn sweep(&self, path: &Path) -> (Option<Tightest>, bool) {
        let reach = self.scene.allowance;
        let mut within = WITHIN_MM + reach;
        let mut found = None;
        for (k, (start, motion)) in self.motions(path).iter().enumerate() {
            for [moving, still] in self.pairs() {
                let near = nearest_on_the_way(moving.1, start, motion, still.1, within, reach);
                if let Some(near) = near {
                    within = near.distance;
                    found = Some(self.tightest(&near, k, [moving.0, still.0]));
                }
            }
            if within <= reach {
                return (self.first_foul(path).or(found), true);
            }
        }
        (found, false)
    }

    fn first_foul(&self, path: &Path) -> Option<Tightest> {
        let reach = self.scene.allowance;
        for (k, (start, motion)) in self.motions(path).iter().enumerate() {
            let touches = self.pairs().into_iter().filter_map(|[moving, still]| {
                let near = first_touch(moving.1, start, motion, still.1, reach)?;
                Some((near, [moving.0, still.0]))
            });
            let first = touches.min_by(|a, b| a.0.share.total_cmp(&b.0.share));
            if let Some((near, parts)) = first {
                return Some(Tightest {
                    mm: 0.0,
                    ..self.tightest(&near, k, parts)
                });
            }
        }
        None
    }

    pub(super) fn fouls(&self, path: &Path) -> bool {
        let reach = self.scene.allowance;
        self.motions(path).iter().any(|(start, motion)| {
            self.pairs().iter().any(|[moving, still]| {
                let within = reach * (1.0 + 1e-9) + 1e-9;
                nearest_on_the_way(moving.1, start, motion, still.1, within, reach)
                    .is_some_and(|near| near.distance <= reach)
            })
        })
    }

    /// `k` counts what happens before the first move as the first.
    fn tightest(&self, near: &Near, k: usize, parts: [Part; 2]) -> Tightest {
        let (station_mm, sigma_mm) = self.scene.station(near.at);
        Tightest {
            mm: (near.distance - self.scene.allowance).max(0.0),
            sigma_mm,
            station_mm,
            at: near.at,
            moment: Moment {
                step: k.saturating_sub(1),
                share: if k == 0 { 0.0 } else { near.share },
            },
            parts,
        }
    }

    /// Height to take off the panel's top so that a way is clear (mm).
    pub(super) fn trim(&self, path: &Path) -> Option<f64> {
        let (Mount::Tray, Some(panel), Some(body)) =
            (self.mount, &self.scene.panel, &self.scene.body)
        else {
            return None;
        };
        let reach = self.scene.allowance;
        let motions = self.motions(path);
        let touches = |mesh: &Swept| {
            motions.iter().any(|(start, motion)| {
                let within = reach * (1.0 + 1e-9) + 1e-9;
                nearest_on_the_way(mesh, start, motion, body, within, reach)
                    .is_some_and(|near| near.distance <= reach)
            })
        };
        if self.tray.as_ref().is_some_and(&touches) {
            return None;
        }
        let mut marked = vec![false; panel.len()];
        for (start, motion) in &motions {
            mark_touching(panel, start, motion, body, reach, &mut marked);
        }
        let touching: Vec<[Point3; 3]> = (0..panel.len())
            .filter(|&t| marked.get(t).copied().unwrap_or(false))
            .map(|t| panel.corners(t))
            .collect();
        self.scene.tops.needed(&touching, |mesh| {
            Swept::new(mesh, LONGEST_MM).is_some_and(|mesh| touches(&mesh))
        })
    }
}

/// A mesh, as it stands at `pose`, without what is within `reach` of others and what lies near that; and
/// where it was.
fn apart(
    mesh: Swept,
    others: &[&Swept],
    reach: f64,
    pose: &Isometry3<f64>,
) -> (Option<Swept>, Vec<Point3>) {
    let rest = Motion::Shift(Vector3::zeros());
    let mut marked = vec![false; mesh.len()];
    for other in others {
        if *pose == Isometry3::identity() {
            mark_near(&mesh, other, reach, &mut marked);
        } else {
            mark_touching(&mesh, pose, &rest, other, reach, &mut marked);
        }
    }
    let touching: Vec<Point3> = marked
        .iter()
        .enumerate()
        .filter(|(_, marked)| **marked)
        .map(|(t, _)| mesh.corners(t)[0])
        .collect();
    let Some(places) = Swept::new(&as_dots(&touching), f64::INFINITY) else {
        return (Some(mesh), touching);
    };
    mark_near(&mesh, &places, ROUND_MM, &mut marked);
    (mesh.without(&marked), touching)
}

/// Triangles without size at these points.
fn as_dots(points: &[Point3]) -> TriMesh {
    TriMesh {
        points: points.to_vec(),
        triangles: (0..points.len() as u32).map(|i| [i; 3]).collect(),
    }
}
