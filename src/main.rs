//! The program `letin`: see [`letin::cli`].

use letin::cli;
use std::panic::Location;
use std::process::ExitCode;
use std::sync::{Mutex, PoisonError};

/// Where the last panic began: file and line, without the folders of the computer that built the program.
static PLACE: Mutex<Option<String>> = Mutex::new(None);

/// `src/geom/shape/ring.rs:12`, or with the crate's name before it where it is another one.
fn place(at: &Location) -> String {
    let parts: Vec<&str> = at.file().split(['/', '\\']).collect();
    let own = parts.iter().rposition(|p| *p == "src").map_or(0, |src| src.saturating_sub(1));
    format!("{}:{}", parts[own..].join("/"), at.line())
}

fn main() -> ExitCode {
    // A panic must not look like a finding, and the exit status must be a documented one.
    std::panic::set_hook(Box::new(|panic| {
        *PLACE.lock().unwrap_or_else(PoisonError::into_inner) = panic.location().map(place);
    }));
    let run = std::panic::catch_unwind(|| cli::run(std::env::args_os()));
    let status = run.unwrap_or_else(|fault| {
        let said = fault.downcast_ref::<String>().map(String::as_str).or(fault.downcast_ref::<&str>().copied());
        let place = PLACE.lock().unwrap_or_else(PoisonError::into_inner).take();
        let at = place.map(|p| format!(" at {p}")).unwrap_or_default();
        cli::fault(&format!("the program stopped unexpectedly{at}: {}", said.unwrap_or("no details known")))
    });
    status.into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_is_placed_without_the_computer_s_folders() {
        let shown = place(Location::caller());
        assert!(shown.starts_with("src/main.rs:") || shown.starts_with("letin/src/main.rs:"), "{shown}");
    }
}
