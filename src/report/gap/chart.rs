//! The joints unrolled: charts of the gap by the length along the joint.
//!
//! The axes are in mm, or in thousandths of an inch and in inches.

use super::{GapCanvas, GapGroup, OutlineFit, line, part, size};
use crate::geom::{Point, Rect};
use crate::job::facts::Facts;
use crate::proof::joint::{self, Gap, JointState, RingGaps};
use crate::report::canvas::{GREY, INK, TextStyle, width};
use crate::report::glyph;
use crate::report::view::{PAGE, STEP, TEXT, round_length, unit};
use crate::text::{NotFinite, Show, rounded};

/// Height of a chart, mm.
const HIGH: f64 = 24.0;
/// Room for the numbers left of a chart, mm.
const NUMBERS: f64 = 22.0;
/// Distance between charts, mm.
const BETWEEN: f64 = 5.0;
/// Most charts of one piece.
const LINES: usize = 3;
/// Height of the small words, mm.
const SMALL: f64 = 0.8 * TEXT;

/// The outlines with a chart: those with marks, or the first where all gaps are even.
pub(super) fn unrolled(pieces: &[OutlineFit]) -> Vec<usize> {
    let marked: Vec<usize> = pieces.iter().filter(|p| p.marks.is_some()).map(|p| p.fit.outline).collect();
    if marked.is_empty() { pieces.iter().take(1).map(|p| p.fit.outline).collect() } else { marked }
}

/// A gap on the axis of a chart, without its unit. A negative gap is an inlay that is too large.
fn on_axis(mm: f64, show: Show) -> Result<String, NotFinite> {
    let number = match show {
        Show::Mm => size(mm.abs()).number(show),
        Show::Inch => rounded(mm.abs() / unit(show) * 1000.0, 1)?,
    };
    Ok(if mm < 0.0 { format!("{number} too large") } else { number })
}

/// The charts of these outlines, from `top` downwards.
pub(super) fn draw(
    ink: &mut GapCanvas,
    facts: &Facts,
    pieces: &[OutlineFit],
    strips: &[usize],
    top: f64,
) -> Result<(), NotFinite> {
    let mut y = top;
    for p in pieces.iter().filter(|p| strips.contains(&p.fit.outline)) {
        let runs = &p.fit.joint.runs;
        for i in 0..runs.len().min(LINES) {
            let axes = match facts.show {
                Show::Mm => "gap in mm, by mm along the joint",
                Show::Inch => "gap in thousandths of an inch, by inches along the joint",
            };
            let words = format!("{}{}: {axes}", p.name(facts), part(i, runs));
            ink.text(Point::new(0.0, y + 0.8 * TEXT), &words, TextStyle::new(TEXT, INK).bold());
            y += STEP + 0.5;
            y = strip(ink, p, i, y, facts.show)? + BETWEEN;
        }
        if runs.len() > LINES {
            let words = format!("The JSON file has {} more lines of this joint.", runs.len() - LINES);
            ink.text(Point::new(0.0, y), &words, TextStyle::new(TEXT, INK));
            y += STEP;
        }
    }
    Ok(())
}

/// The axes of a chart on the page, mm.
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

/// The chart of one run of a piece, with the run's index `line`. Returns the lower end.
fn strip(ink: &mut GapCanvas, piece: &OutlineFit, line: usize, top: f64, show: Show) -> Result<f64, NotFinite> {
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
    frame(ink, piece, &s, [least, most], show)?;
    curve(ink, run, piece.widest, &s);
    signs(ink, piece, line, &s)?;
    Ok(s.bottom + STEP)
}

/// The frame, the lines at 0, at the wanted and at the widest gap, and the numbers of the axes.
fn frame(ink: &mut GapCanvas, piece: &OutlineFit, s: &Scale, ends: [f64; 2], show: Show) -> Result<(), NotFinite> {
    let box_ = [(s.left, s.top), (s.right, s.top), (s.right, s.bottom), (s.left, s.bottom), (s.left, s.top)];
    ink.polyline(GapGroup::Unrolled, &box_.map(Point::from), GREY, 0.15, &[]);
    let wanted = format!("wanted {}", on_axis(piece.gap, show)?);
    let levels = [
        (0.0, "0".to_owned(), &[][..]),
        (piece.widest, on_axis(piece.widest, show)?, &[1.0, 1.0]),
        (piece.gap, wanted, &[0.4, 0.8]),
        (ends[0], on_axis(ends[0], show)?, &[]),
        (ends[1], on_axis(ends[1], show)?, &[]),
    ];
    let mut taken: Vec<f64> = Vec::new();
    for (i, (gap, words, dash)) in levels.iter().enumerate() {
        let y = s.y(*gap);
        if i < 3 {
            ink.polyline(GapGroup::Unrolled, &[Point::new(s.left, y), Point::new(s.right, y)], GREY, 0.2, dash);
        }
        // A number too near to another one is left out.
        if taken.iter().all(|t| (t - y).abs() >= SMALL) {
            taken.push(y);
            let x = s.left - 1.0 - width(words, SMALL, false);
            ink.text(Point::new(x, y + 0.36 * SMALL), words, TextStyle::new(SMALL, INK));
        }
    }
    let length = s.length / unit(show);
    let step = round_length(length / 5.0);
    let count = (length / step).floor() as usize;
    for i in 0..=count {
        let along = i as f64 * step * unit(show);
        let x = s.left + along / s.length * (s.right - s.left);
        ink.polyline(GapGroup::Unrolled, &[Point::new(x, s.bottom), Point::new(x, s.bottom + 0.9)], GREY, 0.2, &[]);
        let words = rounded(i as f64 * step, 3)?;
        let x = x - width(&words, SMALL, false) / 2.0;
        ink.text(Point::new(x, s.bottom + 1.1 + SMALL), &words, TextStyle::new(SMALL, INK));
    }
    Ok(())
}

/// The curve of the gap, each stretch in the line of its kind.
fn curve(ink: &mut GapCanvas, run: &RingGaps, widest: f64, s: &Scale) {
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
        let width = if part.kind == JointState::AsWanted { 0.45 } else { 0.7 * width };
        ink.polyline(GapGroup::Unrolled, &points, colour, width, dash);
    }
}

/// The signs of the least and greatest gap, where they lie on this run.
fn signs(ink: &mut GapCanvas, piece: &OutlineFit, line: usize, s: &Scale) -> Result<(), NotFinite> {
    let Some(numbers) = piece.marks else { return Ok(()) };
    let rings = &piece.fit.joint.recess.rings;
    for (m, number) in [(piece.fit.gap_min, numbers[0]), (piece.fit.gap_max, numbers[1])] {
        let off: Vec<(f64, f64)> = rings.iter().map(|r| joint::along(r, m.at)).collect();
        let own = (0..off.len()).min_by(|&i, &j| off[i].0.total_cmp(&off[j].0));
        let Some(own) = own.filter(|i| *i == line) else { continue };
        let p = s.at(Gap { along: off[own].1, mm: m.mm });
        // Beside the curve, within the frame.
        let x = if p.x + 7.0 > s.right { p.x - 4.0 } else { p.x + 4.0 };
        let c = Point::new(x, p.y.clamp(s.top + 2.6, s.bottom - 2.6));
        ink.polyline(GapGroup::Unrolled, &[p, c], GREY, 0.2, &[]);
        let e = glyph::draw(c, JointState::from_gap(m.mm, piece.widest), Some(number), 0.7)?;
        ink.put(GapGroup::Unrolled, &e, Rect::from_center_size(c, (5.0, 5.0)));
    }
    Ok(())
}
