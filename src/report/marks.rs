//! The picture of the findings: the outline as it will be over the outline as drawn, with numbered marks.
//!
//! In: the facts of a run, mm, drawing frame, y up. Out: an SVG page in mm, y down. The page is as wide as the room on a
//! lying A4 sheet and words have one size on it; only the drawing is scaled into it, so a small and a large outline read
//! alike. A ring is at the place, a thin leader goes to a numbered balloon outside the box of all that is drawn.
//! Error, warning and note differ by shape, weight and colour. Refuses numbers that are not finite.

mod inset;
mod list;
mod picture;

use super::canvas::{Canvas, INK, Layer, ORANGE, Style, wrapped};
use super::facts::Facts;
use super::glyph::colour;
use super::verdict::verdict;
use super::view::{GUTTER, LEFT, PAGE, STEP, TEXT};
use super::{balloons, glyph, view};
use crate::check::{Finding, Severity};
use crate::geom::{Point, Rect};
use crate::text::{NotFinite, xml};
use crate::units::mm_and_inch;
use std::cmp::Ordering;

/// So many marks are drawn at most: of more, the worst.
const MOST: usize = 30;
/// The groups of the picture, in the order in which they are drawn.
#[derive(Clone, Copy)]
enum Group {
    AsDrawn,
    AsMade,
    NoOutline,
    Scale,
    Insets,
    Marks,
    Words,
}

impl Layer for Group {
    const NAMES: &'static [&'static str] =
        &["AS_DRAWN", "AS_IT_WILL_BE", "NO_OUTLINE", "SCALE", "INSETS", "MARKS", "WORDS"];
    const WORDS: Group = Group::Words;

    fn index(self) -> usize {
        self as usize
    }
}

type Ink = Canvas<Group>;

/// A finding that has a place.
#[derive(Clone, Copy)]
struct Mark<'a> {
    finding: &'a Finding,
    /// In the drawing frame.
    at: Point,
}

/// What the picture tells.
struct Chosen<'a> {
    /// The marks that are drawn, by their numbers.
    drawn: Vec<Mark<'a>>,
    /// Of the same, the worst first.
    worst: Vec<Mark<'a>>,
    /// How many findings have a place and are not drawn: too many, and too far off.
    more: usize,
    far: usize,
}

/// The marks of a job as an SVG file.
///
/// # Errors
/// [`NotFinite`] where a size or place is not a finite number.
pub fn svg(facts: &Facts) -> Result<String, NotFinite> {
    let mut ink = Ink::new(Rect::new(0.0, 0.0, PAGE, 0.0));
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
    ink.finish(&format!("{}: what was found", facts.name()), &summary, 4.0)
}

fn summary(facts: &Facts) -> String {
    let count = |severity: Severity| {
        let n = facts.findings.iter().filter(|f| f.severity == severity).count();
        format!("{n} {}{}", severity.name(), if n == 1 { "" } else { "s" })
    };
    let counts = [Severity::Error, Severity::Warning, Severity::Note].map(count).join(", ");
    if facts.blocked() {
        format!("{counts}. An error stands: nothing for the machine is written.")
    } else {
        format!("{} {counts}.", verdict(facts))
    }
}

/// The worst first: by severity (what was accepted after what stands), then by how much is missing.
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

/// Name, size and what this is not for; gives where it ends.
fn heading(ink: &mut Ink, facts: &Facts) -> f64 {
    let big = Style::new(1.7 * TEXT, INK).bold();
    let mut y = 0.8 * big.size;
    // The bold letters are wider than wrapping reckons with.
    for l in wrapped(&format!("{}: what was found", facts.name()), 1.1 * big.size, PAGE) {
        ink.words(Point::new(0.0, y), &l, big);
        y += 1.25 * big.size;
    }
    let size = match facts.drawing.bounds {
        Some(b) => format!("{} wide, {} high", mm_and_inch(b.width()), mm_and_inch(b.height())),
        None => "nothing drawn".to_owned(),
    };
    let lines = [
        (format!("The drawing is {size}. Why: {}", facts.drawing.unit_source), INK),
        (summary(facts), INK),
        ("Not for cutting: a picture to look at, not at true size.".to_owned(), ORANGE),
    ];
    for (words, colour) in lines {
        for l in wrapped(&words, TEXT, PAGE) {
            ink.words(Point::new(0.0, y), &l, Style::new(TEXT, colour));
            y += STEP;
        }
    }
    y + 1.0
}

/// Rings, leaders and balloons.
fn marks(ink: &mut Ink, facts: &Facts, chosen: &Chosen, view: &view::View) -> Result<(), NotFinite> {
    let points: Vec<Point> = chosen.drawn.iter().map(|m| view.at(m.at)).collect();
    let balloons = balloons::placed(&points, view.page_box());
    for ((m, ring), balloon) in chosen.drawn.iter().zip(&points).zip(balloons) {
        let f = m.finding;
        let place = facts.place_in_words(m.at);
        let told = format!("mark {}: {}, {}, {place}", f.mark, f.severity.name(), list::in_words(f));
        let mark = glyph::mark(*ring, balloon, f.severity, f.mark)?;
        let e = format!("<g role=\"img\"><title>{}</title>{mark}</g>", xml(&told));
        ink.put(Group::Marks, &e, glyph::reach(balloon).union_pt(*ring));
    }
    Ok(())
}

#[cfg(test)]
mod tests;
