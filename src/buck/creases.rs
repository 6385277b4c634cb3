//! What there is to say about pieces of cloth that do not lie down, or only just.

use super::cloth::{ClothSet, SHEAR_SHOWS, direction};
use super::layup::CutOptions;
use crate::diag::Finding;

/// The worst of every kind.
pub fn judge(sets: &[ClothSet], options: &CutOptions) -> Vec<Finding> {
    let mut found = Vec::new();
    let all = || {
        sets.iter()
            .flat_map(|set| set.pieces.iter().map(move |piece| (set, piece)))
    };
    let name = |set: &ClothSet| {
        let numbers: Vec<String> = set.plies.iter().map(usize::to_string).collect();
        format!("ply {}", numbers.join(" and "))
    };
    if let Some((set, [from, to])) = (sets.iter()).find_map(|set| Some((set, *set.bare.first()?))) {
        found.push(
            Finding::warning(
                "cloth-cannot-be-laid-out",
                format!(
                    "there is no pattern for {} between {from:.0} and {to:.0} mm: the surface folds over as it is laid flat",
                    name(set)
                ),
                "take a pattern there from the part with paper, and cut darts",
            )
            .at(0.5 * (from + to)),
        );
    }
    if let Some((set, piece)) = all()
        .filter(|(_, piece)| !piece.lies_down())
        .max_by(|a, b| a.1.worst_stretch().total_cmp(&b.1.worst_stretch()))
    {
        found.push(
            Finding::warning(
                "cloth-does-not-lie",
                format!(
                    "{} stretches by {:.1} % along its fibres and shears by {:.0} degrees between {:.0} and {:.0} mm even in short pieces",
                    name(set),
                    100.0 * piece.worst_stretch(),
                    piece.shear.0.to_degrees(),
                    piece.along[0],
                    piece.along[1]
                ),
                "cut darts there and lap them, or use a looser weave or mat",
            )
            .at(0.5 * (piece.along[0] + piece.along[1])),
        );
    }
    if let Some((set, piece)) = all()
        .filter(|(_, piece)| piece.lies_down() && piece.shear.0 > SHEAR_SHOWS)
        .max_by(|a, b| a.1.shear.0.total_cmp(&b.1.shear.0))
    {
        found.push(
            Finding::warning(
                "cloth-shears",
                format!(
                    "{} shears by {:.0} degrees on its way round the bend",
                    name(set),
                    piece.shear.0.to_degrees()
                ),
                "work it down from the middle outward, and cut a dart if it creases; it is thicker there",
            )
            .at(piece.shear.1),
        );
    }
    if let Some((set, piece)) = all()
        .map(|(set, piece)| ((set, piece), piece.across(direction(&set.ply))))
        .filter(|(_, across)| *across > options.roll_mm)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(at, _)| at)
    {
        let across = piece.across(direction(&set.ply));
        found.push(
            Finding::warning(
                "cloth-wider-than-roll",
                format!(
                    "a piece of {} is {across:.0} mm across its warp, and the roll is {:.0} mm wide",
                    name(set),
                    options.roll_mm
                ),
                "use a wider roll, or turn the ply",
            )
            .at(piece.along[0])
            .size(across),
        );
    }
    found
}
