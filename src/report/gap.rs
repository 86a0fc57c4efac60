//! The picture of the fit: the inlay in the recess, and the gap all along the joint.
//!
//! In: the facts of a run with its fits, mm, drawing frame, y up. Out: an SVG page in mm, y down, with the layout of the
//! marks picture; `None` without fits. Places, gaps and stretches come from the proof. Binding, as wanted and loose differ
//! by colour, by the form of the line, and by the shape of the sign. A chart below the picture unrolls each joint: the gap
//! by the length along it. Refuses numbers that are not finite.

mod chart;
mod picture;

use super::canvas::{Canvas, INK, Layer, OCHRE, TextStyle, wrapped};
use super::glyph::Sign;
use super::verdict::verdict;
use super::view::{GUTTER, LEFT, PAGE, STEP, TEXT, View};
use super::{balloons, glyph, view};
use crate::geom::{Point, Rect};
use crate::job::facts::Facts;
use crate::panel::shoulder::Role;
use crate::proof::Fit;
use crate::proof::joint::{JointState, RingGaps};
use crate::template::ease::Corners;
use crate::text::{Length, NotFinite, fixed, gap, tenth, xml};
use crate::tolerance::WIDE_GAP;
use crate::words;

/// Most pieces with marks, a paragraph and a chart: the worst of all.
const MOST: usize = 8;
/// A gap that varies by less than this is even, mm: nobody measures finer at the bench.
const EVEN: f64 = 0.002;
/// Greatest height of the picture, mm.
const HIGH: f64 = 118.0;

#[derive(Clone, Copy)]
enum GapGroup {
    Board,
    Pieces,
    Joint,
    Unrolled,
    Scale,
    Marks,
    Words,
}

impl Layer for GapGroup {
    const NAMES: &'static [&'static str] = &["BOARD", "PIECES", "JOINT", "UNROLLED", "SCALE", "MARKS", "WORDS"];
    const WORDS: GapGroup = GapGroup::Words;

    fn index(self) -> usize {
        self as usize
    }
}

type GapCanvas = Canvas<GapGroup>;

/// One outline's pieces on the picture.
struct OutlineFit<'a> {
    fit: &'a Fit,
    /// The gap of the job, mm.
    gap: f64,
    /// Greatest gap that counts as wanted, mm.
    widest: f64,
    /// Lengths of the joint by [`JointState`], mm.
    lengths: [f64; 3],
    /// Whether it has a paragraph beside the picture.
    listed: bool,
    /// Numbers of the marks at the least and the greatest gap; none for an even gap.
    marks: Option<[usize; 2]>,
}

impl<'a> OutlineFit<'a> {
    fn new(facts: &Facts, fit: &'a Fit) -> OutlineFit<'a> {
        let gap = facts.tools_for(fit.outline).gap;
        // A plug's own gap may be wider than `WIDE_GAP` on purpose.
        let widest = if facts.role(fit.outline) == Some(Role::Plug) { gap + WIDE_GAP } else { WIDE_GAP };
        let mut lengths = [0.0; 3];
        for s in fit.joint.runs.iter().flat_map(|r| r.stretches(widest)) {
            lengths[s.kind as usize] += s.to - s.from;
        }
        OutlineFit { fit, gap, widest, lengths, listed: false, marks: None }
    }

    fn length(&self, kind: JointState) -> f64 {
        self.lengths[kind as usize]
    }

    /// Its worst kind.
    fn kind(&self) -> JointState {
        match (
            JointState::from_gap(self.fit.gap_min.mm, self.widest),
            JointState::from_gap(self.fit.gap_max.mm, self.widest),
        ) {
            (JointState::Binds, _) => JointState::Binds,
            (_, JointState::Gapes) => JointState::Gapes,
            _ => JointState::AsWanted,
        }
    }

    /// Whether the gap is the same all along, so that least and greatest have no place.
    fn even(&self) -> bool {
        self.fit.gap_max.mm - self.fit.gap_min.mm < EVEN
    }

    /// How much of the joint is of its worst kind, in words.
    fn extent(&self) -> &'static str {
        if self.even() { "all along" } else { "in places" }
    }

