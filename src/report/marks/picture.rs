//! The drawing, and the meaning of its lines.

use super::{Chosen, Facts, LEFT, MarkCanvas, MarkGroup, STEP, TEXT, glyph};
use crate::check::Severity;
use crate::drawing::outline::Outline;
use crate::drawing::{Path, Source};
use crate::geom::{Point, Rect, Region, Segment, Vec2};
use crate::report::canvas::{GREY, INK, TextStyle, width};
use crate::report::view::{self, View};
use crate::text::{NotFinite, Show, rounded};

/// Widths of the lines, mm: as drawn, as it will be, and lines of no outline.
const DRAWN: f64 = 0.3;
const MADE: f64 = 0.5;
const LOOSE: f64 = 0.35;
const DASH: [f64; 2] = [1.6, 1.0];
/// Fills: the inlay's wood, and the lost parts of the drawing.
const WOOD: &str = "#f4eee2";
const LOST: &str = "#d9d9d9";
/// Length of the chords that stand for arcs of no outline, mm of the page.
const CHORD: f64 = 0.5;
/// Two bounding boxes closer than this are the same, mm.
const SAME: f64 = 0.01;
/// Length of the samples of lines, mm.
const SAMPLE: f64 = 9.0;

/// The outline as drawn, the outline as it will be over it, and the lines of no outline.
pub(super) fn outlines(ink: &mut MarkCanvas, facts: &Facts, view: &View) -> Result<(), NotFinite> {
    for o in &facts.outlines {
        region(ink, MarkGroup::AsDrawn, &o.region, view, &drawn_style()?)?;
    }
    for made in facts.pieces.iter().map(|p| &p.made) {
        region(ink, MarkGroup::AsMade, made, view, &format!("fill=\"{WOOD}\" fill-rule=\"evenodd\""))?;
    }
    // Once more over the wood, to show where wood is added.
    for o in &facts.outlines {
        region(ink, MarkGroup::AsMade, &o.region, view, &line_style(GREY, DRAWN)?)?;
    }
    for made in facts.pieces.iter().map(|p| &p.made) {
        region(ink, MarkGroup::AsMade, made, view, &line_style(INK, MADE)?)?;
    }
    for path in loose(facts) {
        ink.polyline(MarkGroup::NoOutline, &chords(path, view), GREY, LOOSE, &DASH);
    }
    Ok(())
}

fn line_style(colour: &str, width: f64) -> Result<String, NotFinite> {
    let width = rounded(width, 3)?;
    Ok(format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linejoin=\"round\""))
}

fn drawn_style() -> Result<String, NotFinite> {
    let width = rounded(DRAWN, 3)?;
    Ok(format!("fill=\"{LOST}\" fill-rule=\"evenodd\" stroke=\"{GREY}\" stroke-width=\"{width}\""))
}

fn region(ink: &mut MarkCanvas, g: MarkGroup, r: &Region, view: &View, style: &str) -> Result<(), NotFinite> {
    let Some(b) = r.bounds() else { return Ok(()) };
    ink.put(g, &format!("<path d=\"{}\" {style}/>", view.path(r)?), view.on_page(b));
    Ok(())
}

/// The outlines in a close-up, as elements without a group.
pub(super) fn close_up(facts: &Facts, view: &View) -> Result<String, NotFinite> {
    let mut out = String::new();
    let drawn = facts.outlines.iter().map(|o| &*o.region);
    let made = facts.pieces.iter().map(|p| &*p.made);
    let wood = format!("fill=\"{WOOD}\" fill-rule=\"evenodd\"");
    for (regions, style) in [
        (drawn.clone().collect::<Vec<_>>(), drawn_style()?),
        (made.clone().collect(), wood),
        (drawn.collect(), line_style(GREY, DRAWN)?),
        (made.collect(), line_style(INK, MADE)?),
    ] {
        for r in regions {
            out.push_str(&format!("<path d=\"{}\" {style}/>", view.path(r)?));
        }
    }
    Ok(out)
}

/// Paths of the drawing that are no edge of an outline.
fn loose(facts: &Facts) -> impl Iterator<Item = &Path> {
    let shapes = facts.drawing.shapes.iter();
    shapes
        .flat_map(|s| s.paths.iter().filter(|p| !(p.closed && facts.outlines.iter().any(|o| is_edge(o, p, &s.source)))))
}

/// Whether a closed path is an edge of the outline. The hole of an accepted island is not.
fn is_edge(o: &Outline, path: &Path, source: &Source) -> bool {
    let filled = !o.holes.is_empty() && o.region.rings.len() == 1;
    let of_hole = o.holes.iter().any(|h| h.source == *source);
    (o.source == *source || of_hole) && !(filled && lies_within(path, o))
}

