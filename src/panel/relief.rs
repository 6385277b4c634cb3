//! Cutting the panel free of what stands on the tray or is named as a keep-out.

use super::foot::tray_height;
use super::keep_out::{Access, Done, KeptOut};
use super::opening::{Through, through};
use super::outboard::InTheWay;
use super::profile::Profile;
use super::relief_words::{blocked, covered, opened};
use super::section::Corners;
use super::stance::Stance;
use super::stays::within;
use super::zone::{Reach, Zone, merge, to_ends};
use super::{FootKind, PanelFault, PanelOptions, Relief, Section, loft::Loft};
use crate::diag::Finding;
use crate::gap::Survey;
use crate::math::Point2;
use crate::mesh::{Solid, boolean};

/// What stands no higher than this above the tray is left to the glue line (mm).
pub const LEAST_HEIGHT_MM: f64 = 1.5;
/// The cutter reaches this far past the flange's tip and under the tray (mm).
pub(super) const PAST_TIP_MM: f64 = 2.0;
pub(super) const UNDER_TRAY_MM: f64 = 3.0;
/// The cutter reaches this far past the outside of the face where the face itself is cut (mm).
pub(super) const PAST_FACE_MM: f64 = 2.0;
/// Room between a cut in the flange and the inside of the face, which stays whole (mm).
const BESIDE_FACE_MM: f64 = 0.3;
/// Least band of face left over a cut through its foot, in walls.
pub(super) const BAND_WALLS: f64 = 2.0;
/// What is less than this in a section is no solid left where something stands (mm2): rounding.
const LEFT_IN_MM2: f64 = 0.05;
/// A cut stays this far below the inside of the knee (mm).
const TOP_ROOM_MM: f64 = 1.0;
/// Length between the cutter's outlines (mm).
const CUTTER_STEP_MM: f64 = 3.0;

/// Something that stands on the tray.
struct Block {
    /// First and last arc length, without room (mm).
    along: [f64; 2],
    /// Innermost and outermost offset, without room (mm).
    across: [f64; 2],
    height: f64,
    /// Room round it (mm).
    room: f64,
    /// Its place among the job's keep-outs, where it is one, and how much of the face it asks for.
    named: Option<(usize, Access)>,
    /// Innermost and outermost offset it takes up itself, however far across it asks to be cut (mm).
    own: [f64; 2],
    /// What a message calls it.
    word: String,
}

impl Block {
    /// Whether it stands high enough to be cut free of: a keep-out by being named.
    fn stands(&self) -> bool {
        self.height > LEAST_HEIGHT_MM || self.named.is_some() && !self.height.is_nan()
    }
}

/// What becomes of the panel at a block.
enum Verdict {
    Clear,
    Blocked,
    Cut(Zone),
}

/// The panel's own lines, read between sections.
pub(super) struct Guide {
    pub tip: Profile,
    pub face: Profile,
    pub inside: Profile,
    pub top: Profile,
    /// Offsets between which the whole face lies, wall and all.
    pub inmost: Profile,
    pub outmost: Profile,
}

/// What was cut, and where.
pub(super) struct Freed {
    pub solid: Solid,
    /// Cuts that begin at the flange.
    pub reliefs: Vec<Relief>,
    /// Stretches that hold openings in the face alone (mm).
    pub openings: Vec<[f64; 2]>,
    /// Every keep-out, in the job's order.
    pub kept_out: Vec<KeptOut>,
}

