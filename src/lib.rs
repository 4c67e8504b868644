//! eaves: distances, shielding and allowed ceiling for a drone operating area near an aerodrome.
pub mod aerodrome;
pub mod answer;
pub mod assess;
pub mod distance;
pub mod error;
pub mod field;
pub mod frame;
pub mod obstacle;
pub mod plan;
pub mod profile;
pub mod read;
pub mod search;
pub mod site;
pub mod units;
pub mod variation;
pub mod wire;
