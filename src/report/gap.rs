//! The picture of the fit: the inlay in the recess, and the gap all along the joint.
//!
//! In: the facts of a run with its fits, mm, drawing frame, y up. Out: an SVG page in mm, y down, laid out as that of the
//! marks; nothing where nothing was put together. Nothing is measured here: places, gaps and stretches are the proof's.
//! Binding, as wanted and gaping differ by colour *and* by the form of the line. Below the picture each joint is unrolled:
//! the gap by the length along it. Refuses numbers that are not finite.

mod chart;
mod picture;

use super::canvas::{BLUE, Canvas, INK, Layer, ORANGE, Style, wrapped};
use super::facts::Facts;
use super::verdict::differs;
use super::view::{GUTTER, LEFT, PAGE, STEP, TEXT, View};
use super::{balloons, glyph};
use crate::check::Severity;
use crate::geom::{Point, Rect};
use crate::proof::Fit;
use crate::proof::joint::{Kind, Run};
use crate::template::ease::Corners;
use crate::text::{NotFinite, rounded, xml};
use crate::tolerance::WIDE_GAP;

/// So many pieces have marks, a paragraph and a strip; of more, the worst.
const MOST: usize = 8;
/// A gap is even that varies by less than this, mm: finer than anyone measures.
const EVEN: f64 = 0.002;
/// Height of the picture at most, mm.
const HIGH: f64 = 118.0;

#[derive(Clone, Copy)]
enum Group {
    Board,
    Pieces,
    Joint,
    Unrolled,
    Scale,
    Marks,
    Words,
}

impl Layer for Group {
    const NAMES: &'static [&'static str] = &["BOARD", "PIECES", "JOINT", "UNROLLED", "SCALE", "MARKS", "WORDS"];
    const WORDS: Group = Group::Words;

    fn index(self) -> usize {
        self as usize
    }
}

type Ink = Canvas<Group>;

/// One outline's pieces on the picture.
struct Piece<'a> {
    fit: &'a Fit,
    /// The gap that was wanted, and the one up to which it is as wanted, mm.
    gap: f64,
    widest: f64,
    /// Length of the joint that binds, is as wanted, gapes, mm.
    lengths: [f64; 3],
    /// It has a paragraph of its own.
    told: bool,
    /// Numbers of the marks at the least and the greatest gap: where they differ.
    marks: Option<[usize; 2]>,
}

