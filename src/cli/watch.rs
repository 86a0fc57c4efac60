//! Progress on standard error, and a clean stop.
//!
//! After half a second each stage is printed once with the elapsed time, then every ten seconds while it lasts. Ctrl-C,
//! a request to end and a closed terminal (SIGINT, SIGTERM, SIGHUP) stop the run at its next check of the budget, so no
//! file is half written. A second signal ends the program at once, unless files are being written.

use super::ExitStatus;
use crate::app::WRITING;
use crate::budget::Budget;
use std::io::{self, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// Silence at the start of a run.
const PATIENCE: Duration = Duration::from_millis(500);
const LOOK: Duration = Duration::from_millis(100);
const AGAIN: Duration = Duration::from_secs(10);

pub(super) fn watched<T>(work: impl FnOnce(&Budget) -> T) -> T {
    let budget = Budget::unlimited();
    let pressed = budget.clone();
    // If the handler cannot be installed, Ctrl-C ends the program at once.
    let _ = ctrlc::set_handler(move || {
        if pressed.check().is_err() && pressed.stage() != WRITING {
            std::process::exit(ExitStatus::NoVerdict as i32);
        }
        pressed.cancel();
    });
    let (done, waiting) = channel::<()>();
    let (of_printer, of_work) = (budget.clone(), budget);
    std::thread::scope(move |scope| {
        scope.spawn(move || progress(&of_printer, &waiting, &mut io::stderr()));
        // Dropped when the work ends or panics, which ends the printer too.
        let _done = done;
        work(&of_work)
    })
}

/// Prints the stages of the run until its sender is dropped.
fn progress(budget: &Budget, waiting: &Receiver<()>, out: &mut impl Write) {
    let start = Instant::now();
    let (mut printed, mut when) = ("", start);
    let mut patience = PATIENCE;
    while let Err(RecvTimeoutError::Timeout) = waiting.recv_timeout(patience) {
        patience = LOOK;
        let stage = budget.stage();
        if stage.is_empty() || (stage == printed && when.elapsed() < AGAIN) {
            continue;
        }
        // Standard error may be closed.
        let _ = writeln!(out, "letin: {stage} ({:.0} s)", start.elapsed().as_secs_f64());
        (printed, when) = (stage, Instant::now());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_run_says_nothing_and_a_long_one_each_stage_once() {
        let printed = |stages: &[(&'static str, u64)]| {
            let budget = Budget::unlimited();
            let (done, waiting) = channel::<()>();
            let mut out = Vec::new();
            let (of_printer, to) = (budget.clone(), &mut out);
            std::thread::scope(|scope| {
                scope.spawn(move || progress(&of_printer, &waiting, to));
                for (stage, ms) in stages {
                    budget.enter(stage);
                    std::thread::sleep(Duration::from_millis(*ms));
                }
                drop(done);
            });
            String::from_utf8(out).unwrap_or_default()
        };
        assert_eq!(printed(&[("reading", 50)]), "");
        let long = printed(&[("reading", 900), ("proving", 400)]);
        assert_eq!(long.lines().count(), 2, "{long}");
        assert!(long.starts_with("letin: reading (") && long.contains("\nletin: proving ("), "{long}");
    }
}
