//! The answer on standard output, and what it means that it did not get there.
//!
//! In: bytes and the status that they stand for. Out: that status, or [`ExitStatus::NoVerdict`] where they could not be
//! written: an answer that nobody got is none. Why is said on standard error; not of a pipe that is closed, for whoever
//! closed it knows.

use super::ExitStatus;
use std::io::{self, ErrorKind, Write};
use std::sync::atomic::{AtomicBool, Ordering};

static CLOSED: AtomicBool = AtomicBool::new(false);

/// Looks before the standard library opens the null device in the place of a standard output that is closed: after that
/// nobody can tell.
#[cfg(unix)]
#[ctor::ctor(unsafe)]
fn look() {
    CLOSED.store(rustix::io::fcntl_getfd(rustix::stdio::stdout()).is_err(), Ordering::Relaxed);
}

/// Nothing can be answered: said before any work is done.
pub(super) fn closed() -> Option<ExitStatus> {
    CLOSED.load(Ordering::Relaxed).then(|| failed(&io::Error::other("it is closed")))
}

/// Writes the answer.
pub(super) fn answer(bytes: &[u8], status: ExitStatus) -> ExitStatus {
    let mut out = io::stdout().lock();
    written(out.write_all(bytes).and_then(|()| out.flush()), status)
}

/// The status of an answer that somebody else wrote.
pub(super) fn written(result: io::Result<()>, status: ExitStatus) -> ExitStatus {
    match result.and_then(|()| io::stdout().flush()) {
        Ok(()) => status,
        Err(e) => failed(&e),
    }
}

fn failed(e: &io::Error) -> ExitStatus {
    if e.kind() != ErrorKind::BrokenPipe {
        super::in_words("cannot-write", &format!("standard output cannot be written to: {e}"), None);
    }
    ExitStatus::NoVerdict
}
