//! Compares the places of all elements with those of a second reader, `usvg`.
//!
//! In: the same document, and the results of the first reader. Out: a message on the first difference. `usvg`
//! interprets the document independently. Only bounding boxes are compared, because `usvg` works in single precision
//! and turns circles into cubics. It gets no folder, no fonts, and resolvers that refuse, so it reads no files and no
//! embedded pictures.
//!
//! The comparison does not find differences within the tolerance, inside a box, or in shapes that only one reader
//! reads.

use super::limits;
use super::shown;
use super::size::{FONT_PX, Viewport};
use super::walk::{DrawnElement, WalkResult};
use crate::budget::Budget;
use crate::drawing::ReadError;
use crate::geom::Rect;
use crate::tolerance::{SECOND_READER, SECOND_READER_SHARE};
use crate::units::INCH;
use roxmltree::ParsingOptions;
use std::collections::BTreeMap;
use usvg::{Group, ImageHrefResolver, Node, Options, Tree};

/// A path of the second reader.
struct Other {
    id: String,
    /// Bounding box, mm, y up.
    bounds: Rect,
}

/// The document for the second reader: as written, or with its styles resolved ([`super::resolved`]).
pub(super) enum Given<'a, 'i> {
    AsItIs(&'a roxmltree::Document<'i>),
    Resolved(String),
}

impl Given<'_, '_> {
    /// The second reader's tree of the document.
    pub(super) fn tree(&self, options: &Options) -> Result<Tree, String> {
        match self {
            Given::AsItIs(doc) => Tree::from_xmltree(doc, options).map_err(|e| e.to_string()),
            Given::Resolved(text) => {
                let parsing = ParsingOptions { allow_dtd: false, nodes_limit: limits::NODES, entity_resolver: None };
                let doc = roxmltree::Document::parse_with_options(text, parsing).map_err(|e| e.to_string())?;
                Tree::from_xmltree(&doc, options).map_err(|e| e.to_string())
            }
        }
    }
}

/// A message on a difference, or on why there is no comparison. `bytes` is the length of the file. `steps` counts the
/// steps of style matching.
pub(super) fn compare(
    doc: &Given,
    bytes: usize,
    steps: u64,
    viewport: &Viewport,
    found: &WalkResult,
    budget: &Budget,
) -> Result<Option<String>, ReadError> {
    if found.seen.is_empty() {
        return Ok(None);
    }
    budget.check()?;
    let bytes = match doc {
        Given::AsItIs(_) => bytes,
        Given::Resolved(text) => text.len(),
    };
    if bytes > limits::SECOND_BYTES || found.segments > limits::SECOND_SEGMENTS || steps > limits::SECOND_STYLE_STEPS {
        return Ok(Some("the second reader was not used: the drawing is too large for it".into()));
    }
    if found.placed.varied && matches!(doc, Given::Resolved(_)) {
        return Ok(Some("the second reader was not used: shapes that `use` repeats change their style".into()));
    }
    Ok(match ask(doc, viewport) {
        Ok(Err(page)) => Some(page),
        Ok(Ok(others)) => differs(&found.seen, &others, found.complete),
        Err(why) => Some(format!("it could not read the file: {why}")),
    })
}

/// The settings of the second reader: no files, the same pixels, no fonts.
pub(super) fn options(viewport: &Viewport) -> Options<'static> {
    Options {
        resources_dir: None,
        // Pixels are CSS pixels unless the maker gives another size. Lengths with units follow.
        dpi: (INCH / viewport.css_px) as f32,
        font_size: FONT_PX as f32,
        image_href_resolver: ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..Options::default()
    }
}

/// All visible paths in drawing order, or a message on how the page differs, or an error.
fn ask(doc: &Given, viewport: &Viewport) -> Result<Result<Vec<Other>, String>, String> {
    let work = || -> Result<Result<Vec<Other>, String>, String> {
        let options = options(viewport);
        let tree = doc.tree(&options)?;
        let height = f64::from(tree.size().height()) * viewport.px;
        if viewport.anchored && (height - viewport.height).abs() > SECOND_READER.max(SECOND_READER_SHARE * height) {
            return Ok(Err(format!(
                "the page is {:.3} mm high to the first reader, {height:.3} mm to the second",
                viewport.height
            )));
        }
        let mut others = Vec::new();
        collect(tree.root(), viewport, &mut others);
        Ok(Ok(others))
    };
    // The thread has a larger stack, because the reader follows nested elements by recursion. A panic ends at the join.
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().stack_size(limits::SECOND_STACK).spawn_scoped(scope, work);
        match thread {
            Ok(handle) => handle.join().unwrap_or_else(|_| Err("it failed".into())),
            Err(e) => Err(format!("no thread is available: {e}")),
        }
    })
}

fn collect(group: &Group, viewport: &Viewport, others: &mut Vec<Other>) {
    for node in group.children() {
        match node {
            // A wholly transparent group exists but is not visible.
            Node::Group(g) if g.opacity().get() > 0.0 => collect(g, viewport, others),
            Node::Path(p) if p.is_visible() && painted(p) => {
                let b = p.abs_bounding_box();
                let (x, y) =
                    (|v: f32| f64::from(v) * viewport.px, |v: f32| viewport.height - f64::from(v) * viewport.px);
                let bounds = Rect::new(x(b.left()), y(b.top()), x(b.right()), y(b.bottom())).abs();
                others.push(Other { id: p.id().to_string(), bounds });
            }
            _ => {}
        }
    }
}

