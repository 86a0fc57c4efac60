//! Stops a run that is no longer wanted, and says how far it is. Every long call takes a budget and every long loop checks it.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// The cancel flag and the stage of a run. Cheap to clone; clones share both.
#[derive(Clone, Debug, Default)]
pub struct Budget {
    cancelled: Arc<AtomicBool>,
    stage: Arc<Mutex<&'static str>>,
}

/// The run was cancelled before it had an answer.
#[derive(Debug, thiserror::Error, Clone, Copy, PartialEq, Eq)]
#[error("stopped before it was done")]
pub struct Stopped;

impl Budget {
    /// Runs until it is cancelled.
    #[must_use]
    pub fn unlimited() -> Budget {
        Budget::default()
    }

    /// Stops every call that holds a clone of this budget, at its next check.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// Sets the current stage, in words for the person who waits: `checking every corner`.
    pub fn enter(&self, stage: &'static str) {
        *self.stage.lock().unwrap_or_else(PoisonError::into_inner) = stage;
    }

    /// The current stage; empty before the first one.
    #[must_use]
    pub fn stage(&self) -> &'static str {
        *self.stage.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// # Errors
    /// [`Stopped`] once cancelled.
    pub fn check(&self) -> Result<(), Stopped> {
        if self.cancelled.load(Ordering::Relaxed) { Err(Stopped) } else { Ok(()) }
    }
}