/// Cuts `whole` free of every obstacle that reaches it and of every keep-out, with the room asked for. A
/// cut in the flange is open towards the inboard side, so that the panel still slides into place.
///
/// # Errors
/// [`PanelFault::Relief`] where a cut leaves no solid, [`PanelFault::KeepOut`] for a keep-out that does
/// not say where it is.
pub(super) fn cut(
    whole: Solid,
    survey: &Survey,
    stances: &[Stance],
    sections: &[Section],
    options: &PanelOptions,
    findings: &mut Vec<Finding>,
) -> Result<Freed, PanelFault> {
    let profile = |value: &dyn Fn(usize) -> f64| {
        let along = stances.iter().map(|stance| stance.s).collect();
        Profile::new(along, (0..stances.len()).map(value).collect())
    };
    let guide = Guide {
        tip: profile(&|i| stances[i].outside.tip.x),
        face: profile(&|i| stances[i].outside.foot.x),
        inside: profile(&|i| low_inside(&stances[i], &sections[i], options)),
        top: profile(&|i| {
            inside_of(&stances[i], &sections[i])
                .first()
                .map_or(0.0, |p| p.y)
                - TOP_ROOM_MM
        }),
        inmost: profile(&|i| {
            let inside = inside_of(&stances[i], &sections[i]).iter();
            inside.map(|p| p.x).fold(f64::MAX, f64::min)
        }),
        outmost: profile(&|i| {
            stances[i]
                .outside
                .face()
                .map(|p| p.x)
                .fold(f64::MIN, f64::max)
        }),
    };
    let mut freed = Freed {
        solid: whole,
        reliefs: Vec::new(),
        openings: Vec::new(),
        kept_out: Vec::new(),
    };
    let (Some(first), Some(last)) = (stances.first(), stances.last()) else {
        return Ok(freed);
    };
    let ends = [first.s, last.s];
    let mut blocks: Vec<Block> = survey
        .obstacles
        .iter()
        .map(|obstacle| Block {
            along: obstacle.along,
            across: obstacle.across,
            height: obstacle.height,
            room: options.relief_mm,
            named: None,
            own: obstacle.across,
            word: "something".into(),
        })
        .collect();
    let mut cutters = Vec::new();
    for (index, out) in options.keep_outs.iter().enumerate() {
        let placed = out.place()?;
        let room = out.margin();
        let word = format!("{} \"{}\"", out.kind.name(), out.name);
        let along = [placed.along[0] - room, placed.along[1] + room];
        let mut kept = KeptOut {
            name: out.name.clone(),
            kind: out.kind,
            done: Done::Clear,
            along,
            left_mm: None,
        };
        let (mut across, mut height) = (placed.across, out.height_mm);
        let meets = along[0] < ends[1] && along[1] > ends[0];
        if let Some(up) = out.up_mm
            && meets
        {
            match through(out, &placed, up, survey, &guide, options)? {
                Through::Cut(solid, done, left) => {
                    cutters.push(solid);
                    freed.openings.push(along);
                    kept.done = done;
                    kept.left_mm = Some(left);
                    findings.push(opened(&kept, &word));
                }
                Through::ToFoot(high) => {
                    height = high - room;
                    across = all_across(&guide, placed.along);
                }
                Through::Parts => {
                    kept.done = Done::NotCut;
                    findings.push(blocked(
                        &word,
                        0.5 * (along[0] + along[1]),
                        out.height_mm,
                        options,
                    ));
                }
            }
        }
        let stands = out.up_mm.is_none() || across != placed.across;
        if stands && kept.done == Done::Clear {
            if out.access == Access::Full {
                across = all_across(&guide, placed.along);
            }
            blocks.push(Block {
                along: placed.along,
                across,
                height,
                room,
                named: Some((index, out.access)),
                own: if out.up_mm.is_none() {
                    placed.across
                } else {
                    across
                },
                word,
            });
        }
        freed.kept_out.push(kept);
    }
    let mut found = Vec::new();
    for block in &blocks {
        match guide.judge(block, survey, ends, options, findings) {
            Verdict::Cut(zone) if guide.frees(block, &zone, survey, sections, options) => {
                found.push(zone);
            }
            Verdict::Cut(_) | Verdict::Blocked => {
                let middle = 0.5 * (block.along[0] + block.along[1]);
                findings.push(blocked(&block.word, middle, block.height, options));
                let kept = block.named.and_then(|(i, _)| freed.kept_out.get_mut(i));
                kept.into_iter().for_each(|kept| kept.done = Done::NotCut);
            }
            Verdict::Clear => {}
        }
    }
    let zones: Vec<Zone> = merge(found)
        .into_iter()
        .map(|zone| to_ends(zone, ends))
        .collect();
    for zone in &zones {
        findings.push(zone.finding(guide.left_by(zone, survey, options)));
        cutters.push(cutter(zone, survey, &guide, options)?);
        for &index in &zone.named {
            if let Some(kept) = freed.kept_out.get_mut(index) {
                kept.done = match zone.reach {
                    Reach::Flange => Done::FlangeNotched,
                    Reach::Face => Done::FaceNotched,
                };
                kept.left_mm = Some(guide.left_by(zone, survey, options));
            }
        }
        freed.reliefs.push(Relief {
            along: zone.along,
            height: zone.height,
        });
    }
    for block in blocks.iter().filter(|block| block.stands()) {
        let way = InTheWay {
            along: [block.along[0] - block.room, block.along[1] + block.room],
            inner: block.across[0] - block.room,
            outer: block.across[1] + block.room,
        };
        if !way.meets(sections) {
            continue;
        }
        let zone = Zone {
            along: way.along,
            outermost: way.outer,
            height: block.height,
            cut_height: block.height,
            reach: Reach::Flange,
            behind: false,
            named: Vec::new(),
            word: block.word.clone(),
        };
        findings.push(zone.finding(f64::INFINITY));
        cutters.push(way.cutter(survey, &|s| guide.face.at(s), options)?);
        let kept = block.named.and_then(|(i, _)| freed.kept_out.get_mut(i));
        if let Some(kept) = kept.filter(|kept| kept.done == Done::Clear) {
            kept.done = Done::FlangeNotched;
        }
        freed.reliefs.push(Relief {
            along: zone.along,
            height: zone.height,
        });
    }
    for (out, kept) in options.keep_outs.iter().zip(&freed.kept_out) {
        findings.extend(covered(out, kept, &guide));
    }
    if cutters.is_empty() {
        return Ok(freed);
    }
    let fault = |reason: String| PanelFault::Relief {
        station_mm: zones.first().map_or(0.0, |zone| zone.along[0]),
        reason,
    };
    freed.solid = boolean::subtract(&freed.solid, &cutters.iter().collect::<Vec<_>>())
        .map_err(|e| fault(e.to_string()))?
        .ok_or_else(|| fault("nothing of the panel is left".into()))?;
    Ok(freed)
}

