//! The table of a kit, and which of its tools let one opening serve recess and inlay.
//!
//! In: a kit, mm. Out: every bush with every cutter and its offsets; every choice of a recess pair (Bf, df) and an inlay
//! pair (Bm, dm) whose gap g = (Bm + dm − Bf + df)/2 lies within bounds; the one tool to buy that would add most of
//! them. The sum: one opening T serves both where T = S ⊕ (Bf − df)/2 and T = (S ⊖ g) ⊕ (Bm + dm)/2.

use super::Pair;
use super::owned::{Bush, Cutter, Kit, Passage, passage};
use crate::tolerance::WIDTH_SLACK;

/// A bush with a cutter in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offset {
    /// Places in the kit's lists.
    pub bush: usize,
    pub cutter: usize,
    /// `(B − d)/2`, per side: how far an opening for the recess lies outside the outline.
    pub recess: f64,
    /// `(B + d)/2`, per side: the same for the inlay, without a gap.
    pub inlay: f64,
    pub passage: Passage,
}

/// Every bush with every cutter of the kit, in the kit's order, by measured diameters where there are some.
#[must_use]
pub fn offsets(kit: &Kit) -> Vec<Offset> {
    let mut all = Vec::new();
    for (bush, b) in kit.bushes.iter().enumerate() {
        for (cutter, c) in kit.cutters.iter().enumerate() {
            let (big, small) = (b.true_size(), c.true_size());
            let (recess, inlay) = ((big - small) / 2.0, (big + small) / 2.0);
            all.push(Offset { bush, cutter, recess, inlay, passage: passage(b, c) });
        }
    }
    all
}

/// Gaps per side that will do, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    pub least: f64,
    pub most: f64,
    /// The nearer to this the better.
    pub wanted: f64,
}

/// Two pairs of tools that let one opening serve both pieces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Matching {
    /// Diameters for the sums.
    pub recess: Pair,
    pub inlay: Pair,
    /// The same, as the tools are called.
    pub recess_called: Pair,
    pub inlay_called: Pair,
    /// What is between the pieces, per side.
    pub gap: f64,
    pub same_cutter: bool,
    /// How far the opening lies outside the outline, per side; and the radius that outside corners come out with.
    pub offset: f64,
    /// Between bore and cutter, per side, where it is least; of bores that are known.
    pub bore_room: Option<f64>,
}

impl Matching {
    /// Least radius of any corner: what the tools cost the drawing.
    #[must_use]
    pub fn corner(&self) -> f64 {
        self.recess.cutter_radius().max(self.offset)
    }
}

/// All pairs that match within `bounds`, the best first: one cutter for both before two, then the gap nearest to the one
/// wanted, then the smallest corners, then the most room in the bore. Gaps as near to the one wanted to a hundredth of a
/// millimetre are as good as each other. Cutters that do not come through their bush are left out; bushes whose bore is
/// not known are not.
#[must_use]
pub fn matching(kit: &Kit, bounds: Bounds) -> Vec<Matching> {
    let usable: Vec<(&Bush, &Cutter)> = kit
        .bushes
        .iter()
        .flat_map(|b| kit.cutters.iter().map(move |c| (b, c)))
        .filter(|(b, c)| passage(b, c) != Passage::No)
        .collect();
    let mut found = Vec::new();
    for &(bf, cf) in &usable {
        for &(bm, cm) in &usable {
            let (recess, inlay) = (sized(bf, cf), sized(bm, cm));
            let gap = (inlay.bush + inlay.cutter - recess.bush + recess.cutter) / 2.0;
            // Sizes are given to a few digits: a gap of −1e-15 is none.
            let gap = if gap.abs() < 1e-9 { 0.0 } else { gap };
            let most = bounds.most.min(recess.cutter_radius().min(inlay.cutter_radius()) - WIDTH_SLACK);
            if gap < bounds.least.max(0.0) - 1e-9 || gap > most + 1e-9 {
                continue;
            }
            found.push(Matching {
                recess,
                inlay,
                recess_called: called(bf, cf),
                inlay_called: called(bm, cm),
                gap,
                same_cutter: std::ptr::eq(cf, cm),
                offset: (recess.bush - recess.cutter) / 2.0,
                bore_room: room(bf, cf).into_iter().chain(room(bm, cm)).min_by(f64::total_cmp),
            });
        }
    }
    let off = |m: &Matching| ((m.gap - bounds.wanted).abs() * 100.0).round();
    found.sort_by(|a, b| {
        let corners = a.corner().total_cmp(&b.corner());
        let room = |m: &Matching| m.bore_room.unwrap_or(f64::NEG_INFINITY);
        (!a.same_cutter)
            .cmp(&!b.same_cutter)
            .then(off(a).total_cmp(&off(b)))
            .then(corners)
            .then(room(b).total_cmp(&room(a)))
    });
    found
}

