//! What the maker should know: a finding is data, never an error.
//!
//! All lengths mm, areas mm², places in the drawing frame. The codes, their severities and what they say are part of
//! the program's interface: a code is never renamed and never used for something else.

use crate::geom::{Point, Region};
use crate::text::Words;
use std::cmp::Ordering;
use std::fmt;
use std::sync::Arc;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Cannot be made as asked.
    Error,
    /// Will not come out as drawn, or is a risk.
    Warning,
    /// Worth knowing.
    Note,
}

impl Severity {
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        }
    }
}

macro_rules! codes {
    ($($variant:ident = $name:literal, $one:literal, $many:literal;)+) => {
        /// What a finding is about.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Code { $(#[doc = include_str!(concat!("pages/", $name, ".md"))] $variant,)+ }

        impl Code {
            /// Every code, in the order in which findings of one severity are told.
            pub const ALL: &[Code] = &[$(Code::$variant,)+];

            /// As it is written: kebab-case.
            #[must_use]
            pub fn name(self) -> &'static str {
                match self { $(Code::$variant => $name,)+ }
            }

            /// What `n` findings of it are, as a noun: `inside corners of the recess`.
            #[must_use]
            pub fn noun(self, n: usize) -> &'static str {
                match self { $(Code::$variant => if n == 1 { $one } else { $many },)+ }
            }

            /// What it means, why it matters and what to do: a page of Markdown, `pages/NAME.md`. Its first
            /// paragraph is a summary of one line, its second says how bad it is.
            #[must_use]
            pub fn page(self) -> &'static str {
                match self { $(Code::$variant => include_str!(concat!("pages/", $name, ".md")),)+ }
            }
        }
    };
}

// Variant, name (the page has it too), and what one or several of them are.
codes! {
    UnitGuess = "unit-guess", "unit not known", "units not known";
    OddSize = "odd-size", "odd size", "odd sizes";
    Unexplained = "unexplained", "unexplained difference", "unexplained differences";
    Uncertified = "uncertified", "place without a certificate", "places without a certificate";
    OpenLine = "open-line", "open line", "open lines";
    Crossing = "crossing", "outline that crosses itself", "outlines that cross themselves";
    Touching = "touching", "outlines that touch", "outlines that touch";
    Island = "island", "island", "islands";
    Nested = "nested", "outline inside another", "outlines inside another";
    InsideCorner = "inside-corner", "inside corner of the recess", "inside corners of the recess";
    OutsideCorner = "outside-corner", "outside corner of the recess", "outside corners of the recess";
    Neck = "neck", "neck narrower than the cutter", "necks narrower than the cutter";
    ClosedGap = "closed-gap", "gap that closes", "gaps that close";
    BushBore = "bush-bore", "cutter too large for its bush", "cutters too large for their bush";
    BushDepth = "bush-depth", "bush that rides on the work", "bushes that ride on the work";
    CutterReach = "cutter-reach", "cutter too short", "cutters too short";
    PassDepth = "pass-depth", "pass too deep", "passes too deep";
    NotAsDrawn = "not-as-drawn", "place off the drawing", "places off the drawing";
    Fit = "fit", "gap out of bounds", "gaps out of bounds";
    TemplateCorner = "template-corner", "template corner too round for the bush", "template corners too round for the bush";
    SharpPoint = "sharp-point", "sharp point of the template", "sharp points of the template";
    ThinWeb = "thin-web", "thin strip of template", "thin strips of template";
    OffPanel = "off-panel", "opening off the panel", "openings off the panel";
    Bed = "bed", "panel larger than the bed", "panels larger than the bed";
    FurtherPanel = "further-panel", "further panel", "further panels";
    BaseTips = "base-tips", "router that tips", "places where the router tips";
    ClampRoom = "clamp-room", "panel without room for clamps", "panels without room for clamps";
    Ledge = "ledge", "thin ledge", "thin ledges";
    Hand = "hand", "plug without a mirror axis", "plugs without a mirror axis";
    FreeHand = "free-hand", "waste left for a free hand", "places of waste left for a free hand";
    LeftOut = "left-out", "thing left out", "things left out";
    JoinedGap = "joined-gap", "joined gap", "joined gaps";
    DoubledLine = "doubled-line", "doubled line", "doubled lines";
    Speck = "speck", "speck left out", "specks left out";
    CentreLine = "centre-line", "stroke read along its middle", "strokes read along their middle";
    SecondReader = "second-reader", "difference between two readers", "differences between two readers";
    Tolerated = "tolerated", "fault of the file that was tolerated", "faults of the file that were tolerated";
    NotMeasured = "not-measured", "fit by nominal sizes", "fits by nominal sizes";
}

