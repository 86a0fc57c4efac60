//! Work on two threads. What comes out does not depend on which of them is sooner.

/// Both, the first on a thread of its own. A panic of either goes on in the caller.
pub fn both<A: Send, B>(a: impl FnOnce() -> A + Send, b: impl FnOnce() -> B) -> (A, B) {
    std::thread::scope(|scope| {
        let first = scope.spawn(a);
        let second = b();
        (first.join().unwrap_or_else(|e| std::panic::resume_unwind(e)), second)
    })
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