/// The inside of a section's face, from the knee down to where the fillet begins.
fn inside_of<'a>(stance: &Stance, section: &'a Section) -> &'a [Point2] {
    let corners = Corners::of_outside(&stance.outside);
    let (first, last) = (corners.inner_knee(), corners.fillet());
    section.outline.get(first..=last).unwrap_or_default()
}

/// Least offset of the inside over the height in which the flange is cut.
fn low_inside(stance: &Stance, section: &Section, options: &PanelOptions) -> f64 {
    let inside = inside_of(stance, section);
    let high = stance.outside.foot.y + over_flange(options);
    let at_high = inside.windows(2).find_map(|pair| {
        let [a, b] = [pair[0], pair[1]];
        (a.y >= high && b.y < high).then(|| a.x + (b.x - a.x) * (a.y - high) / (a.y - b.y))
    });
    let low = inside.iter().filter(|p| p.y <= high).map(|p| p.x);
    let last = inside.last().map_or(stance.outside.foot.x, |p| p.x);
    low.chain(at_high).fold(last, f64::min)
}

/// Offsets from past the flange's tip to past the face, over a stretch.
fn all_across(guide: &Guide, along: [f64; 2]) -> [f64; 2] {
    places(along).fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], s| {
        [a.min(guide.tip.at(s)), b.max(guide.face.at(s))]
    })
}

impl Guide {
    /// What a block asks of the panel: a cut, a finding, or nothing.
    fn judge(
        &self,
        block: &Block,
        survey: &Survey,
        ends: [f64; 2],
        options: &PanelOptions,
        findings: &mut Vec<Finding>,
    ) -> Verdict {
        let room = block.room;
        let along = [block.along[0] - room, block.along[1] + room];
        let meets_panel = along[0] < ends[1] && along[1] > ends[0];
        if !block.stands() || !meets_panel {
            return Verdict::Clear;
        }
        let [inner, outer] = block.across;
        let (mut touched, mut reach, mut beside) = (false, Reach::Flange, false);
        let mut behind = true;
        let mut face_room = f64::INFINITY;
        for s in places(along) {
            let (tip, inside, face) = (self.tip.at(s), self.inside.at(s), self.face.at(s));
            let in_band = outer + room > tip;
            behind &= block.own[1] + room < inside;
            beside |= in_band && inner >= face && inner - room < face;
            touched |= in_band && inner < face;
            if in_band && inner < face && outer > inside - BESIDE_FACE_MM {
                reach = Reach::Face;
                face_room = face_room.min(self.face_room(survey, s, options));
            }
        }
        let middle = 0.5 * (along[0] + along[1]);
        if !touched {
            if beside {
                findings.push(
                    Finding::warning(
                        "tight-outside",
                        format!(
                            "{} {:.1} mm high stands closer than {room:.1} mm to the outside of the face",
                            block.word, block.height
                        ),
                        "see that the panel goes in past it",
                    )
                    .at(middle)
                    .size(block.height),
                );
            }
            return Verdict::Clear;
        }
        // Without a flange nothing beside the face is in the way.
        if reach == Reach::Flange && options.foot != FootKind::Inboard {
            return Verdict::Clear;
        }
        let full = block
            .named
            .is_some_and(|(_, access)| access == Access::Full);
        if block.height + room > face_room && !full {
            return Verdict::Blocked;
        }
        Verdict::Cut(Zone {
            along,
            outermost: outer + room,
            height: block.height,
            cut_height: if full {
                f64::INFINITY
            } else {
                block.height + room
            },
            reach,
            behind,
            named: block.named.iter().map(|(index, _)| *index).collect(),
            word: block.word.clone(),
        })
    }

