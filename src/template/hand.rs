//! The hand of a shouldered piece: which face is up, which edges go to the marks, and whether a mistake would show.
//!
//! In: panels, openings, the outlines, mm. Out: the steps of the work, each step's map from the drawing to the work,
//! and a common mirror axis of plug and shoulder. A shouldered inlay is cut with its plug up and then turned over into
//! the board, so it must be cut as the mirror image. On a panel that serves both pieces, each opening is then used with
//! its other face up. It is set by the other of the two edges that change places.
//!
//! An axis is accepted only if reflection maps the edges onto themselves within [`FINDING_DEPTH`]. A missed axis causes
//! one note too many, never one too few. No errors. The rule follows from the reflections alone: plane geometry.

use super::{Opening, Panel, Turn};
use crate::geom::edges::{EdgeIndex, sampled};
use crate::geom::{Affine, Point, Region, Segment, Vec2, trig};
use crate::kit::Pair;
use crate::names::names;
use crate::tolerance::FINDING_DEPTH;

/// Greatest spacing of sampled points along an edge, mm.
const STEP: f64 = 0.1;

/// The workpiece that is routed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    Board,
    Inlay,
}

impl Work {
    /// Its name in the document: `board` or `inlay`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Work::Board => "board",
            Work::Inlay => "inlay",
        }
    }
}

names!(serde Work, "it has a step for an unknown piece"; Board, Inlay);

/// The purpose of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// The finished line.
    Line,
    /// Waste only.
    Clearing,
}

names!(Purpose, "it has a step with an unknown purpose"; Line = "line", Clearing = "clearing");

/// The two edges of the panel that are set to the marks, as seen on the face that is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Corner {
    /// Right, else left.
    pub right: bool,
    /// Top, else bottom.
    pub top: bool,
}

impl Corner {
    pub const BOTTOM_LEFT: Corner = Corner { right: false, top: false };

    #[must_use]
    pub fn names(self) -> [&'static str; 2] {
        [if self.right { "right" } else { "left" }, if self.top { "top" } else { "bottom" }]
    }

    /// The corner for the inlay on a panel that also serves the board.
    #[must_use]
    pub fn for_insert(turn: Turn) -> Corner {
        Corner { right: turn == Turn::LeftRight, top: turn == Turn::BottomTop }
    }
}

/// One placement of the template on a piece and one run of the router.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    pub work: Work,
    pub panel: u32,
    pub face_up: u8,
    pub corner: Corner,
    /// Id of the opening.
    pub opening: String,
    pub outline: usize,
    pub purpose: Purpose,
    pub pair: Pair,
    /// From the face of the wood, mm; `None` if not given.
    pub depth: Option<f64>,
    /// Cuts right through the wood.
    pub through: bool,
    /// The middle is cleared too, so the bush goes everywhere in its opening; else it runs along the edge.
    pub whole: bool,
}

/// Maps the drawing frame to the frame of the work: mm, x right, y up, origin where the marks of the two edges meet. It
/// holds when `opening` of `panel` is used with `face_up` up and the edges of `corner` on the marks.
#[must_use]
pub fn on_work(panel: &Panel, opening: &Opening, face_up: u8, corner: Corner) -> Affine {
    let seen = if face_up == opening.face { opening.place } else { panel.turned() * opening.place };
    let x = if corner.right { -panel.width } else { 0.0 };
    let y = if corner.top { -panel.height } else { 0.0 };
    Affine::translate((x, y)) * seen
}

/// A common mirror axis of both regions, as a point and a direction; `None` if none is found.
#[must_use]
pub fn common_axis(plug: &Region, shoulder: &Region) -> Option<(Point, Vec2)> {
    let (a, b) = (Shape::of(plug)?, Shape::of(shoulder)?);
    let apart = b.centroid - a.centroid;
    let directions: Vec<Vec2> = if apart.hypot() > FINDING_DEPTH {
        vec![apart / apart.hypot()]
    } else if a.is_disc(plug) {
        b.directions(shoulder)
    } else {
        a.directions(plug)
    };
    // A common axis passes through both centroids.
    directions.into_iter().map(|d| (b.centroid, d)).find(|&(p, d)| mirrors(shoulder, p, d) && mirrors(plug, p, d))
}

/// Whether reflection in the line maps the region onto itself.
fn mirrors(region: &Region, on: Point, direction: Vec2) -> bool {
    let index = EdgeIndex::new(region);
    sampled(region, STEP).all(|p| {
        let v = p - on;
        let reflected = on + direction * (2.0 * v.dot(direction)) - v;
        index.nearest(reflected).is_some_and(|n| n.distance <= FINDING_DEPTH)
    })
}

/// First and second moments of a region's area.
struct Shape {
    centroid: Point,
    /// ∫x², ∫xy, ∫y² about the centroid, over the area.
    second: [f64; 3],
}

