//! One test binary; one module for each part of eaves.

mod read_aerodromes;
mod read_area;
mod read_crs;
mod read_declarations;
mod read_files;
mod read_heights;
pub mod read_lines;
mod read_real;
mod read_schema;
mod read_structures;
mod read_terrain;
mod read_vector;
