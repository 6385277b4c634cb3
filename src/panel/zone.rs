//! One cut in the panel, with those that come too close to it.

use super::relief::PAST_TIP_MM;
use crate::diag::Finding;

/// A tooth of flange narrower than this between two cuts, or a cut and an end, goes as well (mm).
const LEAST_TOOTH_MM: f64 = 6.0;

/// How far into the panel something stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Reach {
    /// Inboard of the face: only the flange has to give way.
    Flange,
    /// Under the face.
    Face,
}

/// One cut: where it lies and how far out it goes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Zone {
    /// First and last arc length, with room (mm).
    pub along: [f64; 2],
    /// Outermost offset to be free, with room (mm).
    pub outermost: f64,
    /// Height of what stands there, and of the cut where the face is cut (mm).
    pub height: f64,
    pub cut_height: f64,
    pub reach: Reach,
    /// Whether it stands inboard of the face, which is cut to get at it.
    pub behind: bool,
    pub named: Vec<usize>,
    pub word: String,
}

impl Zone {
    /// `left` is what the cut leaves of the face's height (mm).
    pub(super) fn finding(&self, left: f64) -> Finding {
        let [from, to] = self.along;
        match self.reach {
            Reach::Face => Finding::warning(
                "face-notched",
                if self.behind {
                    format!(
                        "{} {:.1} mm high stands behind the face, which is cut open in front of it but for a band {left:.1} mm high at its top",
                        self.word, self.height
                    )
                } else {
                    format!(
                        "{} {:.1} mm high stands under the face; its foot is cut out, and {left:.1} mm of its height stay above",
                        self.word, self.height
                    )
                },
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

/// Joins cuts that overlap or would leave a narrow tooth between them.
pub(super) fn merge(mut zones: Vec<Zone>) -> Vec<Zone> {
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
                last.behind &= zone.behind;
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
pub(super) fn to_ends(mut zone: Zone, ends: [f64; 2]) -> Zone {
    if zone.along[0] < ends[0] + LEAST_TOOTH_MM {
        zone.along[0] = ends[0] - PAST_TIP_MM;
    }
    if zone.along[1] > ends[1] - LEAST_TOOTH_MM {
        zone.along[1] = ends[1] + PAST_TIP_MM;
    }
    zone
}
