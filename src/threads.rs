//! Work on two threads. What comes out does not depend on which of them is sooner.

use std::sync::{Mutex, PoisonError};

/// Both, the first on a thread of its own; where none is to be had, one after the other. A panic of either goes on in the
/// caller.
pub fn both<A: Send, B>(a: impl FnOnce() -> A + Send, b: impl FnOnce() -> B) -> (A, B) {
    let waiting = Mutex::new(Some(a));
    let run = || {
        let work = waiting.lock().unwrap_or_else(PoisonError::into_inner).take();
        work.map(|work| work())
    };
    let (first, second) = std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().spawn_scoped(scope, run);
        let second = b();
        let first = match thread {
            Ok(thread) => thread.join().unwrap_or_else(|e| std::panic::resume_unwind(e)),
            Err(_) => run(),
        };
        (first, second)
    });
    let Some(first) = first else { unreachable!("it was run once, here or there") };
    (first, second)
}

#[cfg(test)]
mod tests {
    #[test]
    fn both_come_back_and_a_panic_goes_on() {
        assert_eq!(super::both(|| 3, || "three"), (3, "three"));
        let broken = std::panic::catch_unwind(|| super::both(|| assert_eq!(1, 2), || ()));
        assert!(broken.is_err());
    }
}
