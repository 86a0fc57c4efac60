//! Board, recess and inlay, and the line along the joint.

use super::{GapCanvas, GapGroup, OutlineFit, line};
use crate::geom::{Point, Rect, Region, Ring, Segment, Vec2};
use crate::proof::joint::{self, JointState, RingGaps};
use crate::report::canvas::{CRIMSON, GREY, INK, TextStyle, width};
use crate::report::glyph;
use crate::report::view::{self, LEFT, STEP, TEXT, View};
use crate::text::{NotFinite, Show, rounded};

/// Fills: the board, the inlay, and the floor of the recess where the gap is wide enough to see.
const BOARD: &str = "#ececec";
const WOOD: &str = "#f4eee2";
const FLOOR: &str = "#cfe4f2";
/// Width of the board round the pieces, mm of the page.
const ROUND: f64 = 4.0;
/// Least length of a stretch, mm of the page: a shorter one would not show.
const SEEN: f64 = 2.0;
/// Length of the chords that stand for arcs, mm of the page.
const CHORD: f64 = 0.4;
/// A region with this many edges is drawn through points [`APART`] from each other. Else a trace with a million edges
/// would appear six times in the file.
const MANY: usize = 5000;
/// Distance of two such points, mm of the page: too fine to see.
const APART: f64 = 0.04;
/// Length of the samples of lines, mm.
const SAMPLE: f64 = 9.0;

/// The pieces, large ones first, so that a plug lies over its shoulder. `strips`: outlines with a chart.
pub(super) fn draw(ink: &mut GapCanvas, pieces: &[OutlineFit], strips: &[usize], view: &View) -> Result<(), NotFinite> {
    let b = view.page_box().inflate(ROUND, ROUND);
    let n = |v: f64| rounded(v, 3);
    let (x, y, w, h) = (n(b.x0)?, n(b.y0)?, n(b.width())?, n(b.height())?);
    ink.put(GapGroup::Board, &format!("<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"{BOARD}\"/>"), b);
    let hatch = format!(
        "<defs><pattern id=\"too-large\" width=\"1.2\" height=\"1.2\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><rect width=\"1.2\" height=\"1.2\" fill=\"#ffffff\"/>\
         <rect width=\"0.5\" height=\"1.2\" fill=\"{CRIMSON}\"/></pattern></defs>"
    );
    ink.put(GapGroup::Board, &hatch, b);
    let mut order: Vec<&OutlineFit> = pieces.iter().collect();
    order.sort_by(|a, b| b.fit.recess_area.total_cmp(&a.fit.recess_area));
    for p in order {
        let (recess, inlay) = (&p.fit.joint.recess, &p.fit.joint.inlay);
        let (floor, wood) = (path(recess, view)?, path(inlay, view)?);
        let clip = format!("recess-{}", p.fit.outline);
        let on = |r: &Region| r.bounds().map_or(b, |r| view.on_page(r));
        // The clip leaves the hatching where the inlay lies outside the recess.
        let e = format!(
            "<clipPath id=\"{clip}\"><path d=\"{floor}\" clip-rule=\"evenodd\"/></clipPath>\
             <path d=\"{floor}\" fill=\"{FLOOR}\" fill-rule=\"evenodd\"/>\
             <path d=\"{wood}\" fill=\"url(#too-large)\" fill-rule=\"evenodd\"/>\
             <path d=\"{wood}\" fill=\"{WOOD}\" fill-rule=\"evenodd\" clip-path=\"url(#{clip})\"/>\
             <path d=\"{wood}\" fill=\"none\" stroke=\"{GREY}\" stroke-width=\"0.18\"/>"
        );
        ink.put(GapGroup::Pieces, &e, on(inlay));
        let (colour, width, _) = line(JointState::AsWanted);
        let e = format!("<path d=\"{floor}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\"/>", n(width)?);
        ink.put(GapGroup::Joint, &e, on(recess));
        for (i, (ring, run)) in recess.rings.iter().zip(&p.fit.joint.runs).enumerate() {
            stretches(ink, ring, run, p.widest, view);
            if strips.contains(&p.fit.outline) {
                start(ink, ring, p, i, view);
            }
        }
    }
    Ok(())
}

/// A region as path data of the page.
fn path(region: &Region, view: &View) -> Result<String, NotFinite> {
    if region.segments().count() < MANY {
        return view.path(region);
    }
    let mut d = String::new();
    for ring in &region.rings {
        let mut last: Option<Point> = None;
        for p in chords(&ring.segments, view) {
            if last.is_none_or(|l| (p - l).hypot() >= APART) {
                let letter = if last.is_none() { "M" } else { "L" };
                d.push_str(&format!("{letter} {} {} ", rounded(p.x, 3)?, rounded(p.y, 3)?));
                last = Some(p);
            }
        }
        d.push_str("Z ");
    }
    Ok(d)
}

/// The binding and loose stretches of a ring, over the line of the recess.
fn stretches(ink: &mut GapCanvas, ring: &Ring, run: &RingGaps, widest: f64, view: &View) {
    for s in run.stretches(widest).iter().filter(|s| s.kind != JointState::AsWanted) {
        let (colour, width, dash) = line(s.kind);
        let more = ((SEEN / view.scale - (s.to - s.from)) / 2.0).max(0.0);
        let (from, to) = ((s.from - more).max(0.0), (s.to + more).min(run.length));
        ink.polyline(GapGroup::Joint, &chords(&joint::part(ring, from, to), view), colour, width, dash);
    }
}