impl Shape {
    /// From the polygon through points [`STEP`] mm apart (Green's theorem).
    fn of(region: &Region) -> Option<Shape> {
        let origin = region.bounds()?.center();
        let (mut area, mut first, mut second) = (0.0, Vec2::ZERO, [0.0; 3]);
        for ring in &region.rings {
            let points: Vec<Vec2> = sampled(&Region::new(vec![ring.clone()]), STEP).map(|p| p - origin).collect();
            for (i, p) in points.iter().enumerate() {
                let q = points[(i + 1) % points.len()];
                let w = p.cross(q);
                area += w / 2.0;
                first += (*p + q) * (w / 6.0);
                second[0] += w * (p.x * p.x + p.x * q.x + q.x * q.x) / 12.0;
                second[1] += w * (2.0 * p.x * p.y + p.x * q.y + q.x * p.y + 2.0 * q.x * q.y) / 24.0;
                second[2] += w * (p.y * p.y + p.y * q.y + q.y * q.y) / 12.0;
            }
        }
        if area.abs() < 1e-9 {
            return None;
        }
        let c = first / area;
        let [xx, xy, yy] = second.map(|m| m / area);
        Some(Shape { centroid: origin + c, second: [xx - c.x * c.x, xy - c.x * c.y, yy - c.y * c.y] })
    }

    fn is_disc(&self, region: &Region) -> bool {
        let far = |p: Point| (p - self.centroid).hypot();
        let (least, most) =
            sampled(region, STEP).map(far).fold((f64::INFINITY, 0.0_f64), |(l, m), d| (l.min(d), m.max(d)));
        most - least <= FINDING_DEPTH
    }

    /// Candidate directions of an axis: the principal axes of the area, and bisectors between points farthest from the
    /// centroid. An axis maps farthest points to farthest points, so one of them is paired with each.
    fn directions(&self, region: &Region) -> Vec<Vec2> {
        let [xx, xy, yy] = self.second;
        let principal = trig::angle(Vec2::new(xx - yy, 2.0 * xy)) / 2.0;
        let mut all = vec![trig::unit(principal), trig::left(trig::unit(principal))];
        let extreme: Vec<Vec2> = region.segments().flat_map(|s| self.extremes(s)).collect();
        let most = extreme.iter().map(|v| v.hypot()).fold(0.0, f64::max);
        let far: Vec<f64> = extreme.into_iter().filter(|v| v.hypot() > most - FINDING_DEPTH).map(trig::angle).collect();
        if let Some(first) = far.first() {
            all.extend(far.iter().map(|other| trig::unit((first + other) / 2.0)));
        }
        all
    }

    /// Relative to the centroid: the start of an edge, and an arc's farthest point.
    fn extremes(&self, s: &Segment) -> Vec<Vec2> {
        let mut all = vec![s.start() - self.centroid];
        if let Segment::Arc(a) = s {
            let out = a.center - self.centroid;
            if out.hypot() > FINDING_DEPTH && a.spans(out) {
                all.push(out + out / out.hypot() * a.radius);
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Ring;

    fn polygon(points: &[(f64, f64)]) -> Region {
        Region::new(vec![Ring::polygon(&points.iter().map(|&p| Point::from(p)).collect::<Vec<_>>())])
    }

    fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Region {
        polygon(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
    }

    fn disc(x: f64, y: f64, r: f64) -> Region {
        Region::new(vec![Ring::circle(Point::new(x, y), r)])
    }

    #[test]
    fn each_has_an_axis_and_the_pair_has_none() {
        let shoulder = rectangle(0.0, 0.0, 80.0, 50.0);
        assert!(common_axis(&rectangle(10.0, 8.0, 20.0, 20.0), &shoulder).is_none());
        // Half way up there is an axis again, along the rectangle.
        let (_, d) = common_axis(&rectangle(10.0, 15.0, 20.0, 20.0), &shoulder).unwrap();
        assert!(d.y.abs() < 1e-9, "{d:?}");
    }

    #[test]
    fn any_direction_and_any_number() {
        assert!(common_axis(&disc(3.0, 4.0, 15.0), &disc(10.0, -2.0, 30.0)).is_some());
        assert!(common_axis(&disc(0.0, 0.0, 15.0), &rectangle(-20.0, -20.0, 40.0, 40.0)).is_some());
        // A square turned by 0.3 in a disc, off its centre along a diagonal and beside it.
        let turned = |m: Affine| rectangle(-10.0, -10.0, 20.0, 20.0).under_similarity(m);
        let square = turned(Affine::rotate(0.3));
        let on = trig::unit(0.3 + std::f64::consts::FRAC_PI_4) * 5.0;
        let beside = trig::unit(0.5) * 5.0;
        assert!(common_axis(&square, &disc(on.x, on.y, 30.0)).is_some());
        assert!(common_axis(&square, &disc(beside.x, beside.y, 30.0)).is_none());
    }

    #[test]
    fn a_parallelogram_turns_but_has_no_axis() {
        let skew = polygon(&[(-30.0, -10.0), (20.0, -10.0), (30.0, 10.0), (-20.0, 10.0)]);
        assert!(common_axis(&disc(0.0, 0.0, 5.0), &skew).is_none());
    }
}
