//! Every sample gives its expected report and facts to the byte, and every faulty drawing its expected messages.
//!
//! A sample is a folder with a drawing, a file `command` with the arguments, and a folder `expected`. The latter holds
//! both output streams as `report.txt`. The samples of [`WHOLE`] add all written files. The others add `facts`: names of
//! the files and figures of the document. The tests below hold files and document of every sample together. After an
//! intended change, run `LETIN_REFRESH=1 cargo test --test files samples` and read the difference before the commit.

use crate::saved::{edges, openings, path_data};
use letin::geom::edges::sampled;
use letin::geom::{Affine, Point, Rect, Region, Ring};
use serde_json::Value;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use tempfile::TempDir;

/// Samples whose files are all expected to the byte. The README shows pictures of the first.
const WHOLE: [&str; 3] = ["bow-tie-key", "inch-patch", "ring"];

/// Slack of the numbers in files, mm.
const WRITTEN: f64 = 1e-5;

/// The figures of the document that `facts` lists: the array, and the keys of its items.
const FACTS: [(&str, &str); 6] = [
    ("outlines", "id source role holes area_mm2 perimeter_mm bounds_mm"),
    ("openings", "id outline duty panel face offset_mm area_mm2 size_mm reads_mm lines arcs place"),
    ("panels", "panel size_mm turn setup edges"),
    ("steps", "piece panel face_up edges opening purpose bush_mm cutter_mm depth_mm tipping_margin_mm"),
    ("findings", "mark code severity outline at_mm measured_mm needed_mm short_mm area_mm2 accepted"),
    ("pieces", "outline recess_size_mm inlay_size_mm gap_min_mm gap_max_mm recess_off_mm inlay_off_mm"),
];

type Files = BTreeMap<String, Vec<u8>>;

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

fn files(folder: &Path) -> Files {
    let Ok(entries) = fs::read_dir(folder) else { return Files::new() };
    let plain = entries.map(|e| e.unwrap().path()).filter(|p| p.is_file());
    plain.map(|p| (p.file_name().unwrap().to_str().unwrap().to_owned(), fs::read(&p).unwrap())).collect()
}

/// Runs `args` in `dir`, a copy of `folder`. Returns the files written into `out`, and both output streams.
fn run(folder: &Path, dir: &Path, args: &[String]) -> Files {
    for (name, bytes) in files(folder) {
        fs::write(dir.join(name), bytes).unwrap();
    }
    let done = Command::new(env!("CARGO_BIN_EXE_letin")).args(args).current_dir(dir).output().unwrap();
    let mut all = files(&dir.join("out"));
    let text = |b: &[u8]| String::from_utf8(b.to_vec()).unwrap();
    // Progress lines depend on the speed of the machine, and only long runs print them.
    let progress = |l: &&str| l.starts_with("letin: ") && l.ends_with(" s)");
    let errors: String = text(&done.stderr).lines().filter(|l| !progress(l)).map(|l| l.to_owned() + "\n").collect();
    let said = format!("{}{errors}status {}\n", text(&done.stdout), done.status.code().unwrap());
    all.insert("report.txt".to_owned(), said.into_bytes());
    all
}

/// A sample, made.
struct Sample {
    name: String,
    dir: TempDir,
    files: Files,
    document: Value,
}

impl Sample {
    fn new(folder: &Path) -> Sample {
        let name = folder.file_name().unwrap().to_str().unwrap().to_owned();
        assert!(folder.join("README.md").is_file(), "{name} has no README.md");
        let dir = TempDir::new().unwrap();
        let files = run(folder, dir.path(), &arguments(folder));
        let json = files.iter().find(|(n, _)| n.ends_with(".json")).unwrap_or_else(|| panic!("{name}: no document"));
        let document = serde_json::from_slice(json.1).unwrap();
        Sample { name, dir, files, document }
    }

