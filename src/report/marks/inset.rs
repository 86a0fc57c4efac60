//! Close-ups of the worst corners, necks and gaps, each with the circle of the tool in it.
//!
//! Inside corners and necks are the cutter's affair: its circle stands as deep in the corner as it comes. Jutting corners
//! and gaps are that of bush and cutter together, which go round them at the offset: the circle has that radius.

use super::view::View;
use super::{Facts, Group, Ink, LEFT, Mark, STEP, TEXT, colour, glyph, list, picture};
use crate::geom::{Point, Rect, Region, Segment, Vec2, inside, trig};
use crate::report::canvas::{INK, Style, wrapped};
use crate::text::{NotFinite, rounded, xml};
use std::f64::consts::TAU;

/// So many close-ups at most, this wide and far apart, mm.
const MOST: usize = 3;
const SIDE: f64 = 50.0;
const GAP: f64 = (LEFT - 3.0 * SIDE) / 2.0;
/// Width of a close-up in cutters, and in circles of the offset, of which one is large already.
const CUTTERS: f64 = 5.0;
const OFFSETS: f64 = 2.5;
/// What the circle may overlap the outline by, in parts of its radius: rounding.
const TOUCH: f64 = 1e-6;
/// The circle is looked for on so many rays, and on each within so many of its radii.
const RAYS: usize = 180;
const RADII: f64 = 3.0;

pub(super) struct Inset<'a> {
    mark: Mark<'a>,
    /// Side of the square that is shown, mm of the drawing.
    side: f64,
    circle: Circle,
    says: String,
}

#[derive(Clone, Copy)]
struct Circle {
    centre: Point,
    radius: f64,
}

/// Close-ups of the worst, no two that say the same.
pub(super) fn wanted<'a>(facts: &Facts, worst: &[Mark<'a>]) -> Vec<Inset<'a>> {
    let mut out: Vec<Inset> = Vec::new();
    for m in worst {
        let f = m.finding;
        let same = |i: &Inset| i.mark.finding.code == f.code && i.mark.finding.message == f.message;
        if out.len() < MOST && !out.iter().any(same) {
            out.extend(inset(facts, *m));
        }
    }
    out
}

fn inset<'a>(facts: &Facts, mark: Mark<'a>) -> Option<Inset<'a>> {
    let cutter = facts.tools.recess.cutter;
    let offset = facts.tools.largest_offset();
    let mm = |v: f64| rounded(v, 2).unwrap_or_default();
    let (radius, times) = match mark.finding.code.name() {
        "inside-corner" | "neck" => (cutter / 2.0, CUTTERS),
        "jutting-corner" | "closed-gap" => (offset, OFFSETS),
        _ => return None,
    };
    let number = mark.finding.outline?;
    let drawn = &*facts.outlines.iter().find(|o| o.number == number)?.region;
    let (found, says) = match mark.finding.code.name() {
        "inside-corner" => {
            (deepest(drawn, mark.at, radius, true), format!("the {} mm cutter, as deep as it comes", mm(cutter)))
        }
        "jutting-corner" => (
            deepest(drawn, mark.at, radius, false),
            format!("bush and cutter go round here with a radius of {} mm", mm(offset)),
        ),
        "neck" => (None, format!("the {} mm cutter, too wide for this place", mm(cutter))),
        _ => (None, format!("bush and cutter need a radius of {} mm here", mm(offset))),
    };
    let circle = Circle { centre: found.unwrap_or(mark.at), radius };
    Some(Inset { mark, side: times * 2.0 * radius, circle, says })
}

