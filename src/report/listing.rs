//! The lines of a drawing: as text, as JSON, and as a numbered picture.
//!
//! In: a drawing as it was read, its list, and the findings of the reading. Out: text, JSON (schema 1, keys as in
//! [`super::json`], lengths in mm, areas in mm²) and SVG. Strings from files are escaped.

use super::canvas::{Anchor, Canvas, GREY, INK, Layer, OCHRE, PETROL, TextStyle};
use super::json::{bounds, drawing, finding};
use super::terminal;
use crate::check::Finding;
use crate::check::source::named;
use crate::drawing::found::ListedShape;
use crate::drawing::{Drawing, Path, Shape};
use crate::geom::{Point, Rect, Segment};
use crate::schema::answers::{self, Line};
use crate::schema::{self, Tool, Version};
use crate::text::{NotFinite, Show, Words, fixed, full, terminal as safe};
use crate::units::INCH;
use crate::words;
use std::fmt::Write;

/// The answer of `letin outlines`.
#[derive(Clone, Debug)]
pub struct Listing {
    pub path: String,
    /// Its open lines are joined.
    pub drawing: Drawing,
    /// The unit of figures for people.
    pub show: Show,
    pub found: Vec<ListedShape>,
    pub findings: Vec<Finding>,
}

/// Most lines on the list, unless all are asked for.
const LISTED: usize = 200;

/// The list as text.
#[must_use]
pub fn report(l: &Listing, all: bool) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write_list(&mut out, l, all);
    out
}

fn write_list(out: &mut String, l: &Listing, all: bool) -> std::fmt::Result {
    let size = match l.drawing.bounds {
        Some(b) => {
            let [w, h] = [b.width(), b.height()].map(|v| fixed(v).with_fraction());
            words!("{} wide, {} high", w, h)
        }
        None => "no size".into(),
    };
    writeln!(out, "{}: {}", safe(&l.path), size.shown(l.show))?;
    writeln!(out, "  Size from {}.", safe(&l.drawing.unit_source))?;
    if l.found.is_empty() {
        writeln!(out, "\nNo line in it can be an outline.")?;
    } else {
        writeln!(out, "\nLines, with the numbers and names for --only and --skip")?;
    }
    let most = if all { usize::MAX } else { LISTED };
    for f in l.found.iter().take(most) {
        let s = &f.source;
        let kind = match (f.closed, f.open) {
            (1, 0) => "closed".to_owned(),
            (0, 1) => "open".to_owned(),
            (c, 0) => format!("{c} closed lines"),
            (c, o) => format!("{c} closed and {o} open lines"),
        };
        let area = f.area.map(|a| format!(", {}", area(a, l.show))).unwrap_or_default();
        let size = Words::pair(fixed(f.bounds.width()), fixed(f.bounds.height())).shown(l.show);
        let inside = f.inside.map(|n| format!(", inside {n}")).unwrap_or_default();
        writeln!(out, "  {:>3}  {kind}, {size}{area}{inside}: {}", f.number, safe(&named(s)))?;
        let names = [("layer", &s.layer), ("label", &s.label), ("colour", &s.colour)];
        let names: Vec<String> =
            names.iter().filter_map(|(k, v)| v.as_ref().map(|v| format!("{k} {}", safe(v)))).collect();
        if !names.is_empty() {
            writeln!(out, "       {}", names.join(", "))?;
        }
    }
    if l.found.len() > most {
        writeln!(out, "       and {} more: --all lists them", l.found.len() - most)?;
    }
    let frame = l.drawing.bounds.map_or(Point::ORIGIN, |b| Point::new(b.x0, b.y0));
    let mut lines = super::lines::Lines::default();
    terminal::write_findings_of_list(&mut lines, &l.findings, all, l.show, frame);
    if l.findings.is_empty() { Ok(()) } else { write!(out, "\n{}", lines.text()) }
}

/// An area with one decimal in mm², or with three in square inches.
fn area(mm2: f64, show: Show) -> String {
    match show {
        Show::Mm => format!("{mm2:.1} mm²"),
        Show::Inch => format!("{:.3} in²", mm2 / INCH / INCH),
    }
}

