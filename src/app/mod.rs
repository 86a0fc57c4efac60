//! The pipeline from a drawing to files.
//!
//! In: a checked [`Job`]. Out: [`Facts`], and with `make` the files. Only this module and [`crate::write::store`] access
//! files. A faulty drawing gives findings. [`AppError`] means that the run gives no answer.

mod choose;
mod error;
mod files;
mod job;
pub mod kits;
mod place;
pub mod prove;
mod riding;
mod save;
mod scale;
mod shouldered;
mod start;
mod steps;
pub mod testpiece;

pub use error::AppError;
use files::Machine;
pub use files::{is_output, read_text};
use job::shown_by;
pub use job::{Job, Out, Selection, Task};
pub use place::{outside, relative};
pub use save::{Input, may_save, save};
pub use shouldered::PlugAndShoulder;

use crate::budget::Budget;
use crate::check::depth::Cut;
use crate::check::{Finding, depth, making, numbered, panel, reading};
use crate::drawing::found::found;
use crate::drawing::join::join;
use crate::drawing::outline::Outlines;
use crate::drawing::{Drawing, ReadSettings, needles};
use crate::geom::Point;
use crate::kit::Tools;
use crate::proof;
use crate::report::facts::{Asides, Bench, Facts};
use crate::report::listing::Listing;
use crate::template::work::{self, Depths};
use crate::text::Show;
use crate::threads::{both, pooled};
use std::path::Path;

/// The result of a run.
#[derive(Clone, Debug)]
pub struct Outcome {
    pub facts: Facts,
    /// The JSON document, with the bytes of `NAME.json`.
    pub document: Vec<u8>,
    /// Notes for people about files, one per line.
    pub notes: Vec<String>,
}

/// Reads the drawing or its mirror image, joins its lines and lists them. The numbers count all lines, selected or not.
///
/// # Errors
/// [`AppError`] for a drawing that cannot be read.
pub fn look(
    path: &Path,
    read: &ReadSettings,
    mirror: bool,
    show: Option<Show>,
    budget: &Budget,
) -> Result<Listing, AppError> {
    budget.enter("reading the drawing");
    let drawing = files::read(path, read, budget)?.0;
    budget.enter("listing its lines");
    let mut drawing = if mirror { drawing.mirrored() } else { drawing };
    let (shapes, remarks) = join(std::mem::take(&mut drawing.shapes), read.join, budget);
    budget.check()?;
    let needles = needles::cleaned(shapes.clone()).1;
    drawing.shapes = shapes;
    drawing.remarks.extend(remarks.into_iter().chain(needles));
    let found = found(&drawing.shapes);
    let closed = found.iter().any(|f| f.closed > 0);
    let findings = numbered(reading::findings(&drawing, closed), &[]);
    let show = show.unwrap_or_else(|| shown_by(&drawing));
    Ok(Listing { path: path.to_string_lossy().into_owned(), drawing, show, found, findings })
}

/// The stage that writes files. Callers must not interrupt it.
pub const WRITING: &str = "writing the files";

/// The whole pipeline: read, join, plan, check, build, prove, write, report.
///
/// # Errors
/// [`AppError`] for an unreadable drawing, settings that contradict each other or the drawing, a failed proof, and files
/// that cannot be written.
pub fn run(job: &Job, budget: &Budget) -> Result<Outcome, AppError> {
    pooled(|| run_proved_by(proof::prove, job, budget))
}

/// Proves the bytes of the face files: [`proof::prove`], or a substitute in tests.
pub(crate) type Prover = fn(&proof::Plan, &[proof::FaceFile], &Budget) -> Result<Vec<proof::Fit>, proof::ProofError>;

/// [`run`] with another prover.
pub(crate) fn run_proved_by(prover: Prover, job: &Job, budget: &Budget) -> Result<Outcome, AppError> {
    budget.enter("reading the drawing");
    let (drawing, hash) = files::read(&job.drawing, &job.read, budget)?;
    if let Some(order) = &job.shouldered {
        budget.enter("working out the piece");
        let (facts, machine) = shouldered::worked_out(drawing, order, job, budget)?;
        return answered(facts, machine, hash, job, budget);
    }
    if let Some(start) = job.start {
        let (facts, machine) = start::worked_out(drawing, start, job, budget)?;
        return answered(facts, vec![machine], hash, job, budget);
    }
    budget.enter("finding its outlines");
    let (drawing, mut outlines) = steps::join(drawing, job, budget)?;
    let islands = std::mem::take(&mut outlines.islands);
    let second = (!islands.is_empty()).then(|| Drawing { remarks: Vec::new(), ..drawing.clone() });
    let (mut facts, machine) = worked_out(drawing, outlines, None, None, job, prover, budget)?;
    let mut machine = vec![machine];
    if let Some(drawing) = second {
        let islands = Outlines { outlines: islands, ..Outlines::default() };
        let (mut then, files) =
            worked_out(drawing, islands, Some("island-1"), facts.template.centre_mark, job, prover, budget)?;
        machine.push(files);
        // Findings about the drawing itself appear once, in the first job.
        let said =
            |f: &Finding| facts.findings.iter().any(|g| (g.code, &g.message, g.at) == (f.code, &f.message, f.at));
        then.findings.retain(|f| !said(f));
        facts.then.push(then);
    }
    answered(facts, machine, hash, job, budget)
}

