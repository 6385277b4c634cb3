//! The unit of a file that does not name it, guessed from its size.

use super::Unit;

/// Longest side of the box round a scan of a vehicle's edge or tray (m): from a fairing's tip to a long
/// motorhome's side. Common practice, no source.
const SHORTEST_M: f64 = 0.3;
const LONGEST_M: f64 = 8.0;

/// A guessed unit and what else it could be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitGuess {
    /// The likeliest unit.
    pub unit: Unit,
    /// Others that give a possible size as well; empty where the guess is without rival.
    pub others: Vec<Unit>,
}

/// Guesses the unit from the sides of the box round the scan, in file units.
///
/// Every unit is possible that makes the longest side 0.3 to 8 m. Of several, metres go first and
/// millimetres second, because that is what phones and converters write; then centimetres, then inches.
/// `None` where no unit fits, which also means that the scan holds something else or far more.
#[must_use]
pub fn guess_unit(size_in_file_units: [f64; 3]) -> Option<UnitGuess> {
    let longest = size_in_file_units.into_iter().fold(0.0, f64::max);
    let mut possible = [Unit::Metre, Unit::Millimetre, Unit::Centimetre, Unit::Inch]
        .into_iter()
        .filter(|u| (SHORTEST_M..=LONGEST_M).contains(&(longest * u.millimetres() / 1000.0)));
    Some(UnitGuess {
        unit: possible.next()?,
        others: possible.collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use Unit::{Centimetre, Inch, Metre, Millimetre};

    fn guess(longest: f64) -> Option<(Unit, Vec<Unit>)> {
        guess_unit([longest, 0.4 * longest, 0.1 * longest]).map(|g| (g.unit, g.others))
    }

    #[test]
    fn a_nose_two_metres_wide_is_told_in_each_unit() {
        assert_eq!(guess(2.0), Some((Metre, vec![])));
        assert_eq!(guess(2000.0), Some((Millimetre, vec![])));
        // 200 could be 2 m in centimetres or 5.08 m in inches (25.4 mm exactly).
        assert_eq!(guess(200.0), Some((Centimetre, vec![Inch])));
        assert_eq!(guess(2000.0 / 25.4), Some((Centimetre, vec![Inch])));
    }

    #[test]
    fn rivals_are_named() {
        assert_eq!(guess(400.0), Some((Millimetre, vec![Centimetre])));
        assert_eq!(guess(20.0), Some((Inch, vec![])));
    }

    #[test]
    fn nothing_fits_a_thimble_a_hall_or_no_size_at_all() {
        for longest in [0.0, 0.2, 10.0, 9000.0, f64::NAN, f64::INFINITY] {
            assert_eq!(guess(longest), None, "{longest}");
        }
    }
}
