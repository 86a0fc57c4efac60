//! Messages to the maker as data. A finding never ends the run.
//!
//! Lengths are in mm, areas in mm², places in the drawing frame. Codes and severities are part of the program's
//! interface. A code keeps its name and its meaning for ever.

use crate::geom::{Point, Region};
use crate::names::names;
use crate::text::Words;
use std::cmp::Ordering;
use std::fmt;
use std::sync::Arc;

/// How serious a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The job cannot be made as asked.
    Error,
    /// The piece differs from the drawing, or the work carries a risk.
    Warning,
    /// Useful to know.
    Note,
}

names!(Severity, "unknown severity"; Error = "error", Warning = "warning", Note = "note");

macro_rules! codes {
    ($($variant:ident = $name:literal, $one:literal, $many:literal;)+) => {
        /// The subject of a finding.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Code { $(#[doc = include_str!(concat!("pages/", $name, ".md"))] $variant,)+ }

        names!(Code, "unknown code of a finding"; $($variant = $name),+);

        impl Code {
            /// A noun for `n` findings of this code: `inside corners of the recess`.
            #[must_use]
            pub fn noun(self, n: usize) -> &'static str {
                match self { $(Code::$variant => if n == 1 { $one } else { $many },)+ }
            }

            /// The explain page in Markdown, `pages/NAME.md`. The first paragraph is a summary of one line, the second
            /// states the severity.
            #[must_use]
            pub fn page(self) -> &'static str {
                match self { $(Code::$variant => include_str!(concat!("pages/", $name, ".md")),)+ }
            }
        }
    };
}

// Variant, name (also the name of the page), noun for one finding, noun for several. Findings of one severity are listed
// in this order.
codes! {
    UnitGuess = "unit-guess", "unknown unit", "unknown units";
    OddSize = "odd-size", "doubtful size", "doubtful sizes";
    Unexplained = "unexplained", "unexplained difference", "unexplained differences";
    Uncertified = "uncertified", "uncertified place", "uncertified places";
    OpenLine = "open-line", "open line", "open lines";
    Crossing = "crossing", "crossing of lines", "crossings of lines";
    Touching = "touching", "place where outlines touch", "places where outlines touch";
    Island = "island", "island in an outline", "islands in outlines";
    Nested = "nested", "outline inside another", "outlines inside others";
    InsideCorner = "inside-corner", "inside corner of the recess", "inside corners of the recess";
    OutsideCorner = "outside-corner", "outside corner of the recess", "outside corners of the recess";
    Neck = "neck", "narrow neck", "narrow necks";
    ClosedGap = "closed-gap", "gap that closes", "gaps that close";
    BushBore = "bush-bore", "cutter too large for its bush", "cutters too large for their bushes";
    BushDepth = "bush-depth", "bush that rides on the work", "bushes that ride on the work";
    CutterReach = "cutter-reach", "cutter too short", "cutters too short";
    PassDepth = "pass-depth", "pass too deep", "passes too deep";
    NotAsDrawn = "not-as-drawn", "place too far from the drawing", "places too far from the drawing";
    Fit = "fit", "misfit of the pieces", "misfits of the pieces";
    TemplateCorner = "template-corner", "template corner too round for a bush", "template corners too round for a bush";
    SharpPoint = "sharp-point", "sharp point of the template", "sharp points of the template";
    ThinWeb = "thin-web", "thin strip of template", "thin strips of template";
    OffPanel = "off-panel", "opening off the panel", "openings off the panel";
    Bed = "bed", "panel larger than the bed", "panels larger than the bed";
    FurtherPanel = "further-panel", "further panel", "further panels";
    BaseTips = "base-tips", "place where the router may tip", "places where the router may tip";
    ClampRoom = "clamp-room", "panel without room for clamps", "panels without room for clamps";
    Ledge = "ledge", "thin ledge", "thin ledges";
    Hand = "hand", "plug and shoulder without a common mirror axis", "plugs and shoulders without a common mirror axis";
    FreeHand = "free-hand", "area of waste to clear freehand", "areas of waste to clear freehand";
    LeftOut = "left-out", "part of the drawing left out", "parts of the drawing left out";
    JoinedGap = "joined-gap", "joined gap", "joined gaps";
    DoubledLine = "doubled-line", "doubled line", "doubled lines";
    Speck = "speck", "speck left out", "specks left out";
    CentreLine = "centre-line", "stroke read along its middle", "strokes read along their middle";
    SecondReader = "second-reader", "unconfirmed reading", "unconfirmed readings";
    Tolerated = "tolerated", "tolerated fault of the file", "tolerated faults of the file";
    NotMeasured = "not-measured", "tools not measured", "tools not measured";
}

