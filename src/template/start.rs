//! Jobs that start from a part, a template or a recess that exists already, instead of a drawing of the joint.
//!
//! In: the outline of the existing thing, certified, drawing frame; the tools; mm. Out: the outline that both pieces
//! follow, the existing opening, and the opening to be cut. The sums are those of every job:
//!
//! * *A part* P is routed around on a sheet, with the bush against the part. The bush's centre runs on the edge of
//!   `P ⊕ R`, and the kerf extends r to both sides. The sheet keeps an opening with the kerf's *outer* edge,
//!   `P ⊕ (R + r)`: this is the template. The blank under the part, with the inner edge, drops out. The part is its own
//!   inlay, so the recess follows `P ⊕ gap`.
//! * *A template* has the opening T. A recess through it is `(T ⊖ R) ⊕ r`, an inlay `T ⊖ (R + r)`. It serves the
//!   recess, and the inlay follows that recess. If it serves both, both follow `T ⊖ (R − r)`.
//! * *A recess* S exists: the board is finished, and the inlay follows S.
//!
//! The two pairs match if `(Bm + dm) − (Bf − df) = 2·gap`. Then the existing opening, or the one left by routing around
//! the part, also serves the other piece. No machine is needed.

use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Region, grow, inset, outset, shrink};
use crate::kit::{Pair, Tools};
use crate::names::names;
use crate::template::Duty;
use crate::template::Piece;
use crate::template::ease::{self, AsCut, Corners};

/// What the drawing shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// The outside of a part to be inlaid; the template is routed around it.
    Part,
    /// The opening of an existing template.
    Template,
    /// An existing recess.
    Recess,
}

names!(Start, "it starts from something unknown"; Part = "part", Template = "template", Recess = "recess");

impl Start {
    /// The duty of the opening to be cut; `None` if the pairs match.
    #[must_use]
    pub fn cut(self, tools: &Tools) -> Option<Duty> {
        match self {
            _ if tools.one_opening => None,
            Start::Part => Some(Duty::Recess),
            Start::Template | Start::Recess => Some(Duty::Inlay),
        }
    }
}

/// The result of a later step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StageKind {
    /// The opening that the sheet keeps after routing around a part.
    Round,
    /// The piece of the sheet that drops out under the part.
    Blank,
    /// An opening that the machine must cut.
    Opening,
    Recess,
    Inlay,
}

names!(
    StageKind, "it has a step with an unknown result";
    Round = "round-part", Blank = "blank", Opening = "opening", Recess = "recess", Inlay = "inlay"
);

/// One outline of a job that starts from an existing thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Begun {
    /// The outline as drawn and as both pieces follow it, and both openings; only the one for [`Start::cut`] is to be
    /// cut.
    pub piece: Piece,
    /// The opening that the sheet keeps after routing around the part, or the existing opening.
    pub opening: Option<Certified<Region>>,
    /// What drops out under the part.
    pub blank: Option<Certified<Region>>,
}

/// Computes the job. `round`: the pair that runs around a part. The outline is empty if the tools do not fit into the
/// existing opening.
///
/// # Errors
/// As the operations.
pub fn begin(
    start: Start,
    number: usize,
    drawn: &Certified<Region>,
    tools: &Tools,
    round: Pair,
    budget: &Budget,
) -> Result<Begun, GeomError> {
    let (mut opening, mut blank) = (None, None);
    let made = match start {
        Start::Part => {
            let way = grow(drawn, round.bush_radius(), budget)?;
            blank = Some(shrink(&way, round.cutter_radius(), budget)?);
            opening = Some(grow(drawn, round.bush_radius() + round.cutter_radius(), budget)?);
            if tools.gap > 0.0 { grow(drawn, tools.gap, budget)? } else { drawn.clone() }
        }
        Start::Template => {
            opening = Some(drawn.clone());
            let recess = through(drawn, tools.recess, budget)?;
            // In the shared opening the inlay keeps the opening's corners, which are sharper than the recess's.
            if tools.one_opening && !recess.is_empty() {
                inset(drawn, tools.recess_offset(), budget)?.region
            } else {
                recess
            }
        }
        Start::Recess => drawn.clone(),
    };
    let cut = ease::as_cut(&made, Corners::Keep, tools, budget)?;
    // The existing piece is not cut.
    let cut = match start {
        Start::Part => AsCut { inlay: made.clone(), nested: false, ..cut },
        Start::Template if tools.one_opening => cut,
        Start::Template | Start::Recess => AsCut { recess: made.clone(), nested: true, ..cut },
    };
    let piece = Piece {
        outline: number,
        drawn: drawn.clone(),
        cut,
        tools: *tools,
        recess: outset(&made, tools.recess_offset(), budget)?.region,
        inlay: outset(&made, tools.inlay_offset(), budget)?.region,
        made,
    };
    Ok(Begun { piece, opening, blank })
}

