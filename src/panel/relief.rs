//! Cutting the panel free of what stands on the tray or is named as a keep-out.

use super::foot::tray_height;
use super::keep_out::{Access, Done, KeepOut, KeptOut};
use super::opening::{Through, through};
use super::outboard::InTheWay;
use super::profile::Profile;
use super::section::Corners;
use super::stance::Stance;
use super::{FootKind, PanelFault, PanelOptions, Relief, Section, loft::Loft};
use crate::diag::Finding;
use crate::gap::Survey;
use crate::math::Point2;
use crate::mesh::{Solid, boolean};

/// What stands no higher than this above the tray is left to the glue line (mm).
pub const LEAST_HEIGHT_MM: f64 = 1.5;
/// A tooth of flange narrower than this between two cuts, or a cut and an end, goes as well (mm).
const LEAST_TOOTH_MM: f64 = 6.0;
/// The cutter reaches this far past the flange's tip and under the tray (mm).
const PAST_TIP_MM: f64 = 2.0;
const UNDER_TRAY_MM: f64 = 3.0;
/// The cutter reaches this far past the outside of the face where the face itself is cut (mm).
pub(super) const PAST_FACE_MM: f64 = 2.0;
/// Room between a cut in the flange and the inside of the face, which stays whole (mm).
const BESIDE_FACE_MM: f64 = 0.3;
/// Least band of face left over a cut through its foot, in walls.
pub(super) const BAND_WALLS: f64 = 2.0;
/// A cut stays this far below the inside of the knee (mm).
const TOP_ROOM_MM: f64 = 1.0;
/// Length between the cutter's outlines (mm).
const CUTTER_STEP_MM: f64 = 3.0;

/// How far into the panel something stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Reach {
    /// Inboard of the face: only the flange has to give way.
    Flange,
    /// Under the face.
    Face,
}

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

