//! Hostile drawings. Each reaches its expected verdict in limited time and memory, without a panic and without opening
//! another file.
//!
//! The small drawings are in `tests/hostile/`, written by `make.py`. This file makes the large ones. The table gives the
//! expected number of closed lines and the expected messages, or the code of the error.
//!
//! The limits of a release build are 20 s and 2 GiB. A test build on a busy machine is slower, so the watchdog waits
//! longer. The operating system enforces the 2 GiB.

#![cfg(unix)]

use std::fmt::Write as _;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const PATIENCE: Duration = Duration::from_secs(60);
const MEMORY_KIB: u64 = 2 << 20;

/// The expected answer to a drawing.
#[derive(Debug)]
enum Want {
    /// Read: the number of closed lines, and phrases that must appear in the findings.
    Read(u64, &'static [&'static str]),
    /// No verdict: the code of the error, and a part of its message.
    No(&'static str, &'static str),
}
use Want::{No, Read as Is};

/// Runs `letin outlines FILE --json` and returns its status and its standard output.
fn run(file: &Path) -> Result<(i32, String), String> {
    let mut child = Command::new("sh")
        .args(["-c", &format!("ulimit -v {MEMORY_KIB}; exec \"$0\" \"$@\""), env!("CARGO_BIN_EXE_letin"), "outlines"])
        .arg(file)
        .arg("--json")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|e| e.to_string())?;
    let (mut out, mut err) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
    let read = std::thread::spawn(move || {
        let mut text = Vec::new();
        out.read_to_end(&mut text).map(|_| text)
    });
    let complaint = std::thread::spawn(move || {
        let mut text = String::new();
        err.read_to_string(&mut text).map(|_| text)
    });
    let start = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().map_err(|e| e.to_string())? {
            break status;
        }
        if start.elapsed() > PATIENCE {
            let _ = child.kill();
            let _ = child.wait();
            return Err(format!("not finished after {PATIENCE:?}"));
        }
        std::thread::sleep(Duration::from_millis(5));
    };
    let text = String::from_utf8(read.join().unwrap().unwrap()).map_err(|e| e.to_string())?;
    let complaint = complaint.join().unwrap().unwrap();
    // Standard error may hold progress lines and nothing else.
    let progress = |l: &str| l.starts_with("letin: ") && l.ends_with(" s)");
    if !complaint.lines().all(progress) {
        return Err(format!("unexpected standard error: {complaint}"));
    }
    match status.code() {
        Some(code @ (0..=2)) => Ok((code, text)),
        Some(code) => Err(format!("status {code}: {text}")),
        None => Err(format!("ended by a signal: {status}")),
    }
}

/// The reason why the answer differs from the expected one.
fn differs(file: &Path, want: &Want) -> Option<String> {
    let (status, text) = match run(file) {
        Ok(both) => both,
        Err(why) => return Some(why),
    };
    let Ok(json) = serde_json::from_str::<serde_json::Value>(&text) else { return Some(format!("no JSON: {text}")) };
    match want {
        No(code, part) => {
            let (c, m) = (&json["error"]["code"], json["error"]["message"].as_str().unwrap_or_default());
            let right = status == 2 && c == code && m.contains(part);
            (!right).then(|| format!("status {status}, {c}: {m} {}", short(&json)))
        }
        Is(closed, reported) => {
            let counted: u64 =
                json["lines"].as_array().into_iter().flatten().filter_map(|l| l["closed"].as_u64()).sum();
            let findings = json["findings"].as_array().cloned().unwrap_or_default();
            let said: Vec<&str> = findings.iter().filter_map(|f| f["message"].as_str()).collect();
            let missing: Vec<_> = reported.iter().filter(|t| !said.iter().any(|s| s.contains(*t))).collect();
            let right = status == 0 && counted == *closed && missing.is_empty();
            (!right).then(|| format!("status {status}, {counted} closed {}", short(&json)))
        }
    }
}

fn short(json: &serde_json::Value) -> String {
    let findings = json["findings"].as_array().cloned().unwrap_or_default();
    let said: Vec<&str> = findings.iter().filter_map(|f| f["message"].as_str()).collect();
    said.join(" | ").chars().take(600).collect()
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/hostile")
}

fn judge(rows: impl Iterator<Item = (PathBuf, Want)>) {
    let mut wrong = String::new();
    for (file, want) in rows {
        if let Some(why) = differs(&file, &want) {
            let _ = writeln!(wrong, "{}: {want:?}, but {why}", file.file_name().unwrap_or_default().to_string_lossy());
        }
    }
    assert!(wrong.is_empty(), "\n{wrong}");
}

include!("../hostile/table.rs");

/// Every file of the folder has its row, and every row its file.
#[test]
fn the_table_is_whole() {
    let mut files: Vec<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| [".svg", ".svgz", ".dxf"].iter().any(|end| n.ends_with(end)))
        .collect();
    files.sort();
    let mut rows: Vec<&str> = TABLE.iter().map(|r| r.0).collect();
    rows.sort_unstable();
    assert_eq!(files, rows);
    assert!(rows.len() >= 80);
}

#[test]
fn small_ones() {
    judge(TABLE.iter().map(|(name, want)| {
        let want = match want {
            No(code, part) => No(code, part),
            Is(n, reported) => Is(*n, reported),
        };
        (folder().join(name), want)
    }));
}

/// A temporary folder for large drawings.
struct Large(tempfile::TempDir);

impl Large {
    fn file(&self, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    }
}

fn svg(inside: &str) -> String {
    format!("<svg xmlns='http://www.w3.org/2000/svg' width='900mm' height='900mm' viewBox='0 0 900 900'>{inside}</svg>")
}