    /// A sort key: the worse, the larger.
    fn badness(&self) -> (u8, f64) {
        match self.kind() {
            JointState::Binds => (2, -self.fit.gap_min.mm),
            JointState::Gapes => (1, self.fit.gap_max.mm),
            JointState::AsWanted => (0, self.fit.gap_max.mm),
        }
    }

    fn name(&self, facts: &Facts) -> String {
        match facts.role(self.fit.outline) {
            Some(role) => format!("{} (outline {})", role.name(), self.fit.outline),
            None => format!("outline {}", self.fit.outline),
        }
    }
}

/// Colour, width in mm and dashes of the line along the joint.
fn line(kind: JointState) -> (&'static str, f64, &'static [f64]) {
    let (width, dash): (f64, &[f64]) = match kind {
        JointState::Binds => (1.3, &[]),
        JointState::Gapes => (1.1, &[2.0, 1.0]),
        JointState::AsWanted => (0.35, &[]),
    };
    (Sign::from(kind).colour(), width, dash)
}

/// A gap or an overlap. From 0.1 mm on it has two decimals of a millimetre: nobody measures a third.
fn size(mm: f64) -> Length {
    if mm >= 0.1 { fixed(mm) } else { gap(mm) }
}

/// The fit of a job as an SVG file; `None` without fits.
///
/// # Errors
/// [`NotFinite`] where a size or place is not a finite number.
pub fn svg(facts: &Facts) -> Result<Option<String>, NotFinite> {
    let bounds = facts.fits.iter().flat_map(|f| [f.joint.recess.bounds(), f.joint.inlay.bounds()]).flatten();
    let Some(shown) = bounds.reduce(|a, b| a.union(b)) else { return Ok(None) };
    if ![shown.x0, shown.y0, shown.x1, shown.y1].into_iter().all(f64::is_finite) {
        return Err(NotFinite);
    }
    let mut pieces: Vec<OutlineFit> = facts.fits.iter().map(|f| OutlineFit::new(facts, f)).collect();
    let mut worst: Vec<usize> = (0..pieces.len()).collect();
    worst.sort_by(|&i, &j| {
        let (a, b) = (pieces[i].badness(), pieces[j].badness());
        b.0.cmp(&a.0).then(b.1.total_cmp(&a.1)).then(i.cmp(&j))
    });
    worst.truncate(MOST);
    worst.sort_unstable();
    for (k, i) in worst.iter().copied().filter(|&i| !pieces[i].even()).collect::<Vec<_>>().into_iter().enumerate() {
        pieces[i].marks = Some([2 * k + 1, 2 * k + 2]);
    }
    worst.iter().for_each(|&i| pieces[i].listed = true);
    let mut ink = GapCanvas::new(Rect::new(0.0, 0.0, PAGE, 0.0));
    ink.role = "graphics-document document";
    let top = heading(&mut ink, facts, &pieces);
    let view = View::new(shown, top, HIGH);
    let strips = chart::unrolled(&pieces);
    picture::draw(&mut ink, &pieces, &strips, &view)?;
    marks(&mut ink, facts, &pieces, &view)?;
    let below = picture::legend(&mut ink, &view, facts.show);
    let beside = list(&mut ink, facts, &pieces, top)?;
    chart::draw(&mut ink, facts, &pieces, &strips, below.max(beside) + 2.0)?;
    let summary = format!("<desc>{}</desc>", xml(&format!("{} {}", verdict(facts), summary(facts, &pieces))));
    ink.finish(&format!("{}: the gap along the joint", facts.name()), &summary, 4.0).map(Some)
}

