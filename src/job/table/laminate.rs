//! `[laminate]` and `[[ply]]`: what is laid up, and on what.

use super::Clash;
use super::Table;
use super::list::List;
use crate::buck::{Cloth, CureRule, Fibre, LayupOptions, Ply, Way};
use crate::job::entry::Entry;
use crate::material::Material;
use crate::panel::{FootKind, PanelOptions};

const WAYS: &[(&str, Way)] = &[
    ("none", Way::None),
    ("core", Way::Core),
    ("buck", Way::Buck),
];
const RULES: &[(&str, CureRule)] = &[("no", CureRule::Refuse), ("yes", CureRule::GoOn)];
/// Thickest laminate (mm).
const MOST_MM: f64 = 20.0;

/// One `[[ply]]` as the job writes it.
pub(super) struct PlyDraft {
    fibre: Fibre,
    cloth: Cloth,
    g_m2: f64,
    turn_deg: f64,
}

impl Default for PlyDraft {
    fn default() -> Self {
        Self {
            fibre: Fibre::Carbon,
            cloth: Cloth::Woven,
            g_m2: 200.0,
            turn_deg: 0.0,
        }
    }
}

impl PlyDraft {
    fn ply(&self) -> Ply {
        Ply {
            fibre: self.fibre,
            cloth: self.cloth,
            g_m2: self.g_m2,
            turn: self.turn_deg.to_radians(),
        }
    }
}

/// The table while it is being filled.
pub(super) struct LaminateDraft {
    options: LayupOptions,
    waste_percent: f64,
}

impl Default for LaminateDraft {
    fn default() -> Self {
        let options = LayupOptions::default();
        Self {
            waste_percent: (options.cut.waste * 1e4).round() / 1e2,
            options,
        }
    }
}

impl LaminateDraft {
    /// The options with their plies, whatever the way.
    fn with(&self, plies: &[PlyDraft]) -> LayupOptions {
        let mut options = self.options.clone();
        options.cut.waste = self.waste_percent / 100.0;
        if !plies.is_empty() {
            options.laminate.plies = plies.iter().map(PlyDraft::ply).collect();
            options.assumed = false;
        }
        options
    }

    /// The options, where anything is to be laid up.
    pub(super) fn finish(&self, plies: &[PlyDraft]) -> Option<LayupOptions> {
        (self.options.way != Way::None).then(|| self.with(plies))
    }
}

pub(super) fn table(draft: &mut LaminateDraft) -> Table<'_> {
    let (o, length) = (&mut draft.options, Entry::length);
    Table {
        name: "laminate",
        says: "Cloth and resin: over the print, which stays in as a core, or over a buck.",
        entries: vec![
            Entry::choice(
                "way",
                &mut o.way,
                WAYS,
                "Nothing is laid up, a printed core stays in under the laminate, or a buck is made to lift the part off.",
            ),
            Entry::number(
                "fibre_share",
                &mut o.laminate.fibre_share,
                ([0.2, 0.7], "of the volume"),
                "Fibre in the cured laminate: open wet lay-up 0.30 to 0.40, under a bag 0.45 to 0.55.",
            ),
            Entry::number(
                "resin_kg_m3",
                &mut o.laminate.resin_kg_m3,
                ([900.0, 1500.0], "kg/m3"),
                "Density of the cured resin.",
            ),
            length(
                "filler_mm",
                &mut o.coats.filler_mm,
                [0.0, 5.0],
                "Filler on the laminate.",
            ),
            length(
                "primer_mm",
                &mut o.coats.primer_mm,
                [0.0, 3.0],
                "Primer and paint on that.",
            ),
            length(
                "sanding_mm",
                &mut o.coats.sanding_mm,
                [0.0, 3.0],
                "Sanded away again.",
            ),
            length(
                "release_mm",
                &mut o.coats.release_mm,
                [0.0, 2.0],
                "Release between buck and laminate, wax or film.",
            ),
            length(
                "overlap_mm",
                &mut o.cut.overlap_mm,
                [5.0, 100.0],
                "How far one piece of cloth laps the next.",
            ),
            length(
                "roll_mm",
                &mut o.cut.roll_mm,
                [50.0, 5000.0],
                "Width of the cloth on its roll.",
            ),
            length(
                "piece_mm",
                &mut o.cut.piece_mm,
                [100.0, 10_000.0],
                "Longest piece of cloth you want to handle wet.",
            ),
            length(
                "edge_mm",
                &mut o.cut.edge_mm,
                [0.0, 100.0],
                "How far cloth on a core goes on past its edges, to be trimmed; on a buck allowance_mm says it.",
            ),
            Entry::number(
                "waste_percent",
                &mut draft.waste_percent,
                ([0.0, 100.0], "%"),
                "Bought on top for offcuts and for resin that stays in the pot.",
            ),
            Entry::number(
                "cure_c",
                &mut o.cure_c,
                ([5.0, 200.0], "C"),
                "The hottest it gets while it cures, heat of the resin itself included.",
            ),
            Entry::choice(
                "cure_anyway",
                &mut o.cure_rule,
                RULES,
                "Whether to go on where that is hotter than the print holds its form at.",
            ),
        ],
    }
}

