//! The plan of a face: what the maker looks at, not for cutting.
//!
//! In: a face with its openings, and what only the caller knows ([`Plan`]). Out: an SVG in mm, true size, with the groups
//! `KEEP_CLEAR`, `OPENING`, `FREE_HAND`, `FREE_EDGE`, `REFERENCE_EDGE`, `STOPS`,
//! `TURN_LINE`, `SIGHT_LINE`, `DATUM` and `WORDS` (those that
//! hold something). Places are those of the face frame: x as it is, y as height − y. Words and strokes are sized so
//! that they read when the whole is printed on one A4 page. Refuses numbers that are not finite.
//!
//! Words are put where nothing lies: beside their opening if there is room, else in the list below, under the same number.

mod grid;
mod group;
mod legend;
mod openings;
mod panel;

use super::canvas::{self, Anchor, Canvas, Style};
use crate::geom::{Point, Rect, Region, Vec2};
use crate::template::Face;
use crate::text::NotFinite;
use grid::Grid;
use group::Group;

/// What a plan shows besides the openings.
#[derive(Clone, Copy, Debug, Default)]
pub struct Plan<'a> {
    /// Name of the drawing, without its folders.
    pub title: &'a str,
    /// Files for the machine, in words: `key-face-1.dxf or key-face-1.svg`.
    pub face_files: &'a str,
    /// The common point in the face frame, mm.
    pub common_point: Option<Point>,
    /// Where no clamp, stop or screw may stand, in the face frame, mm.
    pub keep_clear: Option<&'a Region>,
    /// Points of the machine that touch the reference edges, in the face frame, mm.
    pub stops: &'a [Point],
    /// Waste under the openings that no guided bush reaches, in the face frame.
    pub free_hand: Option<&'a Region>,
    /// For each opening of the face, in order: the first line a heading (`for the recess`), then what tools, what size.
    pub words: &'a [Vec<String>],
}

/// Room for the panel on an A4 page with the words round it, mm: wide and high, the page lying and standing.
const LYING: (f64, f64) = (225.0, 95.0);
const STANDING: (f64, f64) = (145.0, 170.0);
/// Height of words on the printed page, mm: 9 points.
const TEXT: f64 = 3.2;

/// A side of the panel, as drawn.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Left,
    Right,
    Bottom,
    Top,
}

/// The plan being drawn. Lengths on the printed page times `k` are lengths in the file.
struct Drawing<'a> {
    face: &'a Face<'a>,
    plan: &'a Plan<'a>,
    ink: Canvas<Group>,
    taken: Grid,
    /// Mm in the file for a millimetre of the printed page.
    k: f64,
    /// Size of the panel, mm.
    w: f64,
    h: f64,
    /// Boxes of the openings, on the plan.
    boxes: Vec<Rect>,
}

/// The plan of a face as an SVG file.
///
/// # Errors
/// [`NotFinite`] where a size or place is not a finite number.
pub fn svg(face: &Face, plan: &Plan) -> Result<String, NotFinite> {
    let (w, h) = (face.panel.width, face.panel.height);
    let keep_clear = plan.keep_clear.and_then(Region::bounds);
    let numbers = [w, h].into_iter().chain(plan.common_point.iter().flat_map(|p| [p.x, p.y]));
    if numbers.chain(keep_clear.iter().flat_map(|b| [b.x0, b.y0, b.x1, b.y1])).any(|v| !v.is_finite()) {
        return Err(NotFinite);
    }
    let shrunk = |room: (f64, f64)| (w / room.0).max(h / room.1);
    let k = shrunk(LYING).min(shrunk(STANDING)).max(1.0);
    let sheet = Rect::new(0.0, 0.0, w, h);
    let mut d = Drawing {
        face,
        plan,
        ink: Canvas::new(sheet),
        taken: Grid::new(sheet.inflate(70.0 * k, 70.0 * k), 0.8 * k),
        k,
        w,
        h,
        boxes: Vec::new(),
    };
    d.take_lines();
    let paper = d.panel();
    d.stops();
    d.keep_clear()?;
    d.sight_lines();
    d.datum();
    d.turn_line();
    d.edge_words();
    let list = d.openings()?;
    d.free_hand();
    d.below(&list);
    d.above();
    let name = format!("{}: panel {}, face {}", plan.title, face.panel.number, face.face);
    let margin = 4.0 * k;
    d.ink.finish(&name, &paper, margin)
}

