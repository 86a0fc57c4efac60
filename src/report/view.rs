//! From the drawing frame to the page: scaled, shifted, y turned.

use super::balloons::OFF;
use super::facts::Facts;
use super::glyph::REACH;
use crate::geom::{Affine, Point, Rect, Region, Segment};
use crate::text::{NotFinite, svg_path};

/// Width of a page of pictures, and of what the picture has of it, mm: a lying A4 sheet less 10 mm all round.
pub(super) const PAGE: f64 = 277.0;
pub(super) const LEFT: f64 = 182.0;
/// Between the picture and the list, mm.
pub(super) const GUTTER: f64 = 7.0;
/// Height of words, mm: 8.5 points; and from line to line.
pub(super) const TEXT: f64 = 3.0;
pub(super) const STEP: f64 = 1.3 * TEXT;
/// A mark farther from all that is drawn than so many of its larger sides would leave nothing to see of the drawing.
const FAR: f64 = 0.25;
/// Least side of what is shown, mm: a single point has none.
const LEAST: f64 = 1.0;

/// Box of all that is shown, marks left aside, drawing frame, mm.
pub(super) fn shown(facts: &Facts) -> Result<Rect, NotFinite> {
    let shapes = facts.drawing.shapes.iter().flat_map(|s| &s.paths).flat_map(|p| &p.segments).map(Segment::bounds);
    let outlines = facts.outlines.iter().filter_map(|o| o.region.bounds());
    let made = facts.made.iter().filter_map(|(_, r)| r.bounds());
    let all = shapes.chain(outlines).chain(made).reduce(|a, b| a.union(b));
    let b = all.or(facts.drawing.bounds).unwrap_or(Rect::ZERO);
    if ![b.x0, b.y0, b.x1, b.y1].into_iter().all(f64::is_finite) {
        return Err(NotFinite);
    }
    let more = |side: f64| ((LEAST - side) / 2.0).max(0.0);
    Ok(b.inflate(more(b.width()), more(b.height())))
}

/// Whether a mark there belongs on the picture.
pub(super) fn covers(shown: Rect, p: Point) -> bool {
    let by = FAR * shown.width().max(shown.height());
    let near = shown.inflate(by, by);
    near.x0 <= p.x && p.x <= near.x1 && near.y0 <= p.y && p.y <= near.y1
}

/// How the drawing lies on the page.
pub(super) struct View {
    shown: Rect,
    /// Mm of the page for a millimetre of the drawing.
    pub scale: f64,
    /// Where the lower left corner of what is shown lies on the page.
    corner: Point,
    /// Where the picture with its balloons ends.
    pub bottom: f64,
}

impl View {
    /// For a picture from `top` downwards, of at most `high` mm, in the middle of the left column.
    pub(super) fn new(shown: Rect, top: f64, high: f64) -> View {
        let round = OFF + REACH + 0.5;
        let (wide, deep) = (LEFT - 2.0 * round, high - 2.0 * round);
        let scale = (wide / shown.width()).min(deep / shown.height());
        let corner = Point::new((LEFT - shown.width() * scale) / 2.0, top + round + shown.height() * scale);
        View { shown, scale, corner, bottom: corner.y + round }
    }

    /// Around a place of the drawing: a square of `side` mm of it fills the square box `on` of the page.
    pub(super) fn close_up(middle: Point, side: f64, on: Rect) -> View {
        let shown = Rect::from_center_size(middle, (side, side));
        View { shown, scale: on.width() / side, corner: Point::new(on.x0, on.y1), bottom: on.y1 }
    }

    /// A point of the drawing on the page.
    pub(super) fn at(&self, p: Point) -> Point {
        let v = (p - self.shown.origin()) * self.scale;
        Point::new(self.corner.x + v.x, self.corner.y - v.y)
    }

    /// Box on the page of all that is drawn.
    pub(super) fn page_box(&self) -> Rect {
        self.on_page(self.shown)
    }

    pub(super) fn on_page(&self, r: Rect) -> Rect {
        Rect::from_points(self.at(r.origin()), self.at(Point::new(r.x1, r.y1)))
    }

    /// A region of the drawing as path data of the page.
    pub(super) fn path(&self, region: &Region) -> Result<String, NotFinite> {
        let o = self.shown.origin();
        let shift = Affine::translate((self.corner.x - o.x * self.scale, -o.y * self.scale));
        let on_page = region.under_similarity(shift * Affine::scale(self.scale));
        let rings: Result<Vec<String>, NotFinite> = on_page.rings.iter().map(|r| svg_path(r, self.corner.y)).collect();
        Ok(rings?.join(" "))
    }
}

/// The largest of 1, 2, 5, 10, 20, … that is no more than `most` (which is above 0).
pub(super) fn round_length(most: f64) -> f64 {
    let mut step = 1e-3;
    while step * 10.0 <= most && step < 1e6 {
        step *= 10.0;
    }
    [5.0, 2.0].into_iter().map(|m| m * step).find(|v| *v <= most).unwrap_or(step)
}
