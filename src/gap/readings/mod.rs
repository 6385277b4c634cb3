//! Field checks: which lengths and gaps to read on the vehicle, what the survey says they should be, and
//! what the readings say about the survey.

mod choose;
mod correction;
mod fit;
mod judge;
mod local;
mod ruler;
mod shims;

pub use choose::{choose_checks, find_worst, fitted_checks};
pub use correction::Correction;
pub use judge::{Held, Judgement, ReadingFault, Test, Verdict, judge, scale_check};
pub use ruler::{Place, Ruler};
pub use shims::{Shim, ShimList, plan_shims};

use super::Survey;
use sha2::{Digest, Sha256};

/// What is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckKind {
    /// A length along the edge, with a soft tape.
    Along,
    /// A straight length between two places of the edge.
    Straight,
    /// The gap, tray to the body's lower edge, square to the tray.
    Gap,
    /// What is left between the fitted panel's top and the body's edge.
    Fitted,
}

/// What it is read with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Instrument {
    /// A tape of class II.
    Tape,
    /// A caliper.
    Caliper,
    /// A stepped gauge or a rule.
    Gauge,
}

impl Instrument {
    /// Standard uncertainty (mm) of a length of `length` mm read with it.
    ///
    /// A class II tape may be off by 0.3 mm and 0.2 mm for each metre begun (OIML R 35-1), which as a
    /// rectangular distribution is divided by the square root of three (GUM 4.3.7), and so are the half
    /// millimetre it is read to. For the others: common practice, no source, the hand that holds
    /// them included.
    #[must_use]
    pub fn sigma(self, length: f64) -> f64 {
        const READ_TO: f64 = 0.5;
        match self {
            Self::Tape => {
                let metres = (length.abs() / 1000.0).ceil().max(1.0);
                (0.3 + 0.2 * metres).hypot(READ_TO) / 3f64.sqrt()
            }
            Self::Caliper => 0.2,
            Self::Gauge => 0.5,
        }
    }
}

/// One thing to read on the vehicle. Distances are millimetres along the body's edge from its left end,
/// as seen by a maker who faces the vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Its short name: L1, L2 for lengths, G1, G2 for gaps, F1, F2 for what is left after fitting.
    pub name: String,
    /// What is read.
    pub kind: CheckKind,
    /// What with.
    pub instrument: Instrument,
    /// Where, or where the length begins.
    pub at: f64,
    /// Where a length ends.
    pub to: Option<f64>,
    /// Arc length of `at` along the spine (mm), for the drawings.
    pub s: f64,
    /// What the survey says it should be (mm).
    pub predicted: f64,
    /// How far a reading may be from that (mm): two standard uncertainties, survey and instrument together.
    pub tolerance: f64,
}

/// A reading as taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Its name, for messages.
    pub name: String,
    /// What was read.
    pub kind: CheckKind,
    /// What with.
    pub instrument: Instrument,
    /// Where along the edge, or where the length begins (mm).
    pub at: f64,
    /// Where a length ends (mm).
    pub to: Option<f64>,
    /// What the file says it should be (mm); only [`CheckKind::Fitted`] goes by it, the survey tells the
    /// others.
    pub predicted: Option<f64>,
    /// The reading (mm).
    pub value: f64,
}

/// Doubt about where along the edge a gap is read (mm, standard): soft tape and eye. Common practice, no
/// source.
const PLACE: f64 = 2.0;
/// Doubt about each end of a tape on the vehicle (mm, standard). Common practice, no source.
const END: f64 = 1.0;
/// A hand-held scan bends as a whole: its heading drifts by about a degree from end to end (rad,
/// standard), which moves the ends of a bowed edge apart by that much of the bow. Measured on simulated
/// scans of a nose and a tail, 1.5 and 1.0 mm of pose drift: 3 and 2 % of the bow. A straight edge hardly
/// notices, and a soft tape along the edge not at all.
const BENDING: f64 = 0.02;

/// What the survey says about a reading.
#[derive(Debug, Clone, Copy)]
struct Prediction {
    /// The value (mm).
    value: f64,
    /// Standard uncertainty of the difference, apart from that of the edge's ends (mm).
    own: f64,
    /// The part of that which is the same for every gap (mm).
    common: f64,
    /// What the doubt about the edge's left and right end adds, with its sign (mm, standard): readings that
    /// begin at the same end share it.
    ends: [f64; 2],
}

impl Prediction {
    /// All of the uncertainty (mm, standard).
    fn sigma(&self) -> f64 {
        self.own.hypot(self.ends[0]).hypot(self.ends[1])
    }
}

fn predict(ruler: &Ruler<'_>, kind: CheckKind, with: Instrument, at: f64, to: f64) -> Prediction {
    match kind {
        CheckKind::Along | CheckKind::Straight => {
            let length = |at: f64, to: f64| match kind {
                CheckKind::Along => (to - at).abs(),
                _ => ruler.chord(at, to),
            };
            let value = length(at, to);
            let bend = match kind {
                CheckKind::Straight => BENDING * ruler.bow(at, to),
                _ => 0.0,
            };
            // Places are shares of the edge: where an end moves in, they all move with it, the other end
            // stays.
            let whole = ruler.length();
            let step = 0.01 * whole;
            let shortened = |place: &dyn Fn(f64) -> f64| {
                (value - length(place(at), place(to))) / step * ruler.end()
            };
            Prediction {
                value,
                own: with.sigma(value).hypot(END * 2f64.sqrt()).hypot(bend),
                common: 0.0,
                ends: [
                    shortened(&|p| p + step * (1.0 - p / whole)),
                    shortened(&|p| p - step * p / whole),
                ],
            }
        }
        CheckKind::Gap | CheckKind::Fitted => {
            let place = ruler.at(at);
            let steep = place.slope * PLACE;
            Prediction {
                value: place.gap,
                own: place.sigma.hypot(with.sigma(place.gap)).hypot(steep),
                common: place.common.min(place.sigma),
                ends: [0.0; 2],
            }
        }
    }
}

/// A short name for a survey: the first twelve hexadecimal digits of a SHA-256 over those of the scans
/// and the gap at every station to a thousandth of a millimetre.
#[must_use]
pub fn survey_id(survey: &Survey, inputs: [&str; 2]) -> String {
    let mut hash = Sha256::new();
    for input in inputs {
        hash.update(input);
        hash.update("\n");
    }
    for st in &survey.stations {
        for value in [st.s, st.edge.x, st.edge.y, st.edge.z, st.gap] {
            hash.update(((value * 1e3).round() as i64).to_le_bytes());
        }
    }
    let digest = hash.finalize();
    digest.iter().take(6).map(|b| format!("{b:02x}")).collect()
}

#[cfg(test)]
mod tests;