fn sized(b: &Bush, c: &Cutter) -> Pair {
    Pair { bush: b.true_size(), cutter: c.true_size() }
}

fn called(b: &Bush, c: &Cutter) -> Pair {
    Pair { bush: b.outside, cutter: c.diameter }
}

fn room(b: &Bush, c: &Cutter) -> Option<f64> {
    Some((b.bore? - c.true_size()) / 2.0)
}

/// A tool that the kit lacks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tool {
    /// Outside diameter.
    Bush(f64),
    /// Diameter.
    Cutter(f64),
}

/// The one bush or cutter of `shop` that would add most matching pairs to `kit`, and how many; those with one cutter for
/// both come first, since only they need no change of cutter. None where nothing would add any.
#[must_use]
pub fn to_buy(kit: &Kit, shop: &Kit, bounds: Bounds) -> Option<(Tool, usize)> {
    let count = |k: &Kit| {
        let all = matching(k, bounds);
        (all.iter().filter(|m| m.same_cutter).count(), all.len())
    };
    let now = count(kit);
    let mut best: Option<((usize, usize), Tool)> = None;
    let mut weigh = |more: Kit, tool: Tool| {
        let then = count(&more);
        let adds = (then.0 - now.0.min(then.0), then.1 - now.1.min(then.1));
        if adds.1 > 0 && best.is_none_or(|(most, _)| adds > most) {
            best = Some((adds, tool));
        }
    };
    for b in shop.bushes.iter().filter(|b| kit.bush(b.outside).is_none()) {
        let mut more = kit.clone();
        more.bushes.push(b.clone());
        weigh(more, Tool::Bush(b.outside));
    }
    for c in shop.cutters.iter().filter(|c| kit.cutter(c.diameter).is_none()) {
        let mut more = kit.clone();
        more.cutters.push(c.clone());
        weigh(more, Tool::Cutter(c.diameter));
    }
    best.map(|(adds, tool)| (tool, adds.1))
}

#[cfg(test)]
mod tests {
    use super::super::generic;
    use super::*;
    use crate::units::{INCH, Unit, parse_length};

    fn inches(text: &str) -> f64 {
        parse_length(&format!("{text}in"), Unit::INCH).unwrap()
    }

    /// The sizes are a hobbyist's published table of inch bushes; which match is derived: bushes 5/16 3/8 7/16 1/2 5/8 3/4
    /// 51/64, cutters 1/8 3/16 1/4 5/16 3/8 1/2, 1/64 in clearance in the bore, one cutter for both.
    #[test]
    fn the_published_inch_set_has_three_pairs() {
        let all = generic::inch().unwrap();
        let published = |s: &Option<String>| s.as_ref().is_some_and(|s| s.contains("published"));
        let bushes = all.bushes.into_iter().filter(|b| published(&b.source)).collect();
        let kit = Kit { bushes, cutters: all.cutters, ..Kit::default() };
        assert_eq!((kit.bushes.len(), kit.cutters.len()), (7, 6));
        let bounds = Bounds { least: 0.0, most: 1e-6, wanted: 0.0 };
        let same: Vec<Matching> = matching(&kit, bounds).into_iter().filter(|m| m.same_cutter).collect();
        let mut sizes: Vec<[f64; 3]> =
            same.iter().map(|m| [m.recess.bush, m.inlay.bush, m.inlay.cutter].map(|v| v / INCH)).collect();
        sizes.sort_by(|a, b| a.partial_cmp(b).unwrap());
        let want = [["5/8", "3/8", "1/8"], ["3/4", "3/8", "3/16"], ["3/4", "1/2", "1/8"]];
        let want = want.map(|w| w.map(|t| inches(t) / INCH));
        assert_eq!(sizes.len(), 3, "{sizes:?}");
        for (got, want) in sizes.iter().zip(want) {
            assert!(got.iter().zip(want).all(|(g, w)| (g - w).abs() < 1e-12), "{got:?} {want:?}");
        }
    }

