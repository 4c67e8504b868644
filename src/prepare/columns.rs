//! The columns of a FlatGeobuf file: every property with its type, so that values come back as they
//! were.
//!
//! A property whose values are all text, whole numbers, decimal numbers or truth values has a column
//! of that type; any other has one of JSON. Not here: the features themselves.

use std::collections::BTreeMap;

use flatgeobuf::ColumnType;
use geojson::JsonObject;
use serde_json::Value;

/// What the values of one property are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Seen {
    /// The only type seen; none where only null was.
    kind: Option<ColumnType>,
    has_null: bool,
}

/// The properties of all features of a file.
#[derive(Clone, Debug, Default)]
pub struct Columns {
    seen: BTreeMap<String, Seen>,
}

impl Columns {
    /// Looks at the properties of a feature.
    pub fn note(&mut self, properties: &JsonObject) {
        for (name, value) in properties {
            let kind = kind_of(value);
            match self.seen.get_mut(name) {
                Some(seen) => {
                    seen.has_null |= kind.is_none();
                    seen.kind = match (seen.kind, kind) {
                        (Some(a), Some(b)) if a != b => Some(ColumnType::Json),
                        (known, new) => known.or(new),
                    };
                }
                None => {
                    let has_null = kind.is_none();
                    self.seen.insert(name.clone(), Seen { kind, has_null });
                }
            }
        }
    }

    /// Names and types in order, and the numbers of columns by name.
    ///
    /// Null is as good as absent, and is not written, unless another property has the same name but
    /// for the case of letters: then it hides that one.
    #[must_use]
    pub fn typed(&self) -> Vec<(String, ColumnType)> {
        let mut alike: BTreeMap<String, usize> = BTreeMap::new();
        for name in self.seen.keys() {
            *alike.entry(name.to_lowercase()).or_default() += 1;
        }
        self.seen
            .iter()
            .map(|(name, seen)| {
                let hides = seen.has_null
                    && alike
                        .get(&name.to_lowercase())
                        .is_some_and(|count| *count > 1);
                let kind = match seen.kind {
                    Some(kind) if !hides => kind,
                    _ => ColumnType::Json,
                };
                (name.clone(), kind)
            })
            .collect()
    }

    /// A name for a column of our own that no property has.
    #[must_use]
    pub fn free(&self, name: &str) -> String {
        let is_taken = |name: &str| {
            self.seen
                .keys()
                .any(|known| known.eq_ignore_ascii_case(name))
        };
        let mut free = name.to_owned();
        while is_taken(&free) {
            free.push('_');
        }
        free
    }
}

/// The type of a column for a value; none for null.
fn kind_of(value: &Value) -> Option<ColumnType> {
    Some(match value {
        Value::Null => return None,
        Value::Bool(_) => ColumnType::Bool,
        Value::Number(number) if number.is_i64() => ColumnType::Long,
        Value::Number(number) if number.is_f64() => ColumnType::Double,
        Value::String(_) => ColumnType::String,
        Value::Number(_) | Value::Array(_) | Value::Object(_) => ColumnType::Json,
    })
}
