//! Everything that a run found out: what the JSON document and the words for people are both made from.

use crate::check::Finding;
use crate::check::depth::Router;
use crate::drawing::Drawing;
use crate::drawing::outline::Outline;
use crate::geom::{Certified, Point, Rect, Region};
use crate::kit::wood::Species;
use crate::kit::{Figures, Pair, Tools};
use crate::proof::Fit;
use crate::template::clearing::Clearing;
use crate::template::ease::{AsCut, Corners};
use crate::template::hand::Step;
use crate::template::openings::{Template, at_its_number};
use crate::template::registration::stops;
use crate::template::start::Start;
use crate::template::tipping::Margin;
use crate::template::{Duty, Face, Opening, Panel, Setup};
use crate::text::{Length, Show, Words, fixed, gap, tenth, tool};
use crate::words;
use std::path::Path;

/// A file that the run wrote, or would write.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileFact {
    pub name: String,
    pub bytes: usize,
    /// SHA-256, lower-case hexadecimal.
    pub sha256: String,
    /// Panels and faces that it carries to the machine.
    pub cuts: Vec<(u32, u8)>,
}

/// The form in which the files for the machine are written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Writing {
    /// `mm` or `in`.
    pub unit: &'static str,
    /// Release of the DXF files: `2000` or `r12`.
    pub dxf: &'static str,
}

/// Which drawing the files were made of: what tells it from another one of the same name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Origin {
    /// The drawing as seen from the folder of the files.
    pub from_folder: String,
    /// SHA-256 of its bytes, lower-case hexadecimal.
    pub sha256: String,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// As the maker gave it.
    pub path: String,
    /// What a job that follows another is called, such as `island-1`.
    pub part: Option<String>,
    /// The unit of figures for people.
    pub show: Show,
    pub drawing: Drawing,
    /// Made is its mirror image; all places are those of the mirror image.
    pub mirrored: bool,
    pub outlines: Vec<Outline>,
    /// The outlines as they will be made, by their numbers, in the drawing frame; those that come to nothing are not in it.
    pub made: Vec<(usize, Certified<Region>)>,
    /// What comes out of the openings of each, worked out; in the same order.
    pub cut: Vec<AsCut>,
    pub tools: Tools,
    pub corners: Corners,
    /// Router and template, and who says so.
    pub figures: Figures,
    pub template: Template,
    pub bench: Bench,
    /// What the router's base sweeps on each panel and face, in that face's frame.
    pub keep_clear: Vec<((u32, u8), Region)>,
    pub fits: Vec<Fit>,
    /// In their fixed order, with their marks.
    pub findings: Vec<Finding>,
    pub files: Vec<FileFact>,
    /// Arcs of the openings are chords within this of them, mm.
    pub flatten: Option<f64>,
    /// Nothing where nothing is written.
    pub writing: Option<Writing>,
    /// Nothing where nothing is written, and in jobs that follow.
    pub origin: Option<Origin>,
    /// Jobs that follow, in their order: the islands' own wood, let back into what was let in whole.
    pub then: Vec<Facts>,
    pub asides: Asides,
}

/// The work with the template.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bench {
    /// What is done, in order; empty while an error stands.
    pub steps: Vec<Step>,
    /// For each step how far the bush's centre stays within what holds the router up, at the worst.
    pub margins: Vec<Option<Margin>>,
    /// Radius of the router's base, mm.
    pub base: f64,
    pub router: Router,
    /// What comes loose on the machine.
    pub loose: Vec<Loose>,
    /// What nobody said, so that it could not be checked: a setting or a figure of the kit, and in words.
    pub not_checked: Vec<(&'static str, String)>,
}

/// What is left of an opening's middle once it is cut out of the panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Loose {
    pub opening: String,
    /// Width and height, mm; none where the cutter leaves nothing.
    pub size: Option<(f64, f64)>,
}

