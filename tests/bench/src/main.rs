//! Times whole jobs of the built program, and one offset beside other engines at the same measured error, in one run.
//!
//!     cargo run --release -- PATH/TO/letin [--most EDGES] [--out RESULTS.md]
//!
//! Whole jobs: wall time and greatest memory of `letin make --json` on an SVG file. Offsets: grown by 7 mm; the best of
//! some runs. *Error*: the greatest amount by which points along the result's edges, at most 0.05 mm apart and with all
//! corners, miss the distance of 7 mm from the source. It says nothing of rings that are missing: the ring count does.
//! Each offset runs on a thread that is given up after a minute.

mod engines;
mod shapes;

use letin::geom::Region;
use letin::geom::edges::{EdgeIndex, sampled};
use shapes::{KINDS, Kind};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

const D: f64 = 7.0;
const PATIENCE: Duration = Duration::from_secs(60);

fn main() {
    let mut args = std::env::args().skip(1);
    let (mut binary, mut most, mut out) = (None, 100_000, None);
    while let Some(a) = args.next() {
        match a.as_str() {
            "--most" => most = args.next().and_then(|n| n.parse().ok()).expect("--most takes a number"),
            "--out" => out = args.next().map(PathBuf::from),
            _ => binary = Some(PathBuf::from(a)),
        }
    }
    let sizes: Vec<usize> = (1..=6).map(|k| 10usize.pow(k)).filter(|n| *n <= most).collect();
    let mut text = format!("# Times\n\nMachine: {}.\n", machine());
    if let Some(binary) = binary {
        whole_jobs(&binary, &sizes, &mut text);
    }
    single(&sizes, &mut text);
    print!("{text}");
    if let Some(out) = out {
        std::fs::write(out, text).expect("the table is written");
    }
}

fn machine() -> String {
    let cpu = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let name = cpu.lines().find(|l| l.starts_with("model name")).and_then(|l| l.split(": ").nth(1));
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let load = load.split(' ').next().unwrap_or("unknown").to_owned();
    format!("{}, {cores} cores, load before the run {load}", name.unwrap_or("unknown processor").trim())
}

fn whole_jobs(binary: &Path, sizes: &[usize], text: &mut String) {
    let _ = writeln!(text, "\n## Whole jobs\n\n| outline | edges | s | MB | status |\n| --- | ---: | ---: | ---: | --- |");
    let folder = std::env::temp_dir().join(format!("letin-bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder for drawings");
    for kind in KINDS {
        // A job of many islands is many jobs.
        for &n in sizes.iter().filter(|n| kind != Kind::Islands || **n <= 1000) {
            let drawing = folder.join(format!("{}-{n}.svg", kind.name()));
            std::fs::write(&drawing, kind.svg(n)).expect("a drawing is written");
            let runs = if n <= 1000 { 5 } else { 1 };
            let mut all: Vec<_> = (0..runs).map(|_| process(binary, &drawing, &folder.join("out"))).collect();
            all.sort_by(|a, b| a.0.total_cmp(&b.0));
            let (s, mb, status) = &all[runs / 2];
            let _ = writeln!(text, "| {} | {n} | {s:.3} | {mb:.0} | {status} |", kind.name());
            eprintln!("{} {n}: {s:.3} s", kind.name());
        }
    }
    let _ = std::fs::remove_dir_all(&folder);
}

/// Seconds, greatest memory in MB, and how it ended.
fn process(binary: &Path, drawing: &Path, out: &Path) -> (f64, f64, String) {
    let start = Instant::now();
    let mut command = Command::new(binary);
    command.arg("make").arg(drawing).arg("--json").arg("--out").arg(out);
    let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("the program starts");
    let status = format!("/proc/{}/status", child.id());
    let mut peak: f64 = 0.0;
    loop {
        let memory = std::fs::read_to_string(&status).unwrap_or_default();
        let line = memory.lines().find_map(|l| l.strip_prefix("VmHWM:"));
        let kb = line.and_then(|l| l.split_whitespace().next()).and_then(|n| n.parse::<f64>().ok());
        peak = peak.max(kb.unwrap_or(0.0) / 1024.0);
        match child.try_wait() {
            Ok(Some(s)) => {
                let seconds = start.elapsed().as_secs_f64();
                return (seconds, peak, s.code().map_or("killed".to_owned(), |c| c.to_string()));
            }
            _ if start.elapsed() > 4 * PATIENCE => {
                let _ = child.kill();
                let _ = child.wait();
                return (start.elapsed().as_secs_f64(), peak, "given up".to_owned());
            }
            _ => std::thread::sleep(Duration::from_millis(1)),
        }
    }
}

fn single(sizes: &[usize], text: &mut String) {
    let _ = writeln!(text, "\n## One offset, grown by {D} mm\n\nPolygon engines with chords within {} mm.\n", engines::CHORD);
    let _ = writeln!(text, "| outline | edges | engine | ms | error mm | rings | edges out |");
    let _ = writeln!(text, "| --- | ---: | --- | ---: | ---: | ---: | ---: |");
    for kind in KINDS {
        for &n in sizes {
            let rings = kind.rings(n);
            let source = match engines::region(&rings) {
                Ok(s) => s,
                Err(e) => {
                    let _ = writeln!(text, "| {} | {n} | all | | not a region: {e} | | |", kind.name());
                    continue;
                }
            };
            let index = EdgeIndex::new(&source);
            for (engine, name) in engines::NAMES.iter().enumerate() {
                let row = match timed(engine, &source, &rings) {
                    Ok((ms, result)) => {
                        let error = sampled(&result, 0.05)
                            .filter_map(|p| index.nearest(p))
                            .map(|near| (near.distance - D).abs())
                            .fold(0.0, f64::max);
                        let edges: usize = result.rings.iter().map(|r| r.segments.len()).sum();
                        format!("{ms:.2} | {error:.5} | {} | {edges}", result.rings.len())
                    }
                    Err(e) => format!("{e} | | | "),
                };
                let _ = writeln!(text, "| {} | {n} | {name} | {row} |", kind.name());
                eprintln!("{} {n} {name}: {row}", kind.name());
            }
        }
    }
}

/// Milliseconds, the best of some, and what came out.
fn timed(
    engine: usize,
    source: &letin::geom::Certified<Region>,
    rings: &[Vec<(f64, f64)>],
) -> Result<(f64, Region), String> {
    let (send, receive) = mpsc::channel();
    let (source, rings) = (source.clone(), rings.to_vec());
    std::thread::spawn(move || {
        let mut best = f64::INFINITY;
        let begun = Instant::now();
        loop {
            let start = Instant::now();
            let result = engines::grown(engine, &source, &rings, D);
            best = best.min(start.elapsed().as_secs_f64() * 1e3);
            if begun.elapsed().as_secs_f64() > 0.2 || result.is_err() {
                let _ = send.send(result.map(|r| (best, r)));
                return;
            }
        }
    });
    match receive.recv_timeout(PATIENCE) {
        Ok(result) => result,
        Err(mpsc::RecvTimeoutError::Timeout) => Err("more than a minute".to_owned()),
        Err(mpsc::RecvTimeoutError::Disconnected) => Err("it panicked".to_owned()),
    }
}
