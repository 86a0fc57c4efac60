//! The exit status of the program.

/// The exit status, always 0, 1 or 2.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExitStatus {
    /// A verdict without findings at the severity of `--fail-on`.
    Clean = 0,
    /// A verdict with findings at that severity.
    Findings = 1,
    /// No verdict: wrong usage, unreadable input, a refused overwrite, a failed proof.
    NoVerdict = 2,
}

impl From<ExitStatus> for std::process::ExitCode {
    fn from(s: ExitStatus) -> Self {
        std::process::ExitCode::from(s as u8)
    }
}