fn dxf(entities: &str) -> String {
    format!("0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n")
}

/// A closed ring of `n` corners about (400, 400). Its wave keeps the reader from dropping any corner.
fn ring(n: u32) -> impl Iterator<Item = (f64, f64)> {
    (0..n).map(move |i| {
        let a = f64::from(i) / f64::from(n) * std::f64::consts::TAU;
        let r = 300.0 + f64::from(i % 2);
        (400.0 + r * a.cos(), 400.0 + r * a.sin())
    })
}

#[test]
fn a_million_points() {
    let large = Large(tempfile::tempdir().unwrap());
    let points: String = ring(1_000_000).fold(String::new(), |mut s, (x, y)| {
        let _ = write!(s, "{x:.3} {y:.3} ");
        s
    });
    let path = large.file("path.svg", svg(&format!("<path d='M{points}Z'/>")));
    let corners = ring(1_000_000).fold(String::from("0\nLWPOLYLINE\n8\n0\n90\n1000000\n70\n1\n"), |mut s, (x, y)| {
        let _ = write!(s, "10\n{x:.3}\n20\n{y:.3}\n");
        s
    });
    let polyline = large.file("polyline.dxf", dxf(&corners));
    judge(
        [(path, Is(1, &["The second reader was not used"])), (polyline, Is(1, &["not read a second time"]))]
            .into_iter(),
    );
}

#[test]
fn a_hundred_thousand_entities() {
    let large = Large(tempfile::tempdir().unwrap());
    // A chain of lines that forms one loop.
    let corners: Vec<_> = ring(100_000).collect();
    let lines = (0..corners.len()).fold(String::new(), |mut s, i| {
        let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
        let _ = write!(s, "0\nLINE\n8\n0\n10\n{}\n20\n{}\n11\n{}\n21\n{}\n", a.0, a.1, b.0, b.1);
        s
    });
    let circles = (0..100_000).fold(String::new(), |mut s, i| {
        let _ = write!(s, "<circle cx='{}' cy='{}' r='1'/>", i % 300 * 3, i / 300 * 3);
        s
    });
    let around = (0..20_000).fold(String::new(), |mut s, i| {
        let _ = write!(s, "<circle cx='400' cy='400' r='{}'/>", 1.0 + f64::from(i) * 0.01);
        s
    });
    let rows = [
        (large.file("lines.dxf", dxf(&lines)), Is(1, &[])),
        (large.file("circles.svg", svg(&circles)), Is(100_000, &[])),
        (large.file("in-one-another.svg", svg(&around)), Is(20_000, &[])),
    ];
    judge(rows.into_iter());
}

#[test]
fn bombs_and_depths() {
    use flate2::{Compression, write::GzEncoder};
    use std::io::Write as _;
    let large = Large(tempfile::tempdir().unwrap());
    let mut packed = GzEncoder::new(Vec::new(), Compression::best());
    let blank = vec![b' '; 1 << 20];
    (0..300).for_each(|_| packed.write_all(&blank).unwrap());
    let long = "L1 1L2 0".repeat(20_000);
    let quadratic = format!("<!DOCTYPE svg [<!ENTITY e '{long}'>]>{}", svg(&"<path d='M0 0&e;'/>".repeat(1000)));
    let nested = format!("0\nLINE\n8\n0\n10\n0\n20\n0\n11\n5\n21\n5\n{}", "1002\n{\n".repeat(50_000));
    let deep = svg(&format!("{}<rect width='5' height='5'/>{}", "<g>".repeat(50_000), "</g>".repeat(50_000)));
    let uses = (0..50_000).fold(String::from("<g id='u0'><rect width='5' height='5'/></g>"), |mut s, i| {
        let _ = write!(s, "<use id='u{}' href='#u{i}'/>", i + 1);
        s
    });
    let rows = [
        (large.file("packed.svgz", packed.finish().unwrap()), No("refused", "more than 64 MiB")),
        (large.file("entity.svg", quadratic), No("refused", "entities")),
        (large.file("extended.dxf", dxf(&nested)), Is(0, &["does not close"])),
        (large.file("groups.svg", deep), No("syntax", "nested")),
        (large.file("uses.svg", svg(&uses)), No("refused", "elements")),
        (large.file("65-mib.svg", vec![b'<'; 65 << 20]), No("refused", "MiB")),
        (large.file("65-mib.dxf", "0\n".repeat(33 << 20)), No("refused", "64")),
        (large.file("tags.svg", vec![b'<'; 8 << 20]), No("syntax", "")),
        (large.file("one-line.dxf", vec![b'0'; 32 << 20]), No("not-a-drawing", "")),
    ];
    judge(rows.into_iter());
}

/// The program does not wait for devices and pipes, and follows no reference.
#[test]
fn devices_pipes_and_other_files() {
    let large = Large(tempfile::tempdir().unwrap());
    let pipe = large.0.path().join("pipe.svg");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let link = large.0.path().join("zero.svg");
    std::os::unix::fs::symlink("/dev/zero", &link).unwrap();
    let to_pipe = large.file(
        "to-pipe.svg",
        svg(&format!("<rect width='5' height='5'/><image href='{}' width='5' height='5'/>", pipe.display())),
    );
    let rows = [
        (pipe, No("unreadable", "not a plain file")),
        (link, No("unreadable", "not a plain file")),
        (PathBuf::from("/dev/zero"), No("unreadable", "not a plain file")),
        (large.0.path().to_path_buf(), No("unreadable", "folder")),
        (large.0.path().join("nowhere.svg"), No("not-found", "")),
        (to_pipe, Is(1, &["pictures"])),
    ];
    judge(rows.into_iter());
}
