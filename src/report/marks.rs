//! The picture of the findings: the outline as it will be over the outline as drawn, with numbered marks.
//!
//! In: the facts of a run, mm, drawing frame, y up. Out: an SVG page in mm, y down. The page has the width of an A4 sheet
//! in landscape. Only the drawing is scaled to fit; words have one size. A mark is a ring at the place, a leader, and a
//! numbered balloon outside the drawing's bounding box. Error, warning and note differ by shape, weight and colour.
//! Refuses numbers that are not finite.

mod inset;
mod list;
mod picture;

use super::canvas::{Canvas, INK, Layer, OCHRE, TextStyle, wrapped};
use super::glyph::Sign;
use super::verdict::verdict;
use super::view::{GUTTER, LEFT, PAGE, STEP, TEXT};
use super::{balloons, glyph, view};
use crate::check::{Finding, Severity};
use crate::geom::{Point, Rect};
use crate::job::facts::Facts;
use crate::text::{NotFinite, fixed, xml};
use std::cmp::Ordering;

/// Most marks on the picture: the worst of all.
const MOST: usize = 30;

/// The groups of the picture, in drawing order.
#[derive(Clone, Copy)]
enum MarkGroup {
    AsDrawn,
    AsMade,
    NoOutline,
    Scale,
    Insets,
    Marks,
    Words,
}

impl Layer for MarkGroup {
    const NAMES: &'static [&'static str] =
        &["AS_DRAWN", "AS_IT_WILL_BE", "NO_OUTLINE", "SCALE", "INSETS", "MARKS", "WORDS"];
    const WORDS: MarkGroup = MarkGroup::Words;

    fn index(self) -> usize {
        self as usize
    }
}

type MarkCanvas = Canvas<MarkGroup>;

/// A finding with its place.
#[derive(Clone, Copy)]
struct Mark<'a> {
    finding: &'a Finding,
    /// In the drawing frame.
    at: Point,
}

/// The findings of the picture.
struct Chosen<'a> {
    /// The marks on the picture, by their numbers.
    drawn: Vec<Mark<'a>>,
    /// The same marks, the worst first.
    worst: Vec<Mark<'a>>,
    /// How many findings beyond [`MOST`] have a place.
    more: usize,
    /// How many findings lie too far outside the drawing.
    far: usize,
}

/// The marks of a job as an SVG file.
///
/// # Errors
/// [`NotFinite`] where a size or place is not a finite number.
pub fn svg(facts: &Facts) -> Result<String, NotFinite> {
    let mut ink = MarkCanvas::new(Rect::new(0.0, 0.0, PAGE, 0.0));
    ink.role = "graphics-document document";
    if facts.findings.iter().filter_map(|f| f.at).any(|p| !p.is_finite()) {
        return Err(NotFinite);
    }
    let shown = view::shown(facts)?;
    let chosen = choose(facts, shown);
    let insets = inset::wanted(facts, &chosen.worst);
    let top = heading(&mut ink, facts);
    let view = view::View::new(shown, top, if insets.is_empty() { 150.0 } else { 118.0 });
    picture::outlines(&mut ink, facts, &view)?;
    picture::corner(&mut ink, facts, &view);
    marks(&mut ink, facts, &chosen, &view)?;
    let mut y = picture::legend(&mut ink, facts, &chosen, &view);
    if !insets.is_empty() {
        y = inset::draw(&mut ink, facts, &insets, y)?;
    }
    list::draw(&mut ink, facts, &chosen, top, y)?;
    let summary = format!("<desc>{}</desc>", xml(&summary(facts)));
    ink.finish(&format!("{}: marks on the drawing", facts.name()), &summary, 4.0)
}

fn summary(facts: &Facts) -> String {
    let blocked = if facts.blocked() { " No files for the machine while there is an error." } else { "" };
    format!("{} {}{blocked}", verdict(facts), counts(facts))
}

