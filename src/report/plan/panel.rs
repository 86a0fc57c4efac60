//! The panel on the plan: its edges, turn line, centre lines, datum, stops, and the area to keep clear.

use super::group::PlanGroup;
use super::{PanelSide, PlanDrawing};
use crate::geom::{Point, Rect, Region, Vec2};
use crate::panel::{Edge, Turn};
use crate::report::canvas::{Anchor, GREY, INK, OCHRE, PETROL, width};
use crate::text::{NotFinite, rounded, svg_path, tenth};

/// Distances from the panel's edge, mm on the page: the end of the hatching, the end of the centre lines, and the first
/// and the second line of words.
const HATCH: f64 = 2.4;
const TICK: f64 = 4.4;
const FIRST: f64 = 5.4;
const SECOND: f64 = 10.4;
/// Radius of a stop, mm on the page.
const STOP: f64 = 1.6;

impl PlanDrawing<'_> {
    /// Whether the edge on that side is a reference edge.
    fn is_reference(&self, side: PanelSide) -> bool {
        let e = self.face.edges();
        let edge = match side {
            PanelSide::Left => e.left,
            PanelSide::Right => e.right,
            PanelSide::Bottom => e.bottom,
            PanelSide::Top => e.top,
        };
        edge == Edge::Reference
    }

    /// Draws the edges. Corners at a free edge are bevelled, so they cannot pass for reference corners. Returns the
    /// sheet's area, to lie under everything.
    pub(super) fn panel(&mut self) -> String {
        let bevel = (5.0 * self.k).min(self.w.min(self.h) / 6.0);
        // Corners anticlockwise (y up) from the bottom left, each with the side before it and the side after it.
        let (w, h) = (self.w, self.h);
        let around = [
            (Point::new(0.0, 0.0), PanelSide::Left, PanelSide::Bottom),
            (Point::new(w, 0.0), PanelSide::Bottom, PanelSide::Right),
            (Point::new(w, h), PanelSide::Right, PanelSide::Top),
            (Point::new(0.0, h), PanelSide::Top, PanelSide::Left),
        ];
        let along = [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0), Vec2::new(-1.0, 0.0), Vec2::new(0.0, -1.0)];
        let mut corners = Vec::new();
        for (i, (c, before, after)) in around.into_iter().enumerate() {
            let cut = if self.is_reference(before) && self.is_reference(after) { 0.0 } else { bevel };
            corners.push((self.at(c - along[(i + 3) % 4] * cut), self.at(c + along[i] * cut)));
        }
        for i in 0..4 {
            let (a, b) = (corners[i].1, corners[(i + 1) % 4].0);
            if self.is_reference(around[i].2) {
                self.reference_edge(a, b, [i, (i + 1) % 4].map(|j| corners[j].0 == corners[j].1));
            } else {
                self.ink.polyline(PlanGroup::FreeEdge, &[a, b], GREY, 0.3 * self.k, &[]);
            }
            if corners[i].0 != corners[i].1 {
                self.ink.polyline(PlanGroup::FreeEdge, &[corners[i].0, corners[i].1], GREY, 0.3 * self.k, &[]);
            }
        }
        let n = |v: f64| rounded(v, 3).unwrap_or_default();
        let list: Vec<String> =
            corners.iter().flat_map(|c| [c.0, c.1]).map(|p| format!("{},{}", n(p.x), n(p.y))).collect();
        format!("<polygon points=\"{}\" fill=\"#f6f3ec\"/>", list.join(" "))
    }

    /// A thick line, hatched on its outer side, the sign for a fixed stop. `whole`: the corner at that end is not
    /// bevelled, and the line runs on to the outer side of its neighbour.
    fn reference_edge(&mut self, a: Point, b: Point, whole: [bool; 2]) {
        let k = self.k;
        let v = (b - a) / (b - a).hypot().max(f64::MIN_POSITIVE);
        // The edges run anticlockwise with y up, so their right hand is outside.
        let out = Vec2::new(-v.y, v.x);
        let off = out * (0.45 * k);
        let on = whole.map(|w| if w { v * (0.9 * k) } else { Vec2::ZERO });
        self.ink.polyline(PlanGroup::ReferenceEdge, &[a + off - on[0], b + off + on[1]], PETROL, 0.9 * k, &[]);
        let n = ((b - a).hypot() / (4.0 * k)).floor().max(1.0) as usize;
        let step = (b - a) / n as f64;
        for i in 0..n {
            let foot = a + step * (i as f64 + 0.5) + out * (0.9 * k);
            let tip = foot + (out + v) * ((HATCH - 0.9) * k);
            self.ink.polyline(PlanGroup::ReferenceEdge, &[foot, tip], PETROL, 0.25 * k, &[]);
        }
        let reach = out * (HATCH * k);
        let b = Rect::from_points(a, b).union(Rect::from_points(a + reach, b + reach));
        self.taken.take_box(b);
    }

    /// The machine's stops at the points where they touch the panel.
    pub(super) fn stops(&mut self) {
        let r = STOP * self.k;
        for p in self.plan.stops {
            let out = if p.x == 0.0 { Vec2::new(-r, 0.0) } else { Vec2::new(0.0, r) };
            let c = self.at(*p) + out;
            self.ink.circle(PlanGroup::Stops, c, r, "#ffffff", INK, 0.4 * self.k);
            self.ink.circle(PlanGroup::Stops, c, 0.4 * r, INK, INK, 0.1 * self.k);
            self.taken.take_box(Rect::from_center_size(c, (2.0 * r, 2.0 * r)));
        }
    }

    /// The duty of each edge, in words.
    pub(super) fn edge_words(&mut self) {
        for side in [PanelSide::Bottom, PanelSide::Left, PanelSide::Right, PanelSide::Top] {
            let reference = self.is_reference(side);
            let (s, colour) = if reference { ("reference edge", PETROL) } else { ("free edge: not used", GREY) };
            // Keeps clear of the turn line's arrow.
            let middle = match (side, self.face.panel.turn) {
                (PanelSide::Top, Turn::LeftRight) => self.w / 4.0,
                (PanelSide::Right, Turn::BottomTop) => 0.75 * self.h,
                (PanelSide::Bottom | PanelSide::Top, _) => self.w / 2.0,
                _ => self.h / 2.0,
            };
            let off = if matches!(side, PanelSide::Bottom | PanelSide::Left) { SECOND } else { FIRST };
            let style = self.style(colour);
            let style = if reference { style.bold() } else { style };
            self.words_outside(side, middle, s, style, off * self.k);
        }
    }

    /// The line about which the panel is turned over, and the direction.
    pub(super) fn turn_line(&mut self) {
        let (k, w, h) = (self.k, self.w, self.h);
        let dash = [6.0 * k, 1.2 * k, 1.2 * k, 1.2 * k];
        let (side, words) = match self.face.panel.turn {
            Turn::LeftRight => (PanelSide::Top, "turn left over right"),
            Turn::BottomTop => (PanelSide::Right, "turn bottom over top"),
            Turn::None => return,
        };
        let standing = side == PanelSide::Top;
        let (a, b) = if standing {
            (Point::new(w / 2.0, h + TICK * k), Point::new(w / 2.0, -FIRST * k))
        } else {
            (Point::new(-TICK * k, h / 2.0), Point::new(w + FIRST * k, h / 2.0))
        };
        let (middle, half) = (if standing { w / 2.0 } else { h / 2.0 }, 8.0 * k);
        let arrow = self.outside(side, middle, 2.0 * half + 3.0 * k, 7.0 * k, FIRST * k);
        self.ink.polyline(PlanGroup::TurnLine, &[a, b], INK, 0.35 * k, &dash);
        self.take_stroke(a, b);
        self.hop(arrow, half, standing);
        let mut style = self.style(INK).bold();
        let long = width(words, style.size, true);
        let along = half + 5.0 * k + long / 2.0;
        if standing {
            self.words_outside(side, middle + along, words, style, -arrow.y1 + k);
        } else {
            style.upright = true;
            self.words_outside(side, middle - along, words, style, arrow.x0 - w + k);
        }
    }

    /// An arrow over the turn line, within its box: to the right, or upwards.
    fn hop(&mut self, arrow: Rect, half: f64, standing: bool) {
        let k = self.k;
        let c = arrow.center();
        let (start, end, away, v) = if standing {
            let y = arrow.y1 - k;
            (Point::new(c.x - half, y), Point::new(c.x + half, y), Vec2::new(0.0, -1.0), Vec2::new(0.5, 0.866))
        } else {
            let x = arrow.x0 + k;
            (Point::new(x, c.y + half), Point::new(x, c.y - half), Vec2::new(1.0, 0.0), Vec2::new(-0.866, -0.5))
        };
        // A quadratic Bézier curve as a polyline.
        let top = start.midpoint(end) + away * (11.0 * k);
        let stop = end - v * (2.4 * k);
        let bow: Vec<Point> = (0..=24)
            .map(|i| {
                let t = f64::from(i) / 24.0;
                start.lerp(top, t).lerp(top.lerp(stop, t), t)
            })
            .collect();
        self.ink.polyline(PlanGroup::TurnLine, &bow, INK, 0.5 * k, &[]);
        self.arrow_head(PlanGroup::TurnLine, end, v, INK);
    }

    /// The centre lines from edge to edge, the centre mark, and its distances from the reference corner.
    pub(super) fn centre_lines(&mut self) {
        let Some(p) = self.plan.centre_mark else { return };
        let (k, w, h) = (self.k, self.w, self.h);
        let c = self.at(p);
        let tick = TICK * k;
        let dash = [4.0 * k, 1.0 * k, 0.5 * k, 1.0 * k];
        let lines =
            [(Point::new(c.x, h + tick), Point::new(c.x, -tick)), (Point::new(-tick, c.y), Point::new(w + tick, c.y))];
        for (a, b) in lines {
            self.ink.polyline(PlanGroup::CentreLine, &[a, b], PETROL, 0.25 * k, &dash);
            self.take_stroke(a, b);
        }
        self.ink.circle(PlanGroup::CentreLine, c, 1.2 * k, "none", PETROL, 0.3 * k);
        self.taken.take_box(Rect::from_center_size(c, (3.4 * k, 3.4 * k)));
        let [x, y] = [p.x, p.y].map(|v| tenth(v).with_fraction().shown(self.plan.show));
        let style = self.style(PETROL);
        self.words_outside(PanelSide::Bottom, p.x, &format!("{x} from the left"), style, FIRST * k);
        self.words_outside(PanelSide::Left, c.y, &format!("{y} from the bottom"), style, FIRST * k);
    }

    /// The datum, at the reference corner.
    pub(super) fn datum(&mut self) {
        let (k, corner) = (self.k, Point::new(0.0, self.h));
        let r = 2.2 * k;
        self.ink.circle(PlanGroup::Datum, corner, r, "#ffffff", INK, 0.4 * k);
        for (dx, dy) in [(1.0, -1.0), (-1.0, 1.0)] {
            let quarter: Vec<Point> = (0..=8)
                .map(|i| crate::geom::trig::unit(f64::from(i) * std::f64::consts::FRAC_PI_2 / 8.0))
                .map(|u| corner + Vec2::new(u.x * dx, u.y * dy) * r)
                .chain([corner])
                .collect();
            self.ink.polygon(PlanGroup::Datum, &quarter, INK);
        }
        self.taken.take_box(Rect::from_center_size(corner, (2.0 * r, 2.0 * r)));
        let (s, style) = ("datum (X0 Y0)", self.style(INK).bold());
        let long = width(s, style.size, true);
        let b = self.outside(PanelSide::Bottom, long / 2.0 - r, long, style.size, FIRST * k);
        self.ink.text(Point::new(b.x0, b.y0 + 0.8 * style.size), s, style.anchor(Anchor::Start));
    }

    /// The area that the router's base sweeps.
    pub(super) fn keep_clear(&mut self) -> Result<(), NotFinite> {
        let Some(region) = self.plan.keep_clear else { return Ok(()) };
        let Some(b) = region.bounds() else { return Ok(()) };
        let mut d = Vec::new();
        for ring in &region.rings {
            d.push(svg_path(ring, self.h)?);
        }
        let k = self.k;
        let n = |v: f64| rounded(v, 3);
        let (line, on, off) = (n(0.4 * k)?, n(2.0 * k)?, n(1.2 * k)?);
        let e = format!(
            "<path d=\"{}\" fill=\"{OCHRE}\" fill-opacity=\"0.07\" fill-rule=\"evenodd\" stroke=\"{OCHRE}\" \
             stroke-width=\"{line}\" stroke-dasharray=\"{on} {off}\"/>",
            d.join(" ")
        );
        let reach = Rect::from_points(self.at(b.origin()), self.at(Point::new(b.x1, b.y1)));
        self.ink.put(PlanGroup::KeepClear, &e, reach);
        Ok(())
    }

    /// Waste that no guided bush reaches, hatched.
    pub(super) fn free_hand(&mut self) {
        let Some(region) = self.plan.free_hand else { return };
        let k = self.k;
        let rings: Vec<Vec<Point>> =
            region.rings.iter().map(|r| self.points(&Region::new(vec![r.clone()]))).filter(|r| r.len() > 2).collect();
        for ring in &rings {
            let closed: Vec<Point> = ring.iter().chain(ring.first()).copied().collect();
            self.ink.polyline(PlanGroup::FreeHand, &closed, OCHRE, 0.3 * k, &[]);
        }
        for (a, b) in hatching(&rings, 1.6 * k) {
            self.ink.polyline(PlanGroup::FreeHand, &[a, b], OCHRE, 0.25 * k, &[]);
        }
    }
}