/// The recess cut through an opening. The bush passes a neck of exactly its own width.
fn through(t: &Certified<Region>, pair: Pair, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let way = inset(t, pair.bush_radius(), budget)?;
    grow(&way.region, pair.cutter_radius() - (pair.bush_radius() - way.radius), budget)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{FillRule, Point, Ring, enclosed};
    use std::f64::consts::PI;

    const PAIR: Pair = Pair { bush: 20.0, cutter: 6.0 };
    const LARGE: Pair = Pair { bush: 32.0, cutter: 6.0 };

    fn certified(ring: Ring) -> Certified<Region> {
        enclosed(&[ring], FillRule::NonZero, &Budget::unlimited()).unwrap()
    }

    fn rectangle(w: f64, h: f64) -> Certified<Region> {
        certified(Ring::polygon(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(Point::from)))
    }

    fn begun(start: Start, drawn: &Certified<Region>, recess: Pair, inlay: Pair, gap: f64) -> Begun {
        let tools = Tools::new(recess, inlay, gap).unwrap();
        begin(start, 1, drawn, &tools, inlay, &Budget::unlimited()).unwrap()
    }

    /// Area and perimeter of a w × h rectangle grown by a: A + p·a + π·a², p + 2π·a (Steiner's formula; Schneider,
    /// *Convex Bodies: The Brunn–Minkowski Theory*, from memory).
    fn steiner(w: f64, h: f64, a: f64) -> (f64, f64) {
        (w * h + 2.0 * (w + h) * a + PI * a * a, 2.0 * (w + h) + 2.0 * PI * a)
    }

    fn same(r: &Region, (area, perimeter): (f64, f64)) {
        // Certified within a distance of 0.002 mm.
        assert!((r.area() - area).abs() < 0.002 * perimeter, "{} {area}", r.area());
        assert!((r.perimeter() - perimeter).abs() < 0.03, "{} {perimeter}", r.perimeter());
    }

    #[test]
    fn a_part_of_60_by_40() {
        let b = begun(Start::Part, &rectangle(60.0, 40.0), PAIR, PAIR, 0.05);
        // Outer edge of the kerf 10 + 3 out, recess 0.05 out, its opening 7 farther.
        same(b.opening.as_ref().unwrap(), steiner(60.0, 40.0, 13.0));
        same(&b.piece.made, steiner(60.0, 40.0, 0.05));
        same(&b.piece.recess, steiner(60.0, 40.0, 7.05));
        // Inner edge: 10 out and 3 back.
        same(b.blank.as_ref().unwrap(), steiner(60.0, 40.0, 7.0));
    }

    #[test]
    fn a_disc_of_30_with_the_pairs_that_match() {
        let disc = certified(Ring::circle(Point::ORIGIN, 30.0));
        let b = begun(Start::Part, &disc, LARGE, PAIR, 0.0);
        let (opening, needed) = (b.opening.unwrap(), b.piece.recess);
        // 32 − 6 = 20 + 6: routing around the part leaves the opening that the recess needs.
        assert!((opening.area() - needed.area()).abs() < 1e-6);
        same(&opening, (PI * 43.0 * 43.0, 2.0 * PI * 43.0));
        same(&b.blank.unwrap(), (PI * 37.0 * 37.0, 2.0 * PI * 37.0));
    }

    /// A sharp opening of 100 × 80. The bush's centre covers 80 × 60, and the cutter makes a recess of 86 × 66 with
    /// corners of radius 3. The inlay follows it 0.05 smaller; its opening lies 12.95 outside the recess.
    #[test]
    fn a_template_of_100_by_80() {
        let b = begun(Start::Template, &rectangle(100.0, 80.0), PAIR, PAIR, 0.05);
        same(&b.piece.made, steiner(80.0, 60.0, 3.0));
        same(&b.piece.inlay, steiner(80.0, 60.0, 15.95));
        assert!(b.blank.is_none());
        let none = begun(Start::Template, &rectangle(100.0, 19.0), PAIR, PAIR, 0.05);
        assert!(none.piece.made.is_empty());
    }

    /// With matching pairs, 32 − 6 = 20 + 6, both follow 100 × 80 less 13 per side.
    #[test]
    fn a_template_that_serves_both() {
        let tools = Tools::new(LARGE, PAIR, 0.05).unwrap().matched(0.15).unwrap();
        let b = begin(Start::Template, 1, &rectangle(100.0, 80.0), &tools, PAIR, &Budget::unlimited()).unwrap();
        same(&b.piece.made, steiner(74.0, 54.0, 0.0));
    }

    #[test]
    fn a_recess_of_60_by_40() {
        let b = begun(Start::Recess, &rectangle(60.0, 40.0), PAIR, PAIR, 0.05);
        same(&b.piece.made, steiner(60.0, 40.0, 0.0));
        same(&b.piece.inlay, steiner(60.0, 40.0, 12.95));
        assert!(b.opening.is_none() && b.blank.is_none());
    }

    #[test]
    fn what_is_still_to_be_cut() {
        let tools = Tools::new(PAIR, PAIR, 0.05).unwrap();
        let one = Tools { one_opening: true, ..tools };
        let cut = |t: &Tools| Start::ALL.iter().map(|s| s.cut(t)).collect::<Vec<_>>();
        assert_eq!(cut(&tools), [Some(Duty::Recess), Some(Duty::Inlay), Some(Duty::Inlay)]);
        assert_eq!(cut(&one), [None; 3]);
    }
}
