//! The cautions in every output that leads to routing.

/// Two lines: the dangers, and the rules that take precedence over this program.
pub const CAUTION: [&str; 2] = [
    "Routers hurt. Guards on; protect eyes, ears and lungs. Unplug the router to change bush or cutter.",
    "Local rules, the makers' instructions and trained practice come first. Cut a trial in scrap first.",
];
