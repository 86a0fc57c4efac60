//! The facts of a run: the source of both the JSON document and the words for people.

use super::asides::Asides;
use crate::check::Finding;
use crate::drawing::Drawing;
use crate::drawing::outline::Outline;
use crate::geom::{Point, Rect, Region};
use crate::kit::{Figures, Router, Tools};
use crate::panel::registration::stops;
use crate::panel::shoulder::Role;
use crate::panel::steps::Step;
use crate::panel::template::{Template, at_its_number};
use crate::panel::tipping::Margin;
use crate::panel::{Face, Opening, Panel, Setup};
use crate::proof::Fit;
use crate::schema::Release;
use crate::template::Duty;
use crate::template::Piece;
use crate::template::ease::Corners;
use crate::text::{Show, Words, tenth};
use crate::units::FileUnit;
use std::path::Path;

/// A file that the run writes, or would write without `--dry-run`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileFact {
    pub name: String,
    pub bytes: usize,
    /// SHA-256, lower-case hexadecimal.
    pub sha256: String,
    /// Panel and face of the openings that the file carries to the machine.
    pub cuts: Vec<(u32, u8)>,
}

/// The format of the files for the machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Writing {
    pub unit: FileUnit,
    pub dxf: Release,
}

/// The drawing that the files were made from. Path and hash distinguish it from others of the same name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Origin {
    /// Path of the drawing relative to the folder of the files.
    pub from_folder: String,
    /// SHA-256 of the drawing's bytes, lower-case hexadecimal.
    pub sha256: String,
}

/// All that is known about a job after its run.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// Path of the drawing as given.
    pub path: String,
    /// Name of a job that follows another, such as `island-1`; `None` for the first job.
    pub part: Option<String>,
    /// The unit of figures for people.
    pub show: Show,
    pub drawing: Drawing,
    /// The pieces are the mirror image of the drawing. All places refer to the mirror image.
    pub mirrored: bool,
    pub outlines: Vec<Outline>,
    /// What is made of each outline, in the order of their numbers. Outlines that come to nothing are left out.
    pub pieces: Vec<Piece>,
    pub tools: Tools,
    /// Options of the tools whose values are assumed: of `bush`, `cutter`, `gap`.
    pub assumed: Vec<&'static str>,
    pub corners: Corners,
    /// Figures of router and template, each with its origin.
    pub figures: Figures,
    pub template: Template,
    pub bench: Bench,
    /// The area swept by the router's base on each panel and face, in that face's frame.
    pub keep_clear: Vec<((u32, u8), Region)>,
    pub fits: Vec<Fit>,
    /// In a fixed order, numbered by their marks.
    pub findings: Vec<Finding>,
    pub files: Vec<FileFact>,
    /// Arcs of the openings are replaced by chords within this tolerance, mm; `None` keeps arcs.
    pub flatten: Option<f64>,
    /// `None` if the run writes no files.
    pub writing: Option<Writing>,
    /// `None` if the run writes no files, and in jobs that follow.
    pub origin: Option<Origin>,
    /// Jobs that follow, in order: further shouldered pieces, or the islands' own wood, let back into the inlay.
    pub then: Vec<Facts>,
    pub asides: Asides,
}

/// The work with the template.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bench {
    /// In order; empty while an error stops the job.
    pub steps: Vec<Step>,
    /// The least tipping margin of each step; `None` if the bush does not fit the opening. Empty if not calculated.
    pub margins: Vec<Option<Margin>>,
    /// Radius of the router's base, mm.
    pub base: f64,
    pub router: Router,
    /// What comes loose when the machine cuts each opening.
    pub loose: Vec<Loose>,
    /// What could not be checked because its value was not given: the setting or key of the kit, and its name in
    /// words.
    pub not_checked: Vec<(&'static str, Words)>,
}

/// The centre of an opening after the machine has cut it out of the panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Loose {
    pub opening: String,
    /// Width and height, mm; `None` if the cutter leaves nothing.
    pub size: Option<(f64, f64)>,
}