/// Middle of the circle nearest to `at` that lies in the region (`within`) or out of it, by looking along rays.
fn deepest(region: &Region, at: Point, radius: f64, within: bool) -> Option<Point> {
    let far = RADII * radius;
    let near = Rect::from_center_size(at, (2.0 * (far + radius), 2.0 * (far + radius)));
    let meets = |b: Rect| b.x0 <= near.x1 && b.x1 >= near.x0 && b.y0 <= near.y1 && b.y1 >= near.y0;
    let edges: Vec<&Segment> = region.segments().filter(|s| meets(s.bounds())).collect();
    let clear = |c: Point| edges.iter().all(|s| s.nearest(c).0 >= radius * (1.0 - TOUCH));
    // The first free point of a ray: coarse steps, then halved.
    let first = |v: Vec2, least: f64| -> Option<f64> {
        let step = radius / 20.0;
        let n = (least.min(far) / step).ceil() as usize;
        let k = (1..=n).find(|k| clear(at + v * (*k as f64 * step)))?;
        let (mut lo, mut hi) = ((k - 1) as f64 * step, k as f64 * step);
        for _ in 0..24 {
            let mid = (lo + hi) / 2.0;
            if clear(at + v * mid) { hi = mid } else { lo = mid }
        }
        Some(hi)
    };
    let mut best: Option<(f64, Point)> = None;
    for i in 0..RAYS {
        let v = trig::unit(TAU * i as f64 / RAYS as f64);
        let Some(d) = first(v, best.map_or(far, |b| b.0)) else { continue };
        let c = at + v * d;
        if best.is_none_or(|b| d < b.0) && inside::contains(region, c) == within {
            best = Some((d, c));
        }
    }
    best.map(|b| b.1)
}

/// Draws the close-ups in a row from `top` downwards; gives where they end.
pub(super) fn draw(ink: &mut Ink, facts: &Facts, insets: &[Inset], top: f64) -> Result<f64, NotFinite> {
    let mut deepest = top;
    for (i, inset) in insets.iter().enumerate() {
        let x = (SIDE + GAP) * i as f64;
        let on = Rect::new(x, top, x + SIDE, top + SIDE);
        draw_one(ink, facts, inset, i + 1, on)?;
        let side = rounded(inset.side, 1)?;
        let words = format!("Circle: {}. {side} mm across.", inset.says);
        let mut y = on.y1 + 1.2 * TEXT;
        for l in wrapped(&words, TEXT, SIDE) {
            ink.words(Point::new(x, y), &l, Style::new(TEXT, INK));
            y += STEP;
        }
        deepest = deepest.max(y - TEXT);
    }
    Ok(deepest + 2.0)
}

fn draw_one(ink: &mut Ink, facts: &Facts, inset: &Inset, number: usize, on: Rect) -> Result<(), NotFinite> {
    let f = inset.mark.finding;
    // The middle of the circle's and the place's box, so that both are seen.
    let view = View::close_up(inset.mark.at, inset.side, on);
    let n = |v: f64| rounded(v, 3);
    let (x, y, side) = (n(on.x0)?, n(on.y0)?, n(SIDE)?);
    let square = format!("x=\"{x}\" y=\"{y}\" width=\"{side}\" height=\"{side}\"");
    let c = view.at(inset.circle.centre);
    let r = inset.circle.radius * view.scale;
    let (cx, cy, radius) = (n(c.x)?, n(c.y)?, n(r)?);
    let (at, ring) = (view.at(inset.mark.at), n(glyph::RING)?);
    let (px, py) = (n(at.x)?, n(at.y)?);
    let colour = colour(f.severity);
    let told = format!("close-up of mark {}: {}; circle: {}", f.mark, list::in_words(f), inset.says);
    let e = format!(
        "<g role=\"img\"><title>{}</title><clipPath id=\"close-up-{number}\"><rect {square}/></clipPath>\
         <rect {square} fill=\"#ffffff\"/><g clip-path=\"url(#close-up-{number})\">{}\
         <circle cx=\"{cx}\" cy=\"{cy}\" r=\"{radius}\" fill=\"{colour}\" fill-opacity=\"0.12\" stroke=\"{colour}\" \
         stroke-width=\"0.35\"/>\
         <path d=\"M {x0} {cy} H {x1} M {cx} {y0} V {y1}\" stroke=\"{colour}\" stroke-width=\"0.2\"/>\
         <circle cx=\"{px}\" cy=\"{py}\" r=\"{ring}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"0.35\"/></g>\
         <rect {square} fill=\"none\" stroke=\"{INK}\" stroke-width=\"0.25\"/>{}</g>",
        xml(&told),
        picture::close_up(facts, &view)?,
        glyph::sign(Point::new(on.x0 + 5.0, on.y0 + 5.0), f.severity, Some(f.mark), 1.0)?,
        x0 = n(c.x - 1.2)?,
        x1 = n(c.x + 1.2)?,
        y0 = n(c.y - 1.2)?,
        y1 = n(c.y + 1.2)?,
    );
    ink.put(Group::Insets, &e, on);
    Ok(())
}
