//! How large an SVG file may be. Each is far beyond a real drawing and well within a common machine.

/// Bytes of the file.
pub(super) const FILE_BYTES: usize = 64 << 20;
/// Nodes of the document: elements, texts and comments (about 100 bytes each).
pub(super) const NODES: u32 = 2_000_000;
/// Elements visited while drawing, each instance of a `use` counted.
pub(super) const VISITS: usize = 1_000_000;
/// Nesting of elements and of `use` within `use`.
pub(super) const DEPTH: usize = 500;
/// Attributes of one element: the XML parser compares each with each.
pub(super) const ATTRIBUTES: usize = 2000;
/// Entities declared.
pub(super) const ENTITIES: usize = 1000;
/// Bytes of text once all entities are put in.
pub(super) const EXPANDED_BYTES: u64 = 64 << 20;
/// Lines and arcs of the whole drawing.
pub(super) const SEGMENTS: usize = 5_000_000;
/// Steps of matching style rules against elements.
pub(super) const STYLE_STEPS: u64 = 100_000_000;

/// The second reader takes many times the memory of the file and cannot be stopped half way, so it is only asked
/// about files up to this many bytes,
pub(super) const SECOND_BYTES: usize = 8 << 20;
/// this many lines and arcs,
pub(super) const SECOND_SEGMENTS: usize = 500_000;
/// and this many steps of style matching.
pub(super) const SECOND_STYLE_STEPS: u64 = 20_000_000;
/// Stack of the second reader, which follows nested elements by recursion.
pub(super) const SECOND_STACK: usize = 64 << 20;
