//! The list beside the picture: the subject of each mark, and its place to measure from the left and the bottom.

use super::{Chosen, Facts, GUTTER, LEFT, Mark, MarkCanvas, MarkGroup, PAGE, STEP, Sign, TEXT, glyph, worse};
use crate::check::Finding;
use crate::geom::{Point, Rect};
use crate::report::canvas::{GREY, INK, TextStyle, wrapped};
use crate::report::view::sentence;
use crate::text::NotFinite;

/// Columns below the picture, for the rest of the list.
const COLUMNS: usize = 3;
/// Most findings without a place on the list.
const PLACELESS: usize = 6;
/// Room for a sign before its words, mm.
const INDENT: f64 = 6.5;
/// Height of a row with a sign, mm: the signs of two rows do not touch.
const ROW: f64 = 5.4;

/// The subject of a finding: `inside corner of the recess`.
pub(super) fn in_words(f: &Finding) -> String {
    format!("{}{}", f.code.noun(1), if f.accepted { ", accepted" } else { "" })
}

/// The first sentence of a message holds the figure.
fn first_sentence(message: &str) -> &str {
    message.split_once(". ").map_or(message, |(first, _)| first)
}

/// A line of the list.
enum Row<'a> {
    /// The common subject of the marks below it.
    Heading(String, &'static str),
    Words(String),
    Place(Mark<'a>, String),
    /// A finding without a place.
    Sign(&'a Finding),
    Space,
}

impl Row<'_> {
    fn height(&self) -> f64 {
        match self {
            Row::Heading(..) | Row::Words(_) => STEP,
            Row::Place(..) => ROW,
            Row::Sign(_) => ROW,
            Row::Space => 1.5,
        }
    }
}

/// Rows that stay together in one column.
type Block<'a> = Vec<Row<'a>>;

fn height(b: &Block) -> f64 {
    b.iter().map(Row::height).sum()
}

/// The list: beside the picture from `top`, and below all from `bottom`.
pub(super) fn draw(
    ink: &mut MarkCanvas,
    facts: &Facts,
    chosen: &Chosen,
    top: f64,
    bottom: f64,
) -> Result<(), NotFinite> {
    let beside = PAGE - LEFT - GUTTER;
    let below = (PAGE - GUTTER * (COLUMNS - 1) as f64) / COLUMNS as f64;
    // One width for both, so a block has the same height in either place.
    let wide = beside.min(below);
    let mut blocks = blocks(facts, chosen, wide).into_iter().peekable();
    let mut y = top;
    while let Some(b) = blocks.next_if(|b| y == top || y + height(b) <= bottom) {
        y = write(ink, &b, Point::new(LEFT + GUTTER, y))?;
    }
    let rest: Vec<Block> = blocks.collect();
    let start = ink.extent.y1.max(bottom) + 2.0;
    let each = rest.iter().map(height).sum::<f64>() / COLUMNS as f64;
    let (mut column, mut y) = (0, start);
    for b in &rest {
        if y > start && column + 1 < COLUMNS && y + height(b) / 2.0 > start + each {
            (column, y) = (column + 1, start);
        }
        y = write(ink, b, Point::new((below + GUTTER) * column as f64, y))?;
    }
    Ok(())
}

fn write(ink: &mut MarkCanvas, block: &Block, from: Point) -> Result<f64, NotFinite> {
    let (x, mut y) = (from.x, from.y);
    for row in block {
        let base = Point::new(x, y + 0.8 * TEXT);
        match row {
            Row::Heading(s, colour) => ink.text(base, s, TextStyle::new(TEXT, colour).bold()),
            Row::Words(s) => ink.text(base, s, TextStyle::new(TEXT, INK)),
            Row::Place(m, s) => {
                sign(ink, m.finding, x, y)?;
                ink.text(Point::new(x + INDENT, y + ROW / 2.0 + 0.36 * TEXT), s, TextStyle::new(TEXT, INK));
            }
            Row::Sign(f) => {
                sign(ink, f, x, y)?;
                let s = "no single place";
                ink.text(Point::new(x + INDENT, y + ROW / 2.0 + 0.36 * TEXT), s, TextStyle::new(TEXT, GREY));
            }
            Row::Space => {}
        }
        y += row.height();
    }
    Ok(y)
}

fn sign(ink: &mut MarkCanvas, f: &Finding, x: f64, y: f64) -> Result<(), NotFinite> {
    let c = Point::new(x + 2.6, y + ROW / 2.0);
    ink.put(MarkGroup::Words, &glyph::draw(c, f.severity, Some(f.mark), 0.75)?, Rect::from_center_size(c, (5.2, 5.2)));
    Ok(())
}

/// Whether two findings read the same, apart from the place.
fn alike(a: &Finding, b: &Finding) -> bool {
    let shown = |f: &Finding| first_sentence(&f.message.to_string()).to_owned();
    (a.code, a.severity, a.accepted, a.outline) == (b.code, b.severity, b.accepted, b.outline) && shown(a) == shown(b)
}

fn blocks<'a>(facts: &'a Facts, chosen: &Chosen<'a>, wide: f64) -> Vec<Block<'a>> {
    let mut out = Vec::new();
    let mut listed: Vec<&Finding> = Vec::new();
    for m in &chosen.drawn {
        if listed.iter().any(|f| alike(f, m.finding)) {
            continue;
        }
        listed.push(m.finding);
        let mut block = head(facts, m.finding, wide);
        for same in chosen.drawn.iter().filter(|o| alike(o.finding, m.finding)) {
            block.push(Row::Place(*same, facts.place_in_words(same.at)));
            // Only the first place must stay with the heading.
            out.push(std::mem::take(&mut block));
        }
        if let Some(last) = out.last_mut() {
            last.push(Row::Space);
        }
    }
    let mut placeless: Vec<&'a Finding> = facts.findings.iter().filter(|f| f.at.is_none()).collect();
    placeless.sort_by(|a, b| worse(a, b));
    for f in placeless.iter().take(PLACELESS) {
        out.push(head(facts, f, wide).into_iter().chain([Row::Sign(f), Row::Space]).collect());
    }
    let unlisted = placeless.len().saturating_sub(PLACELESS);
    out.extend(rest(chosen, facts.findings.is_empty(), unlisted, wide));
    out
}

/// Heading and first sentence.
fn head<'a>(facts: &Facts, f: &Finding, wide: f64) -> Block<'a> {
    let on = match f.outline {
        Some(n) if facts.outlines.len() > 1 => format!(", outline {n}"),
        _ => String::new(),
    };
    let heading = format!("{}: {}{on}", f.severity.name(), in_words(f));
    let colour = Sign::from(f.severity).colour();
    // `wrapped` measures plain letters; bold letters are wider.
    let heading = wrapped(&heading, 1.1 * TEXT, wide).into_iter().map(|l| Row::Heading(l, colour));
    let message = f.message.shown(facts.show);
    let words = wrapped(&sentence(first_sentence(&message)), TEXT, wide).into_iter().map(Row::Words);
    heading.chain(words).collect()
}

/// Words about the findings without a mark or a row. `nothing`: the run has no findings.
fn rest<'a>(chosen: &Chosen<'a>, nothing: bool, unlisted: usize, wide: f64) -> Vec<Block<'a>> {
    let mut says = Vec::new();
    if nothing {
        says.push("No errors, warnings or notes.".to_owned());
    }
    if chosen.more > 0 {
        says.push(format!(
            "The {} worst are marked. {} more have a place. The JSON file lists them all.",
            chosen.drawn.len(),
            chosen.more
        ));
    }
    match chosen.far {
        0 => {}
        1 => says.push("1 lies far outside the drawing and has no mark. The JSON file lists it.".to_owned()),
        n => says.push(format!("{n} lie far outside the drawing and have no marks. The JSON file lists them.")),
    }
    if unlisted > 0 {
        says.push(format!("{unlisted} more have no single place. The JSON file lists them."));
    }
    let in_lines = |s: String| wrapped(&s, TEXT, wide).into_iter().map(Row::Words).chain([Row::Space]).collect();
    says.into_iter().map(in_lines).collect()
}