/// Strokes at 45°, `apart` from each other, within the rings by the even-odd rule.
fn hatching(rings: &[Vec<Point>], apart: f64) -> Vec<(Point, Point)> {
    // Turned by 45° the strokes are horizontal.
    let c = std::f64::consts::FRAC_1_SQRT_2;
    let turned = |p: Point| Point::new(c * (p.x + p.y), c * (p.y - p.x));
    let back = |p: Point| Point::new(c * (p.x - p.y), c * (p.x + p.y));
    let rings: Vec<Vec<Point>> = rings.iter().map(|r| r.iter().map(|p| turned(*p)).collect()).collect();
    let ys = || rings.iter().flatten().map(|p| p.y);
    let (low, high) = (ys().fold(f64::INFINITY, f64::min), ys().fold(f64::NEG_INFINITY, f64::max));
    let mut strokes = Vec::new();
    // Without rings the count is not finite, and there are no strokes.
    let count = ((high - low) / apart).floor();
    for i in 0..if count.is_finite() { count.clamp(0.0, 1e5) as u32 } else { 0 } {
        let y = low + apart * (f64::from(i) + 0.5);
        let mut at: Vec<f64> = Vec::new();
        for ring in &rings {
            for (j, a) in ring.iter().enumerate() {
                let b = ring[(j + 1) % ring.len()];
                if (a.y > y) != (b.y > y) {
                    at.push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
                }
            }
        }
        at.sort_by(f64::total_cmp);
        strokes.extend(at.chunks_exact(2).map(|x| (back(Point::new(x[0], y)), back(Point::new(x[1], y)))));
    }
    strokes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatching_fills_what_is_in_and_leaves_holes_out() {
        let square = |r: f64| vec![(-r, -r), (r, -r), (r, r), (-r, r)].into_iter().map(Point::from).collect::<Vec<_>>();
        let strokes = hatching(&[square(10.0), square(4.0)], 0.1);
        let length: f64 = strokes.iter().map(|(a, b)| (*b - *a).hypot()).sum();
        // Total length times distance is the area: 400 − 64.
        assert!((length * 0.1 - 336.0).abs() < 3.0, "{length}");
        assert!(strokes.iter().all(|(a, b)| {
            let m = a.midpoint(*b);
            m.x.abs().max(m.y.abs()) <= 10.0 && m.x.abs().max(m.y.abs()) >= 4.0 - 1e-9
        }));
        assert!(hatching(&[], 1.0).is_empty());
    }
}