/// What was asked for besides the verdict.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Asides {
    pub pair: Option<PairChoice>,
    pub suggestion: Option<Suggestion>,
    pub season: Option<Season>,
    pub shoulder: Option<ShoulderFacts>,
    pub start: Option<StartFacts>,
}

/// A job that starts from something in hand.
#[derive(Clone, Debug, PartialEq)]
pub struct StartFacts {
    pub start: Start,
    /// The pair that runs round a part, or for the inlay, as they are called.
    pub round: Pair,
    /// The gap per side, mm, if the opening that is there served both pieces with the tools asked for.
    pub match_gap: f64,
    /// The gap per side that was wanted, mm.
    pub wanted: f64,
    /// Whom the opening serves that is still to be cut on the machine.
    pub cut: Option<Duty>,
    pub stages: Vec<Stage>,
}

/// What a later step makes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StageKind {
    /// The opening that the sheet keeps where a part is routed round.
    Round,
    /// What drops out under the part.
    Blank,
    /// An opening that the machine has to cut.
    Opening,
    Recess,
    Inlay,
}

impl StageKind {
    /// As it is written for programs.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            StageKind::Round => "round-part",
            StageKind::Blank => "blank",
            StageKind::Opening => "opening",
            StageKind::Recess => "recess",
            StageKind::Inlay => "inlay",
        }
    }
}

/// A later step and the size of what it makes, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    pub outline: usize,
    pub kind: StageKind,
    /// As the tools are called; the machine's own for an opening.
    pub pair: Option<Pair>,
    /// Greatest width and height.
    pub size: (f64, f64),
    /// How far its edge lies outside that of what is in hand, per side; below 0 inside it.
    pub offset: f64,
    /// False for what would be a step if the pairs matched, and is told for its size only.
    pub taken: bool,
}

/// How a shouldered piece is made.
#[derive(Clone, Debug, PartialEq)]
pub struct ShoulderFacts {
    /// Numbers of the outlines.
    pub plug: usize,
    pub shoulder: usize,
    /// The plug's tools and gap; the shoulder's are those of the job.
    pub plug_tools: Tools,
    /// Plug and shoulder have a mirror axis in common.
    pub has_axis: bool,
    pub clearing: Option<Clearing>,
    /// Bushes for clearing: the size that counts, and what each is called by, mm.
    pub clearing_called: Vec<(f64, f64)>,
}

/// How much stands against a set of tools; errors weigh more than any number of lost necks and gaps, and these more than
/// any number of warnings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Count {
    pub errors: usize,
    /// Necks and gaps that the tools do not make, of the errors and warnings.
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

/// Why a matching pair was taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairChoice {
    /// What stands against the job with it: all findings that the report shows.
    pub count: Count,
    /// So many were tried on the drawing, of so many that match.
    pub tried: usize,
    pub all: usize,
    /// The gap that was wanted, mm.
    pub wanted: f64,
}

/// What other tools would do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suggestion {
    /// What stands against the job's own tools.
    pub now: Count,
    /// Tools of the kit with which less does.
    pub of_kit: Trials,
    /// Larger tools than those of the job were tried too.
    pub larger_too: bool,
    /// How much larger the drawing would have to be for nothing to stand against it.
    pub scale: Option<Larger>,
    /// Tools that the kit lacks, with which less does than with any of its own; none where that was not looked for.
    pub buy: Option<Trials>,
    /// What of these the kit lacks.
    pub lacks: Lacks,
}

/// Tools that a kit has not, by their nominal sizes, mm.
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

/// The best of so many sets of tools.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trials {
    /// None where none is better.
    pub best: Option<(Count, Tools)>,
    pub tried: usize,
    pub all: usize,
}

/// A size that was tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Larger {
    pub times: f64,
    /// Of all that is drawn, mm.
    pub width: f64,
}

/// Wood whose moisture changes.
#[derive(Clone, Debug, PartialEq)]
pub struct Season {
    pub species: Species,
    /// Change of the moisture content, per cent.
    pub percent: f64,
}

