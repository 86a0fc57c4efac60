//! How well openings agree that are cut and used with the panel against stops.
//!
//! In: a panel, its centre mark, set-up errors, mm. Out: the positions of the machine's stops, the panel's diagonal,
//! and the shift between the openings of the two faces.
//!
//! Both faces are cut with one datum, and each is set to the marks by its own edges. So an error of the datum shifts
//! both alike. Only sides out of square shift the faces against each other: each side leans the other way as seen on
//! its own face. The shift is proportional to the height difference between the side stops on machine and work. Two
//! panels that are not turned may lean opposite ways; the worst case is the same. Plane geometry; no errors.

use crate::geom::Point;
use crate::panel::{Panel, Setup, Turn};

/// Positions of stops are multiples of this, mm, and at least this far from the corners.
const STEP: f64 = 10.0;
/// The two stops along one edge are this fraction of its length from its ends.
const PART: f64 = 0.15;

/// Points of the machine that touch the panel's reference edges, whichever face is up, in the face frame. Two lie along
/// the edge that keeps its place, symmetric about its middle. One lies at the side, level with the centre mark. Empty
/// if the panel's own outline is cut in the same set-up.
#[must_use]
pub fn stops(panel: &Panel, centre_mark: Point) -> Vec<Point> {
    if panel.setup == Setup::One && panel.turn != Turn::None {
        return Vec::new();
    }
    let off = |length: f64| ((length * PART / STEP).round() * STEP).max(STEP).min(length / 2.0);
    let (w, h) = (panel.width, panel.height);
    if panel.turn == Turn::BottomTop {
        return [(0.0, off(h)), (0.0, h - off(h)), (centre_mark.x, 0.0)].map(Point::from).into();
    }
    [(off(w), 0.0), (w - off(w), 0.0), (0.0, centre_mark.y)].map(Point::from).into()
}

/// Length of both diagonals of a square-cornered panel, mm.
#[must_use]
pub fn diagonal(panel: &Panel) -> f64 {
    panel.width.hypot(panel.height)
}

/// Length of the sides that change places when the panel is turned, mm.
#[must_use]
pub fn side(panel: &Panel) -> f64 {
    if panel.turn == Turn::BottomTop { panel.width } else { panel.height }
}

/// How far those sides are out of square over their length, mm, if the diagonals differ by `difference`. A
/// parallelogram with sides a and b has d² − e² = 4ab sin θ.
#[must_use]
pub fn out_of_square(panel: &Panel, difference: f64) -> f64 {
    let base = panel.width * panel.height / side(panel);
    difference * diagonal(panel) / (2.0 * base)
}

/// How far the openings of the two faces are shifted against each other, mm. The sides are out of square by `out` over
/// their length. The side stop on the work is `height` mm higher than on the machine.
#[must_use]
pub fn apart(panel: &Panel, out: f64, height: f64) -> f64 {
    2.0 * out / side(panel) * height.abs()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::Edges;

    fn panel(width: f64, height: f64, turn: Turn) -> Panel {
        Panel { number: 1, width, height, turn, setup: Setup::Two, edges: Edges::turned_over(turn) }
    }

    /// The position, from the work's stop, of a hole cut `u` from the machine's stop, if the side against them runs as
    /// x = lean · y.
    fn on_work(u: f64, lean: f64, machine: f64, work: f64) -> f64 {
        // The side touches the machine's stop at that height; this is the hole's distance from the foot of the side.
        let from_foot = u + lean * machine;
        from_foot - lean * work
    }

    #[test]
    fn sides_out_by_half_a_millimetre_in_240() {
        let p = panel(480.0, 240.0, Turn::LeftRight);
        let reported = apart(&p, 0.5, 80.0);
        assert!((reported - 1.0 / 3.0).abs() < 1e-12, "{reported}");
        // The other side leans the other way on its own face.
        let lean = 0.5 / 240.0;
        let found = on_work(120.0, lean, 20.0, 100.0) - on_work(120.0, -lean, 20.0, 100.0);
        assert!((found.abs() - reported).abs() < 1e-12, "{found}");
        assert!(apart(&p, 0.5, 0.0) == 0.0);
        // Turned bottom over top, the long sides change places.
        assert!((apart(&panel(480.0, 240.0, Turn::BottomTop), 0.5, 80.0) - 1.0 / 6.0).abs() < 1e-12);
    }

    #[test]
    fn the_diagonals_tell_how_far_out_it_is() {
        for turn in [Turn::LeftRight, Turn::BottomTop] {
            let p = panel(480.0, 240.0, turn);
            let out = 0.5;
            // A parallelogram: the sides that change places lean by `out`.
            let (base, side) = (480.0 * 240.0 / side(&p), side(&p));
            let (long, short) = ((base + out).hypot(side), (base - out).hypot(side));
            assert!((out_of_square(&p, long - short) - out).abs() < 1e-3);
        }
        assert!((diagonal(&panel(400.0, 300.0, Turn::None)) - 500.0).abs() < 1e-12);
    }

    #[test]
    fn the_same_stops_touch_both_faces() {
        for (turn, setup) in [(Turn::LeftRight, Setup::Two), (Turn::BottomTop, Setup::Two), (Turn::None, Setup::Two)] {
            let p = Panel { setup, ..panel(480.0, 240.0, turn) };
            let all = stops(&p, Point::new(120.0, 100.0));
            assert_eq!(all.len(), 3);
            // Two on the edge that keeps its place; turning the panel over swaps them.
            let other = p.turned() * all[0];
            if turn != Turn::None {
                assert!((other - all[1]).hypot() < 1e-9, "{turn:?}: {all:?}");
            }
            assert!(all.iter().all(|s| s.x * s.y == 0.0));
        }
        let one = Panel { setup: Setup::One, ..panel(480.0, 240.0, Turn::LeftRight) };
        assert!(stops(&one, Point::new(120.0, 100.0)).is_empty());
    }
}
