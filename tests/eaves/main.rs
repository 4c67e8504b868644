//! All checks in one test binary; one module for each part of eaves.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::print_stderr
)]

mod airspace;
mod airspace_aixm;
mod airspace_read;
mod airspace_site;
mod architecture;
mod background;
mod bands;
mod batch;
mod batch_parts;
mod brute_force;
mod ceiling_grid;
mod ceiling_map;
mod clearance;
mod cli;
mod clock;
mod command_line;
mod corridor;
mod cover;
mod demo_layers;
mod demo_runway_end;
mod differential;
mod elsewhere;
mod field;
mod figure;
mod figure_busy;
mod figure_cases;
mod figure_files;
mod figure_fixture;
mod figure_golden;
mod figure_inset;
mod figure_options;
mod figure_section;
mod figure_site;
mod frame;
mod golden;
mod hard_cases;
mod hours;
mod hours_assess;
mod html_page;
mod mask;
mod no_panic;
mod packed;
mod plan_points;
mod prepare;
mod profile;
mod profile_refusals;
mod read_aerodromes;
mod read_area;
mod read_crs;
mod read_declarations;
mod read_files;
mod read_heights;
mod read_lines;
mod read_real;
mod read_schema;
mod read_stream;
mod read_structures;
mod read_terrain;
mod read_vector;
mod real_data;
mod reference;
mod report;
mod report_fixture;
mod report_plan_fixture;
mod request;
mod run;
mod runway;
mod runway_layers;
mod schedule;
mod screen;
mod screen_sites;
mod screening_reference;
mod search_twin;
mod section;
mod section_cases;
mod site;
mod structures;
mod sun;
mod surface_answers;
mod surface_geometry;
mod surface_laws;
mod surface_rows;
mod surface_tables;
mod terrain;
mod tiles;
mod units;
mod variation;
mod window;
mod wire;
mod zone;
mod zone_rows;
mod zone_rules;