/// The fit in words.
fn summary(facts: &Facts, pieces: &[OutlineFit]) -> String {
    let least = pieces.iter().map(|p| p.fit.gap_min.mm).fold(f64::INFINITY, f64::min);
    let most = pieces.iter().map(|p| p.fit.gap_max.mm).fold(0.0, f64::max);
    let count = |kind| pieces.iter().filter(|p| p.kind() == kind).count();
    let fit = match (count(JointState::Binds), count(JointState::Gapes)) {
        (1, _) if pieces.len() == 1 => format!("The inlay binds {}.", pieces[0].extent()),
        (0, 1) if pieces.len() == 1 => format!("The inlay goes in. The gap is loose {}.", pieces[0].extent()),
        // Plug and shoulder are one inlay.
        (0, 0) if pieces.len() == 1 || facts.asides.shoulder.is_some() => {
            "The inlay goes in. The gap is as wanted all along.".to_owned()
        }
        (0, 0) => "The inlays go in. The gap is as wanted all along.".to_owned(),
        (0, n) => format!("The inlays go in. In {n} of {} joints the gap is loose in places.", pieces.len()),
        (n, _) => format!("In {n} of {} joints the inlay binds in places.", pieces.len()),
    };
    let ends = if least < 0.0 {
        words!("The inlay is too large by up to {}. The greatest gap is {} per side.", size(-least), size(most))
    } else if most - least < EVEN {
        words!("The gap is {} per side.", size(most))
    } else {
        words!("The gap is {} to {} per side.", size(least), size(most))
    };
    format!("{fit} {}", ends.shown(facts.show))
}

/// Verdict, fit, how the fit was simulated, and the caution. Returns the lower end.
fn heading(ink: &mut GapCanvas, facts: &Facts, pieces: &[OutlineFit]) -> f64 {
    let mut y = view::headline(ink, &verdict(facts));
    let simulated = match &facts.asides.shoulder {
        _ if facts.template.openings.is_empty() => "Simulated from the drawing of what is in hand.",
        None => "Simulated from the files for the machine, with your bushes and cutters.",
        Some(_) => "Simulated from the files for the machine, by the faces and edges of the order of work.",
    };
    let nominal = if facts.tools.measured {
        ""
    } else {
        " Bush and cutter have their nominal sizes: make a trial in scrap first."
    };
    let mut lines = vec![
        (format!("{}, the gap along the joint. {}", facts.name(), summary(facts, pieces)), INK),
        (format!("{simulated}{nominal}"), INK),
    ];
    let binds = pieces.iter().any(|p| p.kind() == JointState::Binds);
    match facts.corners {
        Corners::Square if binds => lines.push((
            "Square the inside corners of the recess with a chisel. Until then the inlay binds in them.".to_owned(),
            INK,
        )),
        Corners::Keep if binds && facts.asides.start.is_some() => {
            lines.push(("Pare the inlay's notches until it goes in. Leave what is in hand alone.".to_owned(), INK));
        }
        Corners::Keep if binds => lines.push((
            "Corners are kept as drawn. Where the inlay binds in one, chisel the recess or pare the inlay.".to_owned(),
            INK,
        )),
        _ => {}
    }
    let caution =
        "Not for cutting, and not at true size. Most gaps are too fine to see here: read the line along the joint.";
    lines.push((caution.to_owned(), OCHRE));
    for (words, colour) in lines {
        for l in wrapped(&words, TEXT, PAGE) {
            ink.text(Point::new(0.0, y), &l, TextStyle::new(TEXT, colour));
            y += STEP;
        }
    }
    y + 1.0
}

/// Rings at the least and the greatest gap of each piece, with their numbers.
fn marks(ink: &mut GapCanvas, facts: &Facts, pieces: &[OutlineFit], view: &View) -> Result<(), NotFinite> {
    let mut all = Vec::new();
    for p in pieces {
        let Some(numbers) = p.marks else { continue };
        for (m, number, what) in [(p.fit.gap_min, numbers[0], "least"), (p.fit.gap_max, numbers[1], "greatest")] {
            let place = facts.place_in_words(m.at);
            let title = match m.mm {
                mm if mm < 0.0 => words!("mark {}: {} too large by {}, {}", number, p.name(facts), size(-mm), place),
                mm => words!("mark {}: {} gap of {}, {}, {}", number, what, p.name(facts), size(mm), place),
            };
            let title = title.shown(facts.show);
            all.push((view.at(m.at), number, JointState::from_gap(m.mm, p.widest), title));
        }
    }
    let points: Vec<Point> = all.iter().map(|m| m.0).collect();
    for ((ring, number, kind, title), balloon) in all.iter().zip(balloons::placed(&points, view.page_box())) {
        let mark = glyph::mark(*ring, balloon, *kind, *number)?;
        let e = format!("<g role=\"img\"><title>{}</title>{mark}</g>", xml(title));
        ink.put(GapGroup::Marks, &e, glyph::reach(balloon).union_pt(*ring));
    }
    Ok(())
}

