//! Words above and below the plan.
//!
//! Above: the face, the panel's size, and that the plan is not for cutting. Below: the words without room beside their
//! opening, the places of the stops, the meaning of the lines, and a bar to check the print with.

use super::PlanDrawing;
use super::group::PlanGroup;
use super::openings::UnplacedLabel;
use super::ruled;
use crate::geom::{Point, Rect};
use crate::panel::{Edge, Setup, Turn};
use crate::report::canvas::{Anchor, GREY, INK, OCHRE, PETROL, width, wrapped};
use crate::text::{Show, plain};
use crate::units::INCH;

/// Least width of the plan with its words, mm on the page.
const LEAST: f64 = 150.0;
/// Length of the samples of lines, mm on the page.
const SAMPLE: f64 = 9.0;

/// The bar for the check of a print.
struct Bar {
    fields: u32,
    /// Length of a field, mm.
    field: f64,
    words: &'static str,
}

impl Bar {
    fn new(show: Show) -> Bar {
        match show {
            Show::Mm => Bar { fields: 10, field: 10.0, words: "100 mm at true size" },
            Show::Inch => Bar { fields: 8, field: INCH / 2.0, words: "4 in at true size" },
        }
    }

    fn length(&self) -> f64 {
        f64::from(self.fields) * self.field
    }
}