impl<'a> Piece<'a> {
    fn new(facts: &Facts, fit: &'a Fit) -> Piece<'a> {
        let gap = facts.tools_for(fit.outline).gap;
        // A plug's gap is wide because it is wanted wide.
        let widest = if facts.role(fit.outline) == Some("plug") { gap + WIDE_GAP } else { WIDE_GAP };
        let mut lengths = [0.0; 3];
        for s in fit.joint.runs.iter().flat_map(|r| r.stretches(widest)) {
            lengths[s.kind as usize] += s.to - s.from;
        }
        Piece { fit, gap, widest, lengths, told: false, marks: None }
    }

    fn length(&self, kind: Kind) -> f64 {
        self.lengths[kind as usize]
    }

    /// The worst that it does.
    fn kind(&self) -> Kind {
        match (Kind::of(self.fit.gap_min.mm, self.widest), Kind::of(self.fit.gap_max.mm, self.widest)) {
            (Kind::Binds, _) => Kind::Binds,
            (_, Kind::Gapes) => Kind::Gapes,
            _ => Kind::AsWanted,
        }
    }

    /// The same gap all along: then least and greatest have no place.
    fn even(&self) -> bool {
        self.fit.gap_max.mm - self.fit.gap_min.mm < EVEN
    }

    /// The worse, the larger.
    fn badness(&self) -> (u8, f64) {
        match self.kind() {
            Kind::Binds => (2, -self.fit.gap_min.mm),
            Kind::Gapes => (1, self.fit.gap_max.mm),
            Kind::AsWanted => (0, self.fit.gap_max.mm),
        }
    }

    fn name(&self, facts: &Facts) -> String {
        match facts.role(self.fit.outline) {
            Some(role) => format!("{role} (outline {})", self.fit.outline),
            None => format!("outline {}", self.fit.outline),
        }
    }
}

/// The shape of a kind's sign: that of the severity that is as bad.
fn shape(kind: Kind) -> Severity {
    match kind {
        Kind::Binds => Severity::Error,
        Kind::Gapes => Severity::Warning,
        Kind::AsWanted => Severity::Note,
    }
}

/// The sign of a kind, in the colour of its line.
fn sign(c: Point, kind: Kind, number: Option<usize>, size: f64) -> Result<String, NotFinite> {
    glyph::sign_in(line(kind).0, c, shape(kind), number, size)
}

/// Colour, width in mm and dashes of the line along the joint.
fn line(kind: Kind) -> (&'static str, f64, &'static [f64]) {
    match kind {
        Kind::Binds => (ORANGE, 1.3, &[]),
        Kind::Gapes => (BLUE, 1.1, &[2.0, 1.0]),
        Kind::AsWanted => (INK, 0.35, &[]),
    }
}

fn mm(v: f64) -> Result<String, NotFinite> {
    rounded(v, 3)
}

/// The fit of a job as an SVG file; nothing where nothing was put together.
///
/// # Errors
/// [`NotFinite`] where a size or place is not a finite number.
pub fn svg(facts: &Facts) -> Result<Option<String>, NotFinite> {
    let bounds = facts.fits.iter().flat_map(|f| [f.joint.recess.bounds(), f.joint.inlay.bounds()]).flatten();
    let Some(shown) = bounds.reduce(|a, b| a.union(b)) else { return Ok(None) };
    if ![shown.x0, shown.y0, shown.x1, shown.y1].into_iter().all(f64::is_finite) {
        return Err(NotFinite);
    }
    let mut pieces: Vec<Piece> = facts.fits.iter().map(|f| Piece::new(facts, f)).collect();
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
    worst.iter().for_each(|&i| pieces[i].told = true);
    let mut ink = Ink::new(Rect::new(0.0, 0.0, PAGE, 0.0));
    ink.role = "graphics-document document";
    let top = heading(&mut ink, facts, &pieces);
    let view = View::new(shown, top, HIGH);
    let strips = chart::unrolled(&pieces);
    picture::draw(&mut ink, &pieces, &strips, &view)?;
    marks(&mut ink, facts, &pieces, &view)?;
    let below = picture::legend(&mut ink, &view);
    let beside = list(&mut ink, facts, &pieces, top)?;
    chart::draw(&mut ink, facts, &pieces, &strips, below.max(beside) + 2.0)?;
    let summary = format!("<desc>{}</desc>", xml(&likeness(facts, &summary(&pieces)?)));
    ink.finish(&format!("{}: the gap along the joint", facts.name()), &summary, 4.0).map(Some)
}

/// What is said of the fit, and how the pieces differ from the drawing: a good fit may be one of pieces that are not it.
fn likeness(facts: &Facts, fit: &str) -> String {
    differs(facts).map_or_else(|| fit.to_owned(), |differs| format!("{fit} {differs}"))
}

fn summary(pieces: &[Piece]) -> Result<String, NotFinite> {
    let least = pieces.iter().map(|p| p.fit.gap_min.mm).fold(f64::INFINITY, f64::min);
    let most = pieces.iter().map(|p| p.fit.gap_max.mm).fold(0.0, f64::max);
    let count = |kind| pieces.iter().filter(|p| p.kind() == kind).count();
    let verdict = match (count(Kind::Binds), count(Kind::Gapes)) {
        (1, _) if pieces.len() == 1 => "The inlay binds in places.".to_owned(),
        (0, 1) if pieces.len() == 1 => "The inlay goes in, but the gap shows.".to_owned(),
        (0, 0) => "The inlay goes in, and the gap is as wanted all along.".to_owned(),
        (0, n) => format!("The inlays go in, but in {n} of {} joints the gap shows.", pieces.len()),
        (n, _) => format!("In {n} of {} joints the inlay binds in places.", pieces.len()),
    };
    let told =
        if least < 0.0 { format!("too large by up to {}", mm(-least)?) } else { format!("least {}", mm(least)?) };
    Ok(format!("{verdict} Gap per side: {told} mm, greatest {} mm.", mm(most)?))
}

/// What this is; gives where it ends.
fn heading(ink: &mut Ink, facts: &Facts, pieces: &[Piece]) -> f64 {
    let big = Style::new(1.7 * TEXT, INK).bold();
    let mut y = 0.8 * big.size;
    // The bold letters are wider than wrapping reckons with.
    for l in wrapped(&format!("{}: the gap along the joint", facts.name()), 1.1 * big.size, PAGE) {
        ink.words(Point::new(0.0, y), &l, big);
        y += 1.25 * big.size;
    }
    let routed = match &facts.asides.shoulder {
        _ if facts.template.openings.is_empty() => "The pieces were simulated by the drawing of what is in hand",
        None => "The files for the machine were read back and worked through with your bushes and cutters",
        Some(_) => {
            "The files for the machine were read back and worked through by the faces and edges of the order of work"
        }
    };
    let nominal =
        if facts.tools.measured { "" } else { " Sizes of bush and cutter are nominal: try the fit in scrap first." };
    let mut lines = vec![
        (likeness(facts, &summary(pieces).unwrap_or_default()), INK),
        (format!("{routed}, and the inlay was put into the recess.{nominal}"), INK),
    ];
    let binds = pieces.iter().any(|p| p.kind() == Kind::Binds);
    match facts.corners {
        Corners::Square if binds => lines.push((
            "Inside corners are for the chisel here: until they are squared the inlay binds in them.".to_owned(),
            INK,
        )),
        Corners::Keep if binds => lines.push((
            "Corners are kept as drawn: where it binds in one, square the recess with a chisel or pare the inlay."
                .to_owned(),
            INK,
        )),
        _ => {}
    }
    let caution = "Not for cutting, and not at true size: most gaps are too fine to be seen here, so the line tells.";
    lines.push((caution.to_owned(), ORANGE));
    for (words, colour) in lines {
        for l in wrapped(&words, TEXT, PAGE) {
            ink.words(Point::new(0.0, y), &l, Style::new(TEXT, colour));
            y += STEP;
        }
    }
    y + 1.0
}

/// Rings at the least and the greatest gap of each piece, with their numbers.
fn marks(ink: &mut Ink, facts: &Facts, pieces: &[Piece], view: &View) -> Result<(), NotFinite> {
    let mut all = Vec::new();
    for p in pieces {
        let Some(numbers) = p.marks else { continue };
        for (m, number, what) in [(p.fit.gap_min, numbers[0], "least"), (p.fit.gap_max, numbers[1], "greatest")] {
            let place = facts.place_in_words(m.at);
            let told = format!("mark {number}: {what} gap of {}, {} mm, {place}", p.name(facts), mm(m.mm)?);
            all.push((view.at(m.at), number, Kind::of(m.mm, p.widest), told));
        }
    }
    let points: Vec<Point> = all.iter().map(|m| m.0).collect();
    for ((ring, number, kind, told), balloon) in all.iter().zip(balloons::placed(&points, view.page_box())) {
        let mark = glyph::mark_in(line(*kind).0, *ring, balloon, shape(*kind), *number)?;
        let e = format!("<g role=\"img\"><title>{}</title>{mark}</g>", xml(told));
        ink.put(Group::Marks, &e, glyph::reach(balloon).union_pt(*ring));
    }
    Ok(())
}

/// Beside the picture: the numbers of each piece. Gives where it ends.
fn list(ink: &mut Ink, facts: &Facts, pieces: &[Piece], top: f64) -> Result<f64, NotFinite> {
    let (x, wide, indent) = (LEFT + GUTTER, PAGE - LEFT - GUTTER, 6.5);
    let mut y = top;
    let row = |ink: &mut Ink, s: &str, by: f64, style: Style, y: &mut f64| {
        for l in wrapped(s, style.size * if style.bold { 1.1 } else { 1.0 }, wide - by) {
            ink.words(Point::new(x + by, *y + 0.8 * TEXT), &l, style);
            *y += STEP;
        }
    };
    let plain = Style::new(TEXT, INK);
    for p in pieces.iter().filter(|p| p.told) {
        let (verdict, colour) = match p.kind() {
            Kind::Binds => ("it binds", ORANGE),
            Kind::Gapes => ("the gap shows", BLUE),
            Kind::AsWanted => ("as wanted all along", INK),
        };
        row(ink, &format!("{}: {verdict}", p.name(facts)), 0.0, Style::new(TEXT, colour).bold(), &mut y);
        let ends = p.marks.map(|m| [(p.fit.gap_min, m[0], "least gap"), (p.fit.gap_max, m[1], "greatest gap")]);
        for (m, number, what) in ends.into_iter().flatten() {
            let words = if m.mm < 0.0 {
                format!("too large by up to {} mm", mm(-m.mm)?)
            } else {
                format!("{what} {} mm", mm(m.mm)?)
            };
            let c = Point::new(x + 2.6, y + STEP);
            let mark = sign(c, Kind::of(m.mm, p.widest), Some(number), 0.75)?;
            ink.put(Group::Words, &mark, Rect::from_center_size(c, (5.2, 5.2)));
            row(ink, &words, indent, plain, &mut y);
            row(ink, &facts.place_in_words(m.at), indent, plain, &mut y);
            y += 0.6;
        }
        if p.even() {
            row(ink, &format!("the gap is {} mm everywhere", mm(p.fit.gap_max.mm)?), 0.0, plain, &mut y);
        }
        let round = p.fit.joint.runs.iter().map(|r| r.length).sum::<f64>();
        let mut parts = vec![format!("wanted {} mm per side", mm(p.gap)?)];
        for (kind, does) in [(Kind::Binds, "binds"), (Kind::Gapes, "gapes")] {
            if p.length(kind) > 0.0 {
                parts.push(format!("{does} along {:.1} mm", p.length(kind)));
            }
        }
        row(ink, &format!("{}; the joint is {round:.1} mm long", parts.join(", ")), 0.0, plain, &mut y);
        y += 1.8;
    }
    let more = pieces.iter().filter(|p| !p.told).count();
    if more > 0 {
        let words = format!("{more} more are no worse than these; the JSON file lists them all.");
        row(ink, &words, 0.0, plain, &mut y);
    }
    Ok(y)
}

/// What a run is called where a piece has several.
fn part(i: usize, of: &[Run]) -> String {
    if of.len() > 1 { format!(", line {} of {}", i + 1, of.len()) } else { String::new() }
}
