//! A run that is watched: its stages on standard error when it takes long, and an end when the maker wants one.
//!
//! After half a second each stage is said once, and every ten seconds how long it has taken. Ctrl-C, a request to end and a
//! terminal that goes (SIGINT, SIGTERM, SIGHUP) stop the run at its next look at the budget, so that nothing is half
//! written; again they end the program at once, unless files are being written.

use super::ExitStatus;
use crate::app::WRITING;
use crate::budget::Budget;
use std::io::{self, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// So long nothing is said.
const PATIENCE: Duration = Duration::from_millis(500);
const LOOK: Duration = Duration::from_millis(100);
const AGAIN: Duration = Duration::from_secs(10);

pub(super) fn watched<T>(work: impl FnOnce(&Budget) -> T) -> T {
    let budget = Budget::unlimited();
    let pressed = budget.clone();
    // Where no handler can be set the key ends the program at once, as it always does.
    let _ = ctrlc::set_handler(move || {
        if pressed.check().is_err() && pressed.stage() != WRITING {
            std::process::exit(ExitStatus::NoVerdict as i32);
        }
        pressed.cancel();
    });
    let (done, waiting) = channel::<()>();
    let (of_teller, of_work) = (budget.clone(), budget);
    std::thread::scope(move |scope| {
        scope.spawn(move || tell(&of_teller, &waiting, &mut io::stderr()));
        // Gone when the work is done, or stumbles: then the teller ends.
        let _done = done;
        work(&of_work)
    })
}

fn tell(budget: &Budget, waiting: &Receiver<()>, out: &mut impl Write) {
    let start = Instant::now();
    let (mut said, mut when) = ("", start);
    let mut patience = PATIENCE;
    while let Err(RecvTimeoutError::Timeout) = waiting.recv_timeout(patience) {
        patience = LOOK;
        let stage = budget.stage();
        if stage.is_empty() || (stage == said && when.elapsed() < AGAIN) {
            continue;
        }
        // Whoever reads may stop reading.
        let _ = writeln!(out, "letin: {stage} ({:.0} s)", start.elapsed().as_secs_f64());
        (said, when) = (stage, Instant::now());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_run_says_nothing_and_a_long_one_each_stage_once() {
        let told = |stages: &[(&'static str, u64)]| {
            let budget = Budget::unlimited();
            let (done, waiting) = channel::<()>();
            let mut out = Vec::new();
            let (of_teller, to) = (budget.clone(), &mut out);
            std::thread::scope(|scope| {
                scope.spawn(move || tell(&of_teller, &waiting, to));
                for (stage, ms) in stages {
                    budget.enter(stage);
                    std::thread::sleep(Duration::from_millis(*ms));
                }
                drop(done);
            });
            String::from_utf8(out).unwrap_or_default()
        };
        assert_eq!(told(&[("reading", 50)]), "");
        let long = told(&[("reading", 900), ("proving", 400)]);
        assert_eq!(long.lines().count(), 2, "{long}");
        assert!(long.starts_with("letin: reading (") && long.contains("\nletin: proving ("), "{long}");
    }
}