impl Drawing<'_> {
    /// A point of the face frame on the plan.
    fn at(&self, p: Point) -> Point {
        Point::new(p.x, self.h - p.y)
    }

    fn text(&self) -> f64 {
        TEXT * self.k
    }

    fn style(&self, colour: &'static str) -> Style<'static> {
        Style::new(self.text(), colour)
    }

    /// Points of a region's edges, closer than the cells of the grid, on the plan.
    fn points(&self, region: &Region) -> Vec<Point> {
        let mut out = Vec::new();
        for s in region.segments() {
            let n = (s.length() / (0.4 * self.k)).ceil().clamp(1.0, 1e5) as usize;
            out.extend((0..n).map(|i| self.at(s.at(i as f64 / n as f64))));
        }
        out
    }

    fn take_stroke(&mut self, a: Point, b: Point) {
        let n = ((b - a).hypot() / (0.4 * self.k)).ceil().max(1.0) as usize;
        for i in 0..=n {
            self.taken.take_point(a.lerp(b, i as f64 / n as f64));
        }
    }

    /// All lines that words must keep off.
    fn take_lines(&mut self) {
        let mut points: Vec<Point> = Vec::new();
        for o in &self.face.openings {
            points.extend(self.points(&o.on_face()));
        }
        for r in [self.plan.keep_clear, self.plan.free_hand].into_iter().flatten() {
            points.extend(self.points(r));
        }
        for p in points {
            self.taken.take_point(p);
        }
        let (w, h) = (self.w, self.h);
        let c = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h), (0.0, 0.0)].map(Point::from);
        for pair in c.windows(2) {
            self.take_stroke(pair[0], pair[1]);
        }
    }

    /// Puts a box outside the panel: along the side about `along` (mm from the left or the top of the plan), at least
    /// `off` from the panel, farther where something is in the way. Gives the box.
    fn outside(&mut self, side: Side, along: f64, long: f64, deep: f64, off: f64) -> Rect {
        let place = |off: f64| match side {
            Side::Bottom => Rect::new(along - long / 2.0, self.h + off, along + long / 2.0, self.h + off + deep),
            Side::Top => Rect::new(along - long / 2.0, -off - deep, along + long / 2.0, -off),
            Side::Left => Rect::new(-off - deep, along - long / 2.0, -off, along + long / 2.0),
            Side::Right => Rect::new(self.w + off, along - long / 2.0, self.w + off + deep, along + long / 2.0),
        };
        let gap = 0.8 * self.k;
        let free =
            (0..70).map(|i| place(off + f64::from(i) * self.k)).find(|b| self.taken.is_free(b.inflate(gap, gap)));
        // So full a margin is not met in practice; then rather words over a line than no words.
        let b = free.unwrap_or_else(|| place(off));
        self.taken.take_box(b);
        b
    }

    /// Words outside the panel, along the side.
    fn words_outside(&mut self, side: Side, along: f64, s: &str, style: Style, off: f64) {
        let upright = matches!(side, Side::Left | Side::Right);
        let b = self.outside(side, along, canvas::width(s, style.size, style.bold), style.size, off);
        let style = Style { upright, ..style }.anchor(Anchor::Middle);
        let at = if upright {
            Point::new(b.x0 + 0.8 * style.size, b.center().y)
        } else {
            Point::new(b.center().x, b.y0 + 0.8 * style.size)
        };
        self.ink.words(at, s, style);
    }

    /// A solid arrow head at `tip`, pointing along `v` (unit length).
    fn arrow_head(&mut self, group: Group, tip: Point, v: Vec2, colour: &str) {
        let k = self.k;
        let (back, aside) = (tip - v * (3.2 * k), Vec2::new(-v.y, v.x) * (1.3 * k));
        self.ink.polygon(group, &[tip, back + aside, back - aside], colour);
    }
}

#[cfg(test)]
mod tests;
