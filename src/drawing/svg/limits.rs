//! Limits on SVG files. Each is far beyond a real drawing and well within a common computer.

/// Size of the file, bytes.
pub(super) const FILE_BYTES: usize = 64 << 20;
/// Nodes of the document: elements, texts and comments, of about 100 bytes each.
pub(super) const NODES: u32 = 2_000_000;
/// Elements visited while drawing. Each copy of a `use` counts.
pub(super) const VISITS: usize = 1_000_000;
/// Nesting of elements and of `use` within `use`.
pub(super) const DEPTH: usize = 500;
/// Attributes of one element. The XML parser compares every two of them.
pub(super) const ATTRIBUTES: usize = 2000;
/// Declared entities.
pub(super) const ENTITIES: usize = 1000;
/// Size of the text with all entities expanded, bytes.
pub(super) const EXPANDED_BYTES: u64 = 64 << 20;
/// Lines and arcs of the whole drawing.
pub(super) const SEGMENTS: usize = 5_000_000;
/// Steps of matching style rules against elements.
pub(super) const STYLE_STEPS: u64 = 100_000_000;

/// Largest file that the second reader gets, bytes. It takes many times that memory and cannot be stopped.
pub(super) const SECOND_BYTES: usize = 8 << 20;
/// Most lines and arcs that the second reader gets.
pub(super) const SECOND_SEGMENTS: usize = 500_000;
/// Most steps of style matching for the second reader.
pub(super) const SECOND_STYLE_STEPS: u64 = 20_000_000;
/// Stack size of the second reader, bytes. It follows nested elements by recursion.
pub(super) const SECOND_STACK: usize = 64 << 20;
