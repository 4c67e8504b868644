//! eaves: distances, shielding and allowed ceiling for a drone operating area near an aerodrome.
pub mod aerodrome;
pub mod answer;
pub mod error;
pub mod figure;
pub mod frame;
pub mod obstacle;
pub mod profile;
pub mod site;
pub mod units;
