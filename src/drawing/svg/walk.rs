//! Walks through the elements and collects shapes.
//!
//! In: a document and its page. Out: [`WalkResult`], with the shapes in millimetres in drawing order, and a remark on
//! everything that was not read. An explicit stack follows the tree, so that nesting costs no program stack. Refuses
//! drawings beyond the limits. Source: W3C SVG 2 chapters 3, 5, 7 and 8.

use super::document::{LineIndex, in_svg};
use super::element::{condition, draws_nothing, editors_label, label, own_transform, paint_server};
use super::limits;
use super::reported::not_shown;
use super::second::Given;
use super::shapes;
use super::size::{self, Axis, Lengths, Viewport};
use super::style::{Own, Style, StyleSheet};
use super::tally::RemarkTally;
use super::text::{self, TextSlot};
use crate::budget::Budget;
use crate::drawing::{ReadError, ReadSettings, Remark, Shape, Source, Strokes, Texts};
use crate::geom::{Affine, Rect};
use crate::units::CSS_PX_PER_INCH;
use roxmltree::{Document, Node, NodeId};
use std::collections::BTreeMap;
use std::rc::Rc;

/// One drawn element, for comparison with the second reader.
pub(super) struct DrawnElement {
    /// Its own id, unless a `use` draws it.
    pub id: Option<String>,
    /// Bounding box, mm.
    pub bounds: Rect,
    /// The largest intermediate coordinate, mm. Single precision rounds in proportion to it.
    pub reach: f64,
}

pub(super) struct WalkResult {
    pub shapes: Vec<Shape>,
    pub seen: Vec<DrawnElement>,
    pub remarks: Vec<Remark>,
    /// Texts that become outlines.
    pub texts: Vec<TextSlot>,
    /// Number of elements that gave neither a shape nor a message. It should be 0.
    pub forgotten: usize,
    /// True if `seen` holds everything that another reader would draw.
    pub complete: bool,
    pub segments: usize,
    pub placed: Placed,
}

/// The transforms of elements, for the second reader: by node number, the map to the parent's user space.
#[derive(Default)]
pub(super) struct Placed {
    pub maps: BTreeMap<usize, Affine>,
    /// True if a repeated element has different transforms or styles. Then no single document describes them all.
    pub varied: bool,
}

impl WalkResult {
    /// Inserts the letters of texts in file order.
    pub(super) fn letters(&mut self, doc: &Given, viewport: &Viewport) {
        if self.texts.is_empty() {
            return;
        }
        let slots = std::mem::take(&mut self.texts);
        let mut tally = RemarkTally::default();
        for (slot, made) in slots.iter().zip(text::letters(doc, viewport, &slots)).rev() {
            match made {
                Ok(shapes) => {
                    self.segments += shapes.iter().flat_map(|s| &s.paths).map(|p| p.segments.len()).sum::<usize>();
                    self.shapes.splice(slot.at..slot.at, shapes);
                }
                Err(what) => tally.reported(&what, 1, false, Some(slot.source.clone())),
            }
        }
        self.remarks.extend(tally.finish().0);
    }
}

/// The context of an element.
#[derive(Clone)]
pub(super) struct Context {
    /// Map from user space to mm.
    pub(super) to_mm: Affine,
    pub(super) style: Style,
    layer: Option<Rc<str>>,
    pub(super) lengths: Lengths,
    /// The enclosing `use` elements: their names and targets.
    pub(super) uses: Option<Rc<Use>>,
    pub(super) reach: f64,
    /// Nested viewports, which clip: the map from mm to their user space, and their rectangle in it.
    pub(super) windows: Option<Rc<Window>>,
}

pub(super) struct Use {
    name: String,
    target: NodeId,
    depth: usize,
    outer: Option<Rc<Use>>,
}

pub(super) struct Window {
    pub(super) from_mm: Affine,
    pub(super) rect: Rect,
    pub(super) outer: Option<Rc<Window>>,
}

/// The way an element is drawn: in its place, or by a `use` that may set its size.
#[derive(Clone, Copy)]
enum By {
    Place,
    Use { width: Option<f64>, height: Option<f64> },
}

pub(super) struct Walk<'a, 'i> {
    pub(super) sheet: &'a StyleSheet,
    ids: BTreeMap<&'a str, Node<'a, 'i>>,
    ordinals: Vec<u32>,
    /// For every node, true if it was drawn, followed or reported, or shows nothing by the format.
    accounted: Vec<bool>,
    lines: LineIndex,
    pub(super) budget: &'a Budget,
    stack: Vec<(Node<'a, 'i>, Rc<Context>, By)>,
    pub(super) shapes: Vec<Shape>,
    pub(super) seen: Vec<DrawnElement>,
    pub(super) segments: usize,
    pub(super) tally: RemarkTally,
    pub(super) strokes: Strokes,
    pub(super) texts: Option<Vec<TextSlot>>,
    placed: Placed,
}

