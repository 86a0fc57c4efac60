//! Reading: drawings become the outlines that their format defines, or an error.
//!
//! * [`svg_reader`]: SVG files, one for each feature.
//! * [`svg_styles`]: which shapes a style shows, and where; boxes that a browser measured.
//! * [`dxf_reader`]: DXF files of several releases, one for each entity.
//! * [`dxf_damaged`]: DXF files with missing and wrong records.
//! * [`kinds`]: a file for every kind of element and entity.
//! * [`join_edges`]: loose edges become closed lines.
//! * [`hostile`]: drawings made to break the reader.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod dxf_damaged;
mod dxf_reader;
mod hostile;
mod join_edges;
mod kinds;
mod svg_reader;
mod svg_styles;
