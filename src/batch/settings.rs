//! What is asked of every site of a screening, and the cases of its sensitivity.

use jiff::civil::Date;

use crate::profile::Profile;
use crate::units::{Altitude, Height, Metres, Pressure};

/// What is asked of every site; the same as the question of one site without its area.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The rule profile.
    pub profile: Profile,
    /// The date the answers hold for.
    pub date: Date,
    /// Aerodromes within this distance are answered.
    pub search_radius: Metres,
    /// One elevation for every site and the obstacles near it, instead of terrain.
    pub site_elevation: Option<Altitude>,
    /// What the ground is known within, instead of what the terrain layer states.
    pub ground_accuracy: Option<Metres>,
    /// How near a certified ceiling must come to the true one.
    pub tolerance: Metres,
    /// The QNH that flight levels are converted with; a plausible range without one.
    pub qnh: Option<Pressure>,
    /// The values that are varied.
    pub sensitivity: Sensitivity,
}

impl Settings {
    /// How far from a site an obstacle may shield in some case: obstacles farther off need not be read.
    #[must_use]
    pub fn obstacle_reach(&self) -> Metres {
        self.sensitivity
            .cases()
            .iter()
            .map(|case| case.profile(&self.profile).widest_reach())
            .fold(Metres::ZERO, Metres::max)
    }
}

/// Values to be varied; an empty list leaves what the profile, the layers or the site say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sensitivity {
    /// Reaches of every shield term.
    pub reaches: Vec<Metres>,
    /// Margins of every shield term.
    pub margins: Vec<Metres>,
    /// Vertical accuracies that no obstacle is known better than; a worse one that is stated stands.
    pub obstacle_accuracies: Vec<Metres>,
    /// Wished heights above ground. A site that states its own is asked that one in every case.
    pub wishes: Vec<Height>,
}

impl Sensitivity {
    /// Every combination, the last list fastest; one that varies nothing when all lists are empty.
    #[must_use]
    pub fn cases(&self) -> Vec<Case> {
        let mut cases = Vec::new();
        for reach in options(&self.reaches) {
            for margin in options(&self.margins) {
                for obstacle_accuracy in options(&self.obstacle_accuracies) {
                    for wish in options(&self.wishes) {
                        cases.push(Case {
                            reach,
                            margin,
                            obstacle_accuracy,
                            wish,
                        });
                    }
                }
            }
        }
        cases
    }
}

/// Each value, or none once.
fn options<T: Copy>(values: &[T]) -> Vec<Option<T>> {
    if values.is_empty() {
        vec![None]
    } else {
        values.iter().copied().map(Some).collect()
    }
}

/// One combination of varied values; none where nothing is varied.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Case {
    /// The reach of every shield term.
    pub reach: Option<Metres>,
    /// The margin of every shield term.
    pub margin: Option<Metres>,
    /// No obstacle is known better than this vertically.
    pub obstacle_accuracy: Option<Metres>,
    /// The wished height above ground.
    pub wish: Option<Height>,
}

impl Case {
    /// The profile with the reach and the margin of this case.
    #[must_use]
    pub fn profile(&self, profile: &Profile) -> Profile {
        profile.varied(self.reach, self.margin)
    }
}