impl Code {
    #[must_use]
    pub fn from_name(name: &str) -> Option<Code> {
        Code::ALL.iter().copied().find(|c| c.name() == name)
    }

    /// The first line of the page: its meaning in a sentence.
    #[must_use]
    pub fn summary(self) -> &'static str {
        self.page().lines().next().unwrap_or_default()
    }

    /// The severity as the page states it, on one line.
    #[must_use]
    pub fn severity_words(self) -> String {
        let words = self.page().split("\n\n").find_map(|p| p.strip_prefix("Severity: "));
        words.unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// True for codes whose errors the maker can accept. The rest of the job is then made.
    #[must_use]
    pub fn acceptable(self) -> bool {
        matches!(self, Code::OpenLine | Code::Crossing | Code::Neck | Code::Island | Code::ClosedGap | Code::NotAsDrawn)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A setting that removes the finding, and the limit of its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Way {
    /// The option without its dashes: `cutter`, `inlay-bush`.
    pub setting: &'static str,
    /// Largest value that works, mm.
    pub at_most: f64,
}

/// One message to the maker, with its figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Number in lists and on pictures, from 1. Set by [`numbered`].
    pub mark: usize,
    pub code: Code,
    pub severity: Severity,
    /// Number of the outline that the finding belongs to.
    pub outline: Option<usize>,
    /// Place in the drawing frame.
    pub at: Option<Point>,
    pub measured: Option<f64>,
    pub needed: Option<f64>,
    /// Shortfall of the measured value.
    pub short: Option<f64>,
    pub area: Option<f64>,
    /// The whole region where a piece differs from the drawing, if this finding covers a difference. In the drawing
    /// frame. See [`super::account`].
    pub region: Option<Arc<Region>>,
    /// Greatest distance of a piece from the drawing in `region`, mm.
    pub off: Option<f64>,
    /// The problem, understandable by itself. It does not repeat the place or the severity.
    pub message: Words,
    /// The remedy.
    pub help: Words,
    /// The settings in `help` as numbers.
    pub ways: Vec<Way>,
    /// Scale of the drawing that removes the finding. First an estimate from the finding's own figures, later a tried
    /// value.
    pub scale: Option<f64>,
    /// True if the maker accepts this error.
    pub accepted: bool,
    /// True if the error cannot be accepted although its code can: nothing would be left to make.
    pub last_word: bool,
}

impl Finding {
    #[must_use]
    pub fn new(code: Code, severity: Severity, message: impl Into<Words>, help: impl Into<Words>) -> Finding {
        Finding {
            mark: 0,
            code,
            severity,
            outline: None,
            at: None,
            measured: None,
            needed: None,
            short: None,
            area: None,
            region: None,
            off: None,
            message: message.into(),
            help: help.into(),
            ways: Vec::new(),
            scale: None,
            accepted: false,
            last_word: false,
        }
    }

    #[must_use]
    pub fn at(mut self, p: impl Into<Option<Point>>) -> Finding {
        self.at = p.into();
        self
    }

    #[must_use]
    pub fn on(mut self, outline: usize) -> Finding {
        self.outline = Some(outline);
        self
    }

    /// Sets the measured value and the least value needed. `short` is their difference.
    #[must_use]
    pub fn measures(mut self, measured: f64, needed: f64) -> Finding {
        self.measured = Some(measured);
        self.needed = Some(needed);
        self.short = Some(needed - measured);
        self
    }

    /// Sets the measured value alone, for findings without a limit.
    #[must_use]
    pub fn measuring(mut self, measured: f64) -> Finding {
        self.measured = Some(measured);
        self
    }

    /// Sets the measured value and the largest value allowed. `short` is the excess.
    #[must_use]
    pub fn measures_over(mut self, measured: f64, allowed: f64) -> Finding {
        self.measured = Some(measured);
        self.needed = Some(allowed);
        self.short = Some(measured - allowed);
        self
    }

    /// Sets the region of the difference, where a piece lies up to `off` mm from the drawing.
    #[must_use]
    pub fn owning(mut self, region: &Arc<Region>, off: f64) -> Finding {
        self.region = Some(Arc::clone(region));
        self.off = Some(off);
        self
    }

    /// Adds a setting with its largest value, mm. `None` adds nothing.
    #[must_use]
    pub fn way(mut self, setting: &'static str, at_most: Option<f64>) -> Finding {
        self.ways.extend(at_most.map(|at_most| Way { setting, at_most }));
        self
    }

    /// Estimates the scale that removes the finding, as `needed / measured`. Scales above `most` are dropped.
    #[must_use]
    pub fn larger(mut self, measured: f64, needed: f64, most: f64) -> Finding {
        let times = needed / measured;
        self.scale = (measured > 0.0 && times > 1.0 && times <= most).then_some(times);
        self
    }

    /// Marks an error that cannot be accepted, because nothing would be left to make.
    #[must_use]
    pub fn last_word(mut self) -> Finding {
        self.last_word = true;
        self
    }

    /// Marks an error that can be accepted only if `acceptable`.
    #[must_use]
    pub fn final_unless(mut self, acceptable: bool) -> Finding {
        self.last_word = !acceptable;
        self
    }

    #[must_use]
    pub fn covers(mut self, area: f64) -> Finding {
        self.area = Some(area);
        self
    }

    /// True for an error that is not accepted: then no file for the machine is written.
    #[must_use]
    pub fn blocks(&self) -> bool {
        self.severity == Severity::Error && !self.accepted
    }

    fn order(&self, other: &Finding) -> Ordering {
        let place = |f: &Finding| f.at.map_or((f64::NEG_INFINITY, f64::NEG_INFINITY), |p| (p.x, p.y));
        let (a, b) = (place(self), place(other));
        (self.severity, self.code, self.outline)
            .cmp(&(other.severity, other.code, other.outline))
            .then(a.0.total_cmp(&b.0))
            .then(a.1.total_cmp(&b.1))
            .then_with(|| self.message.to_string().cmp(&other.message.to_string()))
    }
}

/// Sorts the findings into their fixed order, drops duplicates and sets the marks. Errors come first, then the order is
/// by code, outline and place. Errors of `accepted` codes are marked as accepted.
#[must_use]
pub fn numbered(mut findings: Vec<Finding>, accepted: &[Code]) -> Vec<Finding> {
    findings.sort_by(Finding::order);
    findings.dedup();
    for (i, f) in findings.iter_mut().enumerate() {
        f.mark = i + 1;
        f.accepted = f.severity == Severity::Error && !f.last_word && f.code.acceptable() && accepted.contains(&f.code);
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_kebab_case_unique_and_found_again() {
        for &c in Code::ALL {
            assert!(c.name().chars().all(|k| k.is_ascii_lowercase() || k == '-'), "{c}");
            assert_eq!(Code::from_name(c.name()), Some(c));
        }
        assert_eq!(Code::from_name("no-such"), None);
    }

    #[test]
    fn the_order_does_not_hang_on_the_order_found() {
        let f = |code, severity, x| Finding::new(code, severity, "m", "h").at(Point::new(x, 0.0));
        let some = vec![
            f(Code::Speck, Severity::Note, 1.0),
            f(Code::Fit, Severity::Error, 5.0),
            f(Code::Fit, Severity::Error, 2.0),
            f(Code::Fit, Severity::Warning, 0.0),
            f(Code::Fit, Severity::Error, 2.0),
        ];
        let once = numbered(some.clone(), &[]);
        let again = numbered(some.into_iter().rev().collect(), &[]);
        assert_eq!(once, again);
        assert_eq!(once.iter().map(|f| f.mark).collect::<Vec<_>>(), [1, 2, 3, 4]);
        assert_eq!(once[0].at, Some(Point::new(2.0, 0.0)));
        assert_eq!(once[3].severity, Severity::Note);
    }

    #[test]
    fn only_errors_that_can_be_accepted_are() {
        let f = |code, severity| Finding::new(code, severity, "m", "h");
        let all = numbered(
            vec![
                f(Code::OpenLine, Severity::Error),
                f(Code::OpenLine, Severity::Warning),
                f(Code::Fit, Severity::Error),
            ],
            &[Code::OpenLine, Code::Fit],
        );
        assert_eq!(all.iter().map(|f| f.accepted).collect::<Vec<_>>(), [true, false, false]);
        assert!(!all[0].blocks() && all[1].blocks() && !all[2].blocks());
    }
}