    fn text(&self, file: &str) -> String {
        let bytes = self.files.get(file).unwrap_or_else(|| panic!("{}: no {file}", self.name));
        String::from_utf8(bytes.clone()).unwrap()
    }

    /// The document's job and the jobs that follow it.
    fn jobs(&self) -> impl Iterator<Item = &Value> {
        std::iter::once(&self.document).chain(items(&self.document, "then"))
    }
}

fn arguments(folder: &Path) -> Vec<String> {
    let command = fs::read_to_string(folder.join("command")).unwrap();
    command.split_whitespace().chain(["--out", "out"]).map(str::to_owned).collect()
}

fn items<'a>(v: &'a Value, key: &str) -> impl Iterator<Item = &'a Value> {
    v[key].as_array().into_iter().flatten()
}

/// Every sample, each made once.
fn made() -> &'static [Sample] {
    static MADE: OnceLock<Vec<Sample>> = OnceLock::new();
    MADE.get_or_init(|| {
        let mut folders: Vec<PathBuf> = fs::read_dir(samples()).unwrap().map(|e| e.unwrap().path()).collect();
        folders.retain(|f| f.join("command").is_file());
        folders.sort();
        assert!(folders.len() >= 11, "only {} samples", folders.len());
        assert!(WHOLE.iter().all(|w| folders.iter().any(|f| f.ends_with(w))));
        in_threads(&folders, |f| Sample::new(f))
    })
}

/// The results in the order of `all`. Two threads share the work.
fn in_threads<T: Sync, R: Send>(all: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let half = all.split_at(all.len() / 2);
    std::thread::scope(|scope| {
        let second = scope.spawn(|| half.1.iter().map(&work).collect::<Vec<_>>());
        let mut first: Vec<R> = half.0.iter().map(&work).collect();
        first.extend(second.join().unwrap());
        first
    })
}

/// What `facts` holds: a line for each written file and for each item of the document.
fn facts(s: &Sample) -> String {
    let mut out = String::new();
    for name in s.files.keys().filter(|n| *n != "report.txt") {
        writeln!(out, "file {name}").unwrap();
    }
    for job in s.jobs() {
        let (tools, proof) = (&job["tools"], &job["proof"]);
        writeln!(out, "job {}: {}", job["part"], job["verdict"]).unwrap();
        writeln!(out, "offsets: {} {}", tools["recess"]["offset_mm"], tools["inlay"]["offset_mm"]).unwrap();
        writeln!(out, "gap: {} {} {}", tools["gap_mm"], proof["gap_min_mm"], proof["gap_max_mm"]).unwrap();
        for (array, keys) in FACTS {
            for item in items(if array == "pieces" { proof } else { job }, array) {
                let there = keys.split(' ').filter(|k| !item[*k].is_null());
                let all: Vec<String> = there.map(|k| format!("{k} {}", item[k])).collect();
                writeln!(out, "{array}: {}", all.join(", ")).unwrap();
            }
        }
    }
    out.replace('"', "")
}

fn refresh() -> bool {
    std::env::var_os("LETIN_REFRESH").is_some()
}

/// Compares the files, or renews them on request. Returns the names of the files that differ.
fn differences(expected: &Path, found: &Files) -> Vec<String> {
    if refresh() {
        let _ = fs::remove_dir_all(expected);
        fs::create_dir_all(expected).unwrap();
        for (name, bytes) in found {
            fs::write(expected.join(name), bytes).unwrap();
        }
    }
    let there = files(expected);
    let names: BTreeSet<&String> = there.keys().chain(found.keys()).collect();
    let differs = |n: &&&String| there.get(**n) != found.get(**n);
    names.iter().filter(differs).map(|n| expected.join(n).display().to_string()).collect()
}