/// The figures of each piece, beside the picture. Returns the lower end.
fn list(ink: &mut GapCanvas, facts: &Facts, pieces: &[OutlineFit], top: f64) -> Result<f64, NotFinite> {
    let (x, wide, indent) = (LEFT + GUTTER, PAGE - LEFT - GUTTER, 6.5);
    let mut y = top;
    let row = |ink: &mut GapCanvas, s: &str, by: f64, style: TextStyle, y: &mut f64| {
        for l in wrapped(s, style.size * if style.bold { 1.1 } else { 1.0 }, wide - by) {
            ink.text(Point::new(x + by, *y + 0.8 * TEXT), &l, style);
            *y += STEP;
        }
    };
    let plain = TextStyle::new(TEXT, INK);
    for p in pieces.iter().filter(|p| p.listed) {
        let kind = match p.kind() {
            JointState::Binds => format!("binds {}", p.extent()),
            JointState::Gapes => format!("loose {}", p.extent()),
            JointState::AsWanted => "as wanted all along".to_owned(),
        };
        let style = TextStyle::new(TEXT, Sign::from(p.kind()).colour()).bold();
        row(ink, &format!("{}: {kind}", p.name(facts)), 0.0, style, &mut y);
        let ends = p.marks.map(|m| [(p.fit.gap_min, m[0], "least gap"), (p.fit.gap_max, m[1], "greatest gap")]);
        for (m, number, what) in ends.into_iter().flatten() {
            let words = if m.mm < 0.0 {
                words!("too large by up to {}", size(-m.mm))
            } else {
                words!("{} {}", what, size(m.mm))
            };
            let c = Point::new(x + 2.6, y + STEP);
            let mark = glyph::draw(c, JointState::from_gap(m.mm, p.widest), Some(number), 0.75)?;
            ink.put(GapGroup::Words, &mark, Rect::from_center_size(c, (5.2, 5.2)));
            row(ink, &words.shown(facts.show), indent, plain, &mut y);
            row(ink, &facts.place_in_words(m.at), indent, plain, &mut y);
            y += 0.6;
        }
        if p.even() {
            let words = words!("the gap is {} everywhere", size(p.fit.gap_max.mm));
            row(ink, &words.shown(facts.show), 0.0, plain, &mut y);
        }
        let mut words = vec![words!("wanted: {} per side", gap(p.gap))];
        for (kind, name) in [(JointState::Binds, "binds"), (JointState::Gapes, "loose")] {
            if p.length(kind) > 0.0 {
                words.push(words!("{} along {}", name, tenth(p.length(kind))));
            }
        }
        let round = p.fit.joint.runs.iter().map(|r| r.length).sum::<f64>();
        words.push(words!("length of the joint: {}", tenth(round)));
        for w in words {
            row(ink, &w.shown(facts.show), 0.0, plain, &mut y);
        }
        y += 1.8;
    }
    let more = pieces.iter().filter(|p| !p.listed).count();
    if more > 0 {
        let words = format!("{more} more are no worse than these. The JSON file lists them all.");
        row(ink, &words, 0.0, plain, &mut y);
    }
    Ok(y)
}

/// The name of a run where a piece has several.
fn part(i: usize, of: &[RingGaps]) -> String {
    if of.len() > 1 { format!(", line {} of {}", i + 1, of.len()) } else { String::new() }
}
