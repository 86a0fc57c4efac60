//! Shapes and words in named groups, and the colours of all pictures.
//!
//! In: places and lengths, mm, y down. Out: the SVG text, and the bounding box of the content. Refuses numbers that are
//! not finite. The viewer chooses the font, so words are measured with the widths of a common sans serif and room to
//! spare.

use crate::geom::{Point, Rect};
use crate::text::{NotFinite, rounded, xml};
use std::fmt::Write;
use std::marker::PhantomData;

/// Lines of the work and plain words. On white every colour here has a contrast of 5:1 or more.
pub(super) const INK: &str = "#1b292e";
/// Lines and words of less weight.
pub(super) const GREY: &str = "#55626a";
/// Notes, reference edges and centre lines.
pub(super) const PETROL: &str = "#0b567c";
/// Warnings, cautions, and the area to keep clear.
pub(super) const OCHRE: &str = "#8f5a00";
/// Errors, and a joint that binds.
pub(super) const CRIMSON: &str = "#a11d33";

/// The named groups of a picture, in drawing order.
pub(super) trait Layer: Copy {
    /// Names of all groups.
    const NAMES: &'static [&'static str];
    /// The group for words.
    const WORDS: Self;
    /// Index into the names.
    fn index(self) -> usize;
}

/// Where words lie from their point.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
}

#[derive(Clone, Copy)]
pub(super) struct TextStyle<'a> {
    pub size: f64,
    pub colour: &'a str,
    pub bold: bool,
    /// Turned a quarter anticlockwise: the words read upwards.
    pub upright: bool,
    pub anchor: Anchor,
}

impl<'a> TextStyle<'a> {
    pub(super) fn new(size: f64, colour: &'a str) -> TextStyle<'a> {
        TextStyle { size, colour, bold: false, upright: false, anchor: Anchor::Start }
    }

    pub(super) fn bold(self) -> TextStyle<'a> {
        TextStyle { bold: true, ..self }
    }

    pub(super) fn anchor(self, anchor: Anchor) -> TextStyle<'a> {
        TextStyle { anchor, ..self }
    }
}

pub(super) struct Canvas<G> {
    groups: Vec<String>,
    /// ARIA role of the picture, for screen readers.
    pub role: &'static str,
    kind: PhantomData<G>,
    /// Bounding box of the content.
    pub extent: Rect,
    fault: Option<NotFinite>,
}

impl<G: Layer> Canvas<G> {
    pub(super) fn new(extent: Rect) -> Canvas<G> {
        Canvas { groups: vec![String::new(); G::NAMES.len()], role: "img", kind: PhantomData, extent, fault: None }
    }

    /// A length or place, to the micrometre. `finish` reports a number that is not finite.
    fn n(&mut self, v: f64) -> String {
        rounded(v, 3).unwrap_or_else(|e| {
            self.fault = Some(e);
            String::new()
        })
    }

    /// Any element; `reach` is its bounding box.
    pub(super) fn put(&mut self, g: G, element: &str, reach: Rect) {
        let inside = &mut self.groups[g.index()];
        // Writing to a String cannot fail.
        let _ = writeln!(inside, "    {element}");
        self.extent = self.extent.union(reach);
    }

    /// Straight strokes through `points`. `dash`: lengths on and off, mm; empty for a solid line.
    pub(super) fn polyline(&mut self, g: G, points: &[Point], colour: &str, width: f64, dash: &[f64]) {
        let Some(first) = points.first() else { return };
        let mut list = Vec::new();
        let mut reach = Rect::from_points(*first, *first);
        for p in points {
            list.push(format!("{},{}", self.n(p.x), self.n(p.y)));
            reach = reach.union_pt(*p);
        }
        let dash: Vec<String> = dash.iter().map(|d| self.n(*d)).collect();
        let dash = if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", dash.join(" ")) };
        let (points, width) = (list.join(" "), self.n(width));
        let e =
            format!("<polyline points=\"{points}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"{dash}/>");
        self.put(g, &e, reach);
    }

    pub(super) fn polygon(&mut self, g: G, points: &[Point], fill: &str) {
        let list: Vec<String> = points.iter().map(|p| format!("{},{}", self.n(p.x), self.n(p.y))).collect();
        let reach = points.iter().fold(self.extent, |r, p| r.union_pt(*p));
        self.put(g, &format!("<polygon points=\"{}\" fill=\"{fill}\"/>", list.join(" ")), reach);
    }

    pub(super) fn circle(&mut self, g: G, c: Point, r: f64, fill: &str, stroke: &str, width: f64) {
        let reach = Rect::from_center_size(c, (2.0 * r, 2.0 * r));
        let (x, y, r, width) = (self.n(c.x), self.n(c.y), self.n(r), self.n(width));
        let e = format!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{fill}\" stroke=\"{stroke}\" stroke-width=\"{width}\"/>"
        );
        self.put(g, &e, reach);
    }

