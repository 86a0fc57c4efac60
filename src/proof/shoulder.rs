//! Routes a shouldered piece on paper just as the steps say, turns the insert over, and fits it into the board.
//!
//! In: panels, openings and steps, mm. Out: for plug and shoulder the gap as put together. The board and the insert are
//! routed each in the frame of its own marks, with the faces and edges that the steps name and nothing else known of the
//! plan. The insert is then turned over, left over right, and laid in so that the middles of the boxes of shoulder and
//! rebate meet, as it is or turned by half: whichever fits better. So a wrong face or edge shows as a misfit. The sums are
//! those of the router (see [`super`]); distances are measured from points [`super::STEP`] mm apart or closer. Refuses a
//! step without its panel or opening, a missing step, and an opening in which nothing can be cut.

use super::{Edged, Fit, Measured, insert_cut, joint, recess_cut};
use crate::budget::Budget;
use crate::geom::{Affine, Certified, GeomError, Region};
use crate::template::hand::{Purpose, Step, Work, on_work};
use crate::template::{Opening, Panel};

/// No proof.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ShoulderProofError {
    #[error("the steps lack the line of outline {outline} on the {piece}")]
    Missing { outline: usize, piece: &'static str },
    #[error("a step names {0}, which there is not")]
    NoSuch(String),
    #[error("nothing can be cut through {0}")]
    NothingCut(String),
    #[error(transparent)]
    Geom(#[from] GeomError),
}

/// What one step leaves or takes, in the frame of the marks.
struct Cut {
    region: Certified<Region>,
    /// Takes the drawing there.
    place: Affine,
}

/// Puts board and insert together: first the plug's fit, then the shoulder's. `plug` and `shoulder`: number and region as
/// drawn.
///
/// # Errors
/// [`ShoulderProofError`].
pub fn prove(
    plug: (usize, &Region),
    shoulder: (usize, &Region),
    steps: &[Step],
    panels: &[Panel],
    openings: &[Opening],
    budget: &Budget,
) -> Result<[Fit; 2], ShoulderProofError> {
    let cut = |work, outline| cut(work, outline, steps, panels, openings, budget);
    let board = [cut(Work::Board, plug.0)?, cut(Work::Board, shoulder.0)?];
    let insert = [cut(Work::Insert, plug.0)?, cut(Work::Insert, shoulder.0)?];
    let over = Affine::new([-1.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
    let mut best: Option<[Fit; 2]> = None;
    for half in [Affine::IDENTITY, Affine::new([-1.0, 0.0, 0.0, -1.0, 0.0, 0.0])] {
        let turned = insert.each_ref().map(|c| c.region.moved(half * over));
        let (Some(to), Some(from)) = (board[1].region.bounds(), turned[1].bounds()) else { continue };
        let lay = Affine::translate(to.center() - from.center());
        let laid = turned.map(|r| r.moved(lay));
        let one = |i: usize, outline: (usize, &Region)| fit(outline, &board[i], &laid[i], budget);
        let fits = [one(0, plug)?, one(1, shoulder)?];
        if best.as_ref().is_none_or(|b| worst(&fits) > worst(b)) {
            best = Some(fits);
        }
    }
    best.ok_or_else(|| ShoulderProofError::NothingCut(format!("the openings of outline {}", shoulder.0)))
}

fn worst(fits: &[Fit; 2]) -> f64 {
    fits[0].gap_min.mm.min(fits[1].gap_min.mm)
}

fn cut(
    work: Work,
    outline: usize,
    steps: &[Step],
    panels: &[Panel],
    openings: &[Opening],
    budget: &Budget,
) -> Result<Cut, ShoulderProofError> {
    let piece = if work == Work::Board { "board" } else { "insert" };
    let line = |s: &&Step| s.work == work && s.outline == outline && s.purpose == Purpose::Line;
    let step = steps.iter().find(line).ok_or(ShoulderProofError::Missing { outline, piece })?;
    let none = |what: String| ShoulderProofError::NoSuch(what);
    let panel = panels.iter().find(|p| p.number == step.panel).ok_or_else(|| none(format!("panel {}", step.panel)))?;
    let opening = openings.iter().find(|o| o.id == step.opening && o.panel == step.panel);
    let opening = opening.ok_or_else(|| none(format!("{} on panel {}", step.opening, step.panel)))?;
    let place = on_work(panel, opening, step.face_up, step.corner);
    let on = opening.region.moved(place);
    let region = match work {
        Work::Board => recess_cut(&on, step.pair, budget)?,
        Work::Insert => insert_cut(&on, step.pair, budget)?,
    };
    if region.is_empty() {
        return Err(ShoulderProofError::NothingCut(step.opening.clone()));
    }
    Ok(Cut { region, place })
}

/// Measured in the drawing frame; sizes along the edges of the board's panel.
fn fit(
    (outline, drawn): (usize, &Region),
    board: &Cut,
    laid: &Region,
    budget: &Budget,
) -> Result<Fit, ShoulderProofError> {
    let back = board.place.inverse();
    let (recess, insert) = (board.region.under_similarity(back), laid.under_similarity(back));
    let (recess, insert) = (Edged::new(&recess), Edged::new(&insert));
    let (tight, wide) = (insert.signed(&recess, budget)?, recess.away(&insert, budget)?);
    let by = |a: &&Measured, b: &&Measured| a.mm.total_cmp(&b.mm);
    let nothing = || ShoulderProofError::NothingCut(format!("the openings of outline {outline}"));
    let gap_min = *tight.iter().min_by(by).ok_or_else(nothing)?;
    let gap_max = *wide.iter().max_by(by).ok_or_else(nothing)?;
    let drawn = Edged::new(drawn);
    let off = |piece: &Edged| Ok::<f64, GeomError>(piece.apart(&drawn, budget)?.map_or(0.0, |m| m.mm));
    Ok(Fit {
        outline,
        recess_size: size(&board.region),
        insert_size: size(laid),
        recess_area: board.region.area(),
        insert_area: laid.area(),
        gap_min,
        gap_max,
        recess_off: off(&recess)?,
        insert_off: off(&insert)?,
        // Not held against the outline as made here.
        recess_off_made: f64::NAN,
        insert_off_made: f64::NAN,
        binds: Some(gap_min).filter(|m| m.mm < 0.0).into_iter().collect(),
        gapes: vec![gap_max],
        joint: joint::joint(&recess, &insert, &tight, &wide),
    })
}

fn size(r: &Region) -> (f64, f64) {
    r.bounds().map_or((0.0, 0.0), |b| (b.width(), b.height()))
}