/// Collects all shapes of the document.
pub(super) fn elements(
    doc: &Document,
    text: &str,
    sheet: &StyleSheet,
    viewport: &Viewport,
    settings: &ReadSettings,
    budget: &Budget,
) -> Result<WalkResult, ReadError> {
    let mut ids = BTreeMap::new();
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    let mut ordinals = Vec::new();
    for node in doc.descendants() {
        let ordinal = if node.is_element() {
            if let Some(id) = node.attribute("id") {
                ids.entry(id).or_insert(node);
            }
            let n = counts.entry(node.tag_name().name()).or_insert(0);
            *n += 1;
            *n
        } else {
            0
        };
        ordinals.push(ordinal);
    }
    let mut walk = Walk {
        sheet,
        ids,
        accounted: vec![false; ordinals.len()],
        ordinals,
        lines: LineIndex::new(text),
        budget,
        stack: Vec::new(),
        shapes: Vec::new(),
        seen: Vec::new(),
        segments: 0,
        tally: RemarkTally::default(),
        strokes: settings.stroke,
        texts: (settings.text == Texts::Outline).then(Vec::new),
        placed: Placed::default(),
    };
    let elsewhere = doc.root().children().filter(|n| n.pi().is_some_and(|p| p.target == "xml-stylesheet")).count();
    if elsewhere > 0 {
        walk.leave_out("style rules in another file (xml-stylesheet)", elsewhere, false, None);
    }
    let dpi = settings.dpi.unwrap_or(CSS_PX_PER_INCH);
    let context = Context {
        to_mm: viewport.to_mm,
        style: Style::default(),
        layer: None,
        lengths: Lengths { viewport: viewport.user, dpi, em: viewport.rem, rem: viewport.rem },
        uses: None,
        reach: offset(viewport.to_mm),
        windows: None,
    };
    walk.root(doc.root_element(), context, viewport)?;
    let mut visits = 0;
    while let Some((node, context, by)) = walk.stack.pop() {
        visits += 1;
        if visits > limits::VISITS {
            return Err(ReadError::Refused {
                what: format!(
                    "the drawing has more than {} elements, counting those that `use` repeats",
                    limits::VISITS
                ),
            });
        }
        walk.budget.check()?;
        walk.visit(node, &context, by)?;
    }
    let forgotten = walk.forgotten(doc);
    for (what, count) in sheet.unread() {
        walk.tally.reported(&what, count, false, None);
    }
    let Walk { shapes, seen, segments, tally, texts, placed, .. } = walk;
    let texts = texts.unwrap_or_default();
    let (remarks, complete) = tally.finish();
    Ok(WalkResult { shapes, seen, remarks, texts, forgotten, complete, segments, placed })
}

/// Size of the translation of a map.
fn offset(m: Affine) -> f64 {
    m.translation().x.abs().max(m.translation().y.abs())
}

/// Largest scale factor of a map.
pub(super) fn scale(m: Affine) -> f64 {
    let [a, b, c, d, ..] = m.as_coeffs();
    a.hypot(b).max(c.hypot(d))
}

impl<'a, 'i> Walk<'a, 'i> {
    fn root(&mut self, svg: Node<'a, 'i>, mut context: Context, viewport: &Viewport) -> Result<(), ReadError> {
        self.account(svg, false);
        let own = self.sheet.own(svg, &context.style.custom)?;
        if let Some(why) = not_shown(&own) {
            self.hidden(svg, why);
            return Ok(());
        }
        self.effects(svg, &own);
        self.assumed(svg, &own);
        context.style = self.child_style(&context, &own);
        match own_transform(&own, context.lengths, || None) {
            // The root's transform acts on its viewport, in pixels from the top left corner.
            Ok(m) if m != Affine::IDENTITY => {
                let page = Affine::new([viewport.px, 0.0, 0.0, -viewport.px, 0.0, viewport.height]);
                context.to_mm = page * m * page.inverse() * context.to_mm;
                self.place(svg, m, false);
                context.reach = context.reach.max(offset(context.to_mm));
            }
            Ok(_) => {}
            Err(what) => self.leave_out_one(&what, svg, &context),
        }
        self.push_children(svg, Rc::new(context));
        Ok(())
    }

    /// Counts the elements without a result, whatever their kind.
    fn forgotten(&self, doc: &Document) -> usize {
        doc.descendants().filter(|n| n.is_element() && !self.accounted[n.id().get_usize()]).count()
    }

    /// Marks the element as handled; with `all`, its descendants too.
    pub(super) fn account(&mut self, node: Node<'a, 'i>, all: bool) {
        if all {
            node.descendants().for_each(|n| self.accounted[n.id().get_usize()] = true);
        } else {
            self.accounted[node.id().get_usize()] = true;
        }
    }

