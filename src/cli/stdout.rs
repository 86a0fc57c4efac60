//! Writes the answer to standard output.
//!
//! In: bytes and their exit status. Out: that status, or [`ExitStatus::NoVerdict`] where the write fails, with the reason on
//! standard error. A closed pipe gives no message: its reader closed it on purpose.

use super::ExitStatus;
use std::io::{self, ErrorKind, Write};
use std::sync::atomic::{AtomicBool, Ordering};

static CLOSED: AtomicBool = AtomicBool::new(false);

/// Runs before `main`: the standard library then opens the null device in place of a closed standard output, which hides
/// that it was closed.
#[cfg(unix)]
#[ctor::ctor(unsafe)]
fn look() {
    CLOSED.store(rustix::io::fcntl_getfd(rustix::stdio::stdout()).is_err(), Ordering::Relaxed);
}

/// The status for a closed standard output, before any work is done.
pub(super) fn closed() -> Option<ExitStatus> {
    CLOSED.load(Ordering::Relaxed).then(|| failed(&io::Error::other("it is closed")))
}

/// Writes the answer.
pub(super) fn answer(bytes: &[u8], status: ExitStatus) -> ExitStatus {
    let mut out = io::stdout().lock();
    written(out.write_all(bytes).and_then(|()| out.flush()), status)
}

/// The status of an answer that the caller wrote.
pub(super) fn written(result: io::Result<()>, status: ExitStatus) -> ExitStatus {
    match result.and_then(|()| io::stdout().flush()) {
        Ok(()) => status,
        Err(e) => failed(&e),
    }
}

fn failed(e: &io::Error) -> ExitStatus {
    if e.kind() != ErrorKind::BrokenPipe {
        super::message::in_words("cannot-write", &format!("standard output cannot be written to: {e}"), None);
    }
    ExitStatus::NoVerdict
}
