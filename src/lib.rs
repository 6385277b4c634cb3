//! Gapwright: from two phone scans to a closeout panel that fits the gap between a vehicle's body and its
//! undertray.
//!
//! # Stages
//!
//! Data flows one way, and every stage hands the next one plain value with what it found on the way:
//!
//! | stage | gives | answers |
//! |---|---|---|
//! | [`scan`] | [`scan::Scene`]: both scans in the shop frame | can I trust this scan? |
//! | [`gap`] | [`gap::Survey`]: edge, spine, the gap at every station and how sure it is | what is the gap? |
//! | [`panel`] | [`panel::Panel`]: a closed solid, its sections, its measured wall | what shape closes it? |
//! | [`buck`] | [`buck::Buck`], [`buck::Laminate`]: what the part is laid up on, the cloth over it | what do I lay up? |
//! | [`split`] | [`split::Segments`]: closed solids, joints, how they lie on the bed | can I print it? |
//! | [`output`] | files, written whole or not at all | what do I take to the bench? |
//!
//! [`job`] reads what the maker decided, [`pipeline`] holds the stages in their order, [`cli`] is the
//! command line and the only part that prints. Below them lie [`mesh`], which knows no unit, frame or
//! file, and [`math`], which knows no mesh.
//!
//! ```
//! use gapwright::split::{HiddenFace, Workpiece};
//! use gapwright::{gap, job::Job, panel, progress::Progress, scan, split};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let job = Job::read("sample-meshes/nose/job.toml".as_ref()).map_err(|all| format!("{all:?}"))?;
//! let watch = Progress::silent();
//! let scene = scan::read_scene(&job.scan, &watch)?;
//! let survey = gap::survey(&scene, &job.gap, &watch)?;
//! for finding in &survey.findings {
//!     println!("{finding}");
//! }
//! let panel = panel::design(&survey, &job.panel, &watch)?;
//! let hidden = panel.sections.iter().map(|section| HiddenFace {
//!     s: section.s,
//!     face: section.hidden_face,
//! });
//! let work = Workpiece {
//!     name: &job.name,
//!     front: None,
//!     solid: &panel.solid,
//!     spine: &survey.spine,
//!     hidden: hidden.collect(),
//!     label_on: Vec::new(),
//!     keep_clear: Vec::new(),
//!     cut_clear: Vec::new(),
//!     label_clear: Vec::new(),
//! };
//! let parts = split::split(&work, &job.printer, &watch)?;
//! assert_eq!(parts.joints.len() + 1, parts.segments.len());
//! # Ok(())
//! # }
//! ```
//!
//! The same, with the files a run writes: [`pipeline::make`], then [`output::write_all`].
//!
//! # Frames and units
//!
//! Inside everything is in millimetres and radians, f64, right-handed. The **scan frame** is what the file
//! says; nothing after [`scan`] sees it. In the **shop frame** z is the tray's normal and points up to the
//! body, z = 0 on the tray's fitted plane; x points outward across the gap, toward a maker who stands
//! outside and faces the vehicle; y runs along the gap to that maker's right. For a nose that is x forward,
//! y left, z up, as in ISO 8855.
//!
//! # Words
//!
//! - **Body**, **undertray** (or tray): what lies above and below the gap. The body's **lower edge** is the
//!   lowest point of its true skin, **cut** off or **rolled** inboard.
//! - **Spine**: a fair curve on the tray under the edge. A **station** is a plane square to it at an arc
//!   length. A **section** is what a station plane cuts, seen along the spine, outside to the right.
//! - **Closeout panel**: what closes the gap. Its **flange** lies on the tray, its **face** stands up to
//!   the edge, its top is **tucked** behind a cut edge as a **lip**, or **butted** under a rolled one with
//!   room for a seal.
//! - **Segment**: a piece of the panel that fits the printer. A **tab** on its hidden side laps the next.
//!
//! # Faults and findings
//!
//! A [`diag::Problem`] stops the work and says what is wrong, where, and what to do. A [`diag::Finding`]
//! travels with the stage's value to the report and the sheet. `sigma` is always a measured standard
//! uncertainty, `tolerance` what a maker accepts, `epsilon` rounding.

pub mod buck;
pub mod cli;
pub mod diag;
pub mod gap;
pub mod job;
pub mod material;
pub mod math;
pub mod mesh;
pub mod output;
pub mod panel;
pub mod pipeline;
pub mod progress;
pub mod scan;
pub mod split;
