//! The plan of a face: a picture for people, not for cutting.
//!
//! In: a face with its openings, and the rest of the picture ([`Plan`]). Out: an SVG in mm, at true size, with the groups
//! `KEEP_CLEAR`, `OPENING`, `FREE_HAND`, `FREE_EDGE`, `REFERENCE_EDGE`, `STOPS`, `TURN_LINE`, `SIGHT_LINE` (the centre
//! lines), `DATUM` and `WORDS`. Empty groups are left out. A point (x, y) of the face frame lies at (x, height − y).
//! Words and strokes are large enough to read when the plan is printed on one A4 page. Refuses numbers that are not
//! finite.
//!
//! Words never cover lines. They lie beside their opening where there is room, else in the list below, under the
//! opening's number.

mod grid;
mod group;
mod labels;
mod legend;
mod openings;
mod panel;

pub use labels::labels;

use super::canvas::{self, Anchor, Canvas, TextStyle};
use crate::geom::{Point, Rect, Region, Vec2};
use crate::panel::Face;
use crate::text::{Length, NotFinite, Show, plain, whole};
use grid::Grid;
use group::PlanGroup;

/// The content of a plan besides its openings.
#[derive(Clone, Copy, Debug, Default)]
pub struct Plan<'a> {
    /// Name of the drawing, without its folders.
    pub title: &'a str,
    /// The unit of figures for people.
    pub show: Show,
    /// Files for the machine, in words: `key-face-1.dxf or key-face-1.svg`.
    pub face_files: &'a str,
    /// Where the centre lines cross, face frame, mm.
    pub centre_mark: Option<Point>,
    /// The area without clamp, stop or screw, face frame, mm.
    pub keep_clear: Option<&'a Region>,
    /// Points of the machine that touch the reference edges, face frame, mm.
    pub stops: &'a [Point],
    /// Waste under the openings that no guided bush reaches, face frame, mm.
    pub free_hand: Option<&'a Region>,
    /// Lines for each opening of the face, in order: a heading (`for the recess`), tools, sizes.
    pub words: &'a [Vec<String>],
}

/// Width and height of the panel on an A4 page with words round it, mm: landscape and portrait.
const LYING: (f64, f64) = (225.0, 95.0);
const STANDING: (f64, f64) = (145.0, 170.0);
/// Height of words on the printed page, mm: 9 points.
const TEXT: f64 = 3.2;

/// A side of the panel, as seen on the plan.
#[derive(Clone, Copy, PartialEq, Eq)]
enum PanelSide {
    Left,
    Right,
    Bottom,
    Top,
}

/// The state of the drawing. A length on the printed page times `k` is a length in the file.
struct PlanDrawing<'a> {
    face: &'a Face<'a>,
    plan: &'a Plan<'a>,
    ink: Canvas<PlanGroup>,
    taken: Grid,
    /// Millimetres in the file for one on the printed page.
    k: f64,
    /// Size of the panel, mm.
    w: f64,
    h: f64,
    /// Bounding boxes of the openings, on the plan.
    boxes: Vec<Rect>,
}

/// A length that is set out with a rule: whole millimetres, or hundredths where it is not whole.
pub(super) fn ruled(mm: f64) -> Length {
    if (mm - mm.round()).abs() < 0.005 { whole(mm) } else { plain(mm) }.with_fraction()
}

/// The plan of a face as an SVG file.
///
/// # Errors
/// [`NotFinite`] where a size or place is not a finite number.
pub fn svg(face: &Face, plan: &Plan) -> Result<String, NotFinite> {
    let (w, h) = (face.panel.width, face.panel.height);
    let keep_clear = plan.keep_clear.and_then(Region::bounds);
    let numbers = [w, h].into_iter().chain(plan.centre_mark.iter().flat_map(|p| [p.x, p.y]));
    if numbers.chain(keep_clear.iter().flat_map(|b| [b.x0, b.y0, b.x1, b.y1])).any(|v| !v.is_finite()) {
        return Err(NotFinite);
    }
    let shrunk = |room: (f64, f64)| (w / room.0).max(h / room.1);
    let k = shrunk(LYING).min(shrunk(STANDING)).max(1.0);
    let sheet = Rect::new(0.0, 0.0, w, h);
    let mut d = PlanDrawing {
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
    d.centre_lines();
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

impl PlanDrawing<'_> {
    /// A point of the face frame on the plan.
    fn at(&self, p: Point) -> Point {
        Point::new(p.x, self.h - p.y)
    }

    fn text(&self) -> f64 {
        TEXT * self.k
    }

    fn style(&self, colour: &'static str) -> TextStyle<'static> {
        TextStyle::new(self.text(), colour)
    }

    /// Points along a region's edges, closer than the grid's cells, on the plan.
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

    /// Marks all lines as taken, so that no words cover them.
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

    /// Takes a free box outside the panel and returns it. Its middle is at `along`, mm from the left or the top of the
    /// plan. Its distance from the panel is `off` or more, mm.
    fn outside(&mut self, side: PanelSide, along: f64, long: f64, deep: f64, off: f64) -> Rect {
        let place = |off: f64| match side {
            PanelSide::Bottom => Rect::new(along - long / 2.0, self.h + off, along + long / 2.0, self.h + off + deep),
            PanelSide::Top => Rect::new(along - long / 2.0, -off - deep, along + long / 2.0, -off),
            PanelSide::Left => Rect::new(-off - deep, along - long / 2.0, -off, along + long / 2.0),
            PanelSide::Right => Rect::new(self.w + off, along - long / 2.0, self.w + off + deep, along + long / 2.0),
        };
        let gap = 0.8 * self.k;
        let free =
            (0..70).map(|i| place(off + f64::from(i) * self.k)).find(|b| self.taken.is_free(b.inflate(gap, gap)));
        // In a margin without any free box, words over a line are better than no words.
        let b = free.unwrap_or_else(|| place(off));
        self.taken.take_box(b);
        b
    }

    /// Words outside the panel, along a side.
    fn words_outside(&mut self, side: PanelSide, along: f64, s: &str, style: TextStyle, off: f64) {
        let upright = matches!(side, PanelSide::Left | PanelSide::Right);
        let b = self.outside(side, along, canvas::width(s, style.size, style.bold), style.size, off);
        let style = TextStyle { upright, ..style }.anchor(Anchor::Middle);
        let at = if upright {
            Point::new(b.x0 + 0.8 * style.size, b.center().y)
        } else {
            Point::new(b.center().x, b.y0 + 0.8 * style.size)
        };
        self.ink.text(at, s, style);
    }

    /// A solid arrow head at `tip` that points along `v`, a unit vector.
    fn arrow_head(&mut self, group: PlanGroup, tip: Point, v: Vec2, colour: &str) {
        let k = self.k;
        let (back, aside) = (tip - v * (3.2 * k), Vec2::new(-v.y, v.x) * (1.3 * k));
        self.ink.polygon(group, &[tip, back + aside, back - aside], colour);
    }
}

#[cfg(test)]
mod tests;
