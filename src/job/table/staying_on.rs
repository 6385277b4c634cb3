//! `[air]`, `[heat]` and `[[heat_source]]`: what the panel has to stand.

use super::{Clash, List, Table};
use crate::job::entry::Entry;
use crate::material::Backing;
use crate::panel::proof::{AirOptions, HeatOptions, HeatSource};

/// Temperatures a vehicle's outside may have (degrees C).
const WEATHER_C: [f64; 2] = [-60.0, 150.0];

pub(super) fn air(o: &mut AirOptions) -> Table<'_> {
    Table {
        name: "air",
        says: "What the air does to the panel, for an estimate.",
        entries: vec![
            Entry::number(
                "speed_kmh",
                &mut o.speed_kmh,
                ([0.0, 500.0], "km/h"),
                "The fastest that the vehicle goes through the air.",
            ),
            Entry::number(
                "pressure_coefficient",
                &mut o.pressure_coefficient,
                ([-5.0, 5.0], "times the dynamic pressure"),
                "Pressure outside less that behind the panel; negative pulls outward.",
            ),
            Entry::length(
                "limit_mm",
                &mut o.limit_mm,
                [0.1, 50.0],
                "How far the panel may bend.",
            ),
        ],
    }
}

pub(super) fn heat(o: &mut HeatOptions) -> Table<'_> {
    Table {
        name: "heat",
        says: "What heat does to the panel and to what it is fixed to.",
        entries: vec![
            Entry::choice(
                "fixed_to",
                &mut o.fixed_to,
                &Backing::NAMES,
                "What the panel is fixed to.",
            ),
            Entry::number(
                "fitted_c",
                &mut o.fitted_c,
                (WEATHER_C, "\u{b0}C"),
                "How warm it is when panel and fixings are set.",
            ),
            Entry::number(
                "cold_c",
                &mut o.cold_c,
                (WEATHER_C, "\u{b0}C"),
                "The coldest that both get.",
            ),
            Entry::number(
                "hot_c",
                &mut o.hot_c,
                (WEATHER_C, "\u{b0}C"),
                "The hottest that the panel gets; a dark one in the sun about 70.",
            ),
            Entry::number(
                "fixed_to_hot_c",
                &mut o.fixed_to_hot_c,
                (WEATHER_C, "\u{b0}C"),
                "How warm what it is fixed to, and the air there, are at that time.",
            ),
            Entry::length(
                "slot_tolerance_mm",
                &mut o.slot_tolerance_mm,
                [0.0, 5.0],
                "How far a hole may sit from where it should, each way.",
            ),
        ],
    }
}

pub(super) fn sources(into: &mut Vec<HeatSource>) -> List<'_> {
    List::new(
        "heat_source",
        into,
        source,
        "Something that runs hot near the panel.",
    )
}

fn source(o: &mut HeatSource) -> Vec<Entry<'_>> {
    vec![
        Entry::text("name", &mut o.name, "A name, for the sheet.").required(),
        Entry::length(
            "at_mm",
            &mut o.at_mm,
            [-1000.0, 20_000.0],
            "Where along the panel, as station on the sheet.",
        )
        .required(),
        Entry::length(
            "distance_mm",
            &mut o.distance_mm,
            [0.0, 2000.0],
            "From its surface, or from its shield's, to the panel.",
        )
        .required(),
        Entry::number(
            "temperature_c",
            &mut o.temperature_c,
            ([-60.0, 1200.0], "\u{b0}C"),
            "Its surface, or its shield's, at its hottest.",
        )
        .required(),
        Entry::length(
            "radius_mm",
            &mut o.radius_mm,
            [1.0, 500.0],
            "Its radius, or half its width.",
        ),
    ]
}

pub(super) fn clashes(o: &HeatOptions) -> Vec<Clash> {
    let clash = |key, what, hint| Clash {
        table: "heat",
        key,
        what,
        hint,
    };
    let mut found = Vec::new();
    if o.cold_c > o.fitted_c {
        found.push(clash(
            "cold_c",
            format!(
                "the coldest, {} \u{b0}C, is warmer than when fitted, {} \u{b0}C",
                o.cold_c, o.fitted_c
            ),
            "make cold_c lower or fitted_c higher",
        ));
    }
    if o.hot_c < o.fitted_c {
        found.push(clash(
            "hot_c",
            format!(
                "the hottest, {} \u{b0}C, is cooler than when fitted, {} \u{b0}C",
                o.hot_c, o.fitted_c
            ),
            "make hot_c higher or fitted_c lower",
        ));
    }
    found
}

#[cfg(test)]
mod tests {
    use crate::job::check::read_job;
    use crate::panel::proof::HeatSource;
    use std::fs;

    /// A job whose scans exist.
    fn read(extra: &str) -> Result<crate::job::Job, Vec<String>> {
        let folder = tempfile::tempdir().unwrap();
        for name in ["body.ply", "tray.ply"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        let text = format!("[scan]\nbody = \"body.ply\"\ntray = \"tray.ply\"\n{extra}");
        read_job(&text, "job.toml", folder.path())
            .map_err(|all| all.iter().map(ToString::to_string).collect())
    }

    #[test]
    fn sources_and_weather_reach_the_job() {
        let job = read(
            "[air]\nspeed_kmh = 90.0\n[heat]\nfixed_to = \"steel\"\n\
             [[heat_source]]\nname = \"silencer\"\nat_mm = 300.0\ndistance_mm = 60.0\ntemperature_c = 350.0\n",
        )
        .unwrap();
        assert_eq!(job.air.speed_kmh, 90.0);
        assert_eq!(job.heat.fixed_to.name(), "steel");
        let [silencer] = &job.heat.sources[..] else {
            panic!("{:?}", job.heat.sources)
        };
        let wanted = HeatSource {
            name: "silencer".to_owned(),
            at_mm: 300.0,
            distance_mm: 60.0,
            temperature_c: 350.0,
            ..HeatSource::default()
        };
        assert_eq!(*silencer, wanted);
    }

    #[test]
    fn a_source_without_a_temperature_and_weather_the_wrong_way_round_are_told() {
        let told = read("[[heat_source]]\nname = \"silencer\"\nat_mm = 3.0\ndistance_mm = 60.0\n")
            .unwrap_err();
        assert!(told[0].contains("temperature_c"), "{told:?}");
        let told = read("[heat]\ncold_c = 30.0\nhot_c = 10.0\n").unwrap_err();
        assert_eq!(told.len(), 2, "{told:?}");
        assert!(
            told[0].contains("line 5") && told[1].contains("line 6"),
            "{told:?}"
        );
    }
}
