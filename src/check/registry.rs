//! The checks that stand alone, by the stage of the run at which they look.
//!
//! A check is a function from what a stage knows to findings. It never ends the run. Checks whose results a later stage
//! needs are called in `app::run`: the differences from the drawing, the cutter's path, gaps that close, and the account.
//! To add a check, write it in a file of its own and add its line here.

use super::{
    Finding, Subject, base_tips, bush_bore, bush_depth, clamp_room, cutter_reach, fit, free_hand, hand, ledge,
    outlines, panel, pass_depth, reading, sharp_point, template_corner,
};
use crate::budget::Budget;
use crate::check::cutter_reach::Cut;
use crate::drawing::Drawing;
use crate::drawing::outline::Outlines;
use crate::geom::{Certified, GeomError, Region};
use crate::kit::{Kit, Router, Tools};
use crate::panel::Opening;
use crate::panel::centres::Centres;
use crate::panel::ground::Grounds;
use crate::panel::layout::PanelSettings;
use crate::panel::shoulder::Shouldered;
use crate::panel::steps::{Depths, Step};
use crate::panel::template::Template;
use crate::panel::tipping::Margin;
use crate::proof::Fit;
use crate::template::Duty;
use crate::template::Piece;
use crate::template::clearing::Clearing;
use crate::template::ease::Corners;

/// The findings of a check that works out regions, or the place that could not be certified.
pub type Surveyed = Result<Vec<Finding>, GeomError>;

/// The findings of a list of checks.
#[must_use]
pub fn all<T>(checks: &[fn(&T) -> Vec<Finding>], seen: &T) -> Vec<Finding> {
    checks.iter().flat_map(|check| check(seen)).collect()
}

/// The findings of a list of checks that work out regions.
///
/// # Errors
/// Of the first check that fails.
pub fn surveyed<T>(checks: &[fn(&T, &Budget) -> Surveyed], seen: &T, budget: &Budget) -> Surveyed {
    let found = checks.iter().map(|check| check(seen, budget)).collect::<Result<Vec<_>, _>>()?;
    Ok(found.concat())
}

/// The drawing as read.
pub struct DrawingSeen<'a> {
    pub drawing: &'a Drawing,
    pub outlines: &'a Outlines,
    /// Diameter of the recess's cutter, mm.
    pub cutter: f64,
}

/// Walked for each group of outlines.
pub const OF_DRAWING: &[fn(&DrawingSeen<'_>) -> Vec<Finding>] =
    &[|r| reading::findings(r.drawing, !r.outlines.outlines.is_empty()), |r| outlines::findings(r.outlines, r.cutter)];

/// The tools of a part, and their work. Independent of the drawing.
pub struct ToolsSeen<'a> {
    pub kit: &'a Kit,
    /// The tools of each group of outlines.
    pub tools: &'a [Tools],
    /// The same, but with the recess pair alone where the other pair does not run on the template.
    pub over_template: &'a [Tools],
    pub cuts: &'a [Cut],
    pub router: Router,
}

/// Walked for each part, and for each trial of other tools.
pub const OF_TOOLS: &[fn(&ToolsSeen<'_>) -> Vec<Finding>] = &[
    |e| e.tools.iter().flat_map(|t| bush_bore::bores(e.kit, t)).collect(),
    |e| e.over_template.iter().flat_map(|t| bush_depth::bushes(e.kit, t, e.router)).collect(),
    |e| cutter_reach::reaches(e.kit, e.cuts, e.router),
    |e| pass_depth::pass(e.tools, e.router).into_iter().collect(),
];

/// One outline as made, with its openings. Its differences from the drawing have findings of their own.
pub struct PieceSeen<'a> {
    pub subject: Subject<'a>,
    pub piece: &'a Piece,
    /// Diameter of the template's cutter, mm.
    pub template_cutter: f64,
}

/// Walked for each outline, and for each trial of other tools or sizes.
pub const OF_PIECES: &[fn(&PieceSeen<'_>, &Budget) -> Surveyed] = &[
    |m, budget| fit::horns(&m.subject, &m.piece.made, budget),
    |m, budget| {
        let served = [Duty::Recess, Duty::Inlay];
        template_corner::template_corners(m.piece, &served, m.template_cutter, m.subject.tools, budget)
    },
    |m, budget| {
        // With an easing margin of SHARP or more an opening has no sharp points.
        if matches!(m.subject.corners, Corners::Ease { outside, .. } if outside >= sharp_point::SHARP) {
            return Ok(Vec::new());
        }
        let (p, t) = (m.piece, m.subject.tools);
        let openings = [(&p.recess, "recess", t.recess_offset()), (&p.inlay, "inlay", t.inlay_offset())];
        sharp_point::sharp_points(p.outline, &p.drawn, openings, budget)
    },
];

/// A plug with its shoulder, before it has panels.
pub struct ShoulderOrdered<'a> {
    /// `None` if one of them cannot be made.
    pub both: Option<Shouldered<'a>>,
    pub depths: &'a Depths,
    /// Number of the plug's outline.
    pub plug: usize,
    pub plug_tools: &'a Tools,
    /// The requested gap of the plug, mm.
    pub plug_gap: f64,
}

/// Walked for each plug with its shoulder.
pub const OF_SHOULDERS: &[fn(&ShoulderOrdered<'_>) -> Vec<Finding>] = &[
    |o| o.both.and_then(ledge::ledge).into_iter().collect(),
    |o| ledge::thin(o.depths, o.plug),
    |o| fit::plug_gap(o.plug, o.plug_tools, o.plug_gap).into_iter().collect(),
];

/// The panels of a part.
pub struct PanelsSeen<'a> {
    pub template: &'a Template,
    pub settings: &'a PanelSettings,
    pub steps: &'a [Step],
    pub shoulder: Option<ShoulderSeen<'a>>,
}

/// What a plug with its shoulder adds to its panels.
pub struct ShoulderSeen<'a> {
    pub both: Shouldered<'a>,
    pub clearing: &'a Clearing,
    /// Plug and shoulder have a mirror axis in common.
    pub has_axis: bool,
}

