//! The joints unrolled: the gap by the length along each.

use super::{Group, Ink, Piece, line, mm, part, sign};
use crate::geom::{Point, Rect};
use crate::proof::joint::{self, Gap, Kind, Run};
use crate::report::canvas::{GREY, INK, Style, width};
use crate::report::facts::Facts;
use crate::report::view::{PAGE, STEP, TEXT, round_length};
use crate::text::{NotFinite, rounded};

/// Height of a strip, room for its numbers to the left, and between strips, mm.
const HIGH: f64 = 24.0;
const NUMBERS: f64 = 19.0;
const BETWEEN: f64 = 5.0;
/// So many lines of one piece are unrolled.
const LINES: usize = 3;
/// Height of the small words, mm.
const SMALL: f64 = 0.8 * TEXT;

/// The outlines that are unrolled: those with marks, or where no gap varies the first.
pub(super) fn unrolled(pieces: &[Piece]) -> Vec<usize> {
    let marked: Vec<usize> = pieces.iter().filter(|p| p.marks.is_some()).map(|p| p.fit.outline).collect();
    if marked.is_empty() { pieces.iter().take(1).map(|p| p.fit.outline).collect() } else { marked }
}

/// Strips of these outlines, from `top` downwards.
pub(super) fn draw(
    ink: &mut Ink,
    facts: &Facts,
    pieces: &[Piece],
    strips: &[usize],
    top: f64,
) -> Result<(), NotFinite> {
    let mut y = top;
    for p in pieces.iter().filter(|p| strips.contains(&p.fit.outline)) {
        let runs = &p.fit.joint.runs;
        for i in 0..runs.len().min(LINES) {
            let words = format!(
                "{}{}, unrolled: the gap in mm, and the way along the joint in mm",
                p.name(facts),
                part(i, runs)
            );
            ink.words(Point::new(0.0, y + 0.8 * TEXT), &words, Style::new(TEXT, INK).bold());
            y += STEP + 0.5;
            y = strip(ink, p, i, y)? + BETWEEN;
        }
        if runs.len() > LINES {
            let words = format!("{} more lines of it are in the JSON file only", runs.len() - LINES);
            ink.words(Point::new(0.0, y), &words, Style::new(TEXT, INK));
            y += STEP;
        }
    }
    Ok(())
}

/// How a strip lies on the page.
struct Scale {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    length: f64,
    least: f64,
    most: f64,
}

impl Scale {
    fn y(&self, gap: f64) -> f64 {
        self.bottom - (gap - self.least) / (self.most - self.least) * (self.bottom - self.top)
    }

    fn at(&self, g: Gap) -> Point {
        Point::new(self.left + g.along / self.length * (self.right - self.left), self.y(g.mm))
    }
}

/// `line`: which of the piece's runs it is.
fn strip(ink: &mut Ink, piece: &Piece, line: usize, top: f64) -> Result<f64, NotFinite> {
    let run = &piece.fit.joint.runs[line];
    let of = |f: fn(f64, f64) -> f64| run.gaps.iter().map(|g| g.mm).reduce(f);
    let (Some(least), Some(most)) = (of(f64::min), of(f64::max)) else { return Ok(top) };
    if !(least.is_finite() && most.is_finite() && run.length > 0.0) {
        return Err(NotFinite);
    }
    let (low, high) = (least.min(0.0), most.max(piece.widest));
    let room = 0.12 * (high - low);
    let s = Scale {
        left: NUMBERS,
        right: PAGE - 2.0,
        top,
        bottom: top + HIGH,
        length: run.length,
        least: if low < 0.0 { low - room } else { 0.0 },
        most: high + room,
    };
    frame(ink, piece, &s, [least, most])?;
    curve(ink, run, piece.widest, &s);
    signs(ink, piece, line, &s)?;
    Ok(s.bottom + STEP)
}