    /// Another way round: counts in whole tenths of a millimetre, over all four sizes, without the program's sums.
    #[test]
    fn metric_pairs_by_brute_force() {
        let kit = generic::metric().unwrap();
        let tenths = |v: f64| (v * 10.0).round() as i64;
        for (least, most) in [(0, 0), (0, 2), (1, 10), (0, 100)] {
            let mut want = Vec::new();
            for bf in &kit.bushes {
                for df in &kit.cutters {
                    for bm in &kit.bushes {
                        for dm in &kit.cutters {
                            let fits = |b: &Bush, d: &Cutter| tenths(b.bore.unwrap()) >= tenths(d.diameter) + 4;
                            let [f, d, m, e] = [bf.outside, df.diameter, bm.outside, dm.diameter].map(tenths);
                            // Twice the gap, in tenths.
                            let twice = m + e - (f - d);
                            let narrow = twice < d.min(e);
                            if fits(bf, df) && fits(bm, dm) && twice >= 2 * least && twice <= 2 * most && narrow {
                                want.push([f, d, m, e]);
                            }
                        }
                    }
                }
            }
            let bounds = Bounds { least: least as f64 / 10.0, most: most as f64 / 10.0, wanted: 0.0 };
            let found = matching(&kit, bounds);
            let mut got: Vec<[i64; 4]> = found
                .iter()
                .map(|m| [m.recess.bush, m.recess.cutter, m.inlay.bush, m.inlay.cutter].map(tenths))
                .collect();
            got.sort_unstable();
            want.sort_unstable();
            assert!(!want.is_empty());
            assert_eq!(got, want, "{least} {most}");
        }
    }

    #[test]
    fn one_cutter_for_both_comes_first_then_the_gap_then_the_corners() {
        let kit = generic::metric().unwrap();
        let found = matching(&kit, Bounds { least: 0.0, most: 0.15, wanted: 0.05 });
        let first_mixed = found.iter().position(|m| !m.same_cutter).unwrap();
        assert!(found[first_mixed..].iter().all(|m| !m.same_cutter));
        let best = found[0];
        assert!(best.same_cutter && best.gap == 0.0);
        let least = found[..first_mixed].iter().map(Matching::corner).fold(f64::INFINITY, f64::min);
        assert_eq!(best.corner(), least);
        // Measured sizes move the gap: the cutter's error counts in full.
        let mut worn = kit.clone();
        for c in &mut worn.cutters {
            c.measured = Some(c.diameter + 0.05);
        }
        let best = matching(&worn, Bounds { least: 0.0, most: 0.15, wanted: 0.05 })[0];
        assert!((best.gap - 0.05).abs() < 1e-9, "{best:?}");
    }

    /// Bushes 20 and 6 cutter: with 6 the recess bush must be 12 larger: 32, or the inlay bush 8 (not in the shop).
    #[test]
    fn what_to_buy_adds_most_pairs() {
        let kit = super::super::file::parse("[[bush]]\noutside = 20\nbore = 17\n[[cutter]]\ndiameter = 6\n").unwrap();
        let shop = generic::metric().unwrap();
        let bounds = Bounds { least: 0.0, most: 0.15, wanted: 0.05 };
        assert!(matching(&kit, bounds).is_empty());
        assert_eq!(to_buy(&kit, &shop, bounds), Some((Tool::Bush(32.0), 1)));
    }
}
