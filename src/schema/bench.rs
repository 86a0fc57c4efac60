//! The work at the bench: the router, the steps, and the effect of set-up errors.

use crate::kit::FigureSource;
use crate::names::names;
use crate::panel::steps::{PanelCorner, Purpose, Work};
use serde::{Deserialize, Serialize};

names!(serde FigureSource, "unknown origin of a figure"; Given, Kit, Assumed);

/// The router on the template.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Router {
    pub base_mm: f64,
    pub base_from: FigureSource,
    pub template_thickness_mm: f64,
    pub template_thickness_from: FigureSource,
    pub template_cutter_mm: f64,
    pub template_cutter_from: FigureSource,
    /// The projection given for all bushes of the job; null if not given.
    pub bush_projection_mm: Option<f64>,
    pub bush_projection_most_mm: f64,
    pub pass_depth_mm: Option<f64>,
    pub into_spoil_mm: f64,
    /// Settings and keys of the kit without a value. Checks that need them were left out.
    pub not_checked: Vec<String>,
}

/// One placement of the template on a piece and one run of the router.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Step {
    pub piece: Work,
    pub panel: u32,
    pub face_up: u8,
    pub edges: Marks,
    pub opening: String,
    pub purpose: Purpose,
    pub bush_mm: f64,
    pub cutter_mm: f64,
    pub depth_mm: Option<f64>,
    /// The cut goes right through the wood and `router.into_spoil_mm` into the spoil board.
    pub through: bool,
    pub passes: Option<u32>,
    /// Depth of each pass.
    pub pass_mm: Option<f64>,
    /// How far the cutter extends below the base in the last pass.
    pub cutter_below_base_mm: Option<f64>,
    /// Direction of travel along the opening's edge, seen from above.
    pub feed: Feed,
    /// The middle is cleared too, so the bush goes everywhere in its opening.
    pub middle_cleared: bool,
    /// Least depth of the bush's centre inside the convex hull of the panel under the base. Null if it could not be
    /// calculated, or if no part of the panel is under the base.
    pub tipping_margin_mm: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feed {
    Clockwise,
}

names!(Feed, "it has a step with an unknown feed"; Clockwise = "clockwise");

/// The two edges that are set to the marks: left or right, then bottom or top.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(into = "[String; 2]", try_from = "[String; 2]")]
pub struct Marks(pub PanelCorner);

impl From<Marks> for [String; 2] {
    fn from(marks: Marks) -> [String; 2] {
        marks.0.names().map(str::to_owned)
    }
}

impl TryFrom<[String; 2]> for Marks {
    type Error = String;

    fn try_from(edges: [String; 2]) -> Result<Marks, String> {
        let corner = |(right, top)| PanelCorner { right, top };
        let mut all = [(false, false), (true, false), (false, true), (true, true)].map(corner).into_iter();
        let named = all.find(|c| c.names() == edges).map(Marks);
        named.ok_or_else(|| format!("it has a step with unknown edges, {}", edges.join(" and ")))
    }
}

/// The effect of set-up errors on the fit.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Registration {
    /// Greatest shift between plug and shoulder that the gaps allow; null for flush pieces.
    pub shift_allowed_mm: Option<f64>,
    /// Number of settings of the template on each piece.
    pub settings: usize,
    pub sources: Vec<SetUpError>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct SetUpError {
    /// `datum`, `width`, `squareness` or `setting`.
    pub source: String,
    pub error_mm: f64,
    /// How much higher the side stop lies on the work than on the machine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stops_apart_mm: Option<f64>,
    /// How far the recess moves on the board.
    pub place_mm: f64,
    /// How far plug and shoulder shift against each other; 0 for flush pieces.
    pub fit_mm: f64,
}
