//! Draws one shape: from curves in user space to lines and arcs in millimetres.
//!
//! In: a shape element and its context. Out: [`Shape`]s and a [`DrawnElement`] added to the walk, or a remark. Filled
//! subpaths are closed, as the format defines. A straight line has no area to fill, so only its stroke is kept. Refuses
//! drawings with too many edges. Source: W3C SVG 2 chapter 13.

use super::path::{ElementPath, Subpath};
use super::shapes::{self, Absent};
use super::size::Axis;
use super::style::Own;
use super::walk::{Context, DrawnElement, Walk, scale};
use super::{limits, stroke, too_many_segments};
use crate::drawing::{Fill, Path, ReadError, Shape, Source, Strokes};
use crate::geom::{Affine, Curve, Line, Rect, Segment, fit};
use crate::tolerance::{CURVE_FIT, LARGEST_COORDINATE, ROUNDING_SHARE, STROKE, WRITTEN_SHARE};
use roxmltree::Node;

impl<'a, 'i> Walk<'a, 'i> {
    pub(super) fn shape(&mut self, node: Node<'a, 'i>, own: &Own, context: &Context) -> Result<(), ReadError> {
        let style = &context.style;
        let width = context.lengths.user(&style.stroke_width, Axis::Diagonal).unwrap_or(1.0);
        let is_line = node.tag_name().name() == "line";
        let filled = style.filled && !is_line;
        let stroked = style.stroked && width > 0.0;
        if !style.visible || !(filled || stroked) {
            let source = self.source(node, context);
            self.tally.reported(
                "shapes that are not shown (hidden, or neither filled nor stroked)",
                1,
                true,
                Some(source),
            );
            return Ok(());
        }
        let outline = match shapes::outline(&node, own, &context.lengths)? {
            Ok(outline) => outline,
            Err(Absent::Nothing) => {
                self.leave_out("shapes of no size", 1, true, Some(self.source(node, context)));
                return Ok(());
            }
            Err(Absent::Fault(what)) => {
                self.tally.fault(self.source(node, context), &format!("a shape that cannot be read: {what}"));
                return Ok(());
            }
        };
        if let Some(fault) = &outline.fault {
            let rest = if outline.subpaths.is_empty() { "a shape" } else { "the rest of a shape" };
            self.tally.fault(self.source(node, context), &format!("{rest} whose data have a fault ({fault})"));
        }
        let partial = outline.fault.is_some();
        let bare = matches!(node.tag_name().name(), "rect" | "circle" | "ellipse");
        if style.markers.contains(&true) && !bare {
            self.leave_out("markers at the ends and corners of lines", 1, false, Some(self.source(node, context)));
        }
        self.draw(node, context, outline, filled, stroked.then_some(width), partial)
    }

    /// Turns subpaths into lines and arcs in mm.
    fn draw(
        &mut self,
        node: Node<'a, 'i>,
        context: &Context,
        outline: ElementPath,
        filled: bool,
        stroke: Option<f64>,
        partial: bool,
    ) -> Result<(), ReadError> {
        let source = self.source(node, context);
        if outline.subpaths.is_empty() {
            if !partial {
                self.leave_out("shapes of no size", 1, true, Some(source));
            }
            return Ok(());
        }
        let m = context.to_mm;
        if m.determinant().abs() < f64::MIN_POSITIVE || m.determinant().abs() <= ROUNDING_SHARE * scale(m).powi(2) {
            self.leave_out("shapes that their transform makes flat", 1, true, Some(source));
            return Ok(());
        }
        let (mut areas, mut lines, mut wide) = (Vec::new(), Vec::new(), Vec::new());
        let mut reach = context.reach;
        let (mut dropped, mut points) = (0, 0);
        for mut subpath in outline.subpaths {
            let to_areas = filled && !no_area(&subpath);
            if filled && !to_areas && stroke.is_none() {
                dropped += 1;
                continue;
            }
            if to_areas && !subpath.closed {
                close(&mut subpath);
            }
            match self.fitted(&subpath, m, CURVE_FIT, &mut reach)? {
                Some(path) if path.segments.is_empty() => points += 1,
                Some(path) if to_areas => areas.push(path),
                Some(path) => {
                    lines.push(path);
                    wide.push(subpath);
                }
                None => {
                    self.tally.fault(self.source(node, context), "a shape with coordinates beyond 10 km");
                    return Ok(());
                }
            }
        }
        if dropped > 0 {
            self.leave_out("filled lines without area", dropped, true, Some(source.clone()));
        }
        if points > 0 {
            self.leave_out("lines of no length", points, true, Some(source.clone()));
        }
        let segments = areas.iter().chain(&lines).flat_map(|p| &p.segments);
        let Some(bounds) = segments.map(Segment::bounds).reduce(|a, b| a.union(b)) else { return Ok(()) };
        self.clipped(context, bounds, &source);
        if partial || dropped + points > 0 {
            self.tally.incomplete();
        } else {
            let id = node.attribute("id").filter(|_| context.uses.is_none()).map(str::to_string);
            self.seen.push(DrawnElement { id, bounds, reach });
        }
        if let (Strokes::Outline, Some(width)) = (self.strokes, stroke) {
            if !areas.is_empty() {
                let what = "strokes of shapes that have a fill too (only the fill was read)";
                self.tally.reported(what, 1, false, Some(source.clone()));
            }
            if !lines.is_empty() {
                lines.clear();
                self.band(node, context, &wide, width)?;
            }
        } else if let (false, Some(width)) = (lines.is_empty(), stroke) {
            self.tally.centre_line(width * m.determinant().abs().sqrt(), &source);
        }
        let fill = if context.style.even_odd { Fill::EvenOdd } else { Fill::NonZero };
        for (paths, fill) in [(areas, fill), (lines, Fill::None)] {
            if !paths.is_empty() {
                self.shapes.push(Shape { paths, fill, source: source.clone() });
            }
        }
        Ok(())
    }