/// A place in words, measured from `corner`: `35.0 mm from the left, 18.0 mm from the bottom`.
#[must_use]
pub fn in_words(corner: Point, at: Point, show: Show) -> String {
    let part = |v: f64, from: &str, beyond: &str| {
        let off = tenth(v.abs());
        let zero = off.number(show) == tenth(0.0).number(show);
        format!("{} {}", off.shown(show), if v < 0.0 && !zero { beyond } else { from })
    };
    let v = at - corner;
    let across = part(v.x, "from the left", "beyond the left edge");
    format!("{across}, {}", part(v.y, "from the bottom", "below the bottom edge"))
}

impl Facts {
    /// This job and those that follow.
    pub fn jobs(&self) -> impl Iterator<Item = &Facts> {
        [self].into_iter().chain(&self.then)
    }

    /// Whether an error stands, here or in a job that follows: then nothing is written for the machine.
    #[must_use]
    pub fn blocked(&self) -> bool {
        self.jobs().flat_map(|f| &f.findings).any(Finding::blocks)
    }

    /// What it is called: the drawing without its folders, and the part of it.
    #[must_use]
    pub fn name(&self) -> String {
        let title = self.part.as_ref().map_or_else(|| self.path.clone(), |p| format!("{}, {p}", self.path));
        Path::new(&title).file_name().map_or_else(|| title.clone(), |n| n.to_string_lossy().into_owned())
    }

    /// Bounding box of all outlines, drawing frame. Places for people count from its left and bottom. Without outlines:
    /// bounding box of the whole drawing.
    #[must_use]
    pub fn frame(&self) -> Option<Rect> {
        let outlines = self.outlines.iter().filter_map(|o| o.region.bounds()).reduce(|a, b| a.union(b));
        outlines.or(self.drawing.bounds)
    }

    /// Origin of the places for people, drawing frame. Visits every outline: for many places call it once.
    #[must_use]
    pub fn corner(&self) -> Point {
        self.frame().map_or(Point::ORIGIN, |r| Point::new(r.x0, r.y0))
    }

    /// A place of the drawing frame in words.
    #[must_use]
    pub fn place_in_words(&self, at: Point) -> String {
        in_words(self.corner(), at, self.show)
    }

    /// Names of the files that carry `opening`.
    pub fn files_with<'a>(&'a self, opening: &'a Opening) -> impl Iterator<Item = &'a str> {
        let on = (opening.panel, opening.face);
        self.files.iter().filter(move |f| f.cuts.contains(&on)).map(|f| f.name.as_str())
    }

    /// The face that an opening is cut from, and its box there: what the machine's program must show. In one set-up all is cut
    /// from face 1.
    #[must_use]
    pub fn read_back(&self, o: &Opening) -> Option<(u8, Rect)> {
        let panel = self.template.panels.iter().find(|p| p.number == o.panel)?;
        let face = if panel.setup == Setup::One { 1 } else { o.face };
        Some((face, Face { panel, face, openings: Vec::new() }.seen(o).bounds()?))
    }

    /// Width and height of what comes loose when the machine cuts an opening, mm.
    #[must_use]
    pub fn loose(&self, o: &Opening) -> Option<(f64, f64)> {
        at_its_number(&self.bench.loose, &o.id, |l| &l.opening)?.size
    }

    /// Points of the machine that touch the panel's reference edges, in the face frame.
    #[must_use]
    pub fn stops(&self, p: &Panel) -> Vec<Point> {
        let own = self.template.openings.iter().find(|o| o.panel == p.number);
        own.zip(self.template.common).map(|(o, c)| stops(p, o.place * c)).unwrap_or_default()
    }

    /// Waste that no guided bush reaches, in the frame of the opening within which it is cleared by hand: the shoulder's
    /// for the inlay.
    #[must_use]
    pub fn left_under(&self, o: &Opening) -> Option<Region> {
        let s = self.asides.shoulder.as_ref()?;
        let left = &s.clearing.as_ref()?.left;
        let inlay = [Duty::Inlay, Duty::Both].contains(&o.duty) && o.outline == s.shoulder;
        (inlay && left.area() >= crate::template::clearing::NOTHING).then(|| left.under_similarity(o.place))
    }

