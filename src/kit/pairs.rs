//! The table of a kit's offsets, and the tools that let one opening serve recess and inlay.
//!
//! In: a kit, mm. Out: every bush with every cutter and its offsets. Also every recess pair (Bf, df) and inlay pair
//! (Bm, dm) whose gap g = (Bm + dm − Bf + df)/2 lies within bounds. Also the one tool to buy that adds most of these
//! pairs. One opening T serves both pieces if T = S ⊕ (Bf − df)/2 and T = (S ⊖ g) ⊕ (Bm + dm)/2.

use super::Pair;
use super::owned::{Bush, Cutter, Kit, Passage, passage};
use crate::tolerance::WIDTH_SLACK;

/// A bush with a cutter in it, and the offsets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offset {
    /// Indices in the kit's lists.
    pub bush: usize,
    pub cutter: usize,
    /// Offset of the recess opening outside the outline, `(B − d)/2`, per side.
    pub recess: f64,
    /// Offset of the inlay opening without a gap, `(B + d)/2`, per side.
    pub inlay: f64,
    pub passage: Passage,
}

/// Every bush with every cutter, in the kit's order, by measured diameters where they exist.
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

/// The acceptable gaps per side, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    pub least: f64,
    pub most: f64,
    /// The best gap.
    pub wanted: f64,
}

/// Two pairs of tools that let one opening serve both pieces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Matching {
    /// Diameters for calculations.
    pub recess: Pair,
    pub inlay: Pair,
    /// The nominal diameters.
    pub recess_called: Pair,
    pub inlay_called: Pair,
    /// Gap per side.
    pub gap: f64,
    pub same_cutter: bool,
    /// Offset of the opening outside the outline, per side. Outside corners get this radius.
    pub offset: f64,
    /// Least room between bore and cutter, per side, of the known bores.
    pub bore_room: Option<f64>,
}

impl Matching {
    /// Least radius of any corner that these tools allow.
    #[must_use]
    pub fn corner(&self) -> f64 {
        self.recess.cutter_radius().max(self.offset)
    }
}

/// All pairs that match within `bounds`, best first. One cutter for both pieces comes before two. Then the order is by
/// the gap's distance from the best gap, by the smallest corners, and by the most room in the bore. Gaps within a
/// hundredth of a millimetre of each other rank equal. Cutters that do not pass their bush are left out. Bushes with an
/// unknown bore are not.
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
            // Sizes have a few digits, so a gap of −1e-15 is 0.
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

/// The one bush or cutter of `shop` that adds most matching pairs to `kit`, and their number. Pairs with one cutter for
/// both pieces count first, because they need no change of cutter. `None` if no tool adds any.
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
        parse_length(&format!("{text}in"), Unit::INCH).unwrap().mm
    }

    /// Common practice, no source, for the sizes; the matching pairs are derived. Bushes 5/16 3/8 7/16 1/2 5/8 3/4
    /// 51/64, cutters 1/8 3/16 1/4 5/16 3/8 1/2, 1/64 in clearance in the bore, one cutter for both.
    #[test]
    fn the_small_inch_set_has_three_pairs() {
        let all = generic::inch().unwrap();
        let bushes = all.bushes.into_iter().filter(|b| b.outside < INCH).collect();
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

    /// An independent count in whole tenths of a millimetre, over all four sizes, without the program's formula.
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
        // Measured sizes change the gap: the cutter's error counts in full.
        let mut worn = kit.clone();
        for c in &mut worn.cutters {
            c.measured = Some(c.diameter + 0.05);
        }
        let best = matching(&worn, Bounds { least: 0.0, most: 0.15, wanted: 0.05 })[0];
        assert!((best.gap - 0.05).abs() < 1e-9, "{best:?}");
    }

    /// A bush of 20 and a cutter of 6. The recess bush must be 12 larger, 32. Or the inlay bush must be 8, which the
    /// shop lacks.
    #[test]
    fn the_advised_tool_adds_most_pairs() {
        let kit = super::super::file::parse("[[bush]]\noutside = 20\nbore = 17\n[[cutter]]\ndiameter = 6\n").unwrap();
        let shop = generic::metric().unwrap();
        let bounds = Bounds { least: 0.0, most: 0.15, wanted: 0.05 };
        assert!(matching(&kit, bounds).is_empty());
        assert_eq!(to_buy(&kit, &shop, bounds), Some((Tool::Bush(32.0), 1)));
    }
}
