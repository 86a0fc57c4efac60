//! Close-ups of the worst corners, necks and gaps, each with the tool's circle.
//!
//! In inside corners and necks of the recess the circle is the cutter. At outside corners and in gaps bush and cutter
//! together round the outline at the offset, and the circle has the offset's radius. In: marks, mm, drawing frame. Out:
//! squares on the page. Refuses numbers that are not finite.

use super::{Facts, LEFT, Mark, MarkCanvas, MarkGroup, STEP, Sign, TEXT, glyph, list, picture};
use crate::check::{Code, Finding};
use crate::geom::{Point, Rect, Region, Segment, inside::Filled, trig};
use crate::report::canvas::{INK, TextStyle, wrapped};
use crate::report::view::View;
use crate::template::start::Start;
use crate::text::{NotFinite, Words, plain, rounded, tenth, tool as size_of, xml};
use crate::words;
use std::f64::consts::TAU;

/// Most close-ups, and their side and distance, mm.
const MOST: usize = 3;
const SIDE: f64 = 55.0;
const GAP: f64 = (LEFT - 3.0 * SIDE) / 2.0;
/// Width of a close-up, in diameters of the cutter.
const CUTTERS: f64 = 5.0;
/// Width of a close-up, in diameters of the offset's circle, which is larger than the cutter.
const OFFSETS: f64 = 2.5;
/// The circle may overlap the outline by this part of its radius, for rounding.
const TOUCH: f64 = 1e-6;
/// The search for the circle: number of rays, and length of each, in radii.
const RAYS: u32 = 180;
const RADII: f64 = 12.0;
/// Number of test points between a mark and its circle.
const WAY: u32 = 12;
/// Least width of a close-up, in widths of mark and circle together.
const ROOM: f64 = 1.3;

pub(super) struct Inset<'a> {
    mark: Mark<'a>,
    /// Middle and side of the square, mm of the drawing.
    middle: Point,
    side: f64,
    /// Middle of the circle.
    centre: Point,
    radius: f64,
    /// What the circle is.
    circle: Words,
}

#[cfg(test)]
impl Inset<'_> {
    /// Middle and radius of the circle, mm of the drawing.
    pub(super) fn circle(&self) -> (Point, f64) {
        (self.centre, self.radius)
    }
}

/// Close-ups of the worst marks, one for each subject and message.
pub(super) fn wanted<'a>(facts: &Facts, worst: &[Mark<'a>]) -> Vec<Inset<'a>> {
    let mut out: Vec<Inset> = Vec::new();
    for m in worst {
        let f = m.finding;
        let same =
            |i: &Inset| i.mark.finding.code == f.code && i.mark.finding.message.to_string() == f.message.to_string();
        if out.len() < MOST && !out.iter().any(same) {
            out.extend(inset(facts, *m));
        }
    }
    out
}

fn inset<'a>(facts: &Facts, mark: Mark<'a>) -> Option<Inset<'a>> {
    let f = mark.finding;
    let OutlineTools { region, cutter, offset, what } = tool(facts, f)?;
    let (radius, times) = match f.code.name() {
        "inside-corner" | "neck" => (cutter / 2.0, CUTTERS),
        "outside-corner" | "closed-gap" => (offset, OFFSETS),
        _ => return None,
    };
    let around = |within| Around::new(region, mark.at, radius, within);
    let (centre, circle) = match f.code.name() {
        "inside-corner" => (around(true).deepest()?, words!("the {}, as far into the corner as it reaches", what)),
        "neck" => (around(true).widest(f.measured?), words!("the {}, too wide for this neck", what)),
        "outside-corner" => (
            around(false).deepest()?,
            words!("bush and cutter together round this corner to a radius of {}", plain(offset)),
        ),
        _ => (
            around(false).widest(f.measured?),
            words!("bush and cutter together have a radius of {}, too wide for this gap", plain(offset)),
        ),
    };
    let apart = (centre - mark.at).hypot();
    let side = (times * 2.0 * radius).max(ROOM * (apart + 2.0 * radius));
    Some(Inset { mark, middle: mark.at.midpoint(centre), side, centre, radius, circle })
}

/// The tools along an outline, and the outline.
struct OutlineTools<'a> {
    region: &'a Region,
    /// Diameter of the tool inside the outline, mm.
    cutter: f64,
    /// The same tool in words.
    what: Words,
    /// Radius of the tools outside the outline, mm.
    offset: f64,
}