    /// Adds the edges of a stroke as a shape.
    fn band(&mut self, node: Node<'a, 'i>, context: &Context, lines: &[Subpath], width: f64) -> Result<(), ReadError> {
        let source = self.source(node, context);
        let m = context.to_mm;
        let band = match stroke::band(lines, width, &context.style, &context.lengths, path_length(node), scale(m)) {
            Ok(band) => band,
            Err(what) => {
                self.tally.fault(source, &what);
                return Ok(());
            }
        };
        let mut paths = Vec::with_capacity(band.len());
        for subpath in band {
            match self.fitted(&subpath, m, CURVE_FIT - 2.0 * STROKE, &mut 0.0)? {
                Some(path) if path.segments.len() > 1 => paths.push(path),
                Some(_) => {}
                None => {
                    self.tally.fault(source, "a stroke with coordinates beyond 10 km");
                    return Ok(());
                }
            }
        }
        if !paths.is_empty() {
            self.shapes.push(Shape { paths, fill: Fill::NonZero, source });
        }
        Ok(())
    }

    /// A subpath in mm. `None` if a coordinate is out of range.
    fn fitted(
        &mut self,
        subpath: &Subpath,
        m: Affine,
        tolerance: f64,
        reach: &mut f64,
    ) -> Result<Option<Path>, ReadError> {
        let mut segments = Vec::with_capacity(subpath.curves.len());
        let mut fitted = Vec::new();
        for curve in &subpath.curves {
            let from = curve.bounds();
            let image = curve.under(m);
            let far = |r: Rect| r.x0.abs().max(r.x1.abs()).max(r.y0.abs()).max(r.y1.abs());
            let largest = far(image.bounds());
            if !image.is_finite() || !largest.is_finite() || largest > LARGEST_COORDINATE {
                return Ok(None);
            }
            *reach = reach.max(largest).max(far(from) * scale(m));
            fitted.clear();
            fit::fit(&image, tolerance, &mut fitted);
            // An edge below double precision has no length and is dropped.
            fitted.retain(|s| !matches!(s, Segment::Line(l) if l.start == l.end));
            segments.append(&mut fitted);
            let held = self.segments + segments.len();
            if held > limits::SEGMENTS {
                return Err(too_many_segments());
            }
            self.budget.check()?;
        }
        self.segments += segments.len();
        Ok(Some(Path { segments, closed: subpath.closed }))
    }

    /// A nested viewport hides the parts outside it. This reader does not clip, so it adds a remark.
    fn clipped(&mut self, context: &Context, bounds: Rect, source: &Source) {
        let mut window = context.windows.as_deref();
        while let Some(w) = window {
            let b = w.from_mm.transform_rect_bbox(bounds);
            let slack = WRITTEN_SHARE * w.rect.width().max(w.rect.height());
            if !w.rect.inflate(slack, slack).contains_rect(b) {
                self.leave_out(
                    "clipping by a nested viewport (the shape was read whole)",
                    1,
                    false,
                    Some(source.clone()),
                );
                return;
            }
            window = w.outer.as_deref();
        }
    }
}

/// The path length that the file states. Dashes are measured by it.
fn path_length(node: Node) -> Option<f64> {
    node.attribute("pathLength")?.trim().parse().ok().filter(|l: &f64| l.is_finite() && *l >= 0.0)
}

/// True for a straight line, with or without its return: it encloses nothing.
fn no_area(s: &Subpath) -> bool {
    s.curves.len() <= if s.closed { 2 } else { 1 } && s.curves.iter().all(|c| matches!(c, Curve::Line(_)))
}

/// Closes an open subpath, as the format does for a fill.
fn close(s: &mut Subpath) {
    let ends = s.curves.first().map(Curve::start).zip(s.curves.last().map(Curve::end));
    if let Some((start, end)) = ends
        && start != end
    {
        let (start, end) = (end, start);
        s.curves.push(Curve::Line(Line { start, end }));
    }
    s.closed = true;
}
