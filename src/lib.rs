//! eaves: distances, shielding and allowed ceiling for a drone operating area near an aerodrome.
pub mod aerodrome;
pub mod answer;
pub mod cli;
pub mod error;
pub mod frame;
pub mod obstacle;
pub mod profile;
pub mod report;
pub mod request;
pub mod run;
pub mod site;
pub mod units;
pub mod window;
