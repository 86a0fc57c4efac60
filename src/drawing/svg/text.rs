//! Turns text into outlines, with the fonts of this computer.
//!
//! In: the document and its text elements. Out: for each element the shapes of its letters, or a message. A named font
//! that the computer lacks is never replaced, because its letters would differ. Without a named font any font will do.
//!
//! The letters come from `usvg` in single precision, good to about 1e-4 mm at bench sizes. The result depends on the
//! computer's fonts, so text is read only on request.

use super::limits;
use super::path::Subpath;
use super::second::{Given, options};
use super::size::Viewport;
use super::stroke::subpaths_of;
use crate::drawing::{Fill, Path, Shape, Source};
use crate::geom::{Affine, Segment, fit};
use crate::tolerance::CURVE_FIT;
use kurbo::{BezPath, Point};
use std::collections::BTreeSet;
use std::sync::{Arc, Mutex};
use usvg::tiny_skia_path::PathSegment;
use usvg::{FontFamily, FontResolver, Group, Node, Text, fontdb};

/// A text element: the number of shapes drawn before it, and its source.
pub(super) struct TextSlot {
    pub at: usize,
    pub id: Option<String>,
    pub source: Source,
}

/// The placeholder for "no font named".
const ANY: &str = "letin any font";

/// Outlines of letters in page pixels, y down.
struct Letters {
    id: String,
    paths: Vec<BezPath>,
}

/// The shapes of each slot, or the reason for none.
pub(super) fn letters(doc: &Given, viewport: &Viewport, slots: &[TextSlot]) -> Vec<Result<Vec<Shape>, String>> {
    let none = |why: &str| slots.iter().map(|_| Err(why.to_owned())).collect();
    let (found, missing) = match ask(doc, viewport) {
        Ok(both) => both,
        Err(why) => return none(&format!("text ({why})")),
    };
    let why = match missing.iter().next() {
        Some(name) => format!("text in the font {}, which this computer does not have", super::shown(name)),
        None => "text whose letters gave no outlines".to_owned(),
    };
    let page = Affine::new([viewport.px, 0.0, 0.0, -viewport.px, 0.0, viewport.height]);
    if found.len() == slots.len() {
        return slots.iter().zip(&found).map(|(s, l)| shapes(l, page, &s.source, &why)).collect();
    }
    // Some texts are missing. Only texts with a unique id can get their letters.
    let by_id = |id: &str| {
        let mut all = found.iter().filter(|l| l.id == id);
        all.next().filter(|_| all.next().is_none())
    };
    slots
        .iter()
        .map(|s| match s.id.as_deref().and_then(by_id) {
            Some(l) => shapes(l, page, &s.source, &why),
            None => Err(why.clone()),
        })
        .collect()
}

fn shapes(letters: &Letters, page: Affine, source: &Source, why: &str) -> Result<Vec<Shape>, String> {
    let one = |path: &BezPath| {
        let paths: Vec<Path> = subpaths_of(path).iter().filter_map(|s| fitted(s, page)).collect();
        (!paths.is_empty()).then(|| Shape { paths, fill: Fill::NonZero, source: source.clone() })
    };
    let shapes: Vec<Shape> = letters.paths.iter().filter_map(one).collect();
    if shapes.is_empty() { Err(why.to_owned()) } else { Ok(shapes) }
}

fn fitted(s: &Subpath, page: Affine) -> Option<Path> {
    let mut segments = Vec::new();
    for c in &s.curves {
        fit::fit(&c.under(page), CURVE_FIT, &mut segments);
    }
    segments.retain(|s| !matches!(s, Segment::Line(l) if l.start == l.end));
    (segments.len() > 1).then_some(Path { segments, closed: true })
}

/// All texts in document order, and the missing fonts.
fn ask(doc: &Given, viewport: &Viewport) -> Result<(Vec<Letters>, BTreeSet<String>), String> {
    let missing: Mutex<BTreeSet<String>> = Mutex::default();
    let work = || -> Result<Vec<Letters>, String> {
        let mut options = options(viewport);
        options.font_family = ANY.to_owned();
        options.fontdb_mut().load_system_fonts();
        if options.fontdb.is_empty() {
            return Err("this computer has no fonts".to_owned());
        }
        options.font_resolver = FontResolver {
            select_font: Box::new(|font, db| select(font, db, &missing)),
            select_fallback: FontResolver::default_fallback_selector(),
        };
        let tree = doc.tree(&options)?;
        let mut out = Vec::new();
        texts(tree.root(), &mut out);
        Ok(out)
    };
    let found = std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().stack_size(limits::SECOND_STACK).spawn_scoped(scope, work);
        match thread {
            Ok(handle) => handle.join().unwrap_or_else(|_| Err("the letters could not be made".to_owned())),
            Err(e) => Err(e.to_string()),
        }
    })?;
    Ok((found, missing.into_inner().unwrap_or_default()))
}

/// The first named font that exists, or any font if none is named.
fn select(font: &usvg::Font, db: &mut Arc<fontdb::Database>, missing: &Mutex<BTreeSet<String>>) -> Option<fontdb::ID> {
    let there = |name: &str| db.faces().any(|f| f.families.iter().any(|(n, _)| n.eq_ignore_ascii_case(name)));
    let mut absent = None;
    for family in font.families() {
        match family {
            FontFamily::Named(name) if name == ANY => break,
            FontFamily::Named(name) if there(name) => return FontResolver::default_font_selector()(font, db),
            FontFamily::Named(name) => absent = absent.or(Some(name)),
            _ => break,
        }
    }
    if let Some(name) = absent {
        if let Ok(mut m) = missing.lock() {
            m.insert(name.clone());
        }
        return None;
    }
    FontResolver::default_font_selector()(font, db).or_else(|| {
        let mut all: Vec<_> = db.faces().collect();
        all.sort_by(|a, b| a.post_script_name.cmp(&b.post_script_name));
        all.first().map(|f| f.id)
    })
}

fn texts(group: &Group, out: &mut Vec<Letters>) {
    for node in group.children() {
        match node {
            Node::Group(g) => texts(g, out),
            Node::Text(t) => out.push(letters_of_text(t)),
            _ => {}
        }
    }
}

fn letters_of_text(text: &Text) -> Letters {
    let mut paths = Vec::new();
    glyphs(text.flattened(), &mut paths);
    Letters { id: text.id().to_owned(), paths }
}

fn glyphs(group: &Group, out: &mut Vec<BezPath>) {
    for node in group.children() {
        match node {
            Node::Group(g) => glyphs(g, out),
            Node::Path(p) if p.is_visible() && p.fill().is_some() => {
                let t = p.abs_transform();
                let m = Affine::new([t.sx, t.ky, t.kx, t.sy, t.tx, t.ty].map(f64::from));
                let at = |p: usvg::tiny_skia_path::Point| m * Point::new(f64::from(p.x), f64::from(p.y));
                let mut path = BezPath::new();
                for s in p.data().segments() {
                    match s {
                        PathSegment::MoveTo(p) => path.move_to(at(p)),
                        PathSegment::LineTo(p) => path.line_to(at(p)),
                        PathSegment::QuadTo(a, p) => path.quad_to(at(a), at(p)),
                        PathSegment::CubicTo(a, b, p) => path.curve_to(at(a), at(b), at(p)),
                        PathSegment::Close => path.close_path(),
                    }
                }
                out.push(path);
            }
            _ => {}
        }
    }
}