impl Code {
    #[must_use]
    pub fn from_name(name: &str) -> Option<Code> {
        Code::ALL.iter().copied().find(|c| c.name() == name)
    }

    /// The first line of the page: what it means, in a sentence.
    #[must_use]
    pub fn summary(self) -> &'static str {
        self.page().lines().next().unwrap_or_default()
    }

    /// How bad it is, in the words of the page and in one line.
    #[must_use]
    pub fn severity_words(self) -> String {
        let words = self.page().split("\n\n").find_map(|p| p.strip_prefix("Severity: "));
        words.unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Whether an error of this code can be accepted, so that what is left is made.
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

/// A setting with which the finding would be gone, and its limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Way {
    /// Without the dashes: `cutter`, `inlay-bush`, …
    pub setting: &'static str,
    /// mm.
    pub at_most: f64,
}

/// One thing found.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Its number in lists and on pictures, from 1; given by [`numbered`].
    pub mark: usize,
    pub code: Code,
    pub severity: Severity,
    /// Number of the outline it belongs to.
    pub outline: Option<usize>,
    /// In the drawing frame.
    pub at: Option<Point>,
    pub measured: Option<f64>,
    pub needed: Option<f64>,
    /// By how much it falls short.
    pub short: Option<f64>,
    pub area: Option<f64>,
    /// Where a piece differs from the drawing and this finding speaks of it: all of that place, in the drawing frame. See
    /// [`super::account`].
    pub region: Option<Arc<Region>>,
    /// How far a piece lies from the drawing there at most, mm.
    pub off: Option<f64>,
    /// Stands alone, without the place.
    pub message: Words,
    /// What to do.
    pub help: Words,
    /// The settings that `help` proposes, as numbers.
    pub ways: Vec<Way>,
    /// Made so many times as large it would be gone: by its own figures until that is tried.
    pub scale: Option<f64>,
    /// The maker said to go on all the same.
    pub accepted: bool,
    /// Cannot be accepted although its code can: nothing would be left to make.
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

    /// What was measured and what is needed; `short` is the difference.
    #[must_use]
    pub fn measures(mut self, measured: f64, needed: f64) -> Finding {
        self.measured = Some(measured);
        self.needed = Some(needed);
        self.short = Some(needed - measured);
        self
    }

    /// What was measured where nothing definite is needed.
    #[must_use]
    pub fn measuring(mut self, measured: f64) -> Finding {
        self.measured = Some(measured);
        self
    }

    /// What was measured where no more than `allowed` may be; `short` is what is too much.
    #[must_use]
    pub fn measures_over(mut self, measured: f64, allowed: f64) -> Finding {
        self.measured = Some(measured);
        self.needed = Some(allowed);
        self.short = Some(measured - allowed);
        self
    }

    /// Speaks of all of `region`, in which a piece lies as far as `off` mm from the drawing.
    #[must_use]
    pub fn owning(mut self, region: &Arc<Region>, off: f64) -> Finding {
        self.region = Some(Arc::clone(region));
        self.off = Some(off);
        self
    }

    /// Proposes a setting.
    #[must_use]
    pub fn way(mut self, setting: &'static str, at_most: Option<f64>) -> Finding {
        self.ways.extend(at_most.map(|at_most| Way { setting, at_most }));
        self
    }

    /// Speaks for a larger drawing: by these figures, and only where it is worth a thought.
    #[must_use]
    pub fn larger(mut self, measured: f64, needed: f64, most: f64) -> Finding {
        let times = needed / measured;
        self.scale = (measured > 0.0 && times > 1.0 && times <= most).then_some(times);
        self
    }

    /// Nothing would be left to make, so it cannot be accepted.
    #[must_use]
    pub fn last_word(mut self) -> Finding {
        self.last_word = true;
        self
    }

    /// Cannot be accepted unless `acceptable`.
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

    /// Whether it stands in the way of making anything.
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

/// The findings in their fixed order (errors first, then by code, outline and place) with their marks, those of
/// `accepted` codes marked so. What is said twice of one place is said once.
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