/// Whether the path's bounding box lies within that of the outline, and is smaller.
fn lies_within(path: &Path, o: &Outline) -> bool {
    let path = path.segments.iter().map(Segment::bounds).reduce(|a, b| a.union(b));
    path.zip(o.region.bounds()).is_some_and(|(p, b)| {
        let inner = b.inflate(-SAME, -SAME);
        p.x0 >= inner.x0 && p.y0 >= inner.y0 && p.x1 <= inner.x1 && p.y1 <= inner.y1
    })
}

fn chords(path: &Path, view: &View) -> Vec<Point> {
    let mut out: Vec<Point> = path.segments.first().map(|s| view.at(s.start())).into_iter().collect();
    for s in &path.segments {
        let n = match s {
            Segment::Line(_) => 1,
            Segment::Arc(_) => (s.length() * view.scale / CHORD).ceil().clamp(4.0, 400.0) as usize,
        };
        out.extend((1..=n).map(|i| view.at(s.at(i as f64 / n as f64))));
    }
    out
}

/// Two arrows at the corner from which places are measured.
pub(super) fn corner(ink: &mut MarkCanvas, facts: &Facts, view: &View) {
    let Some(frame) = facts.frame() else { return };
    let c = view.at(frame.origin());
    let (back, on) = (1.2, 5.0);
    for v in [Vec2::new(1.0, 0.0), Vec2::new(0.0, -1.0)] {
        let side = Vec2::new(-back, back);
        ink.polyline(MarkGroup::Scale, &[c + side, c + side + v * on], INK, 0.25, &[]);
        let tip = c + side + v * (on + 1.2);
        let aside = Vec2::new(v.y, v.x) * 0.5;
        ink.polygon(MarkGroup::Scale, &[tip, c + side + v * on + aside, c + side + v * on - aside], INK);
    }
}

/// The meaning of lines and signs, and the scale bar. Returns the lower end.
pub(super) fn legend(ink: &mut MarkCanvas, facts: &Facts, chosen: &Chosen, view: &View) -> f64 {
    let mut pen = MarkLegend { ink, x: 0.0, y: view.bottom + 1.0 };
    if !facts.outlines.is_empty() {
        pen.line("as drawn", GREY, DRAWN, &[]);
    }
    if !facts.pieces.is_empty() {
        pen.line("as it will be", INK, MADE, &[]);
    }
    if loose(facts).next().is_some() {
        pen.line("not part of an outline", GREY, LOOSE, &DASH);
    }
    for severity in [Severity::Error, Severity::Warning, Severity::Note] {
        if chosen.drawn.iter().any(|m| m.finding.severity == severity) {
            pen.sign(severity);
        }
    }
    pen.bar(view.scale, facts.show);
    if facts.frame().is_some() {
        pen.text("measure places from the corner with the two arrows");
    }
    pen.y + STEP + 1.5
}

/// Writes samples and words in rows.
struct MarkLegend<'a> {
    ink: &'a mut MarkCanvas,
    x: f64,
    y: f64,
}

impl MarkLegend<'_> {
    /// Writes the words with room for a sample before them. Returns the left end of the sample.
    fn room(&mut self, sample: f64, words: &str) -> Point {
        let long = sample + width(words, TEXT, false);
        if self.x > 0.0 && self.x + long > LEFT {
            (self.x, self.y) = (0.0, self.y + 1.4 * STEP);
        }
        let at = Point::new(self.x, self.y);
        self.ink.text(at + Vec2::new(sample, 0.8 * TEXT), words, TextStyle::new(TEXT, INK));
        self.x += long + 5.0;
        at
    }

    fn text(&mut self, words: &str) {
        self.room(0.0, words);
    }

    fn line(&mut self, words: &str, colour: &str, width: f64, dash: &[f64]) {
        let at = self.room(SAMPLE + 2.0, words) + Vec2::new(0.0, 0.45 * TEXT);
        self.ink.polyline(MarkGroup::Scale, &[at, at + Vec2::new(SAMPLE, 0.0)], colour, width, dash);
    }

    fn sign(&mut self, severity: Severity) {
        let at = self.room(4.5, severity.name());
        let c = at + Vec2::new(1.8, 0.45 * TEXT);
        // All these numbers are finite.
        if let Ok(e) = glyph::draw(c, severity, None, 0.55) {
            self.ink.put(MarkGroup::Scale, &e, Rect::from_center_size(c, (3.6, 3.6)));
        }
    }

    fn bar(&mut self, scale: f64, show: Show) {
        let (mm, words) = view::bar(scale, show);
        let long = mm * scale;
        let at = self.room(long + 2.0, &format!("{words} of the drawing")) + Vec2::new(0.0, 0.45 * TEXT);
        let end = at + Vec2::new(long, 0.0);
        let up = Vec2::new(0.0, 1.0);
        for line in [[at, end], [at - up, at + up], [end - up, end + up]] {
            self.ink.polyline(MarkGroup::Scale, &line, INK, 0.35, &[]);
        }
    }
}
