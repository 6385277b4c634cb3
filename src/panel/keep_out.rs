//! What the panel must leave free, as the maker names it.

use super::PanelFault;
use crate::gap::Survey;
use crate::math::Point3;
use nalgebra::Matrix4;

/// What a keep-out is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum KeepOutKind {
    /// A fixing of the tray: it must stay within reach of a tool.
    TrayFixing,
    /// Where water leaves.
    Drain,
    /// Where the vehicle is lifted.
    JackingPoint,
    /// Where it is towed.
    TowingPoint,
    /// A cable or hose.
    Cable,
    /// An air duct.
    Duct,
    /// Anything else.
    #[default]
    Other,
}

impl KeepOutKind {
    /// Its name in a sentence.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::TrayFixing => "tray fixing",
            Self::Drain => "drain",
            Self::JackingPoint => "jacking point",
            Self::TowingPoint => "towing point",
            Self::Cable => "cable",
            Self::Duct => "duct",
            Self::Other => "keep-out",
        }
    }

    /// Whether someone must get at it from outside.
    pub(super) fn is_used_from_outside(self) -> bool {
        matches!(self, Self::JackingPoint | Self::TowingPoint)
    }

    /// Room round it where the job does not say (mm). Round a tray's fixing a thin-walled socket must
    /// pass (common practice, no source).
    fn usual_margin(self) -> f64 {
        match self {
            Self::TrayFixing => 5.0,
            _ => 3.0,
        }
    }
}

/// How much of the face gives way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Access {
    /// As much as the thing needs.
    #[default]
    Around,
    /// The whole height that can go, so that it can be got at from outside.
    Full,
}

/// Something to be left free. Lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct KeepOut {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: KeepOutKind,
    /// Arc length of its middle along the spine, from the maker's left end.
    pub at_mm: Option<f64>,
    /// Outward offset of its middle from the spine; negative inboard.
    pub across_mm: f64,
    /// In place of the two: a point of it in the tray's scan, in that file's units and axes.
    pub point: Option<[f64; 3]>,
    /// Height of its middle above the tray, for something that runs out through the face; `None` for
    /// something that stands on the tray.
    pub up_mm: Option<f64>,
    /// Diameter, where it is round.
    pub size_mm: Option<f64>,
    /// Length along the gap, where it is not.
    pub length_mm: Option<f64>,
    /// Width across the gap, where it is not round.
    pub width_mm: Option<f64>,
    /// Height above the tray, or of the opening itself where it runs through the face.
    pub height_mm: f64,
    /// Room round it; `None` for what its kind usually takes.
    pub margin_mm: Option<f64>,
    /// How much of the face gives way.
    pub access: Access,
}

impl Default for KeepOut {
    fn default() -> Self {
        Self {
            name: String::new(),
            kind: KeepOutKind::Other,
            at_mm: None,
            across_mm: 0.0,
            point: None,
            up_mm: None,
            size_mm: None,
            length_mm: None,
            width_mm: None,
            height_mm: 15.0,
            margin_mm: None,
            access: Access::Around,
        }
    }
}

impl KeepOut {
    /// The same keep-out with its place along and across the gap, where it was picked as a point.
    /// `tray_to_shop` takes the tray's file to the shop frame.
    #[must_use]
    pub fn placed(mut self, tray_to_shop: &Matrix4<f64>, survey: &Survey) -> Self {
        if let (None, Some([x, y, z])) = (self.at_mm, self.point) {
            let at = tray_to_shop.transform_point(&Point3::new(x, y, z));
            let (s, across) = survey.spine.locate(at.xy());
            self.at_mm = Some(s);
            self.across_mm = across;
        }
        self
    }

    /// Room round it (mm).
    #[must_use]
    pub fn margin(&self) -> f64 {
        self.margin_mm.unwrap_or(self.kind.usual_margin())
    }

    /// Where it lies.
    ///
    /// # Errors
    /// [`PanelFault::KeepOut`] where its place or size is not known, or not a number.
    pub(super) fn place(&self) -> Result<Placed, PanelFault> {
        let fault = |what: &'static str| PanelFault::KeepOut {
            name: self.name.clone(),
            what,
        };
        let s = self
            .at_mm
            .ok_or_else(|| fault("says neither at_mm nor point"))?;
        let [length, width] = match (self.size_mm, self.length_mm, self.width_mm) {
            (Some(size), None, None) => [size; 2],
            (None, Some(length), Some(width)) => [length, width],
            (None, Some(length), None) if self.up_mm.is_some() => [length; 2],
            _ => {
                return Err(fault("needs either size_mm or both length_mm and width_mm"));
            }
        };
        let all = [
            s,
            self.across_mm,
            length,
            width,
            self.height_mm,
            self.margin(),
            self.up_mm.unwrap_or(0.0),
        ];
        if !all.iter().all(|v| v.is_finite()) || length <= 0.0 || width <= 0.0 {
            return Err(fault("has a length that is no number or not above zero"));
        }
        Ok(Placed {
            along: [s - 0.5 * length, s + 0.5 * length],
            across: [self.across_mm - 0.5 * width, self.across_mm + 0.5 * width],
            is_round: self.size_mm.is_some(),
        })
    }
}

/// Where a keep-out lies, without its margin (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placed {
    /// First and last arc length.
    pub along: [f64; 2],
    /// Innermost and outermost offset from the spine.
    pub across: [f64; 2],
    /// Whether it is round.
    pub is_round: bool,
}

/// What was done about a keep-out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Done {
    /// Nothing: it does not meet the panel.
    Clear,
    /// The flange is notched, open inboard.
    FlangeNotched,
    /// The foot of the face is cut out as well.
    FaceNotched,
    /// A hole goes through the face.
    Opened,
    /// A cut goes from there to the face's top.
    OpenAtTop,
    /// Nothing could be cut without parting the panel.
    NotCut,
}

/// A keep-out and what was done about it.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptOut {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: KeepOutKind,
    /// What was done.
    pub done: Done,
    /// First and last arc length, with its margin (mm).
    pub along: [f64; 2],
    /// Least that is left (mm): of the flange's depth beside a notch in it, of the face's height over or
    /// under an opening; `None` where nothing was cut.
    pub left_mm: Option<f64>,
}
