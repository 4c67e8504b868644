//! Who is responsible for an AIXM airspace: `AuthorityForAirspace` of the same file, with the names of
//! the organisations and units that it points to.
//!
//! An authority is named as the file names it: the `name` of the feature that it refers to, else the
//! `xlink:title` of the reference. What the file does not hold is not named.

use std::collections::HashMap;

use roxmltree::Node;

use super::{child, elements, identifiers, is_aixm_element, text};

/// The features of a file that name authorities.
#[derive(Default)]
pub struct Authorities<'a, 'i> {
    assigned: Vec<Node<'a, 'i>>,
    names: HashMap<String, String>,
}

impl<'a, 'i> Authorities<'a, 'i> {
    /// Takes a feature in, if it says anything of authorities.
    pub fn take(&mut self, node: Node<'a, 'i>) {
        if is_aixm_element(node, "AuthorityForAirspace") {
            self.assigned.push(node);
        }
        for feature in ["OrganisationAuthority", "Unit"] {
            if is_aixm_element(node, feature)
                && let Some(name) = slices(node, feature).find_map(|slice| text(slice, "name"))
            {
                for identifier in identifiers(node) {
                    self.names.insert(identifier, name.clone());
                }
            }
        }
    }

    /// Those of an airspace: `Donlon CAA (AIS)`; none where the file names none.
    pub fn of(&self, airspace: Node<'_, '_>) -> Option<String> {
        let known = identifiers(airspace);
        let mut found: Vec<String> = self
            .assigned
            .iter()
            .flat_map(|node| slices(*node, "AuthorityForAirspace"))
            .filter(|slice| {
                child(*slice, "assignedAirspace")
                    .and_then(reference)
                    .is_some_and(|assigned| known.contains(&assigned))
            })
            .filter_map(|slice| {
                let holder = child(slice, "responsibleOrganisation")
                    .or_else(|| child(slice, "responsibleUnit"))?;
                let name = reference(holder)
                    .and_then(|id| self.names.get(&id).cloned())
                    .or_else(|| xlink(holder, "title"))?;
                Some(match text(slice, "type") {
                    Some(kind) => format!("{name} ({kind})"),
                    None => name,
                })
            })
            .collect();
        found.dedup();
        (!found.is_empty()).then(|| found.join(", "))
    }
}

/// The lasting time slices of a feature.
fn slices<'a, 'i>(node: Node<'a, 'i>, feature: &str) -> impl Iterator<Item = Node<'a, 'i>> {
    let name = format!("{feature}TimeSlice");
    elements(node)
        .filter(|child| is_aixm_element(*child, "timeSlice"))
        .flat_map(elements)
        .filter(move |child| is_aixm_element(*child, &name))
        .filter(|slice| super::is_lasting(*slice))
}

/// The feature that a reference points to.
fn reference(holder: Node<'_, '_>) -> Option<String> {
    let target = xlink(holder, "href")?;
    let id = target
        .strip_prefix("urn:uuid:")
        .or_else(|| target.strip_prefix('#'))?;
    Some(id.to_owned())
}

fn xlink(node: Node<'_, '_>, name: &str) -> Option<String> {
    node.attributes()
        .find(|attribute| {
            attribute.name() == name
                && attribute.namespace() == Some("http://www.w3.org/1999/xlink")
        })
        .map(|attribute| attribute.value().trim().to_owned())
        .filter(|value| !value.is_empty())
}