/// One cut: where it lies and how far out it goes.
#[derive(Debug, Clone, PartialEq)]
struct Zone {
    /// First and last arc length, with room (mm).
    along: [f64; 2],
    /// Outermost offset to be free, with room (mm).
    outermost: f64,
    /// Height of what stands there, and of the cut where the face is cut (mm).
    height: f64,
    cut_height: f64,
    reach: Reach,
    named: Vec<usize>,
    word: String,
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
                word,
            });
        }
        freed.kept_out.push(kept);
    }
    let mut found = Vec::new();
    for block in &blocks {
        match guide.judge(block, survey, ends, options, findings) {
            Verdict::Cut(zone) => found.push(zone),
            Verdict::Blocked => {
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
        findings.push(zone.finding());
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
            named: Vec::new(),
            word: block.word.clone(),
        };
        findings.push(zone.finding());
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

fn opened(kept: &KeptOut, word: &str) -> Finding {
    let [from, to] = kept.along;
    let what = match kept.done {
        Done::OpenAtTop => format!("{word} comes out so high that the face is cut up to its top"),
        _ => format!("{word} comes out through an opening in the face"),
    };
    let finding = match kept.done {
        Done::OpenAtTop => Finding::warning(
            "face-opened",
            what,
            "the panel is weak there: stiffen it on the hidden side, or lead it out lower",
        ),
        _ => Finding::note("face-opened", what),
    };
    finding.at(0.5 * (from + to)).size(to - from)
}

fn blocked(word: &str, middle: f64, height: f64, options: &PanelOptions) -> Finding {
    Finding::warning(
        "face-blocked",
        format!(
            "{word} {height:.1} mm high stands where the face goes; a cut over it would leave less than {:.1} mm of face above, so the panel is not cut for it",
            BAND_WALLS * options.wall_mm
        ),
        "move it, or end the panel before it; if nothing stands there, clear the scan and run again",
    )
    .at(middle)
    .size(height)
}

/// A warning where the panel hides what must be got at from outside.
fn covered(out: &KeepOut, kept: &KeptOut, guide: &Guide) -> Option<Finding> {
    let middle = 0.5 * (kept.along[0] + kept.along[1]);
    let behind = out.across_mm < guide.face.at(middle);
    let shut = matches!(kept.done, Done::Clear | Done::FlangeNotched | Done::NotCut);
    (out.kind.is_used_from_outside() && behind && shut).then(|| {
        Finding::warning(
            "access-covered",
            format!("the panel's face hides {} \"{}\"", out.kind.name(), out.name),
            "give that keep-out access = \"full\" to open the face there, or use it with the panel off",
        )
        .at(middle)
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
        let mut face_room = f64::INFINITY;
        for s in places(along) {
            let (tip, inside, face) = (self.tip.at(s), self.inside.at(s), self.face.at(s));
            let in_band = outer + room > tip;
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
            findings.push(blocked(&block.word, middle, block.height, options));
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
            named: block.named.iter().map(|(index, _)| *index).collect(),
            word: block.word.clone(),
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

    /// Height of the tray under the outside of the face (mm above the shop plane).
    pub fn foot_height(&self, survey: &Survey, s: f64) -> f64 {
        tray_height(&survey.tray, s, self.face.at(s))
    }

    /// Height a cut through the face may have, so that a band of it stays (mm).
    pub fn face_room(&self, survey: &Survey, s: f64, options: &PanelOptions) -> f64 {
        self.top.at(s) - self.foot_height(survey, s) - BAND_WALLS * options.wall_mm
    }
}

impl Zone {
    fn finding(&self) -> Finding {
        let [from, to] = self.along;
        match self.reach {
            Reach::Face => Finding::warning(
                "face-notched",
                format!(
                    "{} {:.1} mm high stands under the face; its foot is cut out",
                    self.word, self.height
                ),
                "a hole shows in the face there: move what stands there, if it can be moved",
            ),
            Reach::Flange => Finding::note(
                "flange-relieved",
                format!(
                    "over {:.0} mm of its length the flange is cut free of {} {:.1} mm high",
                    to - from,
                    self.word,
                    self.height
                ),
            ),
        }
        .at(0.5 * (from + to))
        .size(to - from)
    }
}

/// Arc lengths to look at or cut at along a stretch.
pub(super) fn places([from, to]: [f64; 2]) -> impl Iterator<Item = f64> {
    let steps = ((to - from) / CUTTER_STEP_MM).ceil().clamp(1.0, 1e5) as usize;
    (0..=steps).map(move |i| from + (to - from) * i as f64 / steps as f64)
}

/// Joins cuts that overlap or would leave a narrow tooth between them.
fn merge(mut zones: Vec<Zone>) -> Vec<Zone> {
    zones.sort_by(|a, b| a.along[0].total_cmp(&b.along[0]));
    let mut merged: Vec<Zone> = Vec::new();
    for zone in zones {
        match merged.last_mut() {
            Some(last) if zone.along[0] < last.along[1] + LEAST_TOOTH_MM => {
                last.along[1] = last.along[1].max(zone.along[1]);
                last.outermost = last.outermost.max(zone.outermost);
                last.height = last.height.max(zone.height);
                last.cut_height = last.cut_height.max(zone.cut_height);
                last.reach = last.reach.max(zone.reach);
                // A name says more than that something was seen there.
                last.word = match (last.named.is_empty(), zone.named.is_empty()) {
                    (_, true) => std::mem::take(&mut last.word),
                    (true, false) => zone.word,
                    (false, false) => format!("{} and {}", last.word, zone.word),
                };
                last.named.extend(zone.named);
            }
            _ => merged.push(zone),
        }
    }
    merged
}

/// A cut that nearly reaches an end of the panel goes through it.
fn to_ends(mut zone: Zone, ends: [f64; 2]) -> Zone {
    if zone.along[0] < ends[0] + LEAST_TOOTH_MM {
        zone.along[0] = ends[0] - PAST_TIP_MM;
    }
    if zone.along[1] > ends[1] - LEAST_TOOTH_MM {
        zone.along[1] = ends[1] + PAST_TIP_MM;
    }
    zone
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
    let tray = |s: f64, x: f64| tray_height(&survey.tray, s, x);
    let over_flange = over_flange(options);
    let outline = |s: f64| {
        let inner = guide.tip.at(s) - PAST_TIP_MM;
        let (outer, height) = match zone.reach {
            Reach::Face => {
                let height = over_flange.max(zone.cut_height);
                (guide.outmost.at(s) + PAST_FACE_MM, height)
            }
            Reach::Flange => {
                let outer = zone
                    .outermost
                    .min(guide.inside.at(s) - BESIDE_FACE_MM)
                    .max(inner + 0.5 * PAST_TIP_MM);
                (outer, over_flange)
            }
        };
        // A band of the face stays over the cut, and the lip above the flange is not touched.
        let most = match zone.reach {
            Reach::Face => guide.face_room(survey, s, options),
            Reach::Flange => guide.top.at(s) - tray(s, guide.face.at(s)),
        };
        let height = height.min(most.max(1.3 * options.wall_mm));
        let (z_in, z_out) = (tray(s, inner), tray(s, outer));
        [
            Point2::new(inner, z_in - UNDER_TRAY_MM),
            Point2::new(outer, z_out - UNDER_TRAY_MM),
            Point2::new(outer, z_out + height),
            Point2::new(inner, z_in + height),
        ]
    };
    let outlines: Vec<(f64, [Point2; 4])> = places(zone.along).map(|s| (s, outline(s))).collect();
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
