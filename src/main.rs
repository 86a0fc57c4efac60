//! The program `letin`: see [`letin::cli`].

use letin::cli;
use std::process::ExitCode;

fn main() -> ExitCode {
    // A fault of the program must not look like findings, nor leave with a status that is not promised.
    std::panic::set_hook(Box::new(|_| {}));
    let run = std::panic::catch_unwind(|| cli::run(std::env::args_os()));
    let status = run.unwrap_or_else(|fault| {
        let said = fault.downcast_ref::<String>().map(String::as_str).or(fault.downcast_ref::<&str>().copied());
        cli::fault(&format!("the program stumbled: {}", said.unwrap_or("it cannot say over what")))
    });
    status.into()
}