    /// Whether a named thing has the panel out of itself and its room after its cut. Beside a face that
    /// stays whole its room ends at that face.
    fn frees(
        &self,
        block: &Block,
        zone: &Zone,
        survey: &Survey,
        sections: &[Section],
        options: &PanelOptions,
    ) -> bool {
        if block.named.is_none() {
            return true;
        }
        let top = block.height + block.room;
        places(zone.along).all(|s| {
            let outline = self.cut_outline(zone, s, survey, options);
            let beside = self.inside.at(s) - BESIDE_FACE_MM;
            let outer = match zone.reach {
                Reach::Face => block.own[1] + block.room,
                Reach::Flange => (block.own[1] + block.room).min(beside),
            };
            let across = [block.own[0] - block.room, outer];
            let nearest =
                (sections.iter()).min_by(|a, b| (a.s - s).abs().total_cmp(&(b.s - s).abs()));
            nearest
                .is_none_or(|section| within(&section.outline, &outline, across, top) < LEFT_IN_MM2)
        })
    }

    /// Least that a cut leaves (mm): of the face over it, or of the flange's depth beside it.
    fn left_by(&self, zone: &Zone, survey: &Survey, options: &PanelOptions) -> f64 {
        places(zone.along)
            .map(|s| match zone.reach {
                Reach::Flange => (self.face.at(s) - zone.outermost).max(0.0),
                Reach::Face => {
                    let most = self.face_room(survey, s, options);
                    let cut = zone.cut_height.max(over_flange(options)).min(most);
                    most + BAND_WALLS * options.wall_mm - cut
                }
            })
            .fold(f64::INFINITY, f64::min)
    }

    /// Corners of a cut at one station, from the inner one under the tray anticlockwise.
    fn cut_outline(
        &self,
        zone: &Zone,
        s: f64,
        survey: &Survey,
        options: &PanelOptions,
    ) -> [Point2; 4] {
        let tray = |s: f64, x: f64| tray_height(&survey.tray, s, x);
        let over_flange = over_flange(options);
        let inner = self.tip.at(s) - PAST_TIP_MM;
        let (outer, height) = match zone.reach {
            Reach::Face => {
                let height = over_flange.max(zone.cut_height);
                (self.outmost.at(s) + PAST_FACE_MM, height)
            }
            Reach::Flange => {
                let outer = zone
                    .outermost
                    .min(self.inside.at(s) - BESIDE_FACE_MM)
                    .max(inner + 0.5 * PAST_TIP_MM);
                (outer, over_flange)
            }
        };
        // A band of the face stays over the cut, and the lip above the flange is not touched.
        let most = match zone.reach {
            Reach::Face => self.face_room(survey, s, options),
            Reach::Flange => self.top.at(s) - tray(s, self.face.at(s)),
        };
        let height = height.min(most.max(1.3 * options.wall_mm));
        let (z_in, z_out) = (tray(s, inner), tray(s, outer));
        [
            Point2::new(inner, z_in - UNDER_TRAY_MM),
            Point2::new(outer, z_out - UNDER_TRAY_MM),
            Point2::new(outer, z_out + height),
            Point2::new(inner, z_in + height),
        ]
    }

    /// Height of the tray under the outside of the face (mm above the shop plane).
    pub fn foot_height(&self, survey: &Survey, s: f64) -> f64 {
        tray_height(&survey.tray, s, self.face.at(s))
    }

    /// Height a cut through the face may have, so that a band of it stays (mm).
    pub fn face_room(&self, survey: &Survey, s: f64, options: &PanelOptions) -> f64 {
        self.top.at(s) - self.foot_height(survey, s) - BAND_WALLS * options.wall_mm
    }
}

/// Arc lengths to look at or cut at along a stretch.
pub(super) fn places([from, to]: [f64; 2]) -> impl Iterator<Item = f64> {
    let steps = ((to - from) / CUTTER_STEP_MM).ceil().clamp(1.0, 1e5) as usize;
    (0..=steps).map(move |i| from + (to - from) * i as f64 / steps as f64)
}

/// Height of a cut that takes the flange and its fillet (mm).
pub(super) fn over_flange(options: &PanelOptions) -> f64 {
    1.6 * options.wall_mm + options.fillet_mm + 1.0
}

/// The body to take away for one cut.
fn cutter(
    zone: &Zone,
    survey: &Survey,
    guide: &Guide,
    options: &PanelOptions,
) -> Result<Solid, PanelFault> {
    let outlines: Vec<(f64, [Point2; 4])> = places(zone.along)
        .map(|s| (s, guide.cut_outline(zone, s, survey, options)))
        .collect();
    let placed = outlines.iter().map(|(s, corners)| (*s, corners.as_slice()));
    let loft = Loft::new(&survey.spine, placed, &[[0, 1, 2], [0, 2, 3]]);
    Solid::new(loft.mesh().clone()).map_err(|e| PanelFault::Relief {
        station_mm: 0.5 * (zone.along[0] + zone.along[1]),
        reason: e.to_string(),
    })
}

#[cfg(test)]
#[path = "relief_tests.rs"]
mod tests;