    /// An outline as it is made, with its number. They stand in the order of their numbers.
    #[must_use]
    pub fn made_of(&self, outline: usize) -> Option<&(usize, Certified<Region>)> {
        let there = self.made.binary_search_by_key(&outline, |m| m.0).ok().and_then(|i| self.made.get(i));
        there.or_else(|| self.made.iter().find(|m| m.0 == outline))
    }

    /// The tools and the gap of an outline.
    #[must_use]
    pub fn tools_for(&self, outline: usize) -> &Tools {
        match &self.asides.shoulder {
            Some(s) if s.plug == outline => &s.plug_tools,
            _ => &self.tools,
        }
    }

    /// What an outline is of a shouldered piece.
    #[must_use]
    pub fn role(&self, outline: usize) -> Option<&'static str> {
        let s = self.asides.shoulder.as_ref()?;
        if s.plug == outline { Some("plug") } else { (s.shoulder == outline).then_some("shoulder") }
    }

    /// Words for an opening on its plan: its duty, its tools, its size, and the size of the piece.
    #[must_use]
    pub fn words(&self, o: &Opening) -> Vec<String> {
        let used = self.tools_for(o.outline);
        let heading = match o.duty {
            Duty::Recess => "for the recess",
            Duty::Inlay => "for the inlay",
            Duty::Both => "for both",
            Duty::Clearing => "for clearing",
        };
        let mut list: Vec<Words> = vec![heading.into()];
        if self.outlines.len() > 1 {
            list[0].push(words!(" of outline {}", o.outline));
        }
        let called = |p: Pair| words!("bush {}, cutter {}", tool(p.bush), tool(p.cutter));
        match o.duty {
            Duty::Recess => list.push(called(used.recess_called)),
            Duty::Inlay => list.push(called(used.inlay_called)),
            Duty::Both => {
                list.push(words!("recess: {}", called(used.recess_called)));
                list.push(words!("inlay: {}", called(used.inlay_called)));
            }
            Duty::Clearing => {
                let runs = self.bench.steps.iter().filter(|s| s.opening == o.id);
                let bushes = Words::join(runs.map(|s| tool(s.pair.bush).into()), ", ");
                list.push(words!("bushes {}", bushes));
                list.push(words!("cutter {}", tool(used.inlay_called.cutter)));
            }
        }
        let size = |b: Rect, less: f64| Words::pair(fixed(b.width() - less), fixed(b.height() - less));
        if let Some(b) = o.region.bounds() {
            list.push(words!("opening {}", size(b, 0.0)));
        }
        let made = self.made_of(o.outline).and_then(|m| m.1.bounds());
        match (o.duty, made) {
            (Duty::Clearing, _) => list.push(words!("clears waste only, {} outside the plug", fixed(o.offset))),
            (Duty::Inlay, Some(b)) => list.push(words!("inlay {}", size(b, 2.0 * used.gap))),
            (Duty::Recess | Duty::Both, Some(b)) => list.push(words!("recess {}", size(b, 0.0))),
            (_, None) => {}
        }
        // A shouldered inlay is cut plug up and turned over into the board, so its openings are mirror images.
        let both = self.template.openings.iter().any(|x| x.duty == Duty::Both);
        let of_inlay = o.duty == Duty::Inlay || o.duty == Duty::Clearing && !both;
        if of_inlay && self.asides.shoulder.is_some() {
            list.push("mirror image: not for the board".into());
        }
        let per_side: Length = gap(used.gap);
        match o.duty {
            Duty::Both => list.push(words!("inlay smaller by the gap of {} per side", per_side)),
            Duty::Inlay => list.push(words!("gap {} per side", per_side)),
            Duty::Recess | Duty::Clearing => {}
        }
        list.iter().map(|w| w.shown(self.show)).collect()
    }
}
