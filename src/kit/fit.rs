//! The sensitivity of the gap to errors of the parts.
//!
//! In: the tools, and whether one opening serves both pieces. Out: the change of the gap per side, mm, if a part is 0.1
//! mm larger than calculated. The edge of a recess lies `T/2 − B/2 + d/2` from its middle, that of an inlay `T/2 − B/2
//! − d/2`. The gap is their difference. So a part of one piece counts half. A part of both pieces cancels or counts in
//! full.

use super::Tools;

/// The error of a part, mm.
pub const BY: f64 = 0.1;

/// A part and the effect of its error on the gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Sensitivity {
    /// Its name in messages.
    pub part: &'static str,
    /// Its name in JSON.
    pub name: &'static str,
    /// Change of the gap per side, mm, if the part is [`BY`] larger.
    pub gap: f64,
}

/// Every part that affects the gap, in the order of the work.
#[must_use]
pub fn sensitivities(tools: &Tools, one_opening: bool) -> Vec<Sensitivity> {
    let say = |part, name, gap: f64| Sensitivity { part, name, gap };
    let half = BY / 2.0;
    let mut all = Vec::new();
    if one_opening {
        all.push(say("the opening", "opening", 0.0));
    } else {
        all.push(say("the recess's opening", "recess-opening", half));
        all.push(say("the inlay's opening", "inlay-opening", -half));
    }
    if tools.recess.bush == tools.inlay.bush {
        all.push(say("the bush", "bush", 0.0));
    } else {
        all.push(say("the recess's bush", "recess-bush", -half));
        all.push(say("the inlay's bush", "inlay-bush", half));
    }
    if tools.recess.cutter == tools.inlay.cutter {
        all.push(say("the cutter, or its runout", "cutter", BY));
    } else {
        all.push(say("the recess's cutter, or its runout", "recess-cutter", half));
        all.push(say("the inlay's cutter, or its runout", "inlay-cutter", half));
    }
    // A layer of thickness t makes the bush 2t larger.
    all.push(say("tape on the bush, inlay only", "tape-inlay", BY));
    all.push(say("tape on the bush, recess only", "tape-recess", -BY));
    all.push(say("bush off the cutter's axis, router turned around", "eccentricity", -2.0 * BY));
    all
}

/// Like [`sensitivities`], if only one piece is routed and the other one exists.
#[must_use]
pub fn sensitivities_of_one(recess: bool) -> Vec<Sensitivity> {
    let half = if recess { BY / 2.0 } else { -BY / 2.0 };
    let say = |part, name, gap: f64| Sensitivity { part, name, gap };
    if recess {
        return vec![
            say("the recess's opening", "recess-opening", half),
            say("the recess's bush", "recess-bush", -half),
            say("the recess's cutter, or its runout", "recess-cutter", half),
            say("tape on the bush", "tape-recess", -2.0 * half),
            say("the part", "part", -half),
        ];
    }
    vec![
        say("the inlay's opening", "inlay-opening", half),
        say("the inlay's bush", "inlay-bush", -half),
        say("the inlay's cutter, or its runout", "inlay-cutter", -half),
        say("tape on the bush", "tape-inlay", -2.0 * half),
        say("the recess in hand", "recess", -half),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::Pair;
    use super::*;

    /// The gap per side, straight from the edges of the two pieces.
    fn gap(t: (f64, f64), f: Pair, m: Pair) -> f64 {
        (t.0 - f.bush + f.cutter) / 2.0 - (t.1 - m.bush - m.cutter) / 2.0
    }

    /// With one piece, each figure of its tools equals that with both pieces. The existing piece counts half.
    #[test]
    fn of_one_piece_only() {
        let t = Tools::new(Pair { bush: 27.0, cutter: 6.0 }, Pair { bush: 16.0, cutter: 5.0 }, 0.05).unwrap();
        let both = sensitivities(&t, false);
        for recess in [true, false] {
            let all = sensitivities_of_one(recess);
            let shared: Vec<_> =
                all.iter().filter_map(|s| Some((s.gap, both.iter().find(|b| b.name == s.name)?.gap))).collect();
            assert_eq!(shared.len(), 4, "{all:?}");
            assert!(shared.iter().all(|(a, b)| a == b), "{all:?} {both:?}");
            assert_eq!(all.last().map(|s| s.gap), Some(if recess { -BY / 2.0 } else { BY / 2.0 }));
        }
    }

    /// Compares each figure with the difference of two gaps.
    #[test]
    fn every_figure_is_the_difference_of_two_gaps() {
        let p = |bush, cutter| Pair { bush, cutter };
        for (f, m) in [(p(20.0, 6.0), p(20.0, 6.0)), (p(27.0, 6.0), p(16.0, 5.0)), (p(20.0, 6.0), p(16.0, 6.0))] {
            let tools = Tools::new(f, m, 0.05).unwrap();
            let t = (80.0, 80.0);
            let before = gap(t, f, m);
            for s in sensitivities(&tools, false) {
                let after = match s.name {
                    "recess-opening" => gap((t.0 + BY, t.1), f, m),
                    "inlay-opening" => gap((t.0, t.1 + BY), f, m),
                    "bush" => gap(t, p(f.bush + BY, f.cutter), p(m.bush + BY, m.cutter)),
                    "recess-bush" => gap(t, p(f.bush + BY, f.cutter), m),
                    "inlay-bush" => gap(t, f, p(m.bush + BY, m.cutter)),
                    "cutter" => gap(t, p(f.bush, f.cutter + BY), p(m.bush, m.cutter + BY)),
                    "recess-cutter" => gap(t, p(f.bush, f.cutter + BY), m),
                    "inlay-cutter" => gap(t, f, p(m.bush, m.cutter + BY)),
                    "tape-inlay" => gap(t, f, p(m.bush + 2.0 * BY, m.cutter)),
                    "tape-recess" => gap(t, p(f.bush + 2.0 * BY, f.cutter), m),
                    _ => continue,
                };
                assert!((after - before - s.gap).abs() < 1e-9, "{s:?}: {}", after - before);
            }
        }
    }
}
