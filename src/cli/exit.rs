//! What the program's exit status says.

/// The exit status: 0, 1 or 2, never anything else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExitStatus {
    /// A verdict, and nothing found at the level that fails.
    Clean = 0,
    /// A verdict, with findings at that level.
    Findings = 1,
    /// No verdict: wrong usage, unreadable input, a refused overwrite, a proof that failed.
    NoVerdict = 2,
}

impl From<ExitStatus> for std::process::ExitCode {
    fn from(s: ExitStatus) -> Self {
        std::process::ExitCode::from(s as u8)
    }
}
