//! Makes and writes the files of a run.

use super::place::{name, renamed, seen_from, target};
use super::{AppError, Job, Outcome, Task};
use crate::budget::Budget;
use crate::job::Out;
use crate::job::facts::{Facts, FileFact, Origin, Writing};
use crate::panel::template::Template;
use crate::panel::{Face, Opening, Panel, Setup};
use crate::report::plan::Plan;
use crate::report::{gap, json, marks, plan};
use crate::text::{self, NotFinite};
use crate::threads::each;
use crate::write;
use crate::write::dxf::Release;
use crate::write::store::{CommitOptions, Outputs};
use crate::write::{FileUnit, WriteError};
use std::path::PathBuf;

/// The outcome of `check`, without files.
pub(super) fn unwritten(facts: Facts) -> Result<Outcome, AppError> {
    let document = json::document(&facts)?;
    Ok(Outcome { facts, document, notes: Vec::new() })
}

/// Writes the files. If an error blocks the job, only the marks, the gap and the document are written. Removes files of
/// an earlier run that this run does not make.
pub(super) fn write(
    facts: Facts,
    machine: Vec<Vec<Machine>>,
    hash: String,
    job: &Job,
    out: &Out,
    budget: &Budget,
) -> Result<Outcome, AppError> {
    let (folder, name) = target(&job.drawing, out);
    let origin = Origin { from_folder: seen_from(&folder, &job.drawing), sha256: hash };
    let note = renamed(&job.drawing, &name);
    let manifest = format!("{name}.json");
    let mut outputs = Outputs::new(folder.clone(), manifest.clone());
    let mut cuts = Vec::new();
    let blocked = facts.blocked();
    let mut counts = Vec::new();
    let mut jobs = vec![Facts { origin: Some(origin), ..facts }];
    let then = std::mem::take(&mut jobs[0].then);
    jobs.extend(then);
    for (job, machine) in jobs.iter_mut().zip(machine) {
        job.writing = Some(Writing { unit: out.unit, dxf: out.release });
        let name = job.part.as_ref().map_or_else(|| name.clone(), |part| format!("{name}-{part}"));
        let before = cuts.len();
        let job: &Facts = job;
        let mut files = if blocked { Vec::new() } else { faces(job, &name, machine) };
        files.push(ToWrite::drawn(format!("{name}-marks.svg"), || Ok(Some(marks::svg(job)?))));
        // Drawn for a blocked job too: the error may be the fit.
        files.push(ToWrite::drawn(format!("{name}-gap.svg"), || gap::svg(job)));
        for file in each(files, ToWrite::made) {
            let (name, bytes, carries) = file?;
            if let Some(bytes) = bytes {
                outputs.add(name, bytes);
                cuts.push(carries);
            }
        }
        counts.push(cuts.len() - before);
    }
    let mut listed = outputs.listed().into_iter().zip(cuts);
    for (job, count) in jobs.iter_mut().zip(counts) {
        let own = listed.by_ref().take(count);
        job.files = own.map(|(w, cuts)| FileFact { name: w.name, bytes: w.bytes, sha256: w.sha256, cuts }).collect();
    }
    let then = jobs.split_off(1);
    let mut facts = jobs.remove(0);
    facts.then = then;
    let document = json::document(&facts)?;
    let shown = text::terminal(&folder.to_string_lossy());
    if out.dry_run {
        let sizes = facts.jobs().flat_map(|f| &f.files).map(|f| format!("  {} ({} bytes)", f.name, f.bytes));
        let last = format!("  {manifest} ({} bytes)", document.len());
        let first = note.into_iter().chain([format!("would write into {shown}:")]);
        let notes = first.chain(sizes).chain([last]).collect();
        return Ok(Outcome { facts, document, notes });
    }
    let input: Vec<PathBuf> = [&job.drawing].into_iter().chain(&job.also_read).cloned().collect();
    let options = CommitOptions { force: out.force, input: &input, budget: Some(budget) };
    let done = outputs.commit(&options, |_| document.clone())?;
    let mut notes: Vec<String> = note.into_iter().collect();
    notes.extend(repaired(done.repaired));
    let many = done.written.len();
    notes.push(format!("{many} {} written into {shown}", if many == 1 { "file" } else { "files" }));
    let look: Vec<&str> = ["-plan-1.svg", "-marks.svg"]
        .iter()
        .filter_map(|end| done.written.iter().map(|w| w.name.as_str()).find(|n| n.ends_with(end)))
        .collect();
    if let Some(last) = notes.last_mut().filter(|_| !blocked && look.len() == 2) {
        last.push_str(&format!("; look first at {}", look.join(" and ")));
    }
    notes.extend(done.removed.iter().map(|n| format!("  removed (of an earlier run): {n}")));
    notes.extend(done.left.iter().map(|n| format!("  kept (changed after an earlier run): {n}")));
    Ok(Outcome { facts, document, notes })
}

/// A file for the machine. The proof reads the same bytes that are written.
pub(super) struct Machine {
    pub name: String,
    pub bytes: Vec<u8>,
    pub panel: u32,
    /// The face that is up in the file. With one set-up, both faces: they are cut from face 1.
    pub faces: &'static [u8],
}

