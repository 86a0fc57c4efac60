//! From the drawing frame to the page: a similarity that turns y down.
//!
//! In: lengths in mm, of the drawing (y up) or of the page (y down). Refuses numbers that are not finite.

use super::balloons::OFF;
use super::canvas::{Canvas, INK, Layer, TextStyle, wrapped};
use super::glyph::REACH;
use crate::geom::{Affine, Point, Rect, Region, Segment};
use crate::job::facts::Facts;
use crate::text::{NotFinite, Show, rounded, svg_path};
use crate::units::INCH;

/// Width of the page and of its left column with the picture, mm: A4 landscape less 10 mm all round.
pub(super) const PAGE: f64 = 277.0;
pub(super) const LEFT: f64 = 182.0;
/// Between the picture and the list beside it, mm.
pub(super) const GUTTER: f64 = 7.0;
/// Height of words, mm (8.5 points), and the distance between lines.
pub(super) const TEXT: f64 = 3.0;
pub(super) const STEP: f64 = 1.3 * TEXT;
/// A mark may lie this far outside the drawing, in parts of its larger side. A farther mark would make the drawing too
/// small to see.
const FAR: f64 = 0.25;
/// Least side of the box on view, mm: a drawing of one point has none.
const LEAST: f64 = 1.0;
/// Longest scale bar, mm of the page.
const BAR: f64 = 45.0;

/// Bounding box of the drawing without its marks, drawing frame, mm.
pub(super) fn shown(facts: &Facts) -> Result<Rect, NotFinite> {
    let shapes = facts.drawing.shapes.iter().flat_map(|s| &s.paths).flat_map(|p| &p.segments).map(Segment::bounds);
    let outlines = facts.outlines.iter().filter_map(|o| o.region.bounds());
    let made = facts.pieces.iter().filter_map(|p| p.made.bounds());
    let all = shapes.chain(outlines).chain(made).reduce(|a, b| a.union(b));
    let b = all.or(facts.drawing.bounds).unwrap_or(Rect::ZERO);
    if ![b.x0, b.y0, b.x1, b.y1].into_iter().all(f64::is_finite) {
        return Err(NotFinite);
    }
    let more = |side: f64| ((LEAST - side) / 2.0).max(0.0);
    Ok(b.inflate(more(b.width()), more(b.height())))
}

/// Whether a mark at `p` belongs on the picture.
pub(super) fn covers(shown: Rect, p: Point) -> bool {
    let by = FAR * shown.width().max(shown.height());
    let near = shown.inflate(by, by);
    near.x0 <= p.x && p.x <= near.x1 && near.y0 <= p.y && p.y <= near.y1
}

/// How the drawing lies on the page.
pub(super) struct View {
    shown: Rect,
    /// Millimetres of the page for one of the drawing.
    pub scale: f64,
    /// Lower left corner of the box on view, on the page.
    corner: Point,
    /// Lower end of the picture with its balloons, on the page.
    pub bottom: f64,
}

impl View {
    /// A picture in the middle of the left column, from `top` downwards, at most `high` mm high.
    pub(super) fn new(shown: Rect, top: f64, high: f64) -> View {
        let round = OFF + REACH + 0.5;
        let (wide, deep) = (LEFT - 2.0 * round, high - 2.0 * round);
        let scale = (wide / shown.width()).min(deep / shown.height());
        let corner = Point::new((LEFT - shown.width() * scale) / 2.0, top + round + shown.height() * scale);
        View { shown, scale, corner, bottom: corner.y + round }
    }

    /// A close-up: a square of the drawing with this `middle` and `side` (mm) fills the square box `on` of the page.
    pub(super) fn close_up(middle: Point, side: f64, on: Rect) -> View {
        let shown = Rect::from_center_size(middle, (side, side));
        View { shown, scale: on.width() / side, corner: Point::new(on.x0, on.y1), bottom: on.y1 }
    }

    /// A point of the drawing on the page.
    pub(super) fn at(&self, p: Point) -> Point {
        let v = (p - self.shown.origin()) * self.scale;
        Point::new(self.corner.x + v.x, self.corner.y - v.y)
    }

    /// Bounding box of the drawing, on the page.
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

/// Writes the headline of a picture. Returns the next baseline.
pub(super) fn headline<G: Layer>(ink: &mut Canvas<G>, words: &str) -> f64 {
    let big = TextStyle::new(1.7 * TEXT, INK).bold();
    let mut y = 0.8 * big.size;
    // `wrapped` measures plain letters; bold letters are wider.
    for l in wrapped(words, 1.1 * big.size, PAGE) {
        ink.text(Point::new(0.0, y), &l, big);
        y += 1.25 * big.size;
    }
    y
}

/// A clause as a sentence: its first letter upper case, with a full stop.
pub(super) fn sentence(words: &str) -> String {
    let mut rest = words.trim_end_matches('.').chars();
    let first: String = rest.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}.", rest.as_str())
}

/// Length of the scale bar in mm of the drawing, and the same in words: a round number of mm or inches.
pub(super) fn bar(scale: f64, show: Show) -> (f64, String) {
    let unit = unit(show);
    let count = round_length(BAR / scale / unit);
    (count * unit, format!("{} {}", rounded(count, 6).unwrap_or_default(), show.symbol()))
}

/// The unit that figures are shown in, mm.
pub(super) fn unit(show: Show) -> f64 {
    match show {
        Show::Mm => 1.0,
        Show::Inch => INCH,
    }
}

/// The largest of 1, 2, 5, 10, 20, … and their tenths that is no more than `most`, which is above 0.
pub(super) fn round_length(most: f64) -> f64 {
    let mut step = 1e-3;
    while step * 10.0 <= most && step < 1e6 {
        step *= 10.0;
    }
    [5.0, 2.0].into_iter().map(|m| m * step).find(|v| *v <= most).unwrap_or(step)
}
