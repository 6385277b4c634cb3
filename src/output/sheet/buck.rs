//! The buck on the page: what goes on top of what, how the part comes off, and its segments.

use super::{beds, figure, joints, segments, told};
use crate::buck::{Buck, DraftClass};
use crate::math::Vector3;
use crate::output::Run;
use crate::output::row::{Row, RowOf};
use crate::output::views::Views;
use std::fmt::Write;

pub(super) fn buck(html: &mut String, run: Run<'_>, views: &Views) {
    let (Some(made), Some(row)) = (run.buck, Row::find(run, RowOf::Buck)) else {
        return;
    };
    let (buck, on_top) = (&made.buck, made.buck.on_top);
    let _ = writeln!(
        html,
        "<p>The cloth goes <b>over</b> the buck and the part is lifted off it. The finished outside is \
         the true surface; the part\u{2019}s inside is tooled by the buck. So the buck lies {} mm inside of the true \
         surface: {:.1} mm of release, {:.1} mm of laminate, {:.1} mm of filler, primer and paint. The flange is not on \
         the buck, because it would hold the part: bond it on after trimming.</p>",
        told("/buck/set_in_mm", format!("{:.1}", on_top.total())),
        on_top.release_mm,
        on_top.laminate_mm,
        on_top.filler_mm
    );
    inside(html, buck);
    for view in &views.buck {
        figure(html, view, "plan");
    }
    let _ = writeln!(
        html,
        "<p>Lifted one way, the least draft is {:.1} degrees: {}. The fine grooves are the trim line all round and a tick every 50 mm past it; \
         fill nothing but the wedges\u{2019} places, with wax, and tape over the air holes before the cloth goes on.</p>",
        // Adding zero keeps "-0" off the page.
        (buck.draft.worst.to_degrees() * 10.0).round() / 10.0 + 0.0,
        shares(buck)
    );
    html.push_str(
        "<p>Stations below 0 and past the panel\u{2019}s last lie on the buck\u{2019}s run-out beyond the part\u{2019}s ends.</p>\n",
    );
    splits(html, buck);
    super::heading(html, "The buck\u{2019}s segments: print these");
    segments::table(html, row);
    beds::beds(html, row, views);
    super::heading(html, "The buck\u{2019}s joints");
    joints::joints(html, row, views);
}

/// How much of the face comes off how, what there is none of left out.
fn shares(buck: &Buck) -> String {
    let whole = buck.draft.whole().max(1e-9);
    let said = DraftClass::ALL.into_iter().filter_map(|class| {
        let percent = 100.0 * buck.draft.area(class) / whole;
        let what = match class {
            DraftClass::Undercut => "is undercut and holds the part",
            DraftClass::None => "has none and drags",
            DraftClass::Slight => "has less than is asked for",
            DraftClass::Good => "has enough",
        };
        (percent >= 0.5).then(|| format!("{percent:.0} % of the face {what}"))
    });
    said.collect::<Vec<_>>().join(", ")
}

/// What there is inside: walls and ribs, or nothing but plastic.
fn inside(html: &mut String, buck: &Buck) {
    let Some(wall) = buck.wall_mm else {
        html.push_str(SOLID);
        return;
    };
    let [hollow, solid] = buck.cells;
    let _ = write!(
        html,
        "<p>It is <b>hollow</b>, open at the base: walls of {} mm, and {} ribs across it, the ends not counted",
        told("/buck/wall_mm", wall),
        buck.ribs.len()
    );
    if solid > 0 {
        let _ = write!(
            html,
            "; {solid} of its {} cells stay solid, because there is no room inside of the walls",
            hollow + solid
        );
    }
    html.push_str(". ");
    html.push_str(HOLLOW);
}

/// What hours and mass count, and how such a buck is usually filled: common practice, no source.
const SOLID: &str = "<p>It is <b>solid</b> in shape, and hours and kilograms below count it filled to 100 %. It need not be: printed with \
     4 perimeters and 15 % of filling (common practice, no source; 25 % and more under a vacuum bag) it takes a good part less \
     of both.</p>\n";
const HOLLOW: &str = "Hours and kilograms count walls and ribs as printed solid: set as many perimeters, or 100 % filling, that \
     they are.</p>\n";

/// The pieces that the part is made in where it does not come off in one.
fn splits(html: &mut String, buck: &Buck) {
    if buck.pieces.len() < 2 {
        return;
    }
    html.push_str(
        "<p>Made in one piece, the part drags or holds. Made in these pieces, each comes off its own way with the draft asked \
         for: lay the cloth up in one go and cut the part through at the split before it is lifted, or lay each piece up by itself with a strip of wax \
         tape at the split. The picture above shows the splits; bond a strip of laminate behind each afterwards.</p>\n",
    );
    super::open_table(html, "Pieces that the part comes off in");
    html.push_str(
        "<tr><th class=\"n\">piece</th><th class=\"n\">from, mm</th><th class=\"n\">to, mm</th><th>lift</th>\
         <th class=\"n\">least draft, degrees</th></tr>\n",
    );
    for (k, piece) in buck.pieces.iter().enumerate() {
        let [from, to] = piece.along.map(|s| s.round() + 0.0);
        let _ = writeln!(
            html,
            "<tr><td class=\"n\">{}</td><td class=\"n\">{from:.0}</td><td class=\"n\">{to:.0}</td><td class=\"how\">{}</td><td \
             class=\"n\">{:.1}</td></tr>",
            k + 1,
            way_word(piece.lift),
            piece.worst.to_degrees()
        );
    }
    html.push_str("</table></div>\n");
}

/// A way in the shop frame, in words for one who faces the vehicle.
fn way_word(lift: Vector3) -> String {
    if lift.z > 0.99 {
        return "straight up".to_owned();
    }
    let side = lift.y.atan2(lift.x).to_degrees();
    let rise = lift.z.clamp(-1.0, 1.0).asin().to_degrees();
    let level = match side {
        a if a.abs() < 2.5 => "straight toward you".to_owned(),
        a if a > 0.0 => format!("{a:.0} degrees to your right of straight toward you"),
        a => format!("{:.0} degrees to your left of straight toward you", -a),
    };
    match rise {
        a if a.abs() < 2.5 => format!("level, {level}"),
        a if a > 0.0 => format!("{a:.0} degrees up from level, {level}"),
        a => format!("{:.0} degrees down from level, {level}", -a),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// x points at the maker, y to their right, z up.
    #[test]
    fn ways_are_told_from_where_the_maker_stands() {
        assert_eq!(way_word(Vector3::z()), "straight up");
        assert_eq!(way_word(Vector3::x()), "level, straight toward you");
        let right = Vector3::new(1.0, 1.0, 0.0).normalize();
        assert_eq!(
            way_word(right),
            "level, 45 degrees to your right of straight toward you"
        );
        let up = Vector3::new(1.0, 0.0, 1.0).normalize();
        assert_eq!(
            way_word(up),
            "45 degrees up from level, straight toward you"
        );
    }
}