/// The files for the machine: a DXF and an SVG for each face with an opening. With one set-up, one pair of files holds
/// both faces, seen from face 1.
pub(super) fn machine(t: &Template, part: Option<&str>, job: &Job) -> Result<Vec<Machine>, AppError> {
    // `check` has no settings of files, so it proves the default files.
    let (unit, release) = match &job.task {
        Task::Make(out) => (out.unit, out.release),
        Task::Check => (FileUnit::Mm, Release::R2000),
    };
    let name = part.map_or_else(|| name(&job.drawing), |part| format!("{}-{part}", name(&job.drawing)));
    let mut files = Vec::new();
    for panel in &t.panels {
        let cut: &[&'static [u8]] = if panel.setup == Setup::One { &[&[1, 2]] } else { &[&[1], &[2]] };
        for &faces in cut {
            let openings = on(t, panel, faces);
            if openings.is_empty() {
                continue;
            }
            let base = format!("{name}{}-face-{}", sheet(panel), faces[0]);
            let face = Face { panel, face: faces[0], openings };
            let dxf = write::dxf::face(&face, unit, release)?;
            let svg = write::svg::face(&face, unit)?.into_bytes();
            for (bytes, kind) in [(dxf, "dxf"), (svg, "svg")] {
                files.push(Machine { name: format!("{base}.{kind}"), bytes, panel: panel.number, faces });
            }
        }
    }
    Ok(files)
}

fn on<'a>(t: &'a Template, panel: &Panel, faces: &[u8]) -> Vec<&'a Opening> {
    t.openings.iter().filter(|o| o.panel == panel.number && faces.contains(&o.face)).collect()
}

/// The part of a file name for panels after the first.
fn sheet(panel: &Panel) -> String {
    if panel.number == 1 { String::new() } else { format!("-panel-{}", panel.number) }
}

/// A file of a job, ready or to be drawn.
struct ToWrite<'a> {
    name: String,
    /// Panels and faces that the file holds for the machine.
    carries: Vec<(u32, u8)>,
    content: Content<'a>,
}

enum Content<'a> {
    Ready(Vec<u8>),
    /// `None` where the picture would be empty.
    Drawn(Box<dyn FnOnce() -> Result<Option<String>, NotFinite> + Send + 'a>),
}

impl<'a> ToWrite<'a> {
    fn drawn(name: String, draw: impl FnOnce() -> Result<Option<String>, NotFinite> + Send + 'a) -> ToWrite<'a> {
        ToWrite { name, carries: Vec::new(), content: Content::Drawn(Box::new(draw)) }
    }

    fn made(self) -> Result<MadeFile, WriteError> {
        let bytes = match self.content {
            Content::Ready(bytes) => Some(bytes),
            Content::Drawn(draw) => draw()?.map(String::into_bytes),
        };
        Ok((self.name, bytes, self.carries))
    }
}

type MadeFile = (String, Option<Vec<u8>>, Vec<(u32, u8)>);

/// The files for the machine, and after the files of each face its plan.
fn faces<'a>(facts: &'a Facts, name: &str, machine: Vec<Machine>) -> Vec<ToWrite<'a>> {
    let mut files: Vec<ToWrite> = Vec::new();
    for file in machine {
        let carries = file.faces.iter().map(|f| (file.panel, *f)).collect();
        let svg = file.name.strip_suffix(".svg").map(str::to_owned);
        files.push(ToWrite { name: file.name, carries, content: Content::Ready(file.bytes) });
        let panel = facts.template.panels.iter().find(|p| p.number == file.panel);
        let (Some(base), Some(panel)) = (svg, panel) else { continue };
        for &face in file.faces {
            let one = Face { panel, face, openings: on(&facts.template, panel, &[face]) };
            if !one.openings.is_empty() {
                let cut_from = format!("{base}.dxf or {base}.svg");
                let name = format!("{name}{}-plan-{face}.svg", sheet(panel));
                files.push(ToWrite::drawn(name, move || plan(facts, &one, &cut_from).map(Some)));
            }
        }
    }
    files
}

fn plan(facts: &Facts, face: &Face, face_files: &str) -> Result<String, NotFinite> {
    let words: Vec<Vec<String>> = face.openings.iter().map(|o| plan::labels(facts, o)).collect();
    let place = face.openings.first().map(|o| o.place);
    let swept = facts.keep_clear.iter().find(|(on, _)| *on == (face.panel.number, face.face)).map(|(_, r)| r);
    let left = face.openings.iter().find_map(|o| facts.left_under(o));
    let plan = Plan {
        title: &facts.name(),
        show: facts.show,
        face_files,
        centre_mark: place.zip(facts.template.centre_mark).map(|(m, p)| m * p),
        keep_clear: swept,
        free_hand: left.as_ref(),
        stops: &facts.stops(face.panel),
        words: &words,
    };
    plan::svg(face, &plan)
}

/// A note if an earlier run was killed while it wrote.
pub(super) fn repaired(runs: usize) -> Option<String> {
    let note = "an earlier run was broken off while it wrote: letin restored the files from before it";
    (runs > 0).then(|| note.to_owned())
}