    /// A line of words; `at` is on its baseline.
    pub(super) fn text(&mut self, at: Point, s: &str, style: TextStyle) {
        let (long, high) = (width(s, style.size, style.bold), style.size);
        let back = match style.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => long / 2.0,
        };
        let reach = if style.upright {
            Rect::new(at.x - high * 0.8, at.y + back - long, at.x + high * 0.25, at.y + back)
        } else {
            Rect::new(at.x - back, at.y - high * 0.8, at.x - back + long, at.y + high * 0.25)
        };
        let (x, y, size) = (self.n(at.x), self.n(at.y), self.n(style.size));
        let anchor = match style.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
        };
        let weight = if style.bold { " font-weight=\"bold\"" } else { "" };
        let turn = if style.upright { format!(" transform=\"rotate(-90 {x} {y})\"") } else { String::new() };
        let colour = style.colour;
        let s = xml(s);
        let e = format!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" fill=\"{colour}\"{anchor}{weight}{turn}>{s}</text>"
        );
        self.put(G::WORDS, &e, reach);
    }

    /// The whole file. `paper`: elements under all groups; `margin`: white round the content, mm.
    pub(super) fn finish(mut self, title: &str, paper: &str, margin: f64) -> Result<String, NotFinite> {
        let page = self.extent.inflate(margin, margin);
        let (x, y, w, h) = (self.n(page.x0), self.n(page.y0), self.n(page.width()), self.n(page.height()));
        let mut out = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" \
             width=\"{w}mm\" height=\"{h}mm\" viewBox=\"{x} {y} {w} {h}\" role=\"{}\" \
             font-family=\"Helvetica, Arial, 'Liberation Sans', sans-serif\">\n  <title>{}</title>\n  \
             <rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>\n  {paper}\n",
            self.role,
            xml(title)
        );
        for (name, inside) in G::NAMES.iter().zip(&self.groups) {
            if !inside.is_empty() {
                let _ = write!(out, "  <g id=\"{name}\">\n{inside}  </g>\n");
            }
        }
        out.push_str("</svg>\n");
        self.fault.map_or(Ok(out), Err)
    }
}

/// Width of a line of words, mm: an upper estimate.
pub(super) fn width(s: &str, size: f64, bold: bool) -> f64 {
    // Widths of Helvetica's characters in parts of the size, rounded up. A twentieth more allows for similar fonts.
    let one = |c: char| match c {
        'i' | 'j' | 'l' | '\'' | '|' | '.' | ',' | ':' | ';' | '!' => 0.28,
        ' ' | 'f' | 't' | 'r' | 'I' | '(' | ')' | '-' | '/' => 0.34,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.95,
        'A'..='Z' | '&' => 0.74,
        'a'..='z' | '0'..='9' => 0.56,
        c if c.is_ascii() => 0.6,
        '\u{80}'..='\u{24f}' | '–' | '≈' => 0.74,
        _ => 1.05,
    };
    // Control characters are written as escapes, which are wider.
    let shown = crate::text::terminal(s);
    shown.chars().map(one).sum::<f64>() * size * if bold { 1.12 } else { 1.05 }
}

/// Words broken into lines no wider than `most`, mm. A longer word is broken at any character.
pub(super) fn wrapped(s: &str, size: f64, most: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in s.split(' ') {
        let line = lines.last().cloned().unwrap_or_default();
        let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
        if width(&longer, size, false) <= most {
            lines.pop();
            lines.push(longer);
            continue;
        }
        if line.is_empty() {
            lines.pop();
        }
        let mut part = String::new();
        for c in word.chars() {
            if !part.is_empty() && width(&format!("{part}{c}"), size, false) > most {
                lines.push(std::mem::take(&mut part));
            }
            part.push(c);
        }
        lines.push(part);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_broken_and_nothing_is_lost() {
        let s = "for the recess: bush 20, cutter 6, in_one_very_long_word_that_does_not_fit_anywhere";
        let lines = wrapped(s, 3.0, 30.0);
        assert!(lines.iter().all(|l| width(l, 3.0, false) <= 30.0), "{lines:?}");
        let bare = |s: &str| s.replace(' ', "");
        assert_eq!(bare(&lines.concat()), bare(s));
        assert_eq!(wrapped("", 3.0, 30.0), [""]);
    }

    /// WCAG 2.2, contrast ratio and relative luminance.
    #[test]
    fn every_colour_reads_on_white() {
        for colour in [INK, GREY, PETROL, OCHRE, CRIMSON] {
            let channel = |i: usize| f64::from(u8::from_str_radix(&colour[i..i + 2], 16).unwrap()) / 255.0;
            let linear = |c: f64| if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) };
            let [r, g, b] = [1, 3, 5].map(|i| linear(channel(i)));
            let contrast = 1.05 / (0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05);
            assert!(contrast >= 5.0, "{colour} {contrast}");
        }
    }
}