fn tool<'a>(facts: &'a Facts, f: &Finding) -> Option<OutlineTools<'a>> {
    let t = &facts.tools;
    let drawn: &Region = &facts.outlines.iter().find(|o| Some(o.number) == f.outline)?.region;
    let what = words!("{} cutter", size_of(t.recess_called.cutter));
    let usual = OutlineTools { region: drawn, cutter: t.recess.cutter, what, offset: t.largest_offset() };
    let Some(s) = &facts.asides.start else { return Some(usual) };
    // With something in hand the finding holds the width, since the gap or the bush may count too.
    let corner = matches!(f.code, Code::InsideCorner | Code::OutsideCorner);
    let radius = if corner { f.needed? } else { f.needed? / 2.0 };
    let made = f.outline.and_then(|n| facts.piece(n)).map(|p| &*p.made);
    let (region, what) = match (s.start, f.code) {
        (Start::Template, Code::Neck) => (drawn, words!("{} bush", size_of(t.recess_called.bush))),
        (Start::Template, _) => (made?, usual.what),
        (Start::Part, _) => (drawn, words!("{} less the gap", usual.what)),
        (Start::Recess, _) => (drawn, usual.what),
    };
    Some(OutlineTools { region, cutter: 2.0 * radius, what, offset: radius })
}

/// The outline near a place, for a search along rays.
struct Around<'a> {
    /// Each edge, with the box of all points within the radius of it.
    edges: Vec<(&'a Segment, Rect)>,
    rings: Vec<Filled>,
    at: Point,
    radius: f64,
    /// Whether the circle lies inside the outline.
    within: bool,
}

