//! A drawing from disk, and the files of a run to disk.

use super::job::Out;
use super::{AppError, Job, Outcome, Task};
use crate::budget::Budget;
use crate::drawing::{self, Drawing, Format, ReadSettings, Strokes, Texts};
use crate::report::facts::{Facts, FileFact, Writing};
use crate::report::plan::Plan;
use crate::report::{gap, json, marks, plan};
use crate::template::openings::Template;
use crate::template::{Face, Opening, Panel, Setup};
use crate::text::{self, NotFinite};
use crate::threads::each;
use crate::write;
use crate::write::dxf::Release;
use crate::write::store::{CommitOptions, Outputs};
use crate::write::{FileUnit, WriteError};
use std::fs::File;
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

/// Longest drawing that is read, bytes. More is no drawing of a joint, and would fill the memory.
pub(super) const LONGEST: u64 = 256 << 20;

/// Longest file of settings, bytes.
const LONGEST_SETTINGS: u64 = 1 << 20;

/// The drawing of the job. What kind of file it is, its contents say and not its name.
pub(super) fn read(job: &Job, budget: &Budget) -> Result<Drawing, AppError> {
    read_at(&job.drawing, &job.read, budget)
}

/// The same by its path.
pub(super) fn read_at(path: &Path, settings: &ReadSettings, budget: &Budget) -> Result<Drawing, AppError> {
    let bytes = bytes(path, LONGEST)?;
    let read = drawing::read(&bytes, settings, budget);
    let read = read.map_err(|source| AppError::Read { path: path.to_path_buf(), source })?;
    match only_svg(settings) {
        Some(setting) if read.format == Format::Dxf => Err(AppError::OnlySvg { setting, path: path.to_path_buf() }),
        _ => Ok(read),
    }
}

/// The setting that says something of SVG drawings only, if one is given.
fn only_svg(settings: &ReadSettings) -> Option<&'static str> {
    let given = [
        ("dpi", settings.dpi.is_some()),
        ("stroke", settings.stroke != Strokes::default()),
        ("text", settings.text != Texts::default()),
    ];
    given.into_iter().find(|g| g.1).map(|g| g.0)
}

/// A text file of settings.
///
/// # Errors
/// [`AppError`] where it is not there, no plain file, too long or no text.
pub fn read_text(path: &Path) -> Result<String, AppError> {
    String::from_utf8(bytes(path, LONGEST_SETTINGS)?)
        .map_err(|e| AppError::Unreadable { path: path.to_path_buf(), why: format!("it is no text: {e}") })
}

/// Whether settings may be written to `path`: nothing is replaced unless `out` says `force`.
///
/// # Errors
/// [`AppError`] where something is there already.
pub fn may_save(path: &Path, out: &Out) -> Result<(), AppError> {
    match std::fs::symlink_metadata(path) {
        Ok(m) if m.is_dir() || m.is_symlink() || !out.force => {
            Err(AppError::Unwritable { path: path.to_path_buf(), why: "there is one already".to_owned() })
        }
        _ => Ok(()),
    }
}

/// The same for a picture of `drawing`, which must never be written over.
///
/// # Errors
/// [`AppError::Unwritable`].
pub fn may_draw(path: &Path, drawing: &Path, out: &Out) -> Result<(), AppError> {
    let same = || Some(std::fs::canonicalize(path).ok()? == std::fs::canonicalize(drawing).ok()?);
    if same() == Some(true) {
        return Err(AppError::Unwritable { path: path.to_path_buf(), why: "it is the drawing itself".to_owned() });
    }
    may_save(path, out)
}

/// Writes settings, whole or not at all; in a dry run not.
///
/// # Errors
/// [`AppError`] where [`may_save`] says no, or no file can be made.
pub fn save_text(path: &Path, text: &str, out: &Out) -> Result<(), AppError> {
    save_bytes(path, text.as_bytes(), out)
}

/// The same for a file that is no text.
///
/// # Errors
/// As [`save_text`].
pub fn save_bytes(path: &Path, bytes: &[u8], out: &Out) -> Result<(), AppError> {
    may_save(path, out)?;
    if out.dry_run {
        return Ok(());
    }
    let unwritable = |why: String| AppError::Unwritable { path: path.to_path_buf(), why };
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    // As any program makes a file: the user's mask decides who may read it.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder).map_err(|e| unwritable(e.to_string()))?;
    file.write_all(bytes).map_err(|e| unwritable(e.to_string()))?;
    let done = if out.force { file.persist(path) } else { file.persist_noclobber(path) };
    done.map(drop).map_err(|e| unwritable(e.error.to_string()))
}

pub(super) fn bytes(path: &Path, longest: u64) -> Result<Vec<u8>, AppError> {
    let unreadable = |why: String| AppError::Unreadable { path: path.to_path_buf(), why };
    let io = |e: std::io::Error| match e.kind() {
        ErrorKind::NotFound => AppError::NotFound { path: path.to_path_buf() },
        _ => unreadable(e.to_string()),
    };
    let about = std::fs::metadata(path).map_err(io)?;
    if about.is_dir() {
        return Err(unreadable("it is a folder".to_owned()));
    }
    // A pipe or a device could wait or run for ever.
    if !about.is_file() {
        return Err(unreadable("it is not a plain file".to_owned()));
    }
    if about.len() > longest {
        return Err(unreadable(format!("it is larger than {} MiB", longest >> 20)));
    }
    let mut bytes = Vec::new();
    File::open(path).and_then(|f| f.take(longest).read_to_end(&mut bytes)).map_err(io)?;
    Ok(bytes)
}