impl PlanDrawing<'_> {
    /// Left and right end of the words above and below.
    fn span(&self) -> (f64, f64) {
        let e = self.ink.extent;
        let least = (LEAST * self.k).max(Bar::new(self.plan.show).length() + 60.0 * self.k);
        (e.x0, e.x1.max(e.x0 + least))
    }

    pub(super) fn above(&mut self) {
        let (k, text) = (self.k, self.text());
        let (x0, x1) = self.span();
        let mut y = self.ink.extent.y0 - 5.0 * k;
        let turned = match self.face.panel.turn {
            Turn::LeftRight => "Turn it only left over right.",
            Turn::BottomTop => "Turn it only bottom over top.",
            Turn::None => "One face only.",
        };
        let cut = match (self.face.panel.setup, self.face.panel.turn) {
            (Setup::One, Turn::LeftRight | Turn::BottomTop) => " The machine cuts both openings from face 1.",
            _ => "",
        };
        let [w, h] = [self.w, self.h].map(|v| ruled(v).shown(self.plan.show));
        let size = format!("Panel {w} wide, {h} high, seen from above. {turned}{cut}");
        // Written upwards from the plan, which is complete.
        let warning = format!("Not for cutting. The machine takes {}.", self.plan.face_files);
        let warning = if self.plan.face_files.is_empty() { "Not for cutting.".to_string() } else { warning };
        let lines: [(Vec<String>, &'static str); 2] =
            [(wrapped(&warning, text, x1 - x0), OCHRE), (wrapped(&size, text, x1 - x0), INK)];
        for (part, colour) in lines {
            for l in part.iter().rev() {
                self.ink.text(Point::new(x0, y), l, self.style(colour));
                y -= 1.35 * text;
            }
        }
        let panel = match self.face.panel.number {
            1 => String::new(),
            n => format!(", panel {n}"),
        };
        let heading = format!("{}{panel}, face {} up", self.plan.title, self.face.face);
        let mut style = self.style(INK).bold();
        style.size = 1.7 * text;
        y -= 0.3 * text;
        // `wrapped` measures plain letters; bold letters are wider.
        for l in wrapped(&heading, style.size * 1.1, x1 - x0).iter().rev() {
            self.ink.text(Point::new(x0, y), l, style);
            y -= 1.3 * style.size;
        }
    }

    pub(super) fn below(&mut self, list: &[UnplacedLabel]) {
        let (x0, x1) = self.span();
        let mut y = self.ink.extent.y1 + 6.0 * self.k;
        if !list.is_empty() {
            y = self.list(list, x0, x1, y);
        }
        y = self.stop_words(x0, x1, y);
        y = self.samples(x0, x1, y);
        self.bar(x0, y);
    }

    /// The words of openings in columns, under their numbers. Returns the lower end.
    fn list(&mut self, list: &[UnplacedLabel], x0: f64, x1: f64, top: f64) -> f64 {
        let (k, text) = (self.k, self.text());
        let step = 1.3 * text;
        let columns = ((x1 - x0) / (70.0 * k)).floor().max(1.0) as usize;
        let wide = (x1 - x0) / columns as f64;
        let mut y = top;
        for row in list.chunks(columns) {
            let mut deepest = y;
            for (c, (number, words)) in row.iter().enumerate() {
                let x = x0 + wide * c as f64;
                let mut base = y + 0.8 * text;
                let heading = format!("{number}: {}", words[0]);
                let room = wide - 4.0 * k;
                for (n, part) in std::iter::once(&heading).chain(&words[1..]).enumerate() {
                    let style = if n == 0 { self.style(PETROL).bold() } else { self.style(INK) };
                    // `wrapped` measures plain letters; bold letters are wider.
                    for l in wrapped(part, if n == 0 { text * 1.1 } else { text }, room) {
                        self.ink.text(Point::new(x, base), &l, style);
                        base += step;
                    }
                }
                deepest = deepest.max(base - 0.8 * text);
            }
            y = deepest + 2.0 * k;
        }
        y + 2.0 * k
    }

    /// The places of the machine's stops. Returns the lower end.
    fn stop_words(&mut self, x0: f64, x1: f64, top: f64) -> f64 {
        if self.plan.stops.is_empty() {
            return top;
        }
        let show = self.plan.show;
        // In inches `ruled` has one decimal: too coarse for a stop.
        let length = |v: f64| match show {
            Show::Mm => ruled(v).shown(show),
            Show::Inch => plain(v).with_fraction().shown(show),
        };
        // A stop with x = 0 touches the left edge, every other stop the bottom edge.
        let (left, bottom): (Vec<Point>, Vec<Point>) = self.plan.stops.iter().partition(|p| p.x == 0.0);
        let both = if self.face.panel.turn == Turn::None { "" } else { ", the same for both faces" };
        let mut words = vec![format!("stops of the machine (rings){both}:")];
        let mut edge = |name: &str, along: Vec<f64>, from: &str| {
            let all: Vec<String> = along.into_iter().map(length).collect();
            if !all.is_empty() {
                words.push(format!("on the {name} edge: {} from the {from}", all.join(" and ")));
            }
        };
        edge("bottom", bottom.iter().map(|p| p.x).collect(), "left");
        edge("left", left.iter().map(|p| p.y).collect(), "bottom");
        let mut y = top;
        let text = self.text();
        for l in words.iter().flat_map(|w| wrapped(w, text, x1 - x0)) {
            self.ink.text(Point::new(x0, y + 0.8 * text), &l, self.style(INK));
            y += 1.3 * text;
        }
        y + 1.5 * self.k
    }

    /// The meaning of the lines, in rows. Returns the lower end.
    fn samples(&mut self, x0: f64, x1: f64, top: f64) -> f64 {
        let (k, text) = (self.k, self.text());
        let e = self.face.edges();
        let free = [e.left, e.right, e.bottom, e.top].contains(&Edge::Free);
        let all: [(bool, &str, &str, f64, &[f64]); 7] = [
            (true, "opening", INK, 0.5, &[]),
            (true, "reference edge: against the stops", PETROL, 0.9, &[]),
            (free, "free edge", GREY, 0.3, &[]),
            (
                self.plan.centre_mark.is_some(),
                "centre lines: over the pencil lines on the work",
                PETROL,
                0.25,
                &[4.0, 1.0, 0.5, 1.0],
            ),
            (self.face.panel.turn != Turn::None, "turn line", INK, 0.35, &[4.0, 1.2, 1.2, 1.2]),
            (self.plan.free_hand.is_some(), "hatched: waste to clear by hand", OCHRE, 0.3, &[]),
            (self.plan.keep_clear.is_some(), "no clamp, stop or screw inside this line", OCHRE, 0.4, &[2.0, 1.2]),
        ];
        let (mut x, mut y) = (x0, top);
        for (_, words, colour, line, dash) in all.into_iter().filter(|s| s.0) {
            let long = (SAMPLE + 2.0) * k + width(words, text, false) + 6.0 * k;
            if x > x0 && x + long - 6.0 * k > x1 {
                (x, y) = (x0, y + 1.6 * text);
            }
            let dash: Vec<f64> = dash.iter().map(|d| d * k).collect();
            let middle = y + 0.45 * text;
            let ends = [Point::new(x, middle), Point::new(x + SAMPLE * k, middle)];
            self.ink.polyline(PlanGroup::Words, &ends, colour, line * k, &dash);
            self.ink.text(Point::new(x + (SAMPLE + 2.0) * k, y + 0.8 * text), words, self.style(INK));
            x += long;
        }
        y + 1.6 * text + 2.0 * k
    }

    /// A bar of known length, to check a print for true size.
    fn bar(&mut self, x0: f64, y: f64) {
        let (k, text) = (self.k, self.text());
        let bar = Bar::new(self.plan.show);
        let deep = 1.8 * k;
        for i in (0..bar.fields).step_by(2) {
            let x = x0 + f64::from(i) * bar.field;
            let b = Rect::new(x, y, x + bar.field, y + deep);
            let corners = [b.origin(), Point::new(b.x1, b.y0), Point::new(b.x1, b.y1), Point::new(b.x0, b.y1)];
            self.ink.polygon(PlanGroup::Words, &corners, INK);
        }
        let end = x0 + bar.length();
        let frame = [(x0, y), (end, y), (end, y + deep), (x0, y + deep), (x0, y)].map(|(x, y)| Point::new(x, y));
        self.ink.polyline(PlanGroup::Words, &frame, INK, 0.2 * k, &[]);
        let style = self.style(INK).anchor(Anchor::Start);
        let at = Point::new(end + 2.5 * k, y + deep / 2.0 + 0.35 * text);
        self.ink.text(at, bar.words, style);
    }
}