/// A place in words: distances from the left and the bottom, counted from `corner`, the origin of places for people.
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

    /// Whether an error stops this job or a job that follows. Then no file for the machine is written.
    #[must_use]
    pub fn blocked(&self) -> bool {
        self.jobs().flat_map(|f| &f.findings).any(Finding::blocks)
    }

    /// The name of the job: the file name of the drawing, and the part.
    #[must_use]
    pub fn name(&self) -> String {
        let title = self.part.as_ref().map_or_else(|| self.path.clone(), |p| format!("{}, {p}", self.path));
        Path::new(&title).file_name().map_or_else(|| title.clone(), |n| n.to_string_lossy().into_owned())
    }

    /// Bounding box of all outlines, in the drawing frame. Places for people count from its left and bottom. Without
    /// outlines: the bounding box of everything drawn.
    #[must_use]
    pub fn frame(&self) -> Option<Rect> {
        let outlines = self.outlines.iter().filter_map(|o| o.region.bounds()).reduce(|a, b| a.union(b));
        outlines.or(self.drawing.bounds)
    }

    /// The origin of places for people, in the drawing frame. Each call visits every outline, so call it once for
    /// many places.
    #[must_use]
    pub fn corner(&self) -> Point {
        self.frame().map_or(Point::ORIGIN, |r| Point::new(r.x0, r.y0))
    }

    /// A place in words, counted from [`Facts::corner`].
    #[must_use]
    pub fn place_in_words(&self, at: Point) -> String {
        in_words(self.corner(), at, self.show)
    }

    /// Names of the files that carry `opening`.
    pub fn files_with<'a>(&'a self, opening: &'a Opening) -> impl Iterator<Item = &'a str> {
        let on = (opening.panel, opening.face);
        self.files.iter().filter(move |f| f.cuts.contains(&on)).map(|f| f.name.as_str())
    }

    /// The face from which an opening is cut, and its bounding box there, which the CAM program must show. In one
    /// set-up everything is cut from face 1.
    #[must_use]
    pub fn read_back(&self, o: &Opening) -> Option<(u8, Rect)> {
        let panel = self.template.panels.iter().find(|p| p.number == o.panel)?;
        let face = if panel.setup == Setup::One { 1 } else { o.face };
        Some((face, Face { panel, face, openings: Vec::new() }.seen(o).bounds()?))
    }

    /// Width and height of what comes loose when the machine cuts an opening, mm; `None` if nothing does.
    #[must_use]
    pub fn loose(&self, o: &Opening) -> Option<(f64, f64)> {
        at_its_number(&self.bench.loose, &o.id, |l| &l.opening)?.size
    }

    /// Points of the machine that touch the panel's reference edges, in the face frame.
    #[must_use]
    pub fn stops(&self, p: &Panel) -> Vec<Point> {
        let own = self.template.openings.iter().find(|o| o.panel == p.number);
        own.zip(self.template.centre_mark).map(|(o, c)| stops(p, o.place * c)).unwrap_or_default()
    }

    /// Waste that no guided bush reaches, in the frame of the opening's face. It is cleared by hand inside the
    /// inlay's opening for the shoulder. For every other opening: `None`.
    #[must_use]
    pub fn left_under(&self, o: &Opening) -> Option<Region> {
        let s = self.asides.shoulder.as_ref()?;
        let left = &s.clearing.as_ref()?.left;
        let inlay = [Duty::Inlay, Duty::Both].contains(&o.duty) && o.outline == s.shoulder;
        (inlay && left.area() >= crate::tolerance::NOTHING_LEFT).then(|| left.under_similarity(o.place))
    }

    /// What is made of an outline.
    #[must_use]
    pub fn piece(&self, outline: usize) -> Option<&Piece> {
        self.pieces.binary_search_by_key(&outline, |p| p.outline).ok().and_then(|i| self.pieces.get(i))
    }

    /// The tools and the gap of an outline.
    #[must_use]
    pub fn tools_for(&self, outline: usize) -> &Tools {
        match &self.asides.shoulder {
            Some(s) if s.plug == outline => &s.plug_tools,
            _ => &self.tools,
        }
    }

    /// The role of an outline in a shouldered piece.
    #[must_use]
    pub fn role(&self, outline: usize) -> Option<Role> {
        let s = self.asides.shoulder.as_ref()?;
        if s.plug == outline { Some(Role::Plug) } else { (s.shoulder == outline).then_some(Role::Shoulder) }
    }
}