#[test]
fn samples_come_out_as_expected() {
    let mut wrong = Vec::new();
    for s in made() {
        let mut found = s.files.clone();
        if !WHOLE.contains(&s.name.as_str()) {
            found.retain(|n, _| n == "report.txt");
            found.insert("facts".to_owned(), facts(s).into_bytes());
        }
        wrong.extend(differences(&samples().join(&s.name).join("expected"), &found));
    }
    assert!(wrong.is_empty(), "these files differ: {wrong:#?}");
}

/// A second run writes the same bytes.
#[test]
fn samples_come_out_the_same_again() {
    let again = in_threads(made(), |s| {
        let dir = TempDir::new().unwrap();
        let folder = samples().join(&s.name);
        let files = run(&folder, dir.path(), &arguments(&folder));
        let names: BTreeSet<&String> = files.keys().chain(s.files.keys()).collect();
        let differs: Vec<&&String> = names.iter().filter(|n| files.get(**n) != s.files.get(**n)).collect();
        assert!(differs.is_empty(), "{}: {differs:?}", s.name);
    });
    assert_eq!(again.len(), made().len());
}

/// The folder holds the document and the files that it lists, each with its hash, and `letin prove` accepts them.
#[test]
fn the_document_lists_every_file_and_the_proof_holds() {
    for s in made() {
        let listed: BTreeSet<&str> = items(&s.document, "files").map(|f| f.as_str().unwrap()).collect();
        let there: BTreeSet<&str> =
            s.files.keys().map(String::as_str).filter(|n| *n != "report.txt" && !n.ends_with(".json")).collect();
        assert_eq!(listed, there, "{}", s.name);
        let hash = |bytes: &[u8]| Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect::<String>();
        for name in there {
            assert_eq!(s.document["hashes"][name], hash(&s.files[name]).as_str(), "{}: {name}", s.name);
        }
        let proved = Command::new(env!("CARGO_BIN_EXE_letin")).arg("prove").arg(s.dir.path().join("out")).output();
        let proved = proved.unwrap();
        // A job without a face file has nothing to prove.
        let faces = s.files.keys().any(|n| n.contains("-face-"));
        let (status, said) = (proved.status.code(), String::from_utf8_lossy(&proved.stdout));
        assert_eq!(status, Some(if faces { 0 } else { 2 }), "{}: {said}", s.name);
        assert!(faces || said.contains("nothing") && s.name == "deck-plate", "{}: {said}", s.name);
    }
}

/// The regions of path data. `up` takes the numbers of the file to mm with y up.
fn drawn(svg: &str, up: Affine) -> Vec<Region> {
    let region = |d: &String| Region::new(vec![Ring::new(edges(d).iter().map(|e| e.under_similarity(up)).collect())]);
    path_data(svg).iter().map(region).collect()
}

/// True if every edge of each region lies on the other's edges.
fn equal(a: &Region, b: &Region) -> bool {
    let on = |from: &Region, to: &Region| sampled(from, 1.0).all(|p: Point| to.nearest(p).unwrap().0 <= WRITTEN);
    on(a, b) && on(b, a)
}

/// The regions of a file that lie in the box.
fn within<'a>(all: &'a [Region], place: &[f64]) -> Vec<&'a Region> {
    let near = |b: Rect| [b.x0, b.y0, b.x1, b.y1].iter().zip(place).all(|(a, b)| (a - b).abs() <= WRITTEN);
    all.iter().filter(|r| r.bounds().is_some_and(near)).collect()
}

