//! The cautions of everything that leads somebody to rout.

/// Two lines: what to guard against, and what comes before anything that this program says.
pub const CAUTION: [&str; 2] = [
    "Routers hurt. Guards on; protect eyes, ears and lungs. Unplug the router to change bush or cutter.",
    "Local rules, the makers' instructions and trained practice come first. Cut a trial in scrap first.",
];