/// The outcome that follows from the facts. `make` also writes the files. `hash` is the SHA-256 of the drawing.
fn answered(
    mut facts: Facts,
    machine: Vec<Vec<Machine>>,
    hash: String,
    job: &Job,
    budget: &Budget,
) -> Result<Outcome, AppError> {
    budget.check()?;
    // The note on the chosen tools gives the number of all findings of the report.
    let count = choose::count(facts.jobs().flat_map(|f| &f.findings));
    if let Some(pair) = &mut facts.asides.pair {
        pair.count = count;
    }
    budget.enter(WRITING);
    match &job.task {
        Task::Check => files::unwritten(facts),
        Task::Make(out) => files::write(facts, machine, hash, job, out, budget),
    }
}

/// Facts and machine files of one job. `part` names a job that follows another, and `centre_mark` is that of the job
/// before it.
fn worked_out(
    drawing: Drawing,
    outlines: Outlines,
    part: Option<&str>,
    centre_mark: Option<Point>,
    job: &Job,
    prover: Prover,
    budget: &Budget,
) -> Result<(Facts, Vec<Machine>), AppError> {
    let cuts = |tools: &Tools| cuts(tools, &job.depths).to_vec();
    let chosen = if job.auto_pair { Some(choose::pair(job, &outlines.outlines, &cuts, budget)?) } else { None };
    let (job, pair) = chosen.as_ref().map_or((job, None), |(job, why)| (job, Some(*why)));
    budget.enter("checking every corner");
    let (pieces, mut findings) = steps::plan(&outlines.outlines, job, budget)?;
    findings.extend(steps::check(&drawing, &outlines, (&pieces, &steps::BOTH), &findings, job, budget)?);
    findings.extend(choose::of_tools(job, &job.tools, &cuts(&job.tools)));
    let findings = numbered(findings, &job.accept);

    budget.enter("placing the openings");
    let template = steps::build(&pieces, &findings, centre_mark, job, budget)?;
    let machine = files::machine(&template, part, job)?;
    budget.enter("proving what will be written");
    // These steps are independent and run in parallel; their findings keep a fixed order.
    let order = work::flush(&template.openings, &job.tools, &job.depths);
    let ((tried, fits), riding) = both(
        || {
            both(
                || {
                    let mut found = findings.clone();
                    scale::tried(&mut found, &outlines.outlines, &drawing, job, budget).map(|()| found)
                },
                || steps::prove(&pieces, &template, &machine, None, job, prover, budget),
            )
        },
        || riding::look(&template, &order, &|_| None, job, budget),
    );
    let mut findings = tried?;
    findings.extend(panel::panels(&template, &job.panel));
    let riding = riding?;
    findings.extend(riding.findings);
    let fits = fits?;
    let of_fit = making::fits(&fits, job.corners, job.tools.measured, job.tools.gap, &findings);
    findings.extend(of_fit);
    findings.extend(steps::account(&pieces, &fits, &findings, job));
    let findings = numbered(findings, &job.accept);

    let suggestion =
        if job.suggest { choose::suggestion(job, &outlines.outlines, &drawing, &cuts, budget)? } else { None };

    let facts = Facts {
        path: job.drawing.to_string_lossy().into_owned(),
        assumed: job.assumed.clone(),
        show: job.shown(&drawing),
        part: part.map(str::to_owned),
        drawing,
        mirrored: job.mirror,
        outlines: outlines.outlines,
        cut: pieces.iter().map(|p| p.cut.clone()).collect(),
        made: pieces.into_iter().map(|p| (p.outline, p.made)).collect(),
        tools: job.tools,
        corners: job.corners,
        figures: job.figures,
        template,
        bench: Bench {
            steps: order,
            margins: riding.margins,
            base: job.panel.base,
            router: job.router,
            loose: riding.loose,
            not_checked: depth::unknown(&job.kit, &[&job.tools], &job.depths, job.router, None),
        },
        keep_clear: riding.swept,
        fits,
        findings,
        files: Vec::new(),
        flatten: job.flatten,
        writing: None,
        origin: None,
        then: Vec::new(),
        asides: Asides { pair, suggestion, season: job.season.clone(), ..Asides::default() },
    };
    Ok((facts, machine))
}

/// The cuts of a flush job: an inlay without a shoulder.
fn cuts(t: &Tools, d: &Depths) -> [Cut; 2] {
    [
        Cut { called: t.recess_called, depth: d.recess, through: d.through() },
        Cut { called: t.inlay_called, depth: d.stock, through: true },
    ]
}

#[cfg(test)]
mod tests;