impl<'a> Around<'a> {
    fn new(region: &'a Region, at: Point, radius: f64, within: bool) -> Around<'a> {
        let reach = 2.0 * (RADII + 1.0) * radius;
        let near = Rect::from_center_size(at, (reach, reach));
        let meets = |b: Rect| b.x0 <= near.x1 && b.x1 >= near.x0 && b.y0 <= near.y1 && b.y1 >= near.y0;
        let edges = region.segments().map(|s| (s, s.bounds())).filter(|(_, b)| meets(*b));
        let edges = edges.map(|(s, b)| (s, b.inflate(radius, radius))).collect();
        Around { edges, rings: region.rings.iter().map(Filled::new).collect(), at, radius, within }
    }

    /// Distance to the nearest edge, at most `most`.
    fn clearance(&self, p: Point, most: f64) -> f64 {
        self.edges.iter().map(|(s, _)| s.nearest(p).0).fold(most, f64::min)
    }

    /// Whether the straight way to `p` stays on the circle's side of the outline, at [`WAY`] points.
    fn sees(&self, p: Point) -> bool {
        let right = |q: Point| (self.rings.iter().filter(|r| r.contains(q)).count() % 2 == 1) == self.within;
        (1..=WAY).all(|i| right(self.at.lerp(p, f64::from(i) / f64::from(WAY))))
    }

    /// The first point of a ray, at most `most` away, where the circle clears the outline. Returns distance and point.
    fn first_clear(&self, angle: f64, most: f64) -> Option<(f64, Point)> {
        let least = self.radius * (1.0 - TOUCH);
        let clear = |p: Point| self.edges.iter().all(|(s, b)| !b.contains(p) || s.nearest(p).0 >= least);
        let (v, step) = (trig::unit(angle), self.radius / 20.0);
        // Coarse steps, then bisection.
        let k = (1..=(most / step).ceil() as usize).find(|k| clear(self.at + v * (*k as f64 * step)))?;
        let (mut lo, mut hi) = ((k - 1) as f64 * step, k as f64 * step);
        for _ in 0..24 {
            let mid = (lo + hi) / 2.0;
            if clear(self.at + v * mid) { hi = mid } else { lo = mid }
        }
        let p = self.at + v * hi;
        self.sees(p).then_some((hi, p))
    }

    /// Middle of the nearest circle that clears the outline.
    fn deepest(&self) -> Option<Point> {
        let mut best: Option<(f64, f64, Point)> = None;
        let look = |best: &mut Option<(f64, f64, Point)>, angle: f64| {
            let most = best.map_or(RADII * self.radius, |b| b.0);
            if let Some((d, p)) = self.first_clear(angle, most).filter(|f| f.0 < most) {
                *best = Some((d, angle, p));
            }
        };
        let mut step = TAU / f64::from(RAYS);
        for i in 0..RAYS {
            look(&mut best, step * f64::from(i));
        }
        // Then between the rays beside the best, in ever smaller steps.
        for _ in 0..12 {
            step /= 2.0;
            let middle = best?.1;
            look(&mut best, middle - step);
            look(&mut best, middle + step);
        }
        best.map(|b| b.2)
    }

    /// Middle of a neck or gap `width` mm wide: the point near by with the most room, else the place itself.
    fn widest(&self, width: f64) -> Point {
        let mut best = (0.0, self.at);
        for k in 1..=20 {
            for i in 0..RAYS / 3 {
                let v = trig::unit(TAU * f64::from(i) / f64::from(RAYS / 3));
                let p = self.at + v * (width * f64::from(k) / 20.0);
                let room = self.clearance(p, width / 2.0);
                if room > best.0 + 1e-3 * width && self.sees(p) {
                    best = (room, p);
                }
            }
        }
        best.1
    }
}

/// Draws the close-ups in a row, from `top` downwards. Returns the lower end.
pub(super) fn draw(ink: &mut MarkCanvas, facts: &Facts, insets: &[Inset], top: f64) -> Result<f64, NotFinite> {
    let mut deepest = top;
    for (i, inset) in insets.iter().enumerate() {
        let x = (SIDE + GAP) * i as f64;
        let on = Rect::new(x, top, x + SIDE, top + SIDE);
        draw_one(ink, facts, inset, i + 1, on)?;
        let f = inset.mark.finding;
        let c = Point::new(x + 3.6, on.y1 + 4.6);
        ink.put(MarkGroup::Insets, &glyph::draw(c, f.severity, Some(f.mark), 1.0)?, glyph::reach(c));
        let words = words!("Circle: {}. Square: {} wide.", inset.circle.clone(), tenth(inset.side));
        let mut y = on.y1 + 1.3 * TEXT;
        for l in wrapped(&words.shown(facts.show), TEXT, SIDE - 8.5) {
            ink.text(Point::new(x + 8.5, y), &l, TextStyle::new(TEXT, INK));
            y += STEP;
        }
        deepest = deepest.max(y - TEXT);
    }
    Ok(deepest + 2.0)
}

fn draw_one(ink: &mut MarkCanvas, facts: &Facts, inset: &Inset, number: usize, on: Rect) -> Result<(), NotFinite> {
    let f = inset.mark.finding;
    let view = View::close_up(inset.middle, inset.side, on);
    let n = |v: f64| rounded(v, 3);
    let (x, y, side) = (n(on.x0)?, n(on.y0)?, n(SIDE)?);
    let square = format!("x=\"{x}\" y=\"{y}\" width=\"{side}\" height=\"{side}\"");
    let c = view.at(inset.centre);
    let r = inset.radius * view.scale;
    let (cx, cy, radius) = (n(c.x)?, n(c.y)?, n(r)?);
    let (at, ring) = (view.at(inset.mark.at), n(glyph::RING)?);
    let (px, py) = (n(at.x)?, n(at.y)?);
    let colour = Sign::from(f.severity).colour();
    let circle = inset.circle.shown(facts.show);
    let title = format!("close-up of mark {}: {}. Circle: {circle}", f.mark, list::in_words(f));
    let e = format!(
        "<g role=\"img\"><title>{}</title><clipPath id=\"close-up-{number}\"><rect {square}/></clipPath>\
         <rect {square} fill=\"#ffffff\"/><g clip-path=\"url(#close-up-{number})\">{}\
         <circle cx=\"{cx}\" cy=\"{cy}\" r=\"{radius}\" fill=\"{colour}\" fill-opacity=\"0.12\" stroke=\"{colour}\" \
         stroke-width=\"0.35\"/>\
         <path d=\"M {x0} {cy} H {x1} M {cx} {y0} V {y1}\" stroke=\"{colour}\" stroke-width=\"0.2\"/>\
         <circle cx=\"{px}\" cy=\"{py}\" r=\"{ring}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"0.35\"/></g>\
         <rect {square} fill=\"none\" stroke=\"{INK}\" stroke-width=\"0.25\"/></g>",
        xml(&title),
        picture::close_up(facts, &view)?,
        x0 = n(c.x - 1.2)?,
        x1 = n(c.x + 1.2)?,
        y0 = n(c.y - 1.2)?,
        y1 = n(c.y + 1.2)?,
    );
    ink.put(MarkGroup::Insets, &e, on);
    Ok(())
}