fn painted(p: &usvg::Path) -> bool {
    p.fill().is_some_and(|f| f.opacity().get() > 0.0) || p.stroke().is_some_and(|s| s.opacity().get() > 0.0)
}

/// A message on the first difference.
fn differs(seen: &[DrawnElement], others: &[Other], complete: bool) -> Option<String> {
    if seen.len() == others.len() && complete {
        return seen.iter().zip(others).find_map(|(s, o)| off(&name(s), s.bounds, o.bounds, tolerance(s)));
    }
    // The elements differ. Compare those with unique ids, and the whole drawing if nothing was left out.
    let mut by_id: BTreeMap<&str, Option<&Other>> = BTreeMap::new();
    for o in others.iter().filter(|o| !o.id.is_empty()) {
        by_id.entry(&o.id).and_modify(|e| *e = None).or_insert(Some(o));
    }
    let mut ours: BTreeMap<&str, usize> = BTreeMap::new();
    for id in seen.iter().filter_map(|s| s.id.as_deref()) {
        *ours.entry(id).or_insert(0) += 1;
    }
    for s in seen {
        if let Some(id) = &s.id
            && ours.get(id.as_str()) == Some(&1)
            && let Some(Some(o)) = by_id.get(id.as_str())
            && let Some(what) = off(&name(s), s.bounds, o.bounds, tolerance(s))
        {
            return Some(what);
        }
    }
    if !complete {
        return None;
    }
    let whole = |boxes: &mut dyn Iterator<Item = Rect>| boxes.reduce(|a, b| a.union(b));
    let ours = whole(&mut seen.iter().map(|s| s.bounds))?;
    let Some(theirs) = whole(&mut others.iter().map(|o| o.bounds)) else {
        return Some("the second reader sees no shapes".into());
    };
    off("the whole drawing", ours, theirs, seen.iter().map(tolerance).fold(0.0, f64::max))
}

fn name(s: &DrawnElement) -> String {
    s.id.as_deref().map_or("a shape".into(), |id| format!("the shape {}", shown(id)))
}

/// Largest allowed difference of an element's boxes, mm. Its cubics deviate from a circle by up to 2.7e-4 of the
/// radius. Single precision rounds every intermediate coordinate. So the box is known only to a few units in the last
/// place of the largest coordinate. This matters far from the origin.
fn tolerance(s: &DrawnElement) -> f64 {
    let size = s.bounds.width().max(s.bounds.height());
    SECOND_READER.max(SECOND_READER_SHARE * size) + 4.0 * f64::from(f32::EPSILON) * s.reach
}

fn off(what: &str, ours: Rect, theirs: Rect, tolerance: f64) -> Option<String> {
    let pairs = [(ours.x0, theirs.x0), (ours.y0, theirs.y0), (ours.x1, theirs.x1), (ours.y1, theirs.y1)];
    let far = pairs.iter().map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    // NaN counts as a difference.
    let near = pairs.iter().all(|(a, b)| (a - b).abs() <= tolerance);
    (!near).then(|| {
        format!(
            "{what} is {:.3} × {:.3} mm to the first reader, {:.3} × {:.3} mm to the second; the boxes differ by {far:.3} mm",
            ours.width(),
            ours.height(),
            theirs.width(),
            theirs.height()
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(id: &str, x: f64, reach: f64) -> DrawnElement {
        DrawnElement { id: (!id.is_empty()).then(|| id.to_string()), bounds: Rect::new(x, 0.0, x + 20.0, 10.0), reach }
    }

    fn other(id: &str, x: f64) -> Other {
        Other { id: id.into(), bounds: Rect::new(x, 0.0, x + 20.0, 10.0) }
    }

    #[test]
    fn a_difference_is_reported_and_rounding_is_not() {
        assert_eq!(differs(&[seen("a", 0.0, 20.0)], &[other("a", 0.04)], true), None);
        assert!(differs(&[seen("a", 0.0, 20.0)], &[other("a", 0.06)], true).unwrap().contains("\"a\""));
        // A unit in the last place of single precision at 1e6 mm is 0.06 mm.
        assert_eq!(differs(&[seen("a", 0.0, 1e6)], &[other("a", 0.06)], true), None);
        assert!(differs(&[seen("a", 0.0, 20.0)], &[other("a", f64::NAN)], true).is_some());
    }

    #[test]
    fn only_what_both_read_is_compared() {
        // One shape was left out. The other is compared by its id.
        let others = [other("b", 50.0), other("a", 0.0)];
        assert_eq!(differs(&[seen("a", 0.0, 20.0)], &others, false), None);
        assert!(differs(&[seen("a", 1.0, 20.0)], &others, false).is_some());
        assert_eq!(differs(&[seen("", 1.0, 20.0)], &others, false), None);
        // Nothing was left out and the second reader has one more shape, so the whole drawings differ.
        assert!(differs(&[seen("a", 0.0, 20.0)], &others, true).is_some());
        assert!(differs(&[seen("a", 0.0, 20.0)], &[], true).is_some());
    }
}