/// How many errors, warnings and notes there are.
fn counts(facts: &Facts) -> String {
    let kinds = [
        ("error", Severity::Error, false),
        ("accepted error", Severity::Error, true),
        ("warning", Severity::Warning, false),
        ("note", Severity::Note, false),
    ];
    let count = |(name, severity, accepted): (&str, Severity, bool)| {
        let n = facts.findings.iter().filter(|f| (f.severity, f.accepted) == (severity, accepted)).count();
        (n > 0).then(|| format!("{n} {name}{}", if n == 1 { "" } else { "s" }))
    };
    let counts: Vec<String> = kinds.into_iter().filter_map(count).collect();
    if counts.is_empty() { "No errors, warnings or notes.".to_owned() } else { format!("{}.", counts.join(", ")) }
}

/// The worst first: by severity, with accepted errors after the others, then by the missing length.
fn worse(a: &Finding, b: &Finding) -> Ordering {
    let badness = |f: &Finding| f.short.or(f.measured).unwrap_or(0.0).abs();
    (a.severity, a.accepted)
        .cmp(&(b.severity, b.accepted))
        .then(badness(b).total_cmp(&badness(a)))
        .then(a.mark.cmp(&b.mark))
}

fn choose(facts: &Facts, shown: Rect) -> Chosen<'_> {
    let placed = facts.findings.iter().filter_map(|f| f.at.map(|at| Mark { finding: f, at }));
    let (mut worst, far): (Vec<Mark>, Vec<Mark>) = placed.partition(|m| view::covers(shown, m.at));
    worst.sort_by(|a, b| worse(a.finding, b.finding));
    let more = worst.len().saturating_sub(MOST);
    worst.truncate(MOST);
    let mut drawn = worst.clone();
    drawn.sort_by_key(|m| m.finding.mark);
    Chosen { drawn, worst, more, far: far.len() }
}

/// The verdict, the drawing's size, and the caution. Returns the lower end.
fn heading(ink: &mut MarkCanvas, facts: &Facts) -> f64 {
    let mut y = view::headline(ink, &verdict(facts));
    let size = match facts.drawing.bounds {
        Some(b) => {
            let [w, h] = [b.width(), b.height()].map(|v| fixed(v).with_fraction().shown(facts.show));
            format!("{w} wide, {h} high")
        }
        None => "no size".to_owned(),
    };
    let blocked = if facts.blocked() { " No files for the machine while there is an error." } else { "" };
    let lines = [
        (format!("{}, marks on the drawing. {}{blocked}", facts.name(), counts(facts)), INK),
        (format!("Drawing: {size}. Size from {}.", facts.drawing.unit_source), INK),
        ("Not for cutting, and not at true size.".to_owned(), OCHRE),
    ];
    for (words, colour) in lines {
        for l in wrapped(&words, TEXT, PAGE) {
            ink.text(Point::new(0.0, y), &l, TextStyle::new(TEXT, colour));
            y += STEP;
        }
    }
    y + 1.0
}

/// Rings, leaders and balloons.
fn marks(ink: &mut MarkCanvas, facts: &Facts, chosen: &Chosen, view: &view::View) -> Result<(), NotFinite> {
    let points: Vec<Point> = chosen.drawn.iter().map(|m| view.at(m.at)).collect();
    let balloons = balloons::placed(&points, view.page_box());
    for ((m, ring), balloon) in chosen.drawn.iter().zip(&points).zip(balloons) {
        let f = m.finding;
        let place = facts.place_in_words(m.at);
        let title = format!("mark {}: {}, {}, {place}", f.mark, f.severity.name(), list::in_words(f));
        let mark = glyph::mark(*ring, balloon, f.severity, f.mark)?;
        let e = format!("<g role=\"img\"><title>{}</title>{mark}</g>", xml(&title));
        ink.put(MarkGroup::Marks, &e, glyph::reach(balloon).union_pt(*ring));
    }
    Ok(())
}

#[cfg(test)]
mod tests;
