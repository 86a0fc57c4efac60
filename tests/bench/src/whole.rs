//! Whole jobs of the built program on SVG files: wall time and peak memory of `letin check` and `letin make`.

use crate::shapes::{KINDS, Kind};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Greatest number of edges for islands, since every island is a job of its own.
const ISLANDS_UP_TO: usize = 1000;

struct Ran {
    seconds: f64,
    mb: f64,
    status: String,
}

/// Writes the table, and the growth of the times of `make`.
pub fn table(binary: &Path, sizes: &[usize], limit: f64, text: &mut String) {
    let _ = writeln!(
        text,
        "\n## Whole jobs\n\nUp to 1,000 edges a time is the median of 5 runs, above that it is one run. A run longer than {limit} s is \
         stopped, and larger outlines of its kind are not tried. Status 1 means an error or a warning for `check`. For `make` it \
         means an error, and then no openings are placed and proved.\n\n| outline | edges | command | s | MB | status |\n\
         | --- | ---: | --- | ---: | ---: | --- |"
    );
    let folder = std::env::temp_dir().join(format!("letin-bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder for drawings");
    let mut made: BTreeMap<&str, Vec<(usize, f64)>> = BTreeMap::new();
    for kind in KINDS {
        let mut over: BTreeMap<&str, usize> = BTreeMap::new();
        for &n in sizes {
            let drawing = folder.join(format!("{}-{n}.svg", kind.name()));
            std::fs::write(&drawing, kind.svg(n)).expect("a drawing is written");
            for command in ["check", "make"] {
                let start = format!("| {} | {n} | {command} |", kind.name());
                if kind == Kind::Islands && n > ISLANDS_UP_TO {
                    let _ = writeln!(text, "{start} not tried: each island is a job of its own | | |");
                    continue;
                }
                if let Some(at) = over.get(command) {
                    let _ = writeln!(text, "{start} not tried: {at} edges took more than {limit} s | | |");
                    continue;
                }
                let runs = if n <= 1000 { 5 } else { 1 };
                let mut all: Vec<Ran> = (0..runs).map(|_| ran(binary, command, &drawing, &folder, limit)).collect();
                all.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
                let Ran { seconds, mb, status } = &all[runs / 2];
                if status == "stopped" {
                    over.insert(command, n);
                } else if command == "make" {
                    made.entry(kind.name()).or_default().push((n, *seconds));
                }
                let _ = writeln!(text, "{start} {seconds:.3} | {mb:.0} | {status} |");
                eprintln!("{command} {} {n}: {seconds:.3} s, {status}", kind.name());
            }
        }
    }
    let _ = std::fs::remove_dir_all(&folder);
    let _ = writeln!(
        text,
        "\nGrowth of `make` from 10,000 edges to the largest number measured, as an exponent of the number of edges:\n"
    );
    for (kind, times) in made {
        let of = |n: usize| times.iter().find(|t| t.0 == n).copied();
        let (Some(a), Some(&b)) = (of(10_000), times.last()) else { continue };
        if b.0 > a.0 {
            #[allow(clippy::cast_precision_loss)]
            let exponent = (b.1 / a.1).ln() / (b.0 as f64 / a.0 as f64).ln();
            let _ = writeln!(text, "* {kind}: {exponent:.2}, to {}", b.0);
        } else {
            let _ = writeln!(text, "* {kind}: not measured beyond {}", b.0);
        }
    }
}

fn ran(binary: &Path, command: &str, drawing: &Path, folder: &Path, limit: f64) -> Ran {
    let start = Instant::now();
    let mut run = Command::new(binary);
    run.arg(command).arg(drawing).arg("--json");
    if command == "make" {
        run.arg("--out").arg(folder.join("out"));
    }
    let mut child = run.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("the program starts");
    let status = format!("/proc/{}/status", child.id());
    let mut mb: f64 = 0.0;
    loop {
        let memory = std::fs::read_to_string(&status).unwrap_or_default();
        let line = memory.lines().find_map(|l| l.strip_prefix("VmHWM:"));
        let kb = line.and_then(|l| l.split_whitespace().next()).and_then(|n| n.parse::<f64>().ok());
        mb = mb.max(kb.unwrap_or(0.0) / 1024.0);
        let seconds = start.elapsed().as_secs_f64();
        match child.try_wait() {
            Ok(Some(s)) => return Ran { seconds, mb, status: s.code().map_or("killed".to_owned(), |c| c.to_string()) },
            _ if seconds > limit => {
                let _ = child.kill();
                let _ = child.wait();
                return Ran { seconds, mb, status: "stopped".to_owned() };
            }
            _ => std::thread::sleep(Duration::from_millis(1)),
        }
    }
}
