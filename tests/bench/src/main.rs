//! Times whole jobs of the built program, and single operations beside four other engines at the same measured error.
//! Writes the tables to RESULTS.md.
//!
//!     cargo run --release -- PATH/TO/letin [--most EDGES] [--limit SECONDS] [--error MM] [--out RESULTS.md]
//!
//! Without the program's path only the single operations are timed. [`whole`] and [`single`] describe the measurements.

mod engines;
mod shapes;
mod single;
mod whole;

use std::path::PathBuf;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if args.first().is_some_and(|a| a == "one") {
        single::one(&args[1..]);
        return;
    }
    let mut args = args.into_iter();
    let (mut binary, mut most, mut limit, mut error) = (None, 100_000, 60.0, 0.002);
    let mut out = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("RESULTS.md");
    while let Some(a) = args.next() {
        match a.as_str() {
            "--most" => most = args.next().and_then(|n| n.parse().ok()).expect("--most takes a number of edges"),
            "--limit" => limit = args.next().and_then(|n| n.parse().ok()).expect("--limit takes seconds"),
            "--error" => error = args.next().and_then(|n| n.parse().ok()).expect("--error takes mm"),
            "--out" => out = args.next().map(PathBuf::from).expect("--out takes a file"),
            _ => binary = Some(PathBuf::from(a)),
        }
    }
    let sizes: Vec<usize> = (1..=6).map(|k| 10usize.pow(k)).filter(|n| *n <= most).collect();
    let mut text = format!(
        "# Times\n\nWritten by the program in this folder. Machine: {}. Up to {most} edges.\n\nOutlines, about 250 mm across: \
         *smooth*, a scroll with closely spaced points; *noisy*, the same with each point off by up to 0.05 mm; *stairs*, the \
         same along the edges of pixels; *islands*, many twelve-sided pads.\n",
        machine()
    );
    if let Some(binary) = binary {
        whole::table(&binary, &sizes, limit, &mut text);
    }
    single::table(&sizes, error, limit, &mut text);
    print!("{text}");
    std::fs::write(out, text).expect("the table is written");
}

fn machine() -> String {
    let cpu = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let name = cpu.lines().find(|l| l.starts_with("model name")).and_then(|l| l.split(": ").nth(1));
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let memory = std::fs::read_to_string("/proc/meminfo").unwrap_or_default();
    let kb = memory
        .lines()
        .find_map(|l| l.strip_prefix("MemTotal:"))
        .and_then(|l| l.split_whitespace().next()?.parse().ok());
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let load = load.split(' ').next().unwrap_or("unknown").to_owned();
    let name = name.unwrap_or("unknown processor").trim();
    format!("{name}, {cores} cores, {:.0} GB, load before the run {load}", kb.unwrap_or(0.0) / 1024.0 / 1024.0)
}