/// Each opening of the document is in the DXF file, the SVG file and the plan of its face: once, with equal edges, with
/// the place, area and length of the document. The files hold no other opening.
#[test]
fn every_opening_is_in_all_its_files() {
    let mut seen = 0;
    for s in made() {
        let mut held: BTreeMap<String, usize> = BTreeMap::new();
        for (job, opening) in s.jobs().flat_map(|j| items(j, "openings").map(move |o| (j, o))) {
            let what = format!("{}: {opening}", s.name);
            let [dxf, svg] = [0, 1].map(|i| opening["files"][i].as_str().unwrap());
            let place: Vec<f64> = items(opening, "reads_mm").map(|v| v.as_f64().unwrap()).collect();
            let regions = openings(&s.text(dxf));
            let [region] = within(&regions, &place)[..] else { panic!("{what}: in {dxf}") };
            let figure = |key: &str| opening[key].as_f64().unwrap();
            let most = WRITTEN * figure("perimeter_mm");
            assert!((region.area() - figure("area_mm2")).abs() <= most, "{what}: area {}", region.area());
            assert!((region.perimeter() - figure("perimeter_mm")).abs() <= most, "{what}: {}", region.perimeter());
            // SVG files have y down, from the panel's top. The plan is in mm whatever the unit of the faces.
            let panel = items(job, "panels").find(|p| p["panel"] == opening["panel"]).unwrap();
            let top = panel["size_mm"][1].as_f64().unwrap();
            let up = |unit: f64| Affine::new([unit, 0.0, 0.0, -unit, 0.0, top]);
            let (face, plan) = (s.text(svg), s.text(&svg.replace("-face-", "-plan-")));
            let planned = plan.split("<g id=\"OPENING\">").nth(1).unwrap().split("</g>").next().unwrap();
            let unit = if job["writing"]["unit"] == "in" { 25.4 } else { 1.0 };
            for all in [drawn(&face, up(unit)), drawn(planned, up(1.0))] {
                assert_eq!(all.len(), regions.len(), "{what}");
                let [other] = within(&all, &place)[..] else { panic!("{what}: in {svg} or its plan") };
                assert!(equal(region, other), "{what}: {dxf} and {svg} or its plan differ");
            }
            *held.entry(dxf.to_owned()).or_insert(regions.len()) -= 1;
            seen += 1;
        }
        let faces = s.files.keys().filter(|n| n.contains("-face-") && n.ends_with(".dxf")).cloned();
        assert_eq!(held, faces.map(|f| (f, 0)).collect(), "{}: openings that the document does not list", s.name);
    }
    assert!(seen >= 30, "only {seen} openings");
}

/// The picture of the marks has each finding with a place, once.
#[test]
fn every_placed_finding_has_its_mark() {
    let mut seen = 0;
    for s in made() {
        for job in s.jobs() {
            let placed: Vec<String> =
                items(job, "findings").filter(|f| !f["at_mm"].is_null()).map(|f| f["mark"].to_string()).collect();
            let name = items(job, "files").map(|f| f.as_str().unwrap()).find(|f| match job["part"].as_str() {
                Some(part) => f.ends_with(&format!("{part}-marks.svg")),
                None => f.ends_with("-marks.svg"),
            });
            let picture = s.text(name.unwrap());
            let marks = picture.split("<title>mark ").skip(1).map(|m| m.split(':').next().unwrap().to_owned());
            assert_eq!(marks.collect::<Vec<_>>(), placed, "{}: {name:?}", s.name);
            seen += placed.len();
        }
    }
    assert!(seen >= 60, "only {seen} marks");
}

#[test]
fn faulty_drawings_give_the_expected_answers() {
    let folder = samples().join("dirt");
    let drawings: Vec<String> =
        files(&folder).into_keys().filter(|n| n.ends_with(".svg") || n.ends_with(".dxf")).collect();
    assert!(drawings.len() >= 12, "{drawings:?}");
    let mut said = Files::new();
    for name in &drawings {
        let dir = TempDir::new().unwrap();
        let mut all = run(&folder, dir.path(), &["check".to_owned(), name.clone()]);
        let text = all.remove("report.txt").unwrap();
        assert!(all.is_empty(), "{name}: check writes nothing");
        said.insert(format!("{name}.txt"), text);
    }
    let wrong = differences(&folder.join("expected"), &said);
    assert!(wrong.is_empty(), "these files differ: {wrong:#?}");
}