/// Sides, the lines of 0, the wanted and the widest gap, and their numbers.
fn frame(ink: &mut Ink, piece: &Piece, s: &Scale, ends: [f64; 2]) -> Result<(), NotFinite> {
    let box_ = [(s.left, s.top), (s.right, s.top), (s.right, s.bottom), (s.left, s.bottom), (s.left, s.top)];
    ink.polyline(Group::Unrolled, &box_.map(Point::from), GREY, 0.15, &[]);
    let wanted = format!("wanted {}", mm(piece.gap)?);
    let levels = [
        (0.0, "0".to_owned(), &[][..]),
        (piece.widest, mm(piece.widest)?, &[1.0, 1.0]),
        (piece.gap, wanted, &[0.4, 0.8]),
        (ends[0], mm(ends[0])?, &[]),
        (ends[1], mm(ends[1])?, &[]),
    ];
    let mut told: Vec<f64> = Vec::new();
    for (i, (gap, words, dash)) in levels.iter().enumerate() {
        let y = s.y(*gap);
        if i < 3 {
            ink.polyline(Group::Unrolled, &[Point::new(s.left, y), Point::new(s.right, y)], GREY, 0.2, dash);
        }
        // What stands too near to another number is left out.
        if told.iter().all(|t| (t - y).abs() >= SMALL) {
            told.push(y);
            let x = s.left - 1.0 - width(words, SMALL, false);
            ink.words(Point::new(x, y + 0.36 * SMALL), words, Style::new(SMALL, INK));
        }
    }
    let step = round_length(s.length / 5.0);
    let count = (s.length / step).floor() as usize;
    for i in 0..=count {
        let along = i as f64 * step;
        let x = s.left + along / s.length * (s.right - s.left);
        ink.polyline(Group::Unrolled, &[Point::new(x, s.bottom), Point::new(x, s.bottom + 0.9)], GREY, 0.2, &[]);
        let words = rounded(along, 3)?;
        let x = x - width(&words, SMALL, false) / 2.0;
        ink.words(Point::new(x, s.bottom + 1.1 + SMALL), &words, Style::new(SMALL, INK));
    }
    Ok(())
}

/// The gap, each stretch with the line of its kind.
fn curve(ink: &mut Ink, run: &Run, widest: f64, s: &Scale) {
    let value = |along: f64| {
        let after = run.gaps.partition_point(|g| g.along < along).clamp(1, run.gaps.len() - 1);
        let (a, b) = (run.gaps[after - 1], run.gaps[after]);
        let t = if b.along > a.along { (along - a.along) / (b.along - a.along) } else { 0.0 };
        Gap { along, mm: a.mm + (b.mm - a.mm) * t }
    };
    if run.gaps.len() < 2 {
        return;
    }
    for part in run.stretches(widest) {
        let inner = run.gaps.iter().filter(|g| g.along > part.from && g.along < part.to);
        let points: Vec<Point> =
            [value(part.from)].iter().chain(inner).chain(&[value(part.to)]).map(|g| s.at(*g)).collect();
        let (colour, width, dash) = line(part.kind);
        let width = if part.kind == Kind::AsWanted { 0.45 } else { 0.7 * width };
        ink.polyline(Group::Unrolled, &points, colour, width, dash);
    }
}

/// The numbers of the least and greatest gap, where this line has them.
fn signs(ink: &mut Ink, piece: &Piece, line: usize, s: &Scale) -> Result<(), NotFinite> {
    let Some(numbers) = piece.marks else { return Ok(()) };
    let rings = &piece.fit.joint.recess.rings;
    for (m, number) in [(piece.fit.gap_min, numbers[0]), (piece.fit.gap_max, numbers[1])] {
        let off: Vec<(f64, f64)> = rings.iter().map(|r| joint::along(r, m.at)).collect();
        let own = (0..off.len()).min_by(|&i, &j| off[i].0.total_cmp(&off[j].0));
        let Some(own) = own.filter(|i| *i == line) else { continue };
        let p = s.at(Gap { along: off[own].1, mm: m.mm });
        // Beside the curve, and in the strip.
        let x = if p.x + 7.0 > s.right { p.x - 4.0 } else { p.x + 4.0 };
        let c = Point::new(x, p.y.clamp(s.top + 2.6, s.bottom - 2.6));
        ink.polyline(Group::Unrolled, &[p, c], GREY, 0.2, &[]);
        let e = sign(c, Kind::of(m.mm, piece.widest), Some(number), 0.7)?;
        ink.put(Group::Unrolled, &e, Rect::from_center_size(c, (5.0, 5.0)));
    }
    Ok(())
}
