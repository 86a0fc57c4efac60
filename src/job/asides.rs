//! Results of a run besides its verdict.

use crate::kit::wood::Species;
use crate::kit::{Pair, Tools};
use crate::template::Duty;
use crate::template::clearing::Clearing;
use crate::template::start::{StageKind, Start};

/// Results besides the verdict. Each is `None` if it was not requested or does not apply.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Asides {
    pub pair: Option<PairChoice>,
    pub suggestion: Option<Suggestion>,
    pub season: Option<Season>,
    pub shoulder: Option<ShoulderFacts>,
    pub start: Option<StartFacts>,
}

/// A job that starts from an existing thing.
#[derive(Clone, Debug, PartialEq)]
pub struct StartFacts {
    pub start: Start,
    /// Nominal diameters of the pair that runs around the part. For other starts: of the inlay's pair.
    pub round: Pair,
    /// The gap per side, mm, with the requested tools, if one opening served both pieces.
    pub match_gap: f64,
    /// The requested gap per side, mm.
    pub wanted: f64,
    /// Duty of the opening that the machine must cut; `None` if it cuts none.
    pub cut: Option<Duty>,
    pub stages: Vec<Stage>,
}

/// A later step and the size of its result, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    pub outline: usize,
    pub kind: StageKind,
    /// Nominal diameters; `None` for an opening, which the machine cuts with its own tools.
    pub pair: Option<Pair>,
    /// Greatest width and height.
    pub size: (f64, f64),
    /// Distance per side by which the result's edge lies outside the edge of the existing thing; negative inside.
    pub offset: f64,
    /// False for a step that the job needs only if the pairs match. It is listed for its size.
    pub taken: bool,
}

/// Figures of a shouldered piece.
#[derive(Clone, Debug, PartialEq)]
pub struct ShoulderFacts {
    /// Number of the plug's outline.
    pub plug: usize,
    /// Number of the shoulder's outline.
    pub shoulder: usize,
    /// The plug's tools and gap; the shoulder's are those of the job.
    pub plug_tools: Tools,
    /// Plug and shoulder have a mirror axis in common.
    pub has_axis: bool,
    pub clearing: Option<Clearing>,
    /// Bushes for clearing: the diameter used in the calculation, and the nominal diameter, mm.
    pub clearing_called: Vec<(f64, f64)>,
}

/// Number of problems with a set of tools. The order compares errors first, then lost necks and gaps, then warnings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Count {
    pub errors: usize,
    /// Lost necks and gaps, counted among the errors and warnings.
    pub lost: usize,
    pub warnings: usize,
}

impl std::fmt::Display for Count {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let many = |n: usize, one: &str| match n {
            0 => format!("no {one}s"),
            1 => format!("1 {one}"),
            n => format!("{n} {one}s"),
        };
        write!(f, "{}, {}", many(self.errors, "error"), many(self.warnings, "warning"))
    }
}

/// Why a matching pair was chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairChoice {
    /// Counts all findings that the report shows for this pair.
    pub count: Count,
    /// Number of pairs tried on the drawing.
    pub tried: usize,
    /// Number of pairs of the kit that match.
    pub all: usize,
    /// The requested gap per side, mm.
    pub wanted: f64,
}

/// The effect of other tools.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suggestion {
    /// Problems with the job's own tools.
    pub now: Count,
    /// Sets of the kit with fewer problems.
    pub of_kit: Trials,
    /// Tools larger than the job's were tried too.
    pub larger_too: bool,
    /// An enlargement of the drawing that leaves no error and no warning; `None` if none was found.
    pub scale: Option<Larger>,
    /// Sets with tools that the kit lacks, and with fewer problems than the kit's own sets. `None` if not searched.
    pub buy: Option<Trials>,
    /// The tools in `buy` that the kit lacks.
    pub lacks: Lacks,
}

/// Tools that a kit lacks, by nominal diameter, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lacks {
    pub bush: Option<f64>,
    pub cutter: Option<f64>,
}

impl Lacks {
    #[must_use]
    pub fn many(&self) -> usize {
        self.bush.iter().count() + self.cutter.iter().count()
    }
}

/// The best of several sets of tools.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trials {
    /// `None` if no set is better.
    pub best: Option<(Count, Tools)>,
    /// Number of sets tried.
    pub tried: usize,
    /// Number of sets there are.
    pub all: usize,
}

/// An enlargement of the drawing that was tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Larger {
    pub times: f64,
    /// Width of the enlarged drawing, mm.
    pub width: f64,
}

/// A change of moisture in the wood.
#[derive(Clone, Debug, PartialEq)]
pub struct Season {
    pub species: Species,
    /// Change of the moisture content, per cent.
    pub percent: f64,
}