/// A verdict without files.
pub(super) fn on_paper(facts: Facts) -> Result<Outcome, AppError> {
    let document = json::document(&facts)?;
    Ok(Outcome { facts, document, notes: Vec::new() })
}

/// Writes what the facts allow: everything, or while an error stands only marks and document; files of an earlier run
/// that no longer hold are removed.
pub(super) fn write(facts: Facts, machine: Vec<Vec<Machine>>, job: &Job, out: &Out) -> Result<Outcome, AppError> {
    let name = name(&job.drawing);
    let folder = out.folder.clone().unwrap_or_else(|| beside(&job.drawing, &name));
    let manifest = format!("{name}.json");
    let mut outputs = Outputs::new(folder.clone(), manifest.clone());
    let mut cuts = Vec::new();
    let blocked = facts.blocked();
    let mut counts = Vec::new();
    let mut jobs = vec![facts];
    let then = std::mem::take(&mut jobs[0].then);
    jobs.extend(then);
    for (job, machine) in jobs.iter_mut().zip(machine) {
        job.writing = Some(Writing { unit: out.unit.symbol(), dxf: out.release.name() });
        let name = job.part.as_ref().map_or_else(|| name.clone(), |part| format!("{name}-{part}"));
        let before = cuts.len();
        let job: &Facts = job;
        let mut files = if blocked { Vec::new() } else { faces(job, &name, machine) };
        files.push(ToWrite::drawn(format!("{name}-marks.svg"), || Ok(Some(marks::svg(job)?))));
        // Also while an error stands: it may be the fit.
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
        let notes = [format!("would write into {shown}:")].into_iter().chain(sizes).chain([last]).collect();
        return Ok(Outcome { facts, document, notes });
    }
    let options = CommitOptions { force: out.force, input: std::slice::from_ref(&job.drawing) };
    let done = outputs.commit(&options, |_| document.clone())?;
    let mut notes = vec![format!("written into {shown}:")];
    notes.extend(done.written.iter().map(|w| format!("  {}", w.name)));
    notes.extend(done.removed.iter().map(|n| format!("  removed, from an earlier run: {n}")));
    notes.extend(done.left.iter().map(|n| format!("  left, since it was changed after an earlier run: {n}")));
    Ok(Outcome { facts, document, notes })
}

/// A file for the machine: the very bytes that are proved are those that are written.
pub(super) struct Machine {
    pub name: String,
    pub bytes: Vec<u8>,
    pub panel: u32,
    /// The face that it is cut from, and in one set-up the other one after it.
    pub faces: &'static [u8],
}

/// The files for the machine: of each face with an opening a DXF and then an SVG. In one set-up both faces are cut from
/// face 1.
pub(super) fn machine(t: &Template, part: Option<&str>, job: &Job) -> Result<Vec<Machine>, AppError> {
    // On paper as it would be written without settings of its own.
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

/// What further panels have in the names of their files.
fn sheet(panel: &Panel) -> String {
    if panel.number == 1 { String::new() } else { format!("-panel-{}", panel.number) }
}

/// A file of a job.
struct ToWrite<'a> {
    name: String,
    /// The panels and faces that it carries to the machine.
    carries: Vec<(u32, u8)>,
    content: Content<'a>,
}

enum Content<'a> {
    Ready(Vec<u8>),
    /// Nothing where there is nothing to show.
    Drawn(Box<dyn FnOnce() -> Result<Option<String>, NotFinite> + Send + 'a>),
}

impl<'a> ToWrite<'a> {
    /// A picture for people.
    fn drawn(name: String, draw: impl FnOnce() -> Result<Option<String>, NotFinite> + Send + 'a) -> ToWrite<'a> {
        ToWrite { name, carries: Vec::new(), content: Content::Drawn(Box::new(draw)) }
    }

    /// Its name, its bytes if it has any, and what it carries.
    fn made(self) -> Result<MadeFile, WriteError> {
        let bytes = match self.content {
            Content::Ready(bytes) => Some(bytes),
            Content::Drawn(draw) => draw()?.map(String::into_bytes),
        };
        Ok((self.name, bytes, self.carries))
    }
}

type MadeFile = (String, Option<Vec<u8>>, Vec<(u32, u8)>);

/// The files for the machine, and behind those of each face its plans.
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

/// The plan of a face, for people.
fn plan(facts: &Facts, face: &Face, face_files: &str) -> Result<String, NotFinite> {
    let words: Vec<Vec<String>> = face.openings.iter().map(|o| facts.words(o)).collect();
    let place = face.openings.first().map(|o| o.place);
    let swept = facts.keep_clear.iter().find(|(on, _)| *on == (face.panel.number, face.face)).map(|(_, r)| r);
    let left = face.openings.iter().find_map(|o| facts.left_under(o));
    let plan = Plan {
        title: &facts.name(),
        face_files,
        common_point: place.zip(facts.template.common).map(|(m, p)| m * p),
        keep_clear: swept,
        free_hand: left.as_ref(),
        stops: &facts.stops(face.panel),
        words: &words,
    };
    plan::svg(face, &plan)
}

/// NAME: the drawing's, fit for any system.
fn name(drawing: &Path) -> String {
    text::file_stem(&drawing.file_stem().unwrap_or_default().to_string_lossy())
}

fn beside(drawing: &Path, name: &str) -> PathBuf {
    drawing.parent().unwrap_or(Path::new("")).join(format!("{name}-letin"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_go_beside_the_drawing() {
        let p = Path::new("yard/hatch key.svg");
        assert_eq!(beside(p, &name(p)), Path::new("yard/hatch key-letin"));
        assert_eq!(beside(Path::new("key.svg"), "key"), Path::new("key-letin"));
    }
}
