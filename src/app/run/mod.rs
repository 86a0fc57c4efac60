//! From a drawing to proved files. Every job, of every [`Kind`], goes through the same stages.
//!
//! | stage | in → out |
//! | --- | --- |
//! | read | path → [`Drawing`](crate::drawing::Drawing) |
//! | [`outlines`] | drawing → a [`Part`](outlines::Part) for each job of the run |
//! | [`plan`] | part → tools, pieces and findings ([`Planned`](plan::Planned)) |
//! | [`layout`] | planned → panels, openings, steps, and the bytes for the machine ([`Laid`](layout::Laid)) |
//! | [`prove`] | laid out → fits and findings ([`Proved`](prove::Proved)) |
//! | [`report`] | proved → [`Facts`](crate::job::facts::Facts) |
//!
//! Then the files are written. A faulty drawing gives findings. [`AppError`] means that the run gives no answer.

mod choose;
mod equip;
mod layout;
mod outlines;
mod plan;
mod prove;
mod report;
mod riding;
mod scale;
mod tools;
mod work;

use super::{AppError, Job, Outcome, Task, WRITING, files, read};
use crate::budget::Budget;
use crate::proof;
use crate::threads::pooled;

/// The whole pipeline, from the drawing to the files.
///
/// # Errors
/// [`AppError`] for an unreadable drawing, settings that contradict each other or the drawing, a failed proof, and files
/// that cannot be written.
pub fn run(job: &Job, budget: &Budget) -> Result<Outcome, AppError> {
    pooled(|| run_proved_by(proof::prove, job, budget))
}

/// Proves the bytes of the face files: [`proof::prove`], or a substitute in tests.
pub(crate) type Prover =
    fn(&proof::Plan, &[proof::FaceFile], &mut proof::Beside, &Budget) -> Result<Vec<proof::Fit>, proof::ProofError>;

/// [`run`] with another prover.
pub(crate) fn run_proved_by(prover: Prover, job: &Job, budget: &Budget) -> Result<Outcome, AppError> {
    budget.enter("reading the drawing");
    let (drawing, hash) = read::read(&job.drawing, &job.read, budget)?;

    budget.enter("finding its outlines");
    let parts = outlines::parts(drawing, job, budget)?;

    budget.enter("checking every corner");
    let planned: Vec<_> = parts.into_iter().map(|p| plan::planned(p, job, budget)).collect::<Result<_, _>>()?;

    budget.enter("placing the openings");
    let laid = layout::laid_out(planned, budget)?;

    budget.enter("proving what will be written");
    let proved: Vec<_> = laid.into_iter().map(|l| prove::proved(l, prover, budget)).collect::<Result<_, _>>()?;

    budget.check()?;
    let (facts, machine) = report::facts(proved, job);
    budget.enter(WRITING);
    match &job.task {
        Task::Check => files::unwritten(facts),
        Task::Make(out) => files::write(facts, machine, hash, job, out, budget),
    }
}

#[cfg(test)]
mod tests;