fn chords(edges: &[Segment], view: &View) -> Vec<Point> {
    let mut out: Vec<Point> = edges.first().map(|s| view.at(s.start())).into_iter().collect();
    for s in edges {
        let n = match s {
            Segment::Line(_) => 1,
            Segment::Arc(_) => (s.length() * view.scale / CHORD).ceil().clamp(2.0, 400.0) as usize,
        };
        out.extend((1..=n).map(|i| view.at(s.at(i as f64 / n as f64))));
    }
    out
}

/// A dart inside the joint: the start and the direction of the chart below.
fn start(ink: &mut GapCanvas, ring: &Ring, piece: &OutlineFit, run: usize, view: &View) {
    let Some(first) = ring.segments.first() else { return };
    let turned = |v: Vec2| Vec2::new(v.x, -v.y);
    let (at, along) = (view.at(first.start()), turned(first.tangent_at_start()));
    // The region lies left of its edge; with y down that is this normal.
    let inwards = Vec2::new(along.y, -along.x);
    let foot = at + inwards * 1.4;
    ink.polyline(GapGroup::Scale, &[at, at + inwards * 2.8], INK, 0.3, &[]);
    let side = inwards * 0.9;
    ink.polygon(GapGroup::Scale, &[foot + side, foot - side, foot + along * 2.6], INK);
    let many = piece.fit.joint.runs.len() > 1;
    let name = if many { format!("{}.{}", piece.fit.outline, run + 1) } else { piece.fit.outline.to_string() };
    let c = at + inwards * 5.0 + Vec2::new(-width(&name, 0.8 * TEXT, false) / 2.0, 0.3 * TEXT);
    ink.text(c, &name, TextStyle::new(0.8 * TEXT, INK));
}

/// The meaning of lines and signs, and the scale bar. Returns the lower end.
pub(super) fn legend(ink: &mut GapCanvas, view: &View, show: Show) -> f64 {
    let mut pen = GapLegend { ink, x: 0.0, y: view.bottom + 1.5 };
    pen.line(JointState::Binds, "binds: the inlay is too large (hatched)");
    pen.line(JointState::AsWanted, "as wanted");
    pen.line(JointState::Gapes, "loose: a glue line that shows");
    pen.dart("start and direction of the chart below");
    pen.bar(view.scale, show);
    pen.y + STEP + 1.5
}

/// Writes samples and words in rows.
struct GapLegend<'a> {
    ink: &'a mut GapCanvas,
    x: f64,
    y: f64,
}

impl GapLegend<'_> {
    /// Writes the words with room for a sample before them. Returns the left end of the sample.
    fn room(&mut self, sample: f64, words: &str) -> Point {
        let long = sample + width(words, TEXT, false);
        if self.x > 0.0 && self.x + long > LEFT {
            (self.x, self.y) = (0.0, self.y + 1.5 * STEP);
        }
        let at = Point::new(self.x, self.y);
        self.ink.text(at + Vec2::new(sample, 0.8 * TEXT), words, TextStyle::new(TEXT, INK));
        self.x += long + 5.0;
        at
    }

    /// The line and the sign of a kind.
    fn line(&mut self, kind: JointState, words: &str) {
        let at = self.room(SAMPLE + 6.0, words) + Vec2::new(0.0, 0.45 * TEXT);
        let (colour, width, dash) = line(kind);
        self.ink.polyline(GapGroup::Scale, &[at, at + Vec2::new(SAMPLE, 0.0)], colour, width, dash);
        let c = at + Vec2::new(SAMPLE + 3.0, 0.0);
        // All these numbers are finite.
        if let Ok(e) = glyph::draw(c, kind, None, 0.55) {
            self.ink.put(GapGroup::Scale, &e, Rect::from_center_size(c, (3.6, 3.6)));
        }
    }

    fn dart(&mut self, words: &str) {
        let at = self.room(5.0, words) + Vec2::new(0.5, 0.45 * TEXT);
        self.ink.polyline(GapGroup::Scale, &[at - Vec2::new(0.0, 1.4), at + Vec2::new(0.0, 1.4)], INK, 0.3, &[]);
        let corners = [at + Vec2::new(0.0, 0.9), at - Vec2::new(0.0, 0.9), at + Vec2::new(2.6, 0.0)];
        self.ink.polygon(GapGroup::Scale, &corners, INK);
    }

    fn bar(&mut self, scale: f64, show: Show) {
        let (mm, words) = view::bar(scale, show);
        let long = mm * scale;
        let at = self.room(long + 2.0, &words) + Vec2::new(0.0, 0.45 * TEXT);
        let end = at + Vec2::new(long, 0.0);
        let up = Vec2::new(0.0, 1.0);
        for line in [[at, end], [at - up, at + up], [end - up, end + up]] {
            self.ink.polyline(GapGroup::Scale, &line, INK, 0.35, &[]);
        }
    }
}
