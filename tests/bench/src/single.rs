//! Single operations. Each is measured in a process of its own, which ends itself beyond a limit of time or memory.
//!
//! *Error*: the greatest deviation of points on the result's edges from the exact distance. The points are at most 0.05 mm
//! apart and include all corners. For growing and shrinking the distance is taken from the source's edges, for a difference
//! from the nearer source. The error does not show missing parts; the number of rings and the relative area do.

use crate::engines::{self, NAMES, OPERATIONS, Operation, Source};
use crate::shapes::{KINDS, Kind};
use letin::geom::edges::{EdgeIndex, sampled};
use letin::geom::{Point, Region};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// The operation is repeated for at least this time, s. The best time counts.
const REPEAT: f64 = 0.3;
/// Greatest number of edges for the search for a chord.
const CHORDS_AT: usize = 1000;
const COARSEST: f64 = 0.064;
const FINEST: f64 = 1e-5;
/// Limit of memory, MB.
const MOST_MEMORY: f64 = 6000.0;

/// The output of a measuring process.
#[derive(Clone, Debug)]
struct Measured {
    ms: f64,
    error: f64,
    rings: usize,
    edges: usize,
    area: f64,
    mb: f64,
}

/// The process that measures one operation. It prints the result or the reason for none.
pub fn one(args: &[String]) {
    println!("{}", measured(args).unwrap_or_else(|e| format!("no: {}", e.lines().next().unwrap_or_default())));
}

fn measured(args: &[String]) -> Result<String, String> {
    let word = |i: usize| args.get(i).cloned().ok_or("too few words");
    let number = |i: usize| word(i)?.parse::<f64>().map_err(|e| e.to_string());
    let kind = *KINDS.iter().find(|k| Ok(k.name().to_owned()) == word(0)).ok_or("no such outline")?;
    let n: usize = word(1)?.parse().map_err(|_| "no number of edges")?;
    let operation = OPERATIONS[word(2)?.parse::<usize>().map_err(|_| "no operation")?].1;
    let engine: usize = word(3)?.parse().map_err(|_| "no engine")?;
    let (chord, limit) = (number(4)?, number(5)?);
    let watch = Watch::over(limit, "reading the outline");
    let source = Source::new(kind.rings(n), operation)?;
    watch.done();
    let watch = Watch::over(limit, "the operation");
    let mut best = f64::INFINITY;
    let begun = Instant::now();
    let result = loop {
        let start = Instant::now();
        let result = engines::applied(engine, operation, &source, chord);
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
        if begun.elapsed().as_secs_f64() > REPEAT || result.is_err() {
            break result?;
        }
    };
    watch.done();
    let mb = memory();
    let edges: usize = result.rings.iter().map(|r| r.segments.len()).sum();
    // Some engines reverse their rings.
    let (error, area) = (error(&result, &source, operation), result.area().abs());
    Ok(format!("{best} {error} {} {edges} {area} {mb}", result.rings.len()))
}

fn error(result: &Region, source: &Source, operation: Operation) -> f64 {
    let (one, other) = (EdgeIndex::new(&source.region), EdgeIndex::new(&source.other_region));
    let off = |index: &EdgeIndex, p: Point| index.nearest(p).map_or(f64::INFINITY, |n| n.distance);
    let miss = |p: Point| match operation {
        Operation::Grow(d) | Operation::Shrink(d) => (off(&one, p) - d).abs(),
        Operation::Less(..) => off(&one, p).min(off(&other, p)),
    };
    sampled(result, 0.05).map(miss).fold(0.0, f64::max)
}

/// Peak memory of this process, MB.
fn memory() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    line.and_then(|l| l.split_whitespace().next()).and_then(|n| n.parse::<f64>().ok()).unwrap_or(0.0) / 1024.0
}

/// Ends the process when a stage exceeds the limit of time or memory.
struct Watch(Arc<AtomicBool>);

impl Watch {
    fn over(seconds: f64, stage: &'static str) -> Watch {
        let done = Arc::new(AtomicBool::new(false));
        let seen = Arc::clone(&done);
        std::thread::spawn(move || {
            let start = Instant::now();
            while !seen.load(Ordering::Relaxed) {
                let why = if start.elapsed().as_secs_f64() > seconds {
                    Some(format!("more than {seconds} s"))
                } else if memory() > MOST_MEMORY {
                    Some(format!("more than {MOST_MEMORY} MB"))
                } else {
                    None
                };
                if let Some(why) = why {
                    println!("over: {stage} took {why}");
                    std::process::exit(0);
                }
                std::thread::sleep(Duration::from_millis(20));
            }
        });
        Watch(done)
    }