/// Walked for each part, blocked or not.
pub const OF_PANELS: &[fn(&PanelsSeen<'_>) -> Vec<Finding>] = &[
    |l| panel::panels(l.template, l.settings),
    |l| l.shoulder.as_ref().and_then(|s| hand::hand(s.has_axis, l.steps, s.both)).into_iter().collect(),
    |l| l.shoulder.as_ref().and_then(|s| free_hand::free_hand(s.clearing, s.both)).into_iter().collect(),
];

/// The router on the panels.
pub struct RouterSeen<'a> {
    pub template: &'a Template,
    pub settings: &'a PanelSettings,
    pub steps: &'a [Step],
    /// The least tipping margin of each step; empty if not calculated.
    pub margins: &'a [Option<Margin>],
    pub centres: &'a Centres,
    pub grounds: &'a Grounds<'a>,
    /// The area that the base sweeps on each panel and face; empty if not calculated.
    pub swept: &'a [((u32, u8), Region)],
    /// The wood that a loose centre can be stuck onto, in the drawing frame; `None`: everywhere.
    pub wood_under_centre: &'a (dyn Fn(&Opening) -> Option<Certified<Region>> + Sync),
}

/// Walked for each part.
pub const OF_ROUTER: &[fn(&RouterSeen<'_>, &Budget) -> Surveyed] = &[
    |r, _| Ok(clamp_room::clamp_room(r.template, r.swept, r.settings).into_iter().collect()),
    |r, budget| {
        base_tips::tips(r.template, (r.steps, r.centres, r.grounds), r.margins, r.settings, r.wood_under_centre, budget)
    },
];

/// The result of the proof.
pub struct FitsSeen<'a> {
    pub fits: &'a [Fit],
    pub corners: Corners,
    /// All tools are measured.
    pub measured: bool,
    /// The gap of the job; of a shouldered job that of the shoulder, mm per side.
    pub gap: f64,
    /// A plug, by the number of its outline, and its gap.
    pub plug: Option<(usize, f64)>,
    /// Earlier findings, to which a misfit may belong.
    pub before: &'a [Finding],
}

/// Walked for each part, and by `letin prove`.
pub const OF_FITS: &[fn(&FitsSeen<'_>) -> Vec<Finding>] = &[|f| match f.plug {
    None => fit::flush(f.fits, f.corners, f.measured, f.gap, f.before),
    Some(plug) => fit::shouldered(f.fits, f.corners, f.measured, f.before, plug, f.gap),
}];