fn line(f: &ListedShape) -> Line {
    let s = &f.source;
    Line {
        number: f.number,
        source: s.id.clone(),
        kind: s.kind.clone(),
        line: s.line,
        layer: s.layer.clone(),
        label: s.label.clone(),
        colour: s.colour.clone(),
        closed: f.closed,
        open: f.open,
        inside: f.inside,
        bounds_mm: bounds(f.bounds),
        length_mm: f.length,
        area_mm2: f.area,
    }
}

/// The list as JSON.
///
/// # Errors
/// The errors of `serde_json`.
pub fn document(l: &Listing) -> Result<Vec<u8>, serde_json::Error> {
    schema::bytes(&answers::Listing {
        schema: Version,
        tool: Tool::own(),
        drawing: drawing(&l.path, &l.drawing, false),
        lines: l.found.iter().map(line).collect(),
        findings: l.findings.iter().map(|f| finding(f, l.show)).collect(),
    })
}

#[derive(Clone, Copy)]
enum ListingGroup {
    Closed,
    Open,
    Words,
}

impl Layer for ListingGroup {
    const NAMES: &'static [&'static str] = &["CLOSED", "OPEN", "WORDS"];
    const WORDS: ListingGroup = ListingGroup::Words;
    fn index(self) -> usize {
        self as usize
    }
}

/// The drawing with its numbers, at true size, y down.
///
/// # Errors
/// [`NotFinite`] where a size or place is not a finite number.
pub fn picture(l: &Listing) -> Result<String, NotFinite> {
    let b = l.drawing.bounds.unwrap_or(Rect::new(0.0, 0.0, 50.0, 20.0));
    let size = b.width().max(b.height()).max(1.0);
    let (pen, letters) = (size / 400.0, size / 30.0);
    let down = |p: Point| Point::new(p.x - b.x0, b.y1 - p.y);
    let mut c: Canvas<ListingGroup> = Canvas::new(Rect::new(0.0, 0.0, b.width(), b.height()));
    let shapes: &[Shape] = &l.drawing.shapes;
    for f in &l.found {
        let Some(shape) = shapes.get(f.number - 1) else { continue };
        for path in &shape.paths {
            let (group, colour) =
                if path.closed { (ListingGroup::Closed, PETROL) } else { (ListingGroup::Open, OCHRE) };
            let (d, dash) = (path_data(path, &down)?, if path.closed { "" } else { " stroke-dasharray=\"3 2\"" });
            let (d, width) = (d, full(pen)?);
            let e = format!("<path d=\"{d}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"{dash}/>");
            c.put(group, &e, Rect::new(0.0, 0.0, b.width(), b.height()));
        }
    }
    // A number that would cover another one moves on along its line.
    let mut taken: Vec<Point> = Vec::new();
    for f in l.found.iter().take(LISTED) {
        let Some(shape) = shapes.get(f.number - 1) else { continue };
        let segments: Vec<&Segment> = shape.paths.iter().flat_map(|p| &p.segments).collect();
        let places = segments.iter().map(|s| down(s.at(0.5)));
        let free = |p: &Point| taken.iter().all(|t| (*t - *p).hypot() > 1.5 * letters);
        let at = places.clone().take(64).find(free).unwrap_or(down(f.at));
        taken.push(at);
        c.circle(ListingGroup::Words, at, 0.75 * letters, "#ffffff", GREY, pen / 2.0);
        let base = Point::new(at.x, at.y + 0.35 * letters);
        c.text(base, &f.number.to_string(), TextStyle::new(letters, INK).bold().anchor(Anchor::Middle));
    }
    c.finish(&format!("Lines of {}", l.path), "", size / 20.0)
}

fn path_data(path: &Path, down: &impl Fn(Point) -> Point) -> Result<String, NotFinite> {
    let at = |p: Point| Ok(format!("{} {}", full(down(p).x)?, full(down(p).y)?));
    let Some(first) = path.segments.first() else { return Ok(String::new()) };
    let mut d = format!("M {}", at(first.start())?);
    for s in &path.segments {
        match s {
            Segment::Line(l) => {
                let _ = write!(d, " L {}", at(l.end)?);
            }
            // In halves, so the flags of the SVG arc are unambiguous.
            Segment::Arc(a) => {
                let r = full(a.radius)?;
                for half in [s.part(0.0, 0.5), s.part(0.5, 1.0)] {
                    let _ = write!(d, " A {r} {r} 0 0 {} {}", u8::from(!a.ccw), at(half.end())?);
                }
            }
        }
    }
    Ok(d)
}
