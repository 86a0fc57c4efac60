//! The program `letin`: see [`letin::cli`].

use letin::cli;
use std::process::ExitCode;

fn main() -> ExitCode {
    // A panic must not look like a finding, and the exit status must be a documented one.
    std::panic::set_hook(Box::new(|_| {}));
    let run = std::panic::catch_unwind(|| cli::run(std::env::args_os()));
    let status = run.unwrap_or_else(|fault| {
        let said = fault.downcast_ref::<String>().map(String::as_str).or(fault.downcast_ref::<&str>().copied());
        cli::fault(&format!("the program stopped unexpectedly: {}", said.unwrap_or("no details known")))
    });
    status.into()
}
