//! What the properties of a feature say about it as a site: identifier, name, radius, width, wish.
//!
//! Not here: the format that they stand in.

use super::{ReadSite, SiteDefect};
use crate::read::feature::Feature;
use crate::read::height::{LengthUnit, Reading, reading};
use crate::read::properties::{Properties, Value};
use crate::units::{Height, Metres};

/// A feature and the identifier that its file gives it, if any.
#[derive(Debug)]
pub struct Named<'a> {
    /// The identifier.
    pub id: Option<String>,
    /// The feature.
    pub feature: Feature<'a>,
}

/// Names of properties that hold an identifier, where the user names none.
const ID_NAMES: [&str; 3] = ["id", "@id", "site_id"];

/// Lengths that a site may state: the property, and the unit of a bare number in it.
const RADIUS_NAMES: [(&str, LengthUnit); 3] = [
    ("radius_m", LengthUnit::Metre),
    ("radius_ft", LengthUnit::Foot),
    ("radius", LengthUnit::Metre),
];
const WIDTH_NAMES: [(&str, LengthUnit); 3] = [
    ("width_m", LengthUnit::Metre),
    ("width_ft", LengthUnit::Foot),
    ("width", LengthUnit::Metre),
];
const WISH_NAMES: [(&str, LengthUnit); 2] = [
    ("wished_height_m_agl", LengthUnit::Metre),
    ("wished_height_ft_agl", LengthUnit::Foot),
];

/// The widest radius or width, metres: half and all of the widest area that is answered, so that a
/// slip of the unit is said at once.
const WIDEST_M: f64 = 100_000.0;

/// The highest wish, metres; above it no rule on low flying reaches.
const HIGHEST_WISH_M: f64 = 10_000.0;

/// Every name that [`site`] and [`id`] look for, for readers that take only what is needed.
pub fn is_wanted(name: &str, id: Option<&str>) -> bool {
    let same = |wanted: &str| name.eq_ignore_ascii_case(wanted);
    id == Some(name)
        || same("name")
        || ID_NAMES.into_iter().any(same)
        || [RADIUS_NAMES.as_slice(), &WIDTH_NAMES, &WISH_NAMES]
            .into_iter()
            .flatten()
            .any(|(wanted, _)| same(wanted))
}

/// The identifier of a feature: the property that the user names, else the feature's own `own`, else
/// one of [`ID_NAMES`]. Text is kept as it is; an empty one is none.
pub fn id(
    properties: &Properties<'_>,
    own: Option<Value<'_>>,
    named: Option<&str>,
) -> Option<String> {
    if let Some(name) = named {
        return properties.exactly(name).and_then(id_text);
    }
    own.and_then(id_text).or_else(|| {
        ID_NAMES
            .iter()
            .find_map(|wanted| id_text(properties.alike(wanted)?))
    })
}

fn id_text(value: Value<'_>) -> Option<String> {
    match value {
        Value::Text(text) if !text.trim().is_empty() => Some(text.into_owned()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    }
}

/// A feature as a site.
///
/// # Errors
/// A length that is unclear or out of range.
pub fn site(id: String, feature: Feature<'_>) -> Result<ReadSite, SiteDefect> {
    let read = || -> Result<_, String> {
        Ok((
            length(&feature, &RADIUS_NAMES, WIDEST_M)?,
            length(&feature, &WIDTH_NAMES, WIDEST_M)?,
            length(&feature, &WISH_NAMES, HIGHEST_WISH_M)?,
        ))
    };
    match read() {
        Ok((radius, width, wish)) => Ok(ReadSite {
            id,
            name: feature.text(&["name"]),
            radius: radius.map(Metres::of),
            width: width.map(Metres::of),
            wish: wish.map(Height::of),
            geometry: feature.geometry,
        }),
        Err(why) => Err(SiteDefect { id, why }),
    }
}

/// The first length given under some names, metres.
fn length(
    feature: &Feature,
    names: &[(&str, LengthUnit)],
    most: f64,
) -> Result<Option<f64>, String> {
    for (name, unit) in names {
        let Some(value) = feature.property(&[name]) else {
            continue;
        };
        let shown = shown(&value);
        return match reading(value, *unit) {
            // What has no value comes as 0 out of some formats.
            Reading::Missing => continue,
            Reading::Metres(0.0) => continue,
            Reading::Unclear(why) => Err(format!("its {name} {shown} {why}")),
            Reading::Metres(metres) if metres > 0.0 && metres <= most => Ok(Some(metres)),
            Reading::Metres(_) => Err(format!(
                "its {name} {shown} is not above 0 and up to {most} m"
            )),
        };
    }
    Ok(None)
}

fn shown(value: &Value<'_>) -> String {
    match value {
        Value::Null => "null".to_owned(),
        Value::Flag(flag) => flag.to_string(),
        Value::Number(number) => number.to_string(),
        Value::Text(text) => format!("\"{text}\""),
        Value::Compound(value) => value.to_string(),
    }
}