    fn done(&self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// Measures in a process of its own.
fn asked(kind: Kind, n: usize, operation: usize, engine: usize, chord: f64, limit: f64) -> Result<Measured, String> {
    let words = [kind.name().to_owned(), n.to_string(), operation.to_string(), engine.to_string()];
    let exe = std::env::current_exe().map_err(|e| e.to_string())?;
    let mut command = Command::new(exe);
    command.arg("one").args(words).args([chord.to_string(), limit.to_string()]);
    let done = command.output().map_err(|e| e.to_string())?;
    let said = String::from_utf8_lossy(&done.stdout).trim().to_owned();
    let v: Vec<f64> = said.split(' ').filter_map(|w| w.parse().ok()).collect();
    match v[..] {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        [ms, error, rings, edges, area, mb] => {
            Ok(Measured { ms, error, rings: rings as usize, edges: edges as usize, area, mb })
        }
        _ if said.is_empty() => Err(format!("no: it ended with {}", done.status)),
        _ => Err(said),
    }
}

/// The coarsest chord, by halving and doubling, with a measured error of at most `target`.
fn chord(kind: Kind, n: usize, operation: usize, engine: usize, target: f64, limit: f64) -> f64 {
    let fits = |c: f64| asked(kind, n, operation, engine, c, limit).is_ok_and(|m| m.error <= target);
    let mut chord = target;
    while chord > FINEST && !fits(chord) {
        chord /= 2.0;
    }
    while chord < COARSEST && fits(2.0 * chord) {
        chord *= 2.0;
    }
    chord
}

/// Uses the chord found at [`CHORDS_AT`] edges, or a finer one where the error is larger here. If half and a quarter of the
/// chord do not help, the error is not due to the chord.
fn to_target(
    kind: Kind,
    n: usize,
    operation: usize,
    engine: usize,
    chord: f64,
    target: f64,
    limit: f64,
) -> (Result<Measured, String>, f64) {
    let first = asked(kind, n, operation, engine, chord, limit);
    let missed = |m: &Result<Measured, String>| m.as_ref().is_ok_and(|m| m.error > target);
    if !missed(&first) {
        return (first, chord);
    }
    for finer in [chord / 2.0, chord / 4.0] {
        let again = asked(kind, n, operation, engine, finer, limit);
        if again.is_ok() && !missed(&again) {
            return (again, finer);
        }
    }
    (first, chord)
}

/// Writes the table.
pub fn table(sizes: &[usize], target: f64, limit: f64, text: &mut String) {
    let _ = writeln!(
        text,
        "\n## Single operations\n\nAn engine that replaces arcs by chords uses the coarsest chord with a measured error of at most \
         {target} mm, found by halving and doubling. A larger error in the table is due to the engine itself. *Times* is the time \
         relative to `letin` in the same group of rows. Only the time of `letin` includes a certificate. *Area* is relative to \
         `letin`, %. A measurement longer than {limit} s is stopped, and larger outlines of its kind are not tried.\n"
    );
    let _ = writeln!(
        text,
        "| operation | outline | edges | engine | ms | times | error mm | chord mm | rings | edges out | area % | MB |"
    );
    let _ = writeln!(text, "| --- | --- | ---: | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |");
    for (operation, (what, op)) in OPERATIONS.iter().enumerate() {
        for kind in KINDS {
            // By engine: the reason for not trying it, and its chord.
            let (mut over, mut chords) = (BTreeMap::new(), BTreeMap::new());
            for &n in sizes {
                let mut own: Option<Measured> = None;
                for (engine, name) in NAMES.iter().enumerate() {
                    let start = format!("| {what} | {} | {n} | {name} |", kind.name());
                    if let Some(why) = over.get(&engine) {
                        let _ = writeln!(text, "{start} not tried: {why} | | | | | | | |");
                        continue;
                    }
                    let chosen = engines::has_chords(engine) && !matches!(op, Operation::Less(..));
                    let chord = if chosen {
                        *chords
                            .entry((engine, n.min(CHORDS_AT)))
                            .or_insert_with_key(|(_, at)| self::chord(kind, *at, operation, engine, target, limit))
                    } else {
                        target
                    };
                    let (measured, chord) = if chosen {
                        to_target(kind, n, operation, engine, chord, target, limit)
                    } else {
                        (asked(kind, n, operation, engine, chord, limit), chord)
                    };
                    let row = match measured {
                        Ok(m) => {
                            let row = reported(&m, own.as_ref(), &how(engine, op, chord));
                            if engine == 0 {
                                own = Some(m);
                            }
                            row
                        }
                        Err(e) => {
                            if e.starts_with("over: ") {
                                over.insert(engine, format!("at {n} edges {}", &e["over: ".len()..]));
                            }
                            format!("{e} | | | | | | | |")
                        }
                    };
                    let _ = writeln!(text, "{start} {row}");
                    eprintln!("{what}, {} {n} {name}: {row}", kind.name());
                }
            }
        }
    }
}

/// The chosen chord, or the reason for none.
fn how(engine: usize, operation: &Operation, chord: f64) -> String {
    match operation {
        Operation::Less(..) => "none needed".to_owned(),
        _ if engines::has_chords(engine) => chord.to_string(),
        _ => "true arcs".to_owned(),
    }
}

fn reported(m: &Measured, own: Option<&Measured>, chord: &str) -> String {
    let times = own.map_or("1".to_owned(), |o| format!("{:.3}", m.ms / o.ms));
    let area = own.map_or("100".to_owned(), |o| format!("{:.4}", 100.0 * m.area / o.area));
    format!("{:.2} | {times} | {:.6} | {chord} | {} | {} | {area} | {:.0} |", m.ms, m.error, m.rings, m.edges, m.mb)
}