    /// Records the transform of an element for the second reader.
    fn place(&mut self, node: Node, m: Affine, replaced: bool) {
        let before = self.placed.maps.get(&node.id().get_usize()).copied();
        self.placed.varied |= replaced || before.is_some_and(|b| b != m);
        if m != Affine::IDENTITY {
            self.placed.maps.insert(node.id().get_usize(), m);
        }
    }

    fn push_children(&mut self, node: Node<'a, 'i>, context: Rc<Context>) {
        let from = self.stack.len();
        self.stack.extend(node.children().filter(Node::is_element).map(|n| (n, context.clone(), By::Place)));
        self.stack[from..].reverse();
    }

    /// The element's own values in this context.
    fn own(&mut self, node: Node<'a, 'i>, context: &Context) -> Result<Own<'a>, ReadError> {
        let custom = &context.style.custom;
        let Some(repeated) = &context.uses else { return self.sheet.own(node, custom) };
        let own = self.sheet.own_within(node, Some(repeated.target), custom)?;
        if self.sheet.sees_places() && !own.is_as(&self.sheet.own(node, custom)?) {
            self.placed.varied = true;
            self.sheet.went_beyond();
        }
        Ok(own)
    }

    fn child_style(&self, context: &Context, own: &Own) -> Style {
        context.style.child(own, &context.lengths, |id| self.ids.get(id).is_some_and(paint_server))
    }

    fn visit(&mut self, node: Node<'a, 'i>, context: &Context, by: By) -> Result<(), ReadError> {
        let name = node.tag_name().name();
        // Groups are followed element by element. Everything else counts as a whole.
        let groups = in_svg(&node) && matches!(name, "g" | "a" | "svg" | "symbol");
        self.account(node, !groups);
        if !in_svg(&node) {
            return Ok(());
        }
        if draws_nothing(name) && !(name == "symbol" && matches!(by, By::Use { .. })) {
            self.account(node, true);
            return Ok(());
        }
        let own = self.own(node, context)?;
        let shape = shapes::NAMES.contains(&name);
        let contents = own.get("display") == Some("contents");
        if contents {
            self.sheet.went_beyond();
        }
        if let Some(why) = not_shown(&own) {
            self.hidden(node, why);
            return Ok(());
        }
        if contents && !groups && !matches!(name, "use" | "switch") {
            self.hidden(node, "display: contents");
            return Ok(());
        }
        if !condition(&node) {
            self.account(node, true);
            self.leave_out("elements meant for other programs or languages", 1, true, Some(self.source(node, context)));
            return Ok(());
        }
        let style = self.child_style(context, &own);
        let lengths = Lengths { em: style.font_size, ..context.lengths };
        let mut inner = Context { style, lengths, ..context.clone() };
        if !shape && !matches!(name, "g" | "a" | "svg" | "symbol" | "switch" | "use") {
            self.not_read(node, &inner, name);
            return Ok(());
        }
        self.assumed(node, &own);
        // With `display: contents` an element has no effects and no place.
        if !contents {
            let own_box = || shapes::outline(&node, &own, &lengths).ok()?.ok()?.bounds().filter(|_| shape);
            let m = match own_transform(&own, lengths, own_box) {
                Ok(m) => m,
                Err(what) => {
                    self.account(node, true);
                    self.leave_out_one(&what, node, context);
                    return Ok(());
                }
            };
            self.place(node, m, own.replaced && context.uses.is_some());
            self.effects(node, &own);
            inner.to_mm = context.to_mm * m;
            inner.reach = context.reach.max(offset(inner.to_mm));
        }
        match name {
            "g" => {
                if let Some(label) = label(&node) {
                    inner.layer = Some(label.into());
                }
                self.push_children(node, Rc::new(inner));
            }
            "a" => self.push_children(node, Rc::new(inner)),
            "switch" => {
                if let Some(first) = node.children().filter(Node::is_element).find(condition) {
                    self.stack.push((first, Rc::new(inner), By::Place));
                }
            }
            "svg" | "symbol" => self.viewport(node, &own, inner, by),
            "use" => self.follow(node, &own, inner),
            _ => self.shape(node, &own, &inner)?,
        }
        Ok(())
    }

    /// Enters a nested `svg`, or a `symbol` that a `use` draws.
    fn viewport(&mut self, node: Node<'a, 'i>, own: &Own, mut inner: Context, by: By) {
        let l = inner.lengths;
        let length = |name: &str, axis: Axis| own.get(name).and_then(|t| l.user(t, axis));
        let is_svg = node.tag_name().name() == "svg";
        let (x, y) = if is_svg {
            (length("x", Axis::X).unwrap_or(0.0), length("y", Axis::Y).unwrap_or(0.0))
        } else {
            (0.0, 0.0)
        };
        let (used_width, used_height) = match by {
            By::Use { width, height } => (width, height),
            By::Place => (None, None),
        };
        let (width, height) = (self.side(node, own, "width"), self.side(node, own, "height"));
        let w = used_width.or_else(|| width.and_then(|t| l.user(t, Axis::X))).unwrap_or(l.viewport.0);
        let h = used_height.or_else(|| height.and_then(|t| l.user(t, Axis::Y))).unwrap_or(l.viewport.1);
        if !(w > 0.0 && h > 0.0) {
            self.account(node, true);
            self.leave_out_one("the contents of a viewport of no size", node, &inner);
            return;
        }
        let corner = inner.to_mm * Affine::translate((x, y));
        if !matches!(own.get("overflow"), Some("visible" | "auto")) {
            let from_mm = corner.inverse();
            inner.windows = Some(Rc::new(Window { from_mm, rect: Rect::new(0.0, 0.0, w, h), outer: inner.windows }));
        }
        inner.to_mm = corner;
        inner.lengths.viewport = (w, h);
        if let Some(vb) = size::view_box(&node) {
            inner.to_mm = corner * size::nested(vb, size::aspect(&node), w, h);
            inner.lengths.viewport = (vb.w, vb.h);
        }
        inner.reach = inner.reach.max(offset(corner)).max(offset(inner.to_mm));
        self.push_children(node, Rc::new(inner));
    }

    fn follow(&mut self, node: Node<'a, 'i>, own: &Own, mut inner: Context) {
        let href = node.attribute("href").or(node.attribute(("http://www.w3.org/1999/xlink", "href"))).unwrap_or("");
        let Some(id) = href.trim().strip_prefix('#') else {
            self.leave_out_one("a `use` that points to no element of this file", node, &inner);
            return;
        };
        let Some(&target) = self.ids.get(id) else {
            self.leave_out_one("a `use` of a missing element", node, &inner);
            return;
        };
        let l = inner.lengths;
        let length = |name: &str, axis: Axis| own.get(name).and_then(|t| l.user(t, axis));
        let mut depth = 1;
        let mut outer = inner.uses.as_deref();
        let mut circular = node.ancestors().any(|a| a == target);
        while let Some(u) = outer {
            circular |= u.target == target.id();
            depth = depth.max(u.depth + 1);
            outer = u.outer.as_deref();
        }
        if circular || depth > limits::DEPTH {
            self.leave_out_one("a `use` that leads back to itself", node, &inner);
            return;
        }
        // With `display: contents` a `use` has no place of its own.
        let length = |name: &str, axis: Axis| length(name, axis).filter(|_| own.get("display") != Some("contents"));
        let (x, y) = (length("x", Axis::X).unwrap_or(0.0), length("y", Axis::Y).unwrap_or(0.0));
        inner.to_mm *= Affine::translate((x, y));
        inner.reach = inner.reach.max(offset(inner.to_mm)).max(scale(inner.to_mm) * x.abs().max(y.abs()));
        let name = self.name(node);
        inner.uses = Some(Rc::new(Use { name, target: target.id(), depth, outer: inner.uses }));
        let (width, height) = (self.side(node, own, "width"), self.side(node, own, "height"));
        let by =
            By::Use { width: width.and_then(|t| l.user(t, Axis::X)), height: height.and_then(|t| l.user(t, Axis::Y)) };
        self.stack.push((target, Rc::new(inner), by));
    }

    fn name(&self, node: Node) -> String {
        match node.attribute("id").filter(|id| !id.is_empty()) {
            Some(id) => id.to_string(),
            None => {
                let ordinal = self.ordinals.get(node.id().get_usize()).copied().unwrap_or(0);
                format!("{} {ordinal}", node.tag_name().name())
            }
        }
    }

    pub(super) fn bare_source(&self, node: Node) -> Source {
        let kind = node.tag_name().name().to_string();
        Source {
            id: self.name(node),
            label: editors_label(&node).map(str::to_string),
            kind,
            line: Some(self.lines.at(node.range().start)),
            ..Source::default()
        }
    }

    pub(super) fn source(&self, node: Node, context: &Context) -> Source {
        let mut source = self.bare_source(node);
        // The outermost `use` distinguishes copies.
        let mut outer = context.uses.as_deref();
        while let Some(u) = outer {
            if u.outer.is_none() {
                source.id = format!("{}/{}", u.name, source.id);
            }
            outer = u.outer.as_deref();
        }
        source.layer = context.layer.as_deref().map(str::to_string);
        let style = &context.style;
        let colour = if style.filled { style.fill } else { style.stroke.filter(|_| style.stroked) };
        source.colour = colour.map(|[r, g, b]| format!("#{r:02x}{g:02x}{b:02x}"));
        source
    }
}