pub(super) fn plies(into: &mut Vec<PlyDraft>) -> List<'_> {
    List::new(
        "ply",
        into,
        |ply| {
            vec![
                Entry::choice(
                    "fibre",
                    &mut ply.fibre,
                    &Fibre::NAMES,
                    "What the cloth is made of.",
                ),
                Entry::choice(
                    "cloth",
                    &mut ply.cloth,
                    &Cloth::NAMES,
                    "How its fibres run: two ways at right angles, or one way.",
                ),
                Entry::number(
                    "g_m2",
                    &mut ply.g_m2,
                    ([20.0, 2000.0], "g/m2"),
                    "Weight of the dry cloth.",
                ),
                Entry::number(
                    "turn_deg",
                    &mut ply.turn_deg,
                    ([-180.0, 180.0], "degrees"),
                    "Direction of its warp: 0 along the gap, positive turns up, seen from outside.",
                ),
            ]
        },
        "A ply of cloth, the first against the print; without any, three of woven glass, 300 g/m2, at 0, 45 and 0 degrees.",
    )
}

pub(super) fn clashes(
    draft: &LaminateDraft,
    plies: &[PlyDraft],
    material: Material,
    panel: &PanelOptions,
) -> Vec<Clash> {
    let overlay_mm = panel.overlay_mm;
    let options = draft.with(plies);
    let mut found = Vec::new();
    let mut clash = |key: &'static str, what: String, hint: &'static str| {
        found.push(Clash {
            table: "laminate",
            key,
            what,
            hint,
        });
    };
    if options.way == Way::None {
        if !plies.is_empty() {
            clash(
                "way",
                "plies are named, and nothing is to be laid up".to_owned(),
                "set way to \"core\" or \"buck\", or take the [[ply]] tables out",
            );
        }
        return found;
    }
    if panel.foot == FootKind::Outboard {
        clash(
            "way",
            "cloth is laid over face and top, and would end in the corner of a flange that runs outboard".to_owned(),
            "write foot = \"inboard\" under [panel], or lay nothing up",
        );
    }
    if options.way == Way::Core && overlay_mm > 0.0 {
        clash(
            "way",
            format!(
                "the panel is drawn back by its laminate, and by overlay_mm = {overlay_mm} as well"
            ),
            "take overlay_mm out of [panel]: the plies and coats here say how thick the laminate is",
        );
    }
    if options.coats.left_mm() < -1e-9 {
        clash(
            "sanding_mm",
            format!(
                "{} mm are sanded away of {:.2} mm of filler, primer and paint",
                options.coats.sanding_mm,
                options.coats.filler_mm + options.coats.primer_mm
            ),
            "sand away less: what goes into the cloth weakens it",
        );
    }
    let thick = options.laminate.thickness_mm();
    if thick > MOST_MM {
        clash(
            "fibre_share",
            format!("the plies come to {thick:.1} mm; {MOST_MM:.0} mm is the most"),
            "name fewer or lighter plies",
        );
    }
    if options.is_too_hot_for(material) && options.cure_rule == CureRule::Refuse {
        let [soft, _] = material.glass_transition_c();
        clash(
            "cure_c",
            format!(
                "a cure at {:.0} C is too hot for a print of {}: it softens from {soft:.0} C and holds its form up to {:.0} C, \
                 so the part would sag with it",
                options.cure_c,
                material.name(),
                material.service_c()
            ),
            "cure cooler and longer as the resin's data sheet allows, print in a material that stands more, or set cure_anyway = \"yes\" to go on at your own risk",
        );
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keys(draft: &LaminateDraft, plies: &[PlyDraft], material: Material) -> Vec<&'static str> {
        let found = clashes(draft, plies, material, &PanelOptions::default());
        found.iter().map(|clash| clash.key).collect()
    }

    #[test]
    fn a_cure_above_what_the_print_stands_is_refused_and_may_be_overridden() {
        let mut draft = LaminateDraft::default();
        draft.options.way = Way::Buck;
        draft.options.cure_c = 60.0;
        // PLA softens from 55 C, PETG from 75 C: makers' data sheets; see `material`.
        assert_eq!(keys(&draft, &[], Material::Petg), [""; 0]);
        let found = clashes(&draft, &[], Material::Pla, &PanelOptions::default());
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].key, "cure_c");
        assert!(found[0].what.contains("55 C") && found[0].what.contains("50 C"));
        draft.options.cure_rule = CureRule::GoOn;
        assert_eq!(keys(&draft, &[], Material::Pla), [""; 0]);
        let options = draft.finish(&[]).unwrap();
        let codes: Vec<&str> = (options.findings(Material::Pla).iter())
            .map(|f| f.code)
            .collect();
        assert_eq!(codes, ["laminate-assumed", "cure-too-hot"]);
    }

    #[test]
    fn plies_without_a_way_too_much_sanding_and_too_many_plies_are_told() {
        let mut draft = LaminateDraft::default();
        let one = [PlyDraft::default()];
        assert_eq!(keys(&draft, &one, Material::Petg), ["way"]);
        assert_eq!(draft.finish(&one), None);
        draft.options.way = Way::Core;
        assert_eq!(keys(&draft, &one, Material::Petg), [""; 0]);
        draft.options.coats.sanding_mm = 1.0;
        let many: Vec<PlyDraft> = (0..90).map(|_| PlyDraft::default()).collect();
        assert_eq!(
            keys(&draft, &many, Material::Petg),
            ["sanding_mm", "fibre_share"]
        );
        // 90 plies of 200 g at 1800 kg/m3 and 0.45: 22.2 mm by hand.
        let thick = draft.finish(&many).unwrap().laminate.thickness_mm();
        assert!((thick - 22.222).abs() < 1e-3, "{thick}");
    }

    #[test]
    fn a_core_drawn_back_twice_is_refused() {
        let mut draft = LaminateDraft::default();
        draft.options.way = Way::Core;
        assert!(clashes(&draft, &[], Material::Petg, &PanelOptions::default()).is_empty());
        let panel = PanelOptions {
            overlay_mm: 2.0,
            ..PanelOptions::default()
        };
        let found = clashes(&draft, &[], Material::Petg, &panel);
        assert!(found.len() == 1 && found[0].what.contains("overlay_mm = 2"));
        let panel = PanelOptions {
            foot: FootKind::Outboard,
            ..PanelOptions::default()
        };
        let found = clashes(&draft, &[], Material::Petg, &panel);
        assert!(found.len() == 1 && found[0].what.contains("outboard"));
    }
}
